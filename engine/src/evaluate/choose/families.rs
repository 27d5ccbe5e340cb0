//! The clubs of a choice at once: in their turn or together, and with parts that agree.
//!
//! `agrees on FIELD` makes the whole choice once for each family, the values of the field that
//! occur among the candidates, with the candidates of that family only. The family that leaves the
//! fewest clubs without a part wins; see *Families* in DEVELOPERS.md for what decides after that.

use std::rc::Rc;
use std::sync::Arc;

use loftwright_dsl::program::{Choose, GroupId, Node, Rung, RungKind, Value};
use loftwright_dsl::quantity::ArithmeticFault;

use super::candidate::Candidate;
use super::family::{AllOffered, Family, WorthALook};
use super::ladder::how;
use super::questions::Questions;
use super::stock::Stock;
use crate::evaluate::algebra::{Ended, merge, outcome_of};
use crate::evaluate::expression::{Along, Asker, At};
use crate::outcome::{Outcome, State, Undecided};
use crate::parts::Shelves;
use crate::trace::{FamilyTotals, How, MOST_FAMILIES, NoTrace, Selection, Totals, TraceSink};

/// What each club of a choice came to, in the stated order.
type ForAll = Vec<(Outcome, Selection)>;

/// A club for which something is chosen.
pub(super) struct Club<'e, 'p> {
    pub(super) member: usize,
    /// With the candidate of which nothing is known.
    pub(super) at: At<'e>,
    pub(super) questions: Questions<'p>,
}

/// The choice made with one family.
struct Solved {
    family: Family,
    solution: Rc<Solution>,
}

/// What a choice for all clubs comes to.
struct Solution {
    outcomes: Vec<Outcome>,
    totals: Totals,
    /// What is taken then.
    stock: Stock,
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
        let nobody = Candidate::nobody(self.world, choose);
        let mut done: Vec<Option<(Outcome, How)>> = Vec::with_capacity(order.len());
        let mut clubs = Vec::with_capacity(order.len());
        let sieves = Rc::default();
        for (position, member) in order.iter().copied().enumerate() {
            let at = At {
                along: Some(Along { order, position }),
                ..At::club(group, member)
            };
            self.turn_to(Some(member));
            let only_when = choose.only_when.as_ref();
            let open = only_when.and_then(|condition| self.does_not_apply(condition, at));
            if open.is_none() {
                clubs.push(Club {
                    member,
                    at: At {
                        candidate: Some(&nobody),
                        ..at
                    },
                    questions: Questions::of(choose, &sieves),
                });
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

    fn choose_agreeing<'p>(
        &mut self,
        choose: &'p Choose,
        clubs: &[Club<'_, 'p>],
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
        let mut open: Option<Box<Undecided>> = None;
        self.turn_to(None);
        for agrees in &choose.agrees_on {
            let asked = match &agrees.when {
                Some(when) => self.ask(when, At::default())?,
                None => State::Known(Value::Flag(true)),
            };
            match asked {
                State::Known(Value::Flag(true)) => fields.push(agrees.field),
                State::Known(_) | State::None => {}
                State::Undecided(undecided) => merge(open.get_or_insert_default(), *undecided),
            }
        }
        match open {
            Some(undecided) => Err(outcome_of(State::Undecided(undecided))),
            None => Ok(fields),
        }
    }

    /// All clubs, with the candidates of one family where there is one.
    fn choose_all<'p>(
        &mut self,
        choose: &'p Choose,
        family: Option<&Family>,
        clubs: &[Club<'_, 'p>],
        stock: &mut Stock,
    ) -> ForAll {
        if choose.together {
            return self.choose_together(choose, family, clubs, stock);
        }
        let mut chosen = Vec::with_capacity(clubs.len());
        for club in clubs {
            self.turn_to(Some(club.member));
            chosen.push(self.choose_in_turn(choose, &club.questions, family, club.at, stock));
        }
        chosen
    }

    fn choose_by_family<'p>(
        &mut self,
        choose: &'p Choose,
        fields: &[usize],
        clubs: &[Club<'_, 'p>],
        stock: &mut Stock,
    ) -> Result<ForAll, ArithmeticFault> {
        let mut untraced = NoTrace;
        let all_offered = self.all_offered(choose, stock);
        let mut solver = Asker::new(self.world, self.evaluation, &mut untraced, self.place);
        let of_solver = self.questions_of_solver(choose, clubs);
        let asking = of_solver.as_deref().unwrap_or(clubs);
        let mut solved = solver.solve_families(choose, fields, &all_offered, asking, stock)?;
        // A stable sort: of equals the lowest value stays first.
        solved.sort_by_key(|family| family.solution.totals.in_order());
        let Some(winner) = solved.first() else {
            return Ok(self.choose_all(choose, Some(&Family::default()), clubs, stock));
        };
        let mut chosen = if S::IS_KEPT {
            // Once more, for the trace, which says why its other parts were not taken.
            let family = all_offered.whole(fields, &winner.family);
            self.choose_all(choose, Some(&family), clubs, stock)
        } else {
            *stock = winner.solution.stock.clone();
            let outcomes = winner.solution.outcomes.iter().cloned();
            outcomes
                .map(|outcome| (outcome, Selection::default()))
                .collect()
        };
        for (place, (outcome, _)) in chosen.iter_mut().enumerate() {
            if matches!(outcome, Outcome::LeftOpen | Outcome::NoneOnHand)
                && let Some(waits) = waits_elsewhere(&solved, place)
            {
                *outcome = waits;
            }
        }
        if S::IS_KEPT {
            let fields: Arc<[usize]> = fields.into();
            let families: Arc<[FamilyTotals]> = solved
                .into_iter()
                .take(MOST_FAMILIES)
                .map(|solved| FamilyTotals {
                    fields: Arc::clone(&fields),
                    values: solved.family.values,
                    totals: solved.solution.totals,
                })
                .collect();
            for (_, selection) in &mut chosen {
                selection.families = Arc::clone(&families);
            }
        }
        Ok(chosen)
    }

    /// The clubs with questions of their own for the families to be solved with, where the models
    /// behind those of the clubs are to be recorded for the family that is taken.
    fn questions_of_solver<'e, 'p>(
        &self,
        choose: &'p Choose,
        clubs: &[Club<'e, 'p>],
    ) -> Option<Vec<Club<'e, 'p>>> {
        let asks_models = match self.place.node {
            Node::Choose(id) => self.world.prepared.needs_ask_models(id),
            _ => true,
        };
        let anew = |club: &Club<'e, 'p>| Club {
            questions: Questions::of(choose, &club.questions.sieves),
            ..*club
        };
        (S::IS_KEPT && asks_models).then(|| clubs.iter().map(anew).collect())
    }

    /// The choice made with every family, in order of value.
    fn solve_families<'p>(
        &mut self,
        choose: &'p Choose,
        fields: &[usize],
        all_offered: &AllOffered<'_>,
        clubs: &[Club<'_, 'p>],
        stock: &Stock,
    ) -> Result<Vec<Solved>, ArithmeticFault> {
        let worth_a_look = self.worth_a_look(choose, clubs);
        let families = all_offered.families(fields, &worth_a_look);
        // Families of which no part is worth a look come to what one without parts comes to.
        let mut fruitless: Option<Rc<Solution>> = None;
        let mut solved = Vec::with_capacity(families.len());
        for family in families {
            let is_fruitless = family.on_hand.is_none() && family.to_order.is_none();
            let solution = match (&fruitless, is_fruitless) {
                (Some(known), true) => Rc::clone(known),
                _ => Rc::new(self.solve(choose, &family, clubs, stock)?),
            };
            if is_fruitless {
                fruitless = Some(Rc::clone(&solution));
            }
            solved.push(Solved { family, solution });
        }
        Ok(solved)
    }

    /// The choice made with one family.
    fn solve<'p>(
        &mut self,
        choose: &'p Choose,
        family: &Family,
        clubs: &[Club<'_, 'p>],
        stock: &Stock,
    ) -> Result<Solution, ArithmeticFault> {
        let mut stock = stock.clone();
        let chosen = self.choose_all(choose, Some(family), clubs, &mut stock);
        let mut totals = Totals::NOTHING;
        for (outcome, selection) in &chosen {
            totals = with_club(totals, outcome, selection)?;
        }
        Ok(Solution {
            outcomes: chosen.into_iter().map(|(outcome, _)| outcome).collect(),
            totals,
            stock,
        })
    }

    /// What on hand, and what to be ordered, passes what the shelves can say for any of the clubs,
    /// by the original needs or by a rung. Everything else fails whatever the family.
    fn worth_a_look<'p>(&mut self, choose: &'p Choose, clubs: &[Club<'_, 'p>]) -> WorthALook {
        let Some(Shelves { catalogue, stock }) = self.world.parts.shelves(choose) else {
            return WorthALook::default();
        };
        let stock = match choose.takes {
            Some(_) => stock,
            None => catalogue,
        };
        let mut worth = WorthALook {
            on_hand: stock.nothing(),
            to_order: catalogue.nothing(),
        };
        let of_rung = |(number, rung): (usize, &Rung)| match rung.kind {
            RungKind::Needs { .. } => Some((Some(number), false)),
            RungKind::Orders => Some((None, true)),
            RungKind::LeavesOpen => None,
        };
        let rungs = choose.rungs.iter().enumerate().filter_map(of_rung);
        let asked: Vec<(Option<usize>, bool)> = [(None, false)].into_iter().chain(rungs).collect();
        for club in clubs {
            self.turn_to(Some(club.member));
            for (rung, is_order) in &asked {
                // Where the ruleset's side of a line is open, the club goes no further.
                let Ok(level) = self.level(&club.questions, *rung, club.at) else {
                    break;
                };
                let (shelf, places) = match is_order {
                    true => (catalogue, &mut worth.to_order),
                    false => (stock, &mut worth.on_hand),
                };
                let on_shelf = self.on_shelf(choose, shelf, *is_order);
                let sieve = self.sieve_of(choose, level, on_shelf, club.at);
                places.join(&sieve.left);
            }
        }
        worth
    }
}

/// How a club ends with the first other family, in order of value, that leaves it undecided.
fn waits_elsewhere(solved: &[Solved], place: usize) -> Option<Outcome> {
    let of_family = |solved: &Solved| {
        let outcome = solved.solution.outcomes.get(place)?;
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
