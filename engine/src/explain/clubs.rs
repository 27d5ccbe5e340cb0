//! The bag: one build for every club, from what the contract reads.

use loftwright_dsl::program::{ChooseId, DecisionId, GroupId, Node};

use super::names::{kind_of, number_of};
use super::part_build::{delivered_loft, settled_part, settled_place, settled_state};
use super::sentence;
use super::view::View;
use crate::outcome::{Place, State};
use crate::recommendation::{ClubBuild, PartBuild, Settled, Tolerances};

/// Every club of the bag, in its order; none where the set itself is not decided.
pub(crate) fn builds(view: &View<'_>) -> Vec<ClubBuild> {
    let Some(club) = view.groups.club else {
        return Vec::new();
    };
    let count = view.groups.size(club).unwrap_or(0);
    (0..count)
        .map(|member| {
            Club {
                view,
                group: club,
                member,
            }
            .build()
        })
        .collect()
}

/// One club of the group `club`.
struct Club<'v, 'a> {
    view: &'v View<'a>,
    group: GroupId,
    member: usize,
}

impl Club<'_, '_> {
    fn build(&self) -> ClubBuild {
        let reads = &self.view.groups.reads;
        let kind = kind_of(self.view, self.group, self.member);
        let is_kept = matches!(
            self.view.groups.field_named(self.group, self.member, "is_kept"),
            Some((_, State::Known(value))) if value.flag() == Some(true)
        );
        let head = self.part(reads.head_of(&kind));
        let bend = self.decided(reads.club_bend);
        ClubBuild {
            name: self.view.club_name(self.group, self.member),
            number: number_of(self.view, self.group, self.member),
            is_kept,
            loft: self.field("loft"),
            carry: self.field("carry"),
            gap: self.field("gap"),
            length: if is_kept {
                self.field("kept_length")
            } else {
                self.decided(reads.club_length)
            },
            lie: self.decided(reads.club_lie),
            delivered_loft: delivered_loft(&head, &bend),
            bend,
            head,
            shaft: self.part(reads.shaft_of(&kind)),
            grip: self.part(reads.club_grip),
            grip_wraps: self.decided(reads.grip_wraps),
            target_swingweight: self.decided(reads.target_swingweight),
            swingweight: self.built("swingweight"),
            mass: self.built("mass"),
            balance: self.built("balance"),
            moment: self.built("moment"),
            target_moment: self.decided(reads.target_moment),
            head_mass_change: self.built("head_mass_change"),
            shaft_length: self.built("shaft_length"),
            tip_cut: self.built("tip_cut"),
            butt_cut: self.built("butt_cut"),
            tip_weight: self.built("tip_weight"),
            lead: self.built("lead"),
            tolerances: self.tolerances(),
            named: self.named(),
            kind,
        }
    }

    /// The place of a node for this club: the same club in the node's group, or the node itself
    /// where it is not for each of a group. `None` where this club is not in its group.
    fn place(&self, node: Node) -> Option<Place> {
        match self.view.group_of(node) {
            None => Some(Place { node, member: None }),
            Some(group) => {
                let groups = &self.view.groups;
                // A group that is not made has one entry, without a club.
                let member = match groups.size(group) {
                    None => None,
                    Some(_) => Some(groups.same_club(self.group, self.member, group)?),
                };
                Some(Place { node, member })
            }
        }
    }

    fn decided(&self, decision: Option<DecisionId>) -> Settled {
        decision
            .and_then(|id| self.place(Node::Decision(id)))
            .map_or(Settled::None, |place| settled_place(self.view, place))
    }

    fn tolerances(&self) -> Tolerances {
        let [length, loft, lie, swingweight, moment] = self.view.groups.reads.tolerances;
        Tolerances {
            length: self.decided(length),
            loft: self.decided(loft),
            lie: self.decided(lie),
            swingweight: self.decided(swingweight),
            moment: self.decided(moment),
        }
    }

    fn part(&self, choose: Option<ChooseId>) -> Settled<PartBuild> {
        choose
            .and_then(|id| Some((id, self.place(Node::Choose(id))?)))
            .map_or(Settled::None, |(id, place)| {
                settled_part(self.view, id, place)
            })
    }

    fn field(&self, name: &str) -> Settled {
        self.settled_field(self.group, self.member, name)
    }

    /// A field of the club as it leaves the bench.
    fn built(&self, name: &str) -> Settled {
        let groups = &self.view.groups;
        let Some(built) = groups.built else {
            return Settled::None;
        };
        if groups.size(built).is_none() {
            let place = Place {
                node: Node::Group(built),
                member: None,
            };
            let entry = self.view.at(place);
            let why = entry.and_then(|entry| sentence::of_entry(self.view, entry));
            return why.map_or(Settled::None, Settled::Open);
        }
        let Some(member) = groups.same_club(self.group, self.member, built) else {
            return Settled::None;
        };
        match (
            self.settled_field(built, member, name),
            groups.note(built, member),
        ) {
            (Settled::Open(_), Some(note)) => Settled::Open(note.to_owned()),
            (settled, _) => settled,
        }
    }

    fn settled_field(&self, group: GroupId, member: usize, name: &str) -> Settled {
        match self.view.groups.field_named(group, member, name) {
            Some((field, state)) => {
                settled_state(self.view, field.value_type, &field.shown, &state)
            }
            None => Settled::None,
        }
    }

    /// Every decision and choice for this club that has no place of its own in the build, by name.
    fn named(&self) -> Vec<(String, Settled)> {
        let view = self.view;
        let reads = &view.groups.reads;
        let decisions = view
            .program
            .decisions
            .ids()
            .filter(|id| !reads.reads_decision(*id));
        let chooses = view
            .program
            .chooses
            .ids()
            .filter(|id| !reads.reads_choose(*id));
        let nodes = decisions
            .map(Node::Decision)
            .chain(chooses.map(Node::Choose));
        let settle = |node: Node| {
            view.group_of(node)?;
            let place = self.place(node)?;
            Some((view.name_of(node).to_owned(), settled_place(view, place)))
        };
        let mut named: Vec<_> = nodes.filter_map(settle).collect();
        named.sort_by(|left, right| left.0.cmp(&right.0));
        named
    }
}
