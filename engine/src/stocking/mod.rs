//! Planning of the stock: what the players of a roster draw from the drawers, what runs short, with
//! what likelihood, and what to order by when.
//!
//! Two questions are answered side by side.
//!
//! - *What happens as they come*: every player is fitted, in order of arrival, against what those
//!   before him have left. Only players who come for certain take something away. This is exact,
//!   and the second of two who want the last shaft gets the next best.
//! - *What is asked for*: every player is fitted against the full drawers, once for each of the 64
//!   plausible sets of his readings ([`crate::sure`]), so that how often he asks for a part is a
//!   distribution. Players are independent of each other; the chance that they ask for more than
//!   there is comes of the convolution of their counts, in exact fractions.
//!
//! | module | what it does |
//! | --- | --- |
//! | `chance` | counts with their chances: sums, the chance to exceed, the count that suffices |
//! | `draw` | what one evaluation takes, orders and leaves open, club by club |
//! | `drawers` | the parts without what was taken |
//! | `demand` | how often one player asks for each part, and when |
//! | `wear` | how often a wedge is replaced within the horizon |
//! | `needs` | from demand to what to load and what to order, by when |

mod chance;
mod demand;
mod draw;
mod drawers;
mod needs;
mod wear;

use std::collections::{BTreeMap, BTreeSet};

use loftwright_dsl::program::{PartId, Program};
use loftwright_dsl::quantity::{Date, Rational};

pub use chance::{Chances, RESOLUTION};
pub use draw::{Draw, Left};
pub use wear::WEDGE_LIFE;

use crate::evaluate::Evaluator;
use crate::explain::View;
use crate::parts::Parts;
use crate::player::Player;
use crate::trace::CompactTrace;
use demand::Demand;
use draw::Bag;

/// A player who comes.
#[derive(Clone, Debug)]
pub struct Visit {
    /// What he is called.
    pub name: String,
    /// Who he is.
    pub player: Player,
    /// The day he comes.
    pub on: Date,
    /// The chance that he comes and buys: above 0, at most 1.
    pub chance: Rational,
    /// The kinds of clubs he comes for (`wedge`); all where it is empty.
    pub wants: BTreeSet<String>,
}

/// What the plan is for.
#[derive(Clone, Copy, Debug)]
pub struct Terms {
    /// The day it is made.
    pub today: Date,
    /// How long wedges are replaced for, in seconds, from the visit on; `None` to leave it out.
    pub horizon_s: Option<Rational>,
    /// How likely what is loaded is to suffice, part by part: above 0, at most 1.
    pub confidence: Rational,
}

/// A part by its kind and its place in the kind.
pub type PartPlace = (PartId, usize);

/// The plan.
#[derive(Clone, Debug)]
pub struct StockPlan {
    /// Every part that somebody takes or asks for, in order of kind and code.
    pub drawers: Vec<Drawer>,
    /// Every player, in order of arrival.
    pub visits: Vec<VisitPlan>,
    /// Whether the ruleset says how long a wedge lasts.
    pub knows_wedge_life: bool,
}

/// What becomes of one drawer.
#[derive(Clone, Debug)]
pub struct Drawer {
    /// The part.
    pub part: PartPlace,
    /// How many are there.
    pub on_hand: i64,
    /// How many are taken by players who come for certain, as they come.
    pub drawn: i64,
    /// How many of those find none on hand and have it ordered.
    pub ordered: i64,
    /// How many are asked for.
    pub demand: Chances,
    /// How many to have so that it does not run short, as likely as was wanted.
    pub load: i64,
    /// How many of these are not there.
    pub order: i64,
    /// How long an order takes, in days.
    pub lead_time_days: Option<i64>,
    /// The day on which it is likelier to run short than was wanted.
    pub needed_on: Option<Date>,
    /// The last day to order, so that it is there by then.
    pub order_by: Option<Date>,
    /// Who asks for it: places of visits, each with how many he asks for on average.
    pub wanted_by: Vec<(usize, Rational)>,
}

/// What becomes of one player.
#[derive(Clone, Debug)]
pub struct VisitPlan {
    /// What he is called.
    pub name: String,
    /// The day he comes.
    pub on: Date,
    /// The chance that he comes.
    pub chance: Rational,
    /// Whether any of his readings is uncertain.
    pub is_uncertain: bool,
    /// What he takes or has ordered of what those before him have left.
    pub draws: Vec<Draw>,
    /// What he gets in place of something that those before him took: by place in `draws`, the part
    /// that he would have had from full drawers.
    pub instead: BTreeMap<usize, PartPlace>,
    /// What he goes without.
    pub left: Vec<Left>,
    /// His wedges with how often each is replaced within the horizon, on average.
    pub replacements: Vec<(String, Rational)>,
}

/// The plan for players in the order of their days; on one day, in the order given.
pub fn plan(program: &Program, parts: &Parts, visits: &[Visit], terms: &Terms) -> StockPlan {
    let evaluator = Evaluator::new(program);
    let mut order: Vec<&Visit> = visits.iter().collect();
    order.sort_by_key(|visit| visit.on);
    let bag = Bag::of(program);
    let mut taken: Vec<Draw> = Vec::new();
    let mut plans = Vec::new();
    let mut demands = Vec::new();
    for visit in order {
        let left = drawers::without(program, parts, &taken);
        let mut as_they_come = fitted(&evaluator, &bag, &left, visit);
        drawers::by_full_drawers(parts, &left, &mut as_they_come.0);
        let from_full = fitted(&evaluator, &bag, parts, visit);
        let demand = Demand::of(&evaluator, &bag, parts, visit, terms.horizon_s);
        let visit_plan = VisitPlan {
            name: visit.name.clone(),
            on: visit.on,
            chance: visit.chance,
            is_uncertain: demand.is_uncertain(),
            instead: instead(&as_they_come.0, &from_full.0),
            draws: as_they_come.0,
            left: as_they_come.1,
            replacements: demand.replacements().to_vec(),
        };
        if visit.chance == Rational::ONE {
            taken.extend(visit_plan.draws.iter().cloned());
        }
        plans.push(visit_plan);
        demands.push(demand);
    }
    StockPlan {
        drawers: needs::drawers(parts, &taken, &demands, terms),
        visits: plans,
        knows_wedge_life: bag.knows_wedge_life(),
    }
}

/// What a player takes and goes without, fitted against these parts by his readings as they are.
fn fitted(
    evaluator: &Evaluator<'_>,
    bag: &Bag<'_>,
    parts: &Parts,
    visit: &Visit,
) -> (Vec<Draw>, Vec<Left>) {
    let mut trace = CompactTrace::default();
    let evaluation = evaluator.evaluate(parts, &visit.player, visit.on, &mut trace);
    let (program, player) = (evaluator.program(), &visit.player);
    let view = View::new(program, parts, player, visit.on, &evaluation, &trace);
    bag.taken_and_left(&evaluation, &visit.wants, Some(&view))
}

/// Which draws are of another part than from full drawers.
fn instead(draws: &[Draw], full: &[Draw]) -> BTreeMap<usize, PartPlace> {
    let same = |draw: &Draw, other: &Draw| draw.choice == other.choice && draw.club == other.club;
    let found = draws.iter().enumerate().filter_map(|(place, draw)| {
        let first = full.iter().find(|other| same(draw, other))?;
        let is_other = first.part != draw.part || (draw.is_ordered && !first.is_ordered);
        is_other.then_some((place, first.part))
    });
    found.collect()
}
