//! What the bench calls a club: `driver`, `3 wood`, `7 iron`, `pitching wedge`, `wedge 54 deg`.
//!
//! The number comes from the decision that the contract reads for it; the clubs after the pitching
//! wedge are told apart by the loft that the plan wants. Where that is open, the club is counted
//! within its kind, and the number stands behind the word so that it is not taken for the club's
//! own: `iron 3` is the third iron of the set.

use std::collections::{BTreeMap, BTreeSet};

use loftwright_dsl::program::{GroupId, Node, Value};

use super::view::View;
use crate::outcome::{Outcome, Place, State};

/// The number by which the plan calls the pitching wedge, the last of the irons.
const PITCHING_WEDGE_NUMBER: i64 = 10;

/// The names of the clubs of the bag, in its order.
#[derive(Clone, Debug, Default)]
pub(crate) struct ClubNames {
    names: Vec<String>,
}

impl ClubNames {
    /// The names of the clubs of the group `club`; none where it is not made.
    pub(crate) fn of(view: &View<'_>) -> Self {
        let Some(club) = view.groups.club else {
            return ClubNames::default();
        };
        let mut counts: BTreeMap<String, usize> = BTreeMap::new();
        let mut taken = BTreeSet::new();
        let mut names = Vec::new();
        for member in 0..view.groups.size(club).unwrap_or(0) {
            let kind = kind_of(view, club, member);
            let ordinal = counts.entry(kind.clone()).or_default();
            *ordinal += 1;
            let number = number_of(view, club, member);
            let name = match kind.as_str() {
                "wedge" => wedge_name(view, club, member, *ordinal),
                _ => name_with_number(&kind, number, *ordinal),
            };
            names.push(unique(name, &mut taken));
        }
        ClubNames { names }
    }

    /// The name of a member of any group: that of the club it is, or its place in its group.
    pub(crate) fn of_member(&self, view: &View<'_>, group: GroupId, member: usize) -> String {
        let in_bag = view
            .groups
            .club
            .and_then(|club| view.groups.same_club(group, member, club));
        in_bag
            .and_then(|place| self.names.get(place).cloned())
            .unwrap_or_else(|| format!("{} {}", view.program.groups[group].name, member + 1))
    }
}

/// The word for the kind of a club, `club` where the group does not say.
pub(crate) fn kind_of(view: &View<'_>, club: GroupId, member: usize) -> String {
    let kind = view.groups.field_named(club, member, "kind");
    let shown = kind.and_then(|(field, state)| match state {
        State::Known(value) => Some(field.shown.text(view.program, field.value_type, &value)),
        _ => None,
    });
    shown.unwrap_or_else(|| "club".to_owned())
}

/// The number that the rules give the club.
pub(crate) fn number_of(view: &View<'_>, club: GroupId, member: usize) -> Option<i64> {
    let decision = view.groups.reads.club_number?;
    let group = view.program.decisions[decision].for_each.as_ref()?.group;
    let member = view.groups.same_club(club, member, group)?;
    let place = Place {
        node: Node::Decision(decision),
        member: Some(member),
    };
    match view.outcome(place)? {
        Outcome::Decided(Value::Number(number)) => number.to_whole(),
        _ => None,
    }
}

fn name_with_number(kind: &str, number: Option<i64>, ordinal: usize) -> String {
    match (kind, number) {
        ("driver" | "putter", _) => kind.to_owned(),
        ("iron", Some(PITCHING_WEDGE_NUMBER)) => "pitching wedge".to_owned(),
        ("fairway", Some(number)) => format!("{number} wood"),
        (_, Some(number)) => format!("{number} {kind}"),
        (_, None) => format!("{kind} {ordinal}"),
    }
}

fn wedge_name(view: &View<'_>, club: GroupId, member: usize, ordinal: usize) -> String {
    match view.groups.field_named(club, member, "loft") {
        Some((field, State::Known(loft))) => {
            format!(
                "wedge {}",
                field.shown.text(view.program, field.value_type, &loft)
            )
        }
        _ => format!("wedge {ordinal}"),
    }
}

/// A second club of the same name is told from the first.
fn unique(name: String, taken: &mut BTreeSet<String>) -> String {
    if taken.insert(name.clone()) {
        return name;
    }
    let mut copy = 2_usize;
    loop {
        let numbered = format!("{name} ({copy})");
        if taken.insert(numbered.clone()) {
            return numbered;
        }
        copy += 1;
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::{name_with_number, unique};

    #[test]
    fn clubs_are_called_as_at_the_bench() {
        assert_eq!(name_with_number("driver", Some(1), 1), "driver");
        assert_eq!(name_with_number("fairway", Some(3), 1), "3 wood");
        assert_eq!(name_with_number("hybrid", Some(4), 1), "4 hybrid");
        assert_eq!(name_with_number("iron", Some(7), 3), "7 iron");
        assert_eq!(name_with_number("iron", Some(10), 6), "pitching wedge");
        assert_eq!(name_with_number("putter", None, 1), "putter");
    }

    #[test]
    fn a_club_without_a_number_is_counted_within_its_kind() {
        assert_eq!(name_with_number("iron", None, 3), "iron 3");
    }

    #[test]
    fn two_clubs_never_share_a_name() {
        let mut taken = BTreeSet::new();
        let mut name = |text: &str| unique(text.to_owned(), &mut taken);
        assert_eq!(name("7 iron"), "7 iron");
        assert_eq!(name("7 iron"), "7 iron (2)");
        assert_eq!(name("7 iron"), "7 iron (3)");
    }
}
