//! The maker `standard_set`, again: the planned clubs, and the kept ones in their places.

use loftwright_dsl::quantity::Rational;

use super::group::Member;
use super::operators::{all_known, number};
use super::{Fields, Oracle, Outcome, Place, State, Undecided, Value};

/// The group of kept clubs.
pub const KEPT: &str = "kept";

/// The group of the plan.
const PLANNED: &str = "planned";

/// The club of the plan that a club of the set is.
#[derive(Debug, Clone, PartialEq)]
pub struct Planned {
    /// The group.
    pub group: String,
    /// The place in it.
    pub member: usize,
}

/// The kinds in the order of the bag, each with its group and the decision of its lofts.
const KINDS: [(&str, Option<(&str, &str)>); 6] = [
    ("driver", None),
    ("fairway", Some(("fairway", "fairway_loft"))),
    ("hybrid", Some(("hybrid", "hybrid_loft"))),
    ("iron", Some(("iron", "iron_loft"))),
    ("wedge", Some(("wedge", "wedge_loft"))),
    ("putter", None),
];

/// A club of the set while it is made.
struct Club {
    kind: &'static str,
    /// As it is planned; nobody plans a putter's.
    loft: Option<State>,
    planned: Option<Planned>,
    kept: Option<usize>,
}

impl Oracle<'_> {
    /// The whole set, once all it is made from is decided.
    pub(super) fn standard_set(&self, from: &[&str]) -> Result<Vec<Member>, Outcome> {
        self.all_decided(from)?;
        let loft = |decision: &str, member| {
            self.state(&Place {
                name: decision.to_owned(),
                member,
            })
        };
        let mut clubs = Vec::new();
        for (kind, group) in KINDS {
            let Some((group, lofts)) = group else {
                let loft = match kind {
                    "driver" => Some(loft("driver_target_loft", None)),
                    _ => None,
                };
                if loft == Some(State::None) {
                    // Where its loft does not apply, no driver is planned.
                    continue;
                }
                let planned = match kind {
                    "driver" => self.in_plan(|member| {
                        let driver = self.word("club_kind", "driver", 0).unwrap();
                        self.club_field(PLANNED, member, "kind") == State::Known(driver)
                    }),
                    _ => None,
                };
                clubs.push(Club {
                    kind,
                    loft,
                    planned: planned.map(|member| Planned {
                        group: PLANNED.to_owned(),
                        member,
                    }),
                    kept: None,
                });
                continue;
            };
            for member in 0..self.group(group).unwrap().list.len() {
                let planned = Some(Planned {
                    group: group.to_owned(),
                    member,
                });
                let loft = Some(loft(lofts, Some(member)));
                clubs.push(Club {
                    kind,
                    loft,
                    planned,
                    kept: None,
                });
            }
        }
        self.place_kept_of_the_plan(&mut clubs);
        self.place_kept(&mut clubs);
        Ok(clubs.into_iter().map(|club| self.finished(club)).collect())
    }

    /// The groups must be there; a loft that is not decided is that club's alone.
    fn all_decided(&self, from: &[&str]) -> Result<(), Outcome> {
        let is_missing =
            |name: &&&str| self.rules.groups.contains_key(**name) && self.group(name).is_err();
        // Where the clubs of each kind are numbered by a house, the plan says nothing of them.
        let from: Vec<&str> = from
            .iter()
            .filter(|name| **name != PLANNED)
            .copied()
            .collect();
        let missing = from.iter().filter(is_missing);
        let states: Vec<State> = missing.map(|name| self.group_state(name)).collect();
        let mut merged = Undecided::default();
        let mut is_decided = true;
        for state in &states {
            if let State::Undecided(undecided) = state {
                is_decided = false;
                merged.merge(undecided);
            }
        }
        if is_decided {
            Ok(())
        } else {
            Err(State::Undecided(merged).into_outcome())
        }
    }

    /// The first club of the plan for which something holds; none where there is no plan.
    fn in_plan(&self, mut holds: impl FnMut(usize) -> bool) -> Option<usize> {
        let plan = self.group(PLANNED).ok()?;
        (0..plan.list.len()).find(|member| holds(*member))
    }

    /// A kept club stands where the plan has it.
    fn place_kept_of_the_plan(&self, clubs: &mut [Club]) {
        for club in clubs {
            if let Some(planned) = &club.planned {
                let same = self.same_first(&planned.group, planned.member, KEPT);
                let is_of_kind = |kept: &usize| {
                    let kind = self.word("club_kind", club.kind, 0).unwrap();
                    self.club_field(KEPT, *kept, "kind") == State::Known(kind)
                };
                club.kept = same.filter(is_of_kind);
            }
        }
    }

    /// Every other kept club takes the free place of its kind with the nearest loft, within 3
    /// degrees; a driver or putter any. One without such a place stands after the planned ones of
    /// its kind.
    fn place_kept(&self, clubs: &mut Vec<Club>) {
        let kept = self.group(KEPT).unwrap();
        for member in 0..kept.list.len() {
            if clubs.iter().any(|club| club.kept == Some(member)) {
                continue;
            }
            let State::Known(Value::Word { place, .. }) = self.club_field(KEPT, member, "kind")
            else {
                panic!("a kept club without a kind");
            };
            let kind = KINDS[usize::try_from(place).unwrap()].0;
            let own_loft = self.club_field(KEPT, member, "loft");
            let mut best: Option<(Rational, usize)> = None;
            for (index, club) in clubs.iter().enumerate() {
                if club.kind != kind || club.kept.is_some() {
                    continue;
                }
                let planned = club.loft.clone().unwrap_or(State::None);
                let distance = match all_known(&[own_loft.clone(), planned]) {
                    Ok(values) => {
                        Some(number(&values[0]).minus(number(&values[1])).unwrap().size())
                    }
                    Err(_) => None,
                };
                let distance = match (kind, distance) {
                    ("driver" | "putter", distance) => distance.unwrap_or(Rational::ZERO),
                    (_, Some(distance)) if distance <= Rational::whole(3) => distance,
                    _ => continue,
                };
                if best.is_none_or(|(nearest, _)| distance < nearest) {
                    best = Some((distance, index));
                }
            }
            if let Some((_, index)) = best {
                clubs[index].kept = Some(member);
                continue;
            }
            let after = clubs.iter().rposition(|club| rank(club.kind) <= rank(kind));
            let extra = Club {
                kind,
                loft: None,
                planned: None,
                kept: Some(member),
            };
            clubs.insert(after.map_or(0, |last| last + 1), extra);
        }
    }

    fn finished(&self, club: Club) -> Member {
        let mut fields = Fields::new();
        let kind = self.word("club_kind", club.kind, 0).unwrap();
        fields.insert("kind".to_owned(), State::Known(kind));
        let is_kept = club.kept.is_some();
        fields.insert("is_kept".to_owned(), State::Known(Value::Flag(is_kept)));
        if let Some(kept) = club.kept {
            let names = [
                ("loft", "loft"),
                ("kept_length", "length"),
                ("shaft_mass", "shaft_mass"),
                ("carry", "carry"),
            ];
            for (own, theirs) in names {
                // What is not known of the kept club is the root cause here too.
                fields.insert(own.to_owned(), self.club_field(KEPT, kept, theirs));
            }
        } else if let Some(loft) = club.loft {
            fields.insert("loft".to_owned(), loft);
        }
        let in_plan = |planned: &Planned| match &*planned.group {
            PLANNED => Some(planned.member),
            group => self.same_first(group, planned.member, PLANNED),
        };
        let planned = club.planned.as_ref().and_then(in_plan);
        if let Some(member) = planned {
            for name in ["carry", "gap"] {
                fields.insert(name.to_owned(), self.club_field(PLANNED, member, name));
            }
        }
        Member::Made {
            fields,
            planned: club.planned,
            kept: club.kept,
        }
    }
}

fn rank(kind: &str) -> usize {
    KINDS.iter().position(|(known, _)| *known == kind).unwrap()
}
