//! From what is asked for to what to load and what to order, by when.

use std::collections::BTreeSet;

use loftwright_dsl::quantity::{Date, Rational};

use super::chance::Chances;
use super::demand::Demand;
use super::draw::Draw;
use super::{Drawer, PartPlace, Terms};
use crate::parts::Parts;

/// Every part that is taken or asked for, in order of kind and code.
pub(super) fn drawers(
    parts: &Parts,
    taken: &[Draw],
    demands: &[Demand],
    terms: &Terms,
) -> Vec<Drawer> {
    let asked = demands.iter().flat_map(Demand::parts);
    let all: BTreeSet<PartPlace> = asked.chain(taken.iter().map(|draw| draw.part)).collect();
    all.into_iter()
        .filter_map(|part| drawer(parts, part, taken, demands, terms))
        .collect()
}

fn drawer(
    parts: &Parts,
    part: PartPlace,
    taken: &[Draw],
    demands: &[Demand],
    terms: &Terms,
) -> Option<Drawer> {
    let record = parts.of(part.0).get(part.1)?;
    let on_hand = record.on_hand.count();
    let days: BTreeSet<Date> = demands
        .iter()
        .flat_map(|demand| demand.days(part))
        .collect();
    let asking: Vec<&Demand> = demands
        .iter()
        .filter(|demand| demand.parts().any(|asked| asked == part))
        .collect();
    let until = |day: Date| {
        asking.iter().fold(Chances::certain(0), |sum, demand| {
            sum.plus(&demand.until(part, day))
        })
    };
    let demand = days
        .last()
        .map_or_else(|| Chances::certain(0), |last| until(*last));
    let load = demand.enough_for(terms.confidence);
    let order = load.saturating_sub(on_hand).max(0);
    let runs_short = |day: &Date| until(*day).enough_for(terms.confidence) > on_hand;
    let needed_on = (order > 0)
        .then(|| days.iter().copied().find(runs_short))
        .flatten();
    let order_by = needed_on
        .zip(record.lead_time_days)
        .map(|(day, lead)| Date::from_days(day.days().saturating_sub(lead)));
    let of = |is_ordered: bool| -> i64 {
        let own = taken.iter().filter(|draw| draw.part == part);
        let own = own.filter(|draw| draw.is_ordered == is_ordered);
        own.map(|draw| draw.count).sum()
    };
    let wanted_by = demands.iter().enumerate().filter_map(|(place, demand)| {
        let last = demand.days(part).last().copied()?;
        let expected = demand.until(part, last).expected();
        (expected > Rational::ZERO).then_some((place, expected))
    });
    Some(Drawer {
        part,
        on_hand,
        drawn: of(false),
        ordered: of(true),
        load,
        order,
        lead_time_days: record.lead_time_days,
        needed_on,
        order_by,
        wanted_by: wanted_by.collect(),
        demand,
    })
}
