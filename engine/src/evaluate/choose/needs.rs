//! Which candidates meet the `needs` lines.

use std::collections::BTreeSet;

use loftwright_dsl::program::{CandidateValue, Choose, Expression, Needs, Node, Value};

use super::candidate::{Candidate, unmarked};
use super::lets::{fields_spoken_of, lets_needed};
use super::settled::{Settled, other_sides, subject};
use super::sides::{OpenSide, Side};
use crate::evaluate::algebra::{Ended, outcome_of, undecided_for};
use crate::evaluate::expression::{Asker, At};
use crate::outcome::{Cause, Fault, Outcome, State, Undecided};
use crate::trace::TraceSink;

/// A line that is asked of every candidate.
pub(super) struct Line<'p> {
    pub(super) needs: &'p Needs,
    /// The line's index in the choice; a line that a rung adds comes after the others.
    pub(super) index: usize,
    /// How many of the candidate's lets it needs.
    pub(super) lets: usize,
    /// The line as a comparison with known values, where it is one.
    pub(super) settled: Option<Settled<'p>>,
    /// What a whole shelf can be asked, where the line compares a field of the part.
    pub(super) of_shelf: Option<OfShelf>,
    /// Whether its `when` speaks of the candidate.
    is_asked_by_candidate: bool,
}

/// A line that compares a field of the part, or what is worked out of it, with what is the same for
/// every candidate, or for all that are alike in some other fields.
pub(super) struct OfShelf {
    pub(super) value: CandidateValue,
    /// Whether the field is measured on each piece.
    pub(super) is_of_each_piece: bool,
    /// The fields that the other side of the comparison speaks of.
    pub(super) beside: Vec<usize>,
}

/// How a line stands with a candidate.
enum Standing {
    Met,
    Fails,
    /// What is not decided is the ruleset's.
    Blocks(Box<Undecided>),
}

impl<'a, S: TraceSink> Asker<'a, S> {
    /// The lines that are asked, one of them replaced by a rung's; `at` has the candidate of which
    /// nothing is known. `Err` is how the choice ends where the ruleset's side of a line is open.
    pub(super) fn lines<'p>(
        &mut self,
        choose: &'p Choose,
        rung: Option<(Option<usize>, &'p Needs)>,
        at: At<'_>,
    ) -> Result<Vec<Line<'p>>, Outcome> {
        let mut lines = Vec::with_capacity(choose.needs.len() + 1);
        let mut open = OpenSide::default();
        for (index, needs) in choose.needs.iter().enumerate() {
            let needs = match rung {
                Some((Some(replaced), instead)) if replaced == index => instead,
                _ => needs,
            };
            self.line(choose, needs, index, at, &mut open, &mut lines)?;
        }
        if let Some((None, added)) = rung {
            self.line(choose, added, choose.needs.len(), at, &mut open, &mut lines)?;
        }
        match open {
            OpenSide { is_none: true, .. } => Err(Outcome::DoesNotApply),
            OpenSide {
                undecided: Some(undecided),
                ..
            } => Err(outcome_of(State::Undecided(undecided))),
            OpenSide {
                undecided: None, ..
            } => Ok(lines),
        }
    }

    fn line<'p>(
        &mut self,
        choose: &Choose,
        needs: &'p Needs,
        index: usize,
        at: At<'_>,
        open: &mut OpenSide,
        lines: &mut Vec<Line<'p>>,
    ) -> Result<(), Ended> {
        let mut is_asked_by_candidate = false;
        if let Some(when) = &needs.when {
            match self.ruleset_side(when, at)? {
                Side::Known(Value::Flag(true)) => {}
                Side::Known(_) | Side::None => return Ok(()),
                Side::OfCandidate => is_asked_by_candidate = true,
                Side::Open(undecided) => {
                    open.add(Side::Open(undecided));
                    return Ok(());
                }
            }
        }
        let settled = self.settle(&needs.condition, at)?;
        if settled.is_none() {
            open.add(self.ruleset_side(&needs.condition, at)?);
        }
        let settled = settled.filter(|_| !is_asked_by_candidate);
        let lets = needs
            .when
            .as_ref()
            .map_or(0, lets_needed)
            .max(lets_needed(&needs.condition));
        let of_shelf = if is_asked_by_candidate {
            None
        } else {
            self.of_shelf(choose, &needs.condition, settled.is_some())
        };
        lines.push(Line {
            needs,
            index,
            lets,
            settled,
            of_shelf,
            is_asked_by_candidate,
        });
        Ok(())
    }

    fn of_shelf(
        &self,
        choose: &Choose,
        condition: &Expression,
        is_settled: bool,
    ) -> Option<OfShelf> {
        let (_, value) = subject(condition)?;
        let mut beside = BTreeSet::new();
        // What is settled is the same for every candidate: it speaks of none of their fields.
        let sides = other_sides(condition).into_iter().flatten();
        for side in sides.filter(|_| !is_settled) {
            beside.extend(fields_spoken_of(choose, side)?);
        }
        let fields = &self.world.program.parts[choose.part].fields;
        Some(OfShelf {
            value,
            is_of_each_piece: match value {
                CandidateValue::Field(field) => {
                    fields.get(field).is_some_and(|field| field.of_each_piece)
                }
                CandidateValue::Let(_) | CandidateValue::Setting(_) => false,
            },
            beside: beside.into_iter().collect(),
        })
    }

    /// The first line, from this one on, that the candidate fails. `met_by_the_maker`: what is
    /// measured on each piece counts as met, for a piece that is ordered to measure.
    pub(super) fn first_failed(
        &mut self,
        choose: &Choose,
        lines: &[Line<'_>],
        from: usize,
        candidate: &mut Candidate<'_>,
        at: At<'_>,
        met_by_the_maker: bool,
    ) -> Result<Option<usize>, Outcome> {
        for (place, line) in lines.iter().enumerate().skip(from) {
            self.step()?;
            let settled = line.settled.as_ref();
            let is_known = settled.is_some_and(|it| self.known_of(candidate, it.value).is_some());
            if !is_known {
                self.compute_lets(choose, line.lets, candidate, at)?;
            }
            if let Some(settled) = settled
                && let Some(value) = self.known_of(candidate, settled.value)
            {
                if settled.holds(value) {
                    continue;
                }
                return Ok(Some(place));
            }
            match self.standing(choose, line, candidate, at, met_by_the_maker)? {
                Standing::Met => {}
                Standing::Fails => return Ok(Some(place)),
                Standing::Blocks(undecided) => {
                    return Err(outcome_of(State::Undecided(undecided)));
                }
            }
        }
        Ok(None)
    }

    fn standing(
        &mut self,
        choose: &Choose,
        line: &Line<'_>,
        candidate: &Candidate<'_>,
        at: At<'_>,
        met_by_the_maker: bool,
    ) -> Result<Standing, Ended> {
        let at = At {
            candidate: Some(candidate),
            ..at
        };
        if line.is_asked_by_candidate
            && let Some(when) = &line.needs.when
        {
            match self.of_candidate(when, at)? {
                State::Known(Value::Flag(true)) => {}
                State::Known(_) | State::None => return Ok(Standing::Met),
                State::Undecided(undecided) => {
                    return Ok(self
                        .rulesets_own(undecided)
                        .map_or(Standing::Fails, Standing::Blocks));
                }
            }
        }
        Ok(match self.of_candidate(&line.needs.condition, at)? {
            State::Known(Value::Flag(true)) => Standing::Met,
            State::Known(_) | State::None => Standing::Fails,
            State::Undecided(undecided) => {
                let is_met = met_by_the_maker && self.is_of_each_piece(choose, &undecided);
                match self.rulesets_own(undecided) {
                    Some(undecided) => Standing::Blocks(undecided),
                    None if is_met => Standing::Met,
                    None => Standing::Fails,
                }
            }
        })
    }

    /// An expression that speaks of the candidate. Where a model or arithmetic has no answer for
    /// this candidate, its value is not known; only the step budget ends the choice.
    pub(super) fn of_candidate(
        &mut self,
        expression: &Expression,
        at: At<'_>,
    ) -> Result<State, Ended> {
        match self.ask(expression, at) {
            Err(Ended::Faulted(Fault::StepBudget)) => Err(Ended::Faulted(Fault::StepBudget)),
            Err(_) => Ok(State::Undecided(undecided_for(
                self.place,
                Cause::Ended(self.place),
            ))),
            Ok(state) => Ok(state),
        }
    }

    /// The first so many of the candidate's lets, each of which may use those before it.
    pub(super) fn compute_lets(
        &mut self,
        choose: &Choose,
        count: usize,
        candidate: &mut Candidate<'_>,
        at: At<'_>,
    ) -> Result<(), Ended> {
        let missing = count.saturating_sub(candidate.lets.len());
        candidate.lets.reserve_exact(missing);
        while candidate.lets.len() < count
            && let Some(computed) = choose.lets.get(candidate.lets.len())
        {
            let known = self.own_let(candidate, candidate.lets.len());
            let state = match known {
                Some(state) => state.clone(),
                None => self.of_candidate(
                    &computed.value,
                    At {
                        candidate: Some(candidate),
                        ..at
                    },
                )?,
            };
            candidate.lets.push(state);
        }
        Ok(())
    }

    /// A let of a candidate, where it was worked out with the shelves; models behind it are asked
    /// anew where they are to be recorded.
    fn own_let(&self, candidate: &Candidate<'_>, index: usize) -> Option<&'a State> {
        match self.place.node {
            Node::Choose(id) if !(S::IS_KEPT && self.is_recording) => {
                self.world.parts.own_lets().get(id, candidate, index)
            }
            _ => None,
        }
    }

    /// A value of the candidate that is known and need not be computed.
    pub(super) fn known_of<'v>(
        &self,
        candidate: &'v Candidate<'_>,
        value: CandidateValue,
    ) -> Option<&'v Value>
    where
        'a: 'v,
    {
        let known = candidate.known(value);
        known.or_else(|| match value {
            CandidateValue::Let(index) => match self.own_let(candidate, index)? {
                State::Known(value) => Some(value),
                State::None | State::Undecided(_) => None,
            },
            CandidateValue::Field(_) | CandidateValue::Setting(_) => None,
        })
    }

    fn is_of_each_piece(&self, choose: &Choose, undecided: &Undecided) -> bool {
        let fields = &self.world.program.parts[choose.part].fields;
        undecided.causes.iter().all(|cause| match unmarked(*cause) {
            Cause::PartField { part, field } if part == choose.part => {
                fields.get(field).is_some_and(|field| field.of_each_piece)
            }
            _ => false,
        })
    }
}
