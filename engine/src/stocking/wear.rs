//! Wedges wear out: how often one is replaced within the horizon.
//!
//! A ruleset that has a decision `wedge_life : time, for each wedge` says how long a wedge lasts
//! this player; the contract does not ask for it. Over a horizon a wedge is replaced horizon ÷ life
//! times on average. The whole part of that happens for certain, each time at the end of a life;
//! what is left of the last life is the chance of one replacement more, at the end of the horizon,
//! since nobody knows how worn the wedges are that the player brings.

use loftwright_dsl::program::{DecisionId, Program, Type, Value};
use loftwright_dsl::quantity::{Date, Dimension, Rational, Rounding};

/// The decision that says how long a wedge lasts.
pub const WEDGE_LIFE: &str = "wedge_life";

const DAY_S: i64 = 86_400;

/// The most replacements of one wedge that are counted.
const MOST_REPLACEMENTS: i64 = 100;

/// The decision, where the ruleset has it as it is read here.
pub(super) fn decision(program: &Program) -> Option<DecisionId> {
    let mut decisions = program.decisions.entries();
    let found = decisions.find(|(_, decision)| {
        decision.name == WEDGE_LIFE
            && decision.value_type == Type::Quantity(Dimension::TIME)
            && decision.for_each.is_some()
    });
    found.map(|(id, _)| id)
}

/// One replacement of a wedge.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Replacement {
    /// The day.
    pub(super) on: Date,
    /// The chance that it comes to it.
    pub(super) chance: Rational,
}

/// How often a wedge of this life is replaced on average, and when.
pub(super) fn replacements(
    life: &Value,
    horizon_s: Rational,
    from: Date,
) -> Option<(Rational, Vec<Replacement>)> {
    let life_s = life.number().filter(|life| *life > Rational::ZERO)?;
    let times = horizon_s.over(life_s).ok()?;
    let whole = times.rounded_to(Rational::ONE, Rounding::Down).ok()?;
    let count = whole.to_whole()?.clamp(0, MOST_REPLACEMENTS);
    let after = |time_s: Rational| {
        let days = time_s.over(Rational::whole(DAY_S)).ok()?;
        let days = days.rounded_to(Rational::ONE, Rounding::Down).ok()?;
        Some(Date::from_days(from.days().checked_add(days.to_whole()?)?))
    };
    let mut all = Vec::new();
    for turn in 1..=count {
        let on = after(life_s.times(Rational::whole(turn)).ok()?)?;
        let chance = Rational::ONE;
        all.push(Replacement { on, chance });
    }
    let rest = times.minus(whole).ok()?;
    if rest > Rational::ZERO {
        let on = after(horizon_s)?;
        all.push(Replacement { on, chance: rest });
    }
    Some((times, all))
}
