//! The clubs of a choice at once: in their turn or together, and with parts that agree.
//!
//! `agrees on FIELD` makes the whole choice once for each family, the values of the field that
//! occur among the candidates, with the candidates of that family only. The family that leaves the
//! fewest clubs without a part wins; see *Families* in DEVELOPERS.md for what decides after that.

use std::collections::BTreeSet;
use std::sync::Arc;

use loftwright_dsl::program::{Choose, GroupId, RungKind, Value};
use loftwright_dsl::quantity::ArithmeticFault;

use super::ladder::how;
use super::offers::{Family, Offer, Source, values_of};
use super::stock::Stock;
use crate::evaluate::algebra::{Ended, merge, outcome_of};
use crate::evaluate::expression::{Along, Asker, At};
use crate::outcome::{Outcome, State, Undecided};
use crate::trace::{FamilyTotals, How, Selection, Totals, TraceSink};

/// What each club of a choice came to, in the stated order.
type ForAll = Vec<(Outcome, Selection)>;

/// The choice made with one family.
struct Solved {
    family: Family,
    outcomes: Vec<Outcome>,
    totals: Totals,
}

impl<S: TraceSink> Asker<'_, S> {
    /// A part for each club of a group, the clubs given in the stated order by their places; takes
    /// them from the stock. In the same order.
    pub(in crate::evaluate) fn choose_for_all(
        &mut self,
        choose: &Choose,
        group: GroupId,
        order: &[usize],
        stock: &mut Stock,
    ) -> Vec<(Outcome, How)> {
        let mut done: Vec<Option<(Outcome, How)>> = Vec::with_capacity(order.len());
        let mut clubs = Vec::with_capacity(order.len());
        for (position, member) in order.iter().copied().enumerate() {
            let at = At {
                along: Some(Along { order, position }),
                ..At::club(group, member)
            };
            self.turn_to(Some(member));
            let only_when = choose.only_when.as_ref();
            let open = only_when.and_then(|condition| self.does_not_apply(condition, at));
            if open.is_none() {
                clubs.push((member, at));
            }
            done.push(open.map(|open| (open, How::OnlyWhen)));
        }
        let mut chosen = self.choose_agreeing(choose, &clubs, stock).into_iter();
        let mut next = || {
            let (outcome, selection) = chosen.next()?;
            Some((outcome, how::<S>(selection)))
        };
        done.into_iter()
            .filter_map(|open| open.or_else(&mut next))
            .collect()
    }

    fn choose_agreeing(
        &mut self,
        choose: &Choose,
        clubs: &[(usize, At<'_>)],
        stock: &mut Stock,
    ) -> ForAll {
        let fields = match self.fields_agreed(choose) {
            Ok(fields) => fields,
            Err(outcome) => {
                return clubs
                    .iter()
                    .map(|_| (outcome.clone(), Selection::default()))
                    .collect();
            }
        };
        if fields.is_empty() {
            return self.choose_all(choose, None, clubs, stock);
        }
        match self.choose_by_family(choose, &fields, clubs, stock) {
            Ok(chosen) => chosen,
            Err(fault) => {
                let outcome = Outcome::from(Ended::from(fault));
                clubs
                    .iter()
                    .map(|_| (outcome.clone(), Selection::default()))
                    .collect()
            }
        }
    }

    /// The fields to agree on; `Err` is how every club ends where one of the conditions is open.
    fn fields_agreed(&mut self, choose: &Choose) -> Result<Vec<usize>, Outcome> {
        let mut fields = Vec::new();
        let mut open: Option<Undecided> = None;
        self.turn_to(None);
        for agrees in &choose.agrees_on {
            let asked = match &agrees.when {
                Some(when) => self.ask(when, At::default())?,
                None => State::Known(Value::Flag(true)),
            };
            match asked {
                State::Known(Value::Flag(true)) => fields.push(agrees.field),
                State::Known(_) | State::None => {}
                State::Undecided(undecided) => merge(open.get_or_insert_default(), undecided),
            }
        }
        match open {
            Some(undecided) => Err(outcome_of(State::Undecided(undecided))),
            None => Ok(fields),
        }
    }

    /// All clubs, with the candidates of one family where there is one.
    fn choose_all(
        &mut self,
        choose: &Choose,
        family: Option<&Family>,
        clubs: &[(usize, At<'_>)],
        stock: &mut Stock,
    ) -> ForAll {
        if choose.together {
            return self.choose_together(choose, family, clubs, stock);
        }
        let mut chosen = Vec::with_capacity(clubs.len());
        for (member, at) in clubs {
            self.turn_to(Some(*member));
            chosen.push(self.choose_in_turn(choose, family, *at, stock));
        }
        chosen
    }

    fn choose_by_family(
        &mut self,
        choose: &Choose,
        fields: &[usize],
        clubs: &[(usize, At<'_>)],
        stock: &mut Stock,
    ) -> Result<ForAll, ArithmeticFault> {
        let was_recording = std::mem::replace(&mut self.is_recording, false);
        let solved = self.solve_families(choose, fields, clubs, stock);
        self.is_recording = was_recording;
        let mut solved = solved?;
        // A stable sort: of equals the lowest value stays first.
        solved.sort_by_key(|family| family.totals.in_order());
        let Some(winner) = solved.first() else {
            let none = Family {
                fields: fields.to_vec(),
                values: Vec::new(),
            };
            return Ok(self.choose_all(choose, Some(&none), clubs, stock));
        };
        let mut chosen = self.choose_all(choose, Some(&winner.family), clubs, stock);
        for (place, (outcome, _)) in chosen.iter_mut().enumerate() {
            if matches!(outcome, Outcome::LeftOpen | Outcome::NoneOnHand)
                && let Some(waits) = waits_elsewhere(&solved, place)
            {
                *outcome = waits;
            }
        }
        if S::IS_KEPT {
            let families: Arc<[FamilyTotals]> = solved
                .into_iter()
                .map(|solved| FamilyTotals {
                    fields: solved.family.fields,
                    values: solved.family.values,
                    totals: solved.totals,
                })
                .collect();
            for (_, selection) in &mut chosen {
                selection.families = Arc::clone(&families);
            }
        }
        Ok(chosen)
    }

    /// The choice made with every family, in order of value.
    fn solve_families(
        &mut self,
        choose: &Choose,
        fields: &[usize],
        clubs: &[(usize, At<'_>)],
        stock: &Stock,
    ) -> Result<Vec<Solved>, ArithmeticFault> {
        let mut solved = Vec::new();
        for values in self.values_occurring(choose, fields, stock) {
            let family = Family {
                fields: fields.to_vec(),
                values,
            };
            let mut own = stock.clone();
            let chosen = self.choose_all(choose, Some(&family), clubs, &mut own);
            let mut totals = Totals::NOTHING;
            for (outcome, selection) in &chosen {
                totals = with_club(totals, outcome, selection)?;
            }
            solved.push(Solved {
                family,
                outcomes: chosen.into_iter().map(|(outcome, _)| outcome).collect(),
                totals,
            });
        }
        Ok(solved)
    }

    /// The values of the fields that occur among what can be taken or ordered.
    fn values_occurring(
        &self,
        choose: &Choose,
        fields: &[usize],
        stock: &Stock,
    ) -> BTreeSet<Vec<Value>> {
        let on_hand = match choose.takes {
            Some(count) => Source::Stock(stock, count),
            None => Source::Catalogue,
        };
        let orders = |rung: &loftwright_dsl::program::Rung| matches!(rung.kind, RungKind::Orders);
        let to_order = choose.rungs.iter().any(orders).then_some(Source::Order);
        let mut occurring = BTreeSet::new();
        for source in [Some(on_hand), to_order].into_iter().flatten() {
            let offer = Offer {
                source,
                family: None,
            };
            let Some(offered) = offer.on_shelf(self.world, choose) else {
                continue;
            };
            for place in offered.places.iter() {
                let candidate = offered.candidate(self.world, choose, place);
                occurring.extend(candidate.and_then(|it| values_of(fields, &it)));
            }
        }
        occurring
    }
}

/// How a club ends with the first other family, in order of value, that leaves it undecided.
fn waits_elsewhere(solved: &[Solved], place: usize) -> Option<Outcome> {
    let of_family = |solved: &Solved| {
        let outcome = solved.outcomes.get(place)?;
        let is_settled = matches!(
            outcome,
            Outcome::Chosen(_)
                | Outcome::Ordered(_)
                | Outcome::DoesNotApply
                | Outcome::LeftOpen
                | Outcome::NoneOnHand
        );
        (!is_settled).then(|| (solved.family.values.clone(), outcome.clone()))
    };
    let waiting = solved.iter().filter_map(of_family);
    let first = waiting.min_by(|(left, _), (right, _)| left.cmp(right));
    first.map(|(_, outcome)| outcome)
}

fn with_club(
    totals: Totals,
    outcome: &Outcome,
    selection: &Selection,
) -> Result<Totals, ArithmeticFault> {
    match outcome {
        Outcome::DoesNotApply => Ok(totals),
        Outcome::Chosen(part) | Outcome::Ordered(part) => {
            let level = part.rung.map_or(0, |rung| rung + 1);
            let score = selection
                .total
                .unwrap_or(loftwright_dsl::quantity::Rational::ZERO);
            let is_ordered = matches!(outcome, Outcome::Ordered(_));
            totals.with(Some((level, score)), is_ordered)
        }
        _ => totals.with(None, false),
    }
}
