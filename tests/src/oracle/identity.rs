//! The same club in another group.
//!
//! A club goes by what it was first: a club that the player brought, a numbered one, or a
//! candidate. A club of the set may go by two: what was planned, and what the player brought for
//! it.

use std::collections::BTreeSet;

use loftwright_dsl::syntax::tree::GroupOrigin;

use super::group::Member;
use super::plan::CANDIDATE;
use super::standard_set::KEPT;
use super::{Oracle, State, Undecided};

/// A group and a place in it.
type First = (String, usize);

impl Oracle<'_> {
    /// The place in `target` of the club that has this place in its group; `None` where it is not
    /// in it.
    pub(super) fn same_club(
        &self,
        club: &(String, usize),
        target: &str,
    ) -> Result<Option<usize>, Undecided> {
        let (group, member) = club;
        let members = self
            .group(target)
            .map_err(|_| self.undecided_group(target))?;
        let mut sought = self.firsts(group, *member);
        let find = |sought: &BTreeSet<First>| {
            (0..members.list.len()).find(|place| !self.firsts(target, *place).is_disjoint(sought))
        };
        if let Some(place) = find(&sought) {
            return Ok(Some(place));
        }
        // Which planned club a club of the player's own is, only the group made of both tells.
        let Some(joining) = self.joining(group, target) else {
            return Ok(None);
        };
        let joined = self
            .group(&joining)
            .map_err(|_| self.undecided_group(&joining))?;
        for place in 0..joined.list.len() {
            let firsts = self.firsts(&joining, place);
            if !firsts.is_disjoint(&sought) {
                sought.extend(firsts);
            }
        }
        Ok(find(&sought))
    }

    /// The place in `target` of a club that went into the set as it is made: without asking the
    /// set.
    pub(super) fn same_first(&self, group: &str, member: usize, target: &str) -> Option<usize> {
        let sought = self.firsts(group, member);
        let count = self.group(target).ok()?.list.len();
        (0..count).find(|place| !self.firsts(target, *place).is_disjoint(&sought))
    }

    fn undecided_group(&self, group: &str) -> Undecided {
        match self.group_state(group) {
            State::Undecided(undecided) => undecided,
            other => panic!("group `{group}` is {other:?}"),
        }
    }

    fn firsts(&self, group: &str, member: usize) -> BTreeSet<First> {
        match &self.group(group).unwrap().list[member] {
            Member::Plain(_) => BTreeSet::from([(group.to_owned(), member)]),
            Member::Of(place) => self.firsts(&self.wider(group).unwrap(), *place),
            Member::Candidate { kept, .. } => BTreeSet::from([match kept {
                Some(kept) => (KEPT.to_owned(), *kept),
                None => (group.to_owned(), member),
            }]),
            Member::Planned { candidate, .. } => self.firsts(CANDIDATE, *candidate),
            Member::Made { planned, kept, .. } => {
                let mut firsts = BTreeSet::new();
                if let Some(planned) = planned {
                    firsts.extend(self.firsts(&planned.group, planned.member));
                }
                firsts.extend(kept.map(|kept| (KEPT.to_owned(), kept)));
                if let Some(bag) = self.assembled_from(group) {
                    firsts.extend(self.firsts(&bag, member));
                }
                if firsts.is_empty() {
                    firsts.insert((group.to_owned(), member));
                }
                firsts
            }
        }
    }

    /// The group of which this one is a part.
    fn wider(&self, group: &str) -> Option<String> {
        match &self.rules.groups[group].origin {
            Some(GroupOrigin::Where { of, .. }) => Some(of.text.clone()),
            _ => None,
        }
    }

    fn assembled_from(&self, group: &str) -> Option<String> {
        match &self.rules.groups[group].origin {
            Some(GroupOrigin::MadeBy { maker, from }) if maker.text == "assemble" => {
                Some(from[0].text.clone())
            }
            _ => None,
        }
    }

    /// The group made both of what the player brought and of what is planned, where one of the two
    /// groups holds the one and the other the other.
    fn joining(&self, one: &str, other: &str) -> Option<String> {
        let widest = |group: &str| {
            let mut widest = group.to_owned();
            while let Some(wider) = self.wider(&widest) {
                widest = wider;
            }
            widest
        };
        let (one, other) = (widest(one), widest(other));
        let is_given = |group: &String| {
            matches!(
                self.rules.groups[group].origin,
                Some(GroupOrigin::GivenWithThePlayer)
            )
        };
        if is_given(&one) == is_given(&other) {
            return None;
        }
        let mut groups = self.rules.groups.values();
        let joins = groups.find(|made| match &made.origin {
            Some(GroupOrigin::MadeBy { from, .. }) => {
                let has = |name: &String| from.iter().any(|from| from.text == *name);
                has(&one) && has(&other)
            }
            _ => false,
        });
        joins.map(|made| made.name.text.clone())
    }
}
