//! How sure the answer is: what the readings' scatter does to it, and what to measure next.
//!
//! | module | what it does |
//! | --- | --- |
//! | `uncertain`, `spread` | a reading, the mean of its shots; distances in spreads |
//! | `strikes` | readings of one strike |
//! | `points` | the 64 points, the same every time |
//! | `shares` | how many of 64 plausible sets of readings give the same; the runner-up |
//! | `along`, `nearest` | one reading moved by itself; the nearest change |
//! | `affine`, `bounds`, `borderline` | decisions within one spread of a bound |
//! | `next_reading` | the reading that would settle most |
//! | `base`, `outcome` | what was decided; when two outcomes are the same |
//! | `places` | what comes out otherwise, club by club |
//! | `workers` | evaluations side by side |
//!
//! Every answer is evaluated again (`evaluate::again`) with readings moved; nothing of it
//! changes the answer itself. The set is made up and parts are chosen anew each time, from the same
//! drawers: a share is what that many plain evaluations would give.

mod affine;
mod along;
mod base;
mod borderline;
mod bounds;
mod nearest;
mod next_reading;
mod outcome;
mod places;
mod points;
mod shares;
mod spread;
mod strikes;
mod uncertain;
mod workers;

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

use loftwright_dsl::program::{InputId, Node, Program, Value};
use loftwright_dsl::quantity::Rational;

pub(crate) use affine::AffineForms;
use along::Along;
use base::Base;
use nearest::Change;
use next_reading::Split;
use places::Moving;
use shares::Share;
use strikes::Strikes;
use uncertain::Uncertain;
pub use workers::Workers;
use workers::answered;

use crate::evaluate::again::Again;
use crate::evaluate::{Evaluation, Evaluator};
use crate::explain::View;
use crate::outcome::{Outcome, Place};
use crate::player::Player;
use crate::recommendation::{
    Borderline, NearestChange, NextReading, OutcomeCount, OutcomeRange, Sureness,
};

/// How much is wanted to know.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Depth {
    /// What is borderline, and the missing reading that most decisions wait for.
    Short,
    /// The share, runner-up and nearest change of every decision too; where no reading is missing,
    /// the one to take again. The answer is the same by however many workers.
    Full(Workers),
}

/// How sure an answer is.
pub(crate) struct HowSure {
    /// By place; empty where the short answer was wanted.
    pub(crate) sureness: BTreeMap<Place, Sureness>,
    /// Decisions within one spread of a bound.
    pub(crate) borderline: Vec<Borderline>,
    /// The reading that would settle most.
    pub(crate) next_reading: Option<NextReading>,
}

/// The plausible sets of readings that shares are counted over: for each set a value for every
/// uncertain reading of the player, the others staying as they are.
///
/// `evaluation` is that of the player: readings that do not apply are not uncertain.
pub fn plausible_readings(
    program: &Program,
    player: &Player,
    evaluation: &Evaluation,
) -> Vec<Vec<(InputId, Value)>> {
    let uncertain = uncertain_of(program, player, evaluation);
    shares::plausible(&uncertain, &Strikes::of_program(program))
}

fn uncertain_of(program: &Program, player: &Player, evaluation: &Evaluation) -> Vec<Uncertain> {
    let applies = |input: InputId| {
        let place = Place {
            node: Node::Input(input),
            member: None,
        };
        matches!(evaluation.outcome(place), Some(Outcome::Decided(_)))
    };
    Uncertain::all(program, player, applies)
}

/// How sure the answer of a view is.
pub(crate) fn how_sure(
    view: &View<'_>,
    evaluator: &Evaluator<'_>,
    evaluation: &Evaluation,
    depth: Depth,
) -> HowSure {
    let moving = || {
        let again = Again::new(evaluator, view.parts, view.player, view.today, evaluation);
        Moving::new(view.program, again)
    };
    let mut first = moving();
    let borderline = borderline::borderlines(view, &mut first);
    let Depth::Full(workers) = depth else {
        return HowSure {
            sureness: BTreeMap::new(),
            borderline,
            next_reading: next_reading::missing(view).map(|missing| missing.next),
        };
    };
    let uncertain = uncertain_of(view.program, view.player, evaluation);
    let base = Base::of(view);
    let missing = next_reading::missing(view)
        .map(|missing| next_reading::tried(view, &base, &mut first, missing));
    let others = std::iter::repeat_with(moving).take(workers.count() - 1);
    let mut about = About {
        view,
        base: &base,
        moving: std::iter::once(first).chain(others).collect(),
        uncertain: &uncertain,
    };
    let shares = about.shares();
    let (changes, splits) = about.one_by_one(&shares, missing.is_some());
    HowSure {
        sureness: about.reports(shares, changes),
        borderline,
        next_reading: missing.or_else(|| next_reading::largest(view, splits)),
    }
}

/// What all of it looks at.
struct About<'v, 'a> {
    view: &'v View<'a>,
    base: &'v Base,
    /// One for each worker.
    moving: Vec<Moving<'v>>,
    uncertain: &'v [Uncertain],
}

/// A reading that is looked at by itself.
struct LookedAt<'v> {
    /// Its place among the uncertain ones.
    number: usize,
    reading: &'v Uncertain,
    /// How many of the nodes that are unsure rest on it.
    resting: usize,
    /// The bounds that are known exactly.
    bounds: BTreeSet<Rational>,
}

/// What came of one that was.
struct Found {
    number: usize,
    changes: BTreeMap<Place, Change>,
    /// Where the next reading is not a missing one.
    split: Option<Split>,
}

impl<'v> About<'v, '_> {
    /// The nodes that rest on some readings.
    fn above(&mut self, inputs: impl Iterator<Item = InputId>) -> BTreeSet<Node> {
        let first = self.moving.first_mut();
        first.map_or_else(BTreeSet::new, |moving| moving.above(inputs))
    }

    fn shares(&mut self) -> BTreeMap<Place, Share> {
        let strikes = Strikes::of_program(self.view.program);
        let above = self.above(self.uncertain.iter().map(|reading| reading.input));
        let plausible = shares::plausible(self.uncertain, &strikes);
        shares::shares(self.view, self.base, &above, &mut self.moving, &plausible)
    }

    /// Each uncertain reading by itself: the nearest changes, and the splits where the next reading
    /// is not a missing one.
    fn one_by_one(
        &mut self,
        shares: &BTreeMap<Place, Share>,
        is_next_known: bool,
    ) -> (BTreeMap<Place, Change>, Vec<Split>) {
        // What all plausible readings together do not turn, none of them is tried on.
        let is_wanted = |place: Place| {
            let share = shares.get(&place);
            share.is_some_and(|share| !share.moves && share.same < points::POINTS)
        };
        let unsure: BTreeSet<Node> = shares
            .keys()
            .filter(|place| is_wanted(**place))
            .map(|place| place.node)
            .collect();
        let looked_at = self.looked_at(&unsure);
        let (view, base) = (self.view, self.base);
        let mut found = answered(&mut self.moving, &looked_at, |moving, asked| {
            let mut along = Along::new(view, base, asked.reading);
            let split = (!is_next_known).then(|| Split::along(&mut along, moving));
            let of = (asked.number, looked_at.len());
            Found {
                number: asked.number,
                split: split.flatten(),
                changes: nearest::changes_along(&mut along, moving, of, &asked.bounds, &is_wanted),
            }
        });
        found.sort_by_key(|found| found.number);
        let mut changes: BTreeMap<Place, Change> = BTreeMap::new();
        let mut splits = Vec::new();
        for found in found {
            splits.extend(found.split);
            for (place, change) in found.changes {
                let known = changes.get(&place);
                if known.is_none_or(|known| change.squared < known.squared) {
                    changes.insert(place, change);
                }
            }
        }
        if !is_next_known {
            let assumed = next_reading::assumed_inputs(view);
            let of_assumed = answered(&mut self.moving, &assumed, |moving, input| {
                Split::assumed(view, base, moving, *input)
            });
            splits.extend(of_assumed.into_iter().flatten());
        }
        (changes, splits)
    }

    /// The uncertain readings that something unsure rests on. Those that most rests on take the
    /// longest; they come first, so that at the end no worker waits for another.
    fn looked_at(&mut self, unsure: &BTreeSet<Node>) -> Vec<LookedAt<'v>> {
        let mut forms = AffineForms::new(self.view.program);
        let mut looked_at = Vec::new();
        for (number, reading) in self.uncertain.iter().enumerate() {
            let above = self.above(std::iter::once(reading.input));
            let resting = above.intersection(unsure).count();
            if resting > 0 {
                looked_at.push(LookedAt {
                    number,
                    reading,
                    resting,
                    bounds: nearest::exact_bounds(self.view.program, &mut forms, reading),
                });
            }
        }
        looked_at.sort_by_key(|looked_at| Reverse(looked_at.resting));
        looked_at
    }

    fn reports(
        &self,
        shares: BTreeMap<Place, Share>,
        mut changes: BTreeMap<Place, Change>,
    ) -> BTreeMap<Place, Sureness> {
        let report = |(place, share): (Place, Share)| {
            let change = changes.remove(&place);
            let sureness = Sureness {
                same: share.same,
                of: points::POINTS,
                runner_up: share
                    .runner_up
                    .map(|(text, count)| OutcomeCount { text, count }),
                range: share
                    .range
                    .map(|(lowest, highest)| OutcomeRange { lowest, highest }),
                moves: share.moves,
                nearest_change: change.and_then(|change| self.change(place, &change)),
            };
            (place, sureness)
        };
        shares.into_iter().map(report).collect()
    }

    fn change(&self, place: Place, change: &Change) -> Option<NearestChange> {
        let reading = self.uncertain.get(change.reading)?;
        let input = &self.view.program.inputs[reading.input];
        let value = Value::Number(change.value);
        Some(NearestChange {
            input: input.name.clone(),
            reading: input
                .shown
                .text(self.view.program, input.value_type, &value),
            spreads: spread::root_in_hundredths(change.squared)?.to_text(),
            outcome: change.seen.text(self.view, place),
        })
    }
}
