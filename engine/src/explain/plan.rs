//! How the set was made up, in words and figures: what the steps in carry came to, what stood in
//! the way.

use std::collections::BTreeMap;

use loftwright_dsl::program::{Field, GroupId, Members, Node, Value};
use loftwright_dsl::quantity::{Rational, Rounding};

use super::value::shown_value;
use super::view::View;
use crate::outcome::State;
use crate::recommendation::{PlanReport, ShownValue};
use crate::trace::{How, PlanTrace};

/// A yard in metres.
const YARD_M: (i128, i128) = (9144, 10_000);

/// The plan of the set; `None` where no set was made up.
pub(crate) fn plan_report(view: &View<'_>) -> Option<PlanReport> {
    let entry = view
        .trace
        .entries
        .iter()
        .find_map(|entry| match (&entry.how, entry.place.node) {
            (How::Plan(trace), Node::Group(plan)) => Some((trace, plan)),
            _ => None,
        });
    let (trace, plan) = entry?;
    let candidate = match &view.program.groups[plan].members {
        Members::MadeBy { from, .. } => from.iter().find_map(|node| match node {
            Node::Group(group) => Some(*group),
            _ => None,
        })?,
        _ => return None,
    };
    let told = Told {
        view,
        trace,
        plan,
        candidate,
    };
    told.report()
}

struct Told<'v, 'a> {
    view: &'v View<'a>,
    trace: &'v PlanTrace,
    plan: GroupId,
    candidate: GroupId,
}

impl Told<'_, '_> {
    fn report(&self) -> Option<PlanReport> {
        let objective = &self.trace.objective;
        let largest = (0..objective.clubs)
            .find(|member| self.number(self.plan, *member, "gap") == Some(objective.largest_gap_m));
        let between = largest.and_then(|member| {
            let before = member.checked_sub(1)?;
            let name = |member| self.view.club_name(self.plan, member);
            Some((name(before), name(member)))
        });
        Some(PlanReport {
            clubs: objective.clubs,
            contenders: self.trace.contenders,
            largest_gap: self.shown("gap", objective.largest_gap_m)?,
            largest_gap_between: between,
            unevenness: self.unevenness()?,
            reluctance: objective.reluctance.to_text(),
            is_within_widest: objective.beyond_widest_m2.is_zero(),
            notes: self.notes(),
        })
    }

    /// The root of the mean of the squares of what the steps differ from their mean, to 0.1 yd.
    fn unevenness(&self) -> Option<String> {
        let steps = i64::try_from(self.trace.objective.clubs.checked_sub(1)?).ok()?;
        if steps == 0 {
            return Some("0 yd".to_owned());
        }
        let (metres, of) = YARD_M;
        let tenth = Rational::fraction(metres, of.checked_mul(10)?).ok()?;
        let squared = self
            .trace
            .objective
            .unevenness_m2
            .over(Rational::whole(steps))
            .ok()?;
        let in_tenths = squared.over(tenth.times(tenth).ok()?).ok()?;
        let whole = in_tenths
            .rounded_to(Rational::ONE, Rounding::Nearest)
            .ok()?;
        let root = Rational::fraction(whole.numerator().checked_isqrt()?, 10).ok()?;
        Some(format!("{} yd", root.to_text()))
    }

    fn notes(&self) -> Vec<String> {
        let mut notes = Vec::new();
        let mut held: BTreeMap<usize, usize> = BTreeMap::new();
        for (_, holder) in &self.trace.held {
            *held.entry(*holder).or_default() += 1;
        }
        let narrowest = self.shown("gap", self.trace.terms.narrowest_gap);
        let narrowest = narrowest.map(|gap| gap.text).unwrap_or_default();
        for (holder, count) in held {
            notes.push(format!(
                "{} holds its place; left out within {narrowest} of its carry: {count}",
                self.club(holder)
            ));
        }
        for place in &self.trace.without_carry {
            notes.push(format!(
                "{} could not be placed, since nobody knows how far it carries: measure it",
                self.club(*place)
            ));
        }
        if let Some(first) = self.trace.unplaced.first() {
            notes.push(format!(
                "lofts left out since their carry is not decided: {}, the first {}",
                self.trace.unplaced.len(),
                self.club(*first)
            ));
        }
        for (stronger, weaker) in &self.trace.not_falling {
            notes.push(format!(
                "{} carries no farther than {}, which has more loft",
                self.club(*stronger),
                self.club(*weaker)
            ));
        }
        let most = self.trace.terms.most_clubs;
        if self.trace.objective.clubs > most {
            notes.push(format!(
                "{} clubs must be there, and there is room for {most}",
                self.trace.objective.clubs
            ));
        }
        notes
    }

    /// A candidate in words: what it is called in the bag, or its kind and loft.
    fn club(&self, place: usize) -> String {
        let view = self.view;
        let bag = view.groups.club;
        let in_bag = bag.and_then(|bag| view.groups.same_club(self.candidate, place, bag));
        if in_bag.is_some() {
            return format!("the {}", view.club_name(self.candidate, place));
        }
        let text = |name| match view.groups.field_named(self.candidate, place, name) {
            Some((field, State::Known(value))) => {
                field.shown.text(view.program, field.value_type, &value)
            }
            _ => "unknown".to_owned(),
        };
        let kind = text("kind");
        let article = if kind.starts_with('i') { "an" } else { "a" };
        format!("{article} {kind} of {}", text("loft"))
    }

    fn number(&self, group: GroupId, member: usize, name: &str) -> Option<Rational> {
        match self.view.groups.field_named(group, member, name)? {
            (_, State::Known(Value::Number(number))) => Some(number),
            _ => None,
        }
    }

    /// A length as the plan's own fields are shown.
    fn shown(&self, name: &str, length_m: Rational) -> Option<ShownValue> {
        let group = &self.view.program.groups[self.plan];
        let field: &Field = group.fields.get(group.field_index(name)?)?;
        let value = Value::Number(length_m);
        Some(shown_value(
            self.view.program,
            field.value_type,
            &field.shown,
            &value,
        ))
    }
}
