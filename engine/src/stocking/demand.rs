//! How often one player asks for each part, and when.

use std::collections::{BTreeMap, BTreeSet};

use loftwright_dsl::program::{Node, Value};
use loftwright_dsl::quantity::{Date, Rational};

use super::chance::Chances;
use super::draw::{Bag, Draw};
use super::wear::{Replacement, replacements};
use super::{PartPlace, Visit};
use crate::evaluate::again::Again;
use crate::evaluate::{Club, Evaluation, Evaluator};
use crate::explain::View;
use crate::outcome::{Outcome, Place};
use crate::parts::Parts;
use crate::sure::plausible_readings;
use crate::trace::CompactTrace;

/// What a player asks for from full drawers.
pub(super) struct Demand {
    on: Date,
    chance: Rational,
    is_uncertain: bool,
    /// How many plausible sets of readings there are.
    cases: usize,
    /// By part: what is asked for, and by how many of these sets. The others ask for none.
    asked: BTreeMap<PartPlace, BTreeMap<Asked, usize>>,
    /// His wedges by the readings as they are.
    replacements: Vec<(String, Rational)>,
}

/// How many of a part one set of readings asks for.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
struct Asked {
    /// At the visit.
    count: usize,
    /// Later, as wedges wear out.
    later: Vec<Replacement>,
}

impl Demand {
    /// A player's.
    pub(super) fn of(
        evaluator: &Evaluator<'_>,
        bag: &Bag<'_>,
        parts: &Parts,
        visit: &Visit,
        horizon_s: Option<Rational>,
    ) -> Self {
        let mut trace = CompactTrace::default();
        let evaluation = evaluator.evaluate(parts, &visit.player, visit.on, &mut trace);
        let (program, player) = (evaluator.program(), &visit.player);
        let view = View::new(program, parts, player, visit.on, &evaluation, &trace);
        let asking = Asking {
            bag,
            wants: &visit.wants,
            horizon_s,
            on: visit.on,
        };
        let mut sets = plausible_readings(program, player, &evaluation);
        let is_uncertain = sets.first().is_some_and(|set| !set.is_empty());
        if !is_uncertain {
            sets.clear();
        }
        let mut asked: BTreeMap<PartPlace, BTreeMap<Asked, usize>> = BTreeMap::new();
        let mut count = |case: BTreeMap<PartPlace, Asked>| {
            for (part, of_part) in case {
                *asked.entry(part).or_default().entry(of_part).or_default() += 1;
            }
        };
        let mut again = Again::new(evaluator, parts, player, visit.on, &evaluation);
        for readings in &sets {
            count(again.moved(readings, None, |evaluation, _| asking.asked(evaluation)));
        }
        if sets.is_empty() {
            count(asking.asked(&evaluation));
        }
        Demand {
            on: visit.on,
            chance: visit.chance,
            is_uncertain,
            cases: sets.len().max(1),
            asked,
            replacements: asking.replaced(&evaluation, &view),
        }
    }

    /// Whether any of the readings is uncertain.
    pub(super) fn is_uncertain(&self) -> bool {
        self.is_uncertain
    }

    /// The wedges with how often each is replaced, on average.
    pub(super) fn replacements(&self) -> &[(String, Rational)] {
        &self.replacements
    }

    /// The parts that any set of readings asks for.
    pub(super) fn parts(&self) -> impl Iterator<Item = PartPlace> {
        self.asked.keys().copied()
    }

    /// The days on which the part may be asked for; none where it never is.
    pub(super) fn days(&self, part: PartPlace) -> BTreeSet<Date> {
        let Some(asked) = self.asked.get(&part) else {
            return BTreeSet::new();
        };
        let later = asked.keys().flat_map(|asked| &asked.later);
        later.map(|later| later.on).chain([self.on]).collect()
    }

    /// How many of a part are asked for up to a day, that day included.
    pub(super) fn until(&self, part: PartPlace, day: Date) -> Chances {
        let asked = self.asked.get(&part).filter(|_| day >= self.on);
        let Some(asked) = asked else {
            return Chances::certain(0);
        };
        let case = |(asked, count): (&Asked, &usize)| {
            let later = asked.later.iter().filter(|later| later.on <= day);
            let sum = later.fold(Chances::certain(asked.count), |sum, later| {
                sum.plus(&Chances::one_with(later.chance))
            });
            (sum, *count)
        };
        let mut cases: Vec<(Chances, usize)> = asked.iter().map(case).collect();
        let others = self.cases.saturating_sub(asked.values().sum());
        cases.push((Chances::certain(0), others));
        Chances::mean_of(&cases).only_with(self.chance)
    }
}

/// What is asked of an evaluation.
struct Asking<'a> {
    bag: &'a Bag<'a>,
    wants: &'a BTreeSet<String>,
    horizon_s: Option<Rational>,
    on: Date,
}

impl Asking<'_> {
    fn asked(&self, evaluation: &Evaluation) -> BTreeMap<PartPlace, Asked> {
        let (draws, _) = self.bag.taken_and_left(evaluation, self.wants, None);
        let wear = self.wear(evaluation);
        let mut asked: BTreeMap<PartPlace, Asked> = BTreeMap::new();
        for draw in &draws {
            let of_part = asked.entry(draw.part).or_default();
            let count = usize::try_from(draw.count).unwrap_or(0);
            of_part.count += count;
            for (_, later) in wear.iter().filter(|(club, _)| draw.of == Some(*club)) {
                // The club is made anew with all its pieces.
                for _ in 0..count {
                    of_part.later.extend(later.iter().copied());
                }
            }
        }
        asked
    }

    /// The wedges whose life is decided, with their replacements.
    fn wear(&self, evaluation: &Evaluation) -> Vec<(Club, Vec<Replacement>)> {
        let lives = self.lives(evaluation);
        let wear = lives.into_iter().filter_map(|(place, life)| {
            let group = self.bag.program.group_of(place.node)?;
            let club = *evaluation.members(group)?.get(place.member?)?;
            Some((club, replacements(&life, self.horizon_s?, self.on)?.1))
        });
        wear.collect()
    }

    fn lives(&self, evaluation: &Evaluation) -> Vec<(Place, Value)> {
        let Some(decision) = self.bag.wedge_life else {
            return Vec::new();
        };
        let outcomes = evaluation.outcomes(Node::Decision(decision));
        let lives = outcomes
            .into_iter()
            .filter_map(|(place, outcome)| match outcome {
                Outcome::Decided(life) => Some((place, life.clone())),
                _ => None,
            });
        lives.collect()
    }

    /// The wedges that are taken for this player, with how often each is replaced.
    fn replaced(&self, evaluation: &Evaluation, view: &View<'_>) -> Vec<(String, Rational)> {
        let (draws, _) = self.bag.taken_and_left(evaluation, self.wants, None);
        let is_taken = |club: Club| draws.iter().any(|draw: &Draw| draw.of == Some(club));
        let replaced = self
            .lives(evaluation)
            .into_iter()
            .filter_map(|(place, life)| {
                let group = self.bag.program.group_of(place.node)?;
                let member = place.member?;
                let club = *evaluation.members(group)?.get(member)?;
                let (times, _) = replacements(&life, self.horizon_s?, self.on)?;
                is_taken(club).then(|| (view.club_name(group, member), times))
            });
        replaced.collect()
    }
}
