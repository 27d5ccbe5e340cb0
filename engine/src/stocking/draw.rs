//! What one evaluation takes from the drawers, has ordered, and leaves open, club by club.

use std::collections::{BTreeMap, BTreeSet};

use loftwright_dsl::program::{ChooseId, DecisionId, GroupId, Node, Program, Value};

use super::PartPlace;
use super::wear;
use crate::evaluate::{Club, Evaluation};
use crate::explain::{Reads, View};
use crate::outcome::{ChosenPart, Outcome, State};

/// A part that is taken or ordered for a club.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Draw {
    /// The part.
    pub part: PartPlace,
    /// The piece's index, where single pieces are measured.
    pub piece: Option<usize>,
    /// How many.
    pub count: i64,
    /// Whether none is on hand and it is to be ordered.
    pub is_ordered: bool,
    /// The choice that takes it.
    pub choice: String,
    /// The club, as the bench calls it; empty where there is no name.
    pub club: String,
    /// What the ladder says, where it led there.
    pub says: Option<String>,
    /// The club it is for.
    pub(super) of: Option<Club>,
}

/// A choice that came to no part.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Left {
    /// The choice.
    pub choice: String,
    /// The club, as the bench calls it.
    pub club: String,
    /// Whether readings are missing; else nothing on hand meets the needs.
    pub waits: bool,
}

/// What of a program says which clubs there are and what is taken for them; looked up once.
pub(super) struct Bag<'p> {
    pub(super) program: &'p Program,
    /// The group of the whole bag, with the index of the field that has the kind.
    club: Option<(GroupId, usize)>,
    /// The kinds of clubs for which a choice outside any group is made.
    kind_of_single: BTreeMap<ChooseId, &'static str>,
    pub(super) wedge_life: Option<DecisionId>,
}

impl<'p> Bag<'p> {
    /// Looks at a program.
    pub(super) fn of(program: &'p Program) -> Self {
        let mut groups = program.groups.entries();
        let club = groups.find(|(_, group)| group.name == "club");
        let reads = Reads::of(program);
        let singles = ["driver", "putter"].into_iter().flat_map(|kind| {
            let of_kind = [reads.head_of(kind), reads.shaft_of(kind)];
            of_kind.into_iter().flatten().map(move |id| (id, kind))
        });
        Bag {
            program,
            club: club.and_then(|(id, group)| Some((id, group.field_index("kind")?))),
            kind_of_single: singles.collect(),
            wedge_life: wear::decision(program),
        }
    }

    /// Whether the ruleset says how long a wedge lasts.
    pub(super) fn knows_wedge_life(&self) -> bool {
        self.wedge_life.is_some()
    }

    /// What is taken from the drawers or ordered, and what is left open, for clubs of the wanted
    /// kinds. Names of clubs are said where there is a view.
    pub(super) fn taken_and_left(
        &self,
        evaluation: &Evaluation,
        wants: &BTreeSet<String>,
        view: Option<&View<'_>>,
    ) -> (Vec<Draw>, Vec<Left>) {
        let (mut draws, mut left) = (Vec::new(), Vec::new());
        for (id, choose) in self.program.chooses.entries() {
            let Some(count) = choose.takes else { continue };
            let group = choose.for_each.as_ref().map(|each| each.group);
            for (place, outcome) in evaluation.outcomes(Node::Choose(id)) {
                let member = group.zip(place.member);
                let kind = self.kind(evaluation, id, member);
                let is_wanted =
                    wants.is_empty() || kind.as_ref().is_some_and(|kind| wants.contains(kind));
                if !is_wanted {
                    continue;
                }
                let club = match (view, member) {
                    (Some(view), Some((group, member))) => view.club_name(group, member),
                    _ => kind.unwrap_or_default(),
                };
                let draw = |chosen: &ChosenPart, is_ordered: bool| {
                    let rung = chosen.rung.and_then(|rung| choose.rungs.get(rung));
                    Draw {
                        part: (choose.part, chosen.part),
                        piece: chosen.piece,
                        count,
                        is_ordered,
                        choice: choose.name.clone(),
                        club: club.clone(),
                        says: rung.and_then(|rung| rung.says.clone()),
                        of: member.and_then(|(group, member)| {
                            evaluation.members(group)?.get(member).copied()
                        }),
                    }
                };
                let open = |waits| Left {
                    choice: choose.name.clone(),
                    club: club.clone(),
                    waits,
                };
                match outcome {
                    Outcome::Chosen(chosen) => draws.push(draw(chosen, false)),
                    Outcome::Ordered(chosen) => draws.push(draw(chosen, true)),
                    Outcome::LeftOpen | Outcome::NoneOnHand => left.push(open(false)),
                    Outcome::Needs(_) | Outcome::Blocked(_) => left.push(open(true)),
                    _ => {}
                }
            }
        }
        (draws, left)
    }

    /// The word for the kind of club that a choice is made for.
    fn kind(
        &self,
        evaluation: &Evaluation,
        choose: ChooseId,
        member: Option<(GroupId, usize)>,
    ) -> Option<String> {
        let Some((group, member)) = member else {
            return self
                .kind_of_single
                .get(&choose)
                .map(|kind| (*kind).to_owned());
        };
        let (club, kind) = self.club?;
        let place = evaluation.same_club(group, member, club)?;
        let value_type = self.program.groups[club].fields.get(kind)?.value_type;
        match evaluation.field(club, place, kind)? {
            State::Known(value @ Value::Word(_)) => {
                let field = self.program.groups[club].fields.get(kind)?;
                Some(field.shown.text(self.program, value_type, &value))
            }
            _ => None,
        }
    }
}
