//! The scores of the candidates that meet the needs, and the best of them.
//!
//! A score is exact: weight × max(0, 1 − distance / within). What is not known of a candidate
//! scores nothing; a line whose `when` or whose ruleset's side is not decided is not weighed for
//! any.

use std::borrow::Cow;
use std::cmp::Ordering;

use loftwright_dsl::program::{
    CandidateValue, Choose, Expression, ExpressionKind, Preference, Prefers, TieBreak, Type, Value,
};
use loftwright_dsl::quantity::Rational;

use super::candidate::Candidate;
use super::lets::{lets_needed, speaks_of_the_candidate};
use super::questions::Questions;
use super::settled::Settled;
use super::sides::{OpenSide, Side};
use crate::evaluate::algebra::{Ended, number};
use crate::evaluate::expression::{Asker, At};
use crate::evaluate::operators;
use crate::outcome::State;
use crate::trace::{Selection, TraceSink};

/// For so many values of the candidates a line remembers what they score: those that meet the needs
/// have few.
const MOST_WEIGHED: usize = 8;

/// What a line asks, its ruleset's side worked out.
pub(super) enum Question<'p> {
    /// Something of each candidate.
    OfEach {
        measure: Box<Measure<'p>>,
        /// Its `when`, where that speaks of the candidate.
        when: Option<&'p Expression>,
    },
    /// It does not apply: its `when` does not hold, or the ruleset's side is none.
    DoesNotApply,
    /// Something on the ruleset's side is not decided.
    NotWeighed,
}

/// What a line measures of each candidate.
pub(super) enum Measure<'p> {
    /// How near the first is to the second, by the third.
    Near(Type, [Compared<'p>; 3]),
    /// Whether it holds; as a comparison with known values, where it is one.
    Holds(&'p Expression, Option<Settled<'p>>),
}

impl Measure<'_> {
    /// The value of the candidate that alone says what it scores, where one does and is known: all
    /// that have the same score the same.
    fn deciding_value<'c>(&self, candidate: &'c Candidate<'_>) -> Option<&'c Value> {
        match self {
            Measure::Near(
                _,
                [
                    Compared::OfEach(value),
                    Compared::Same(_),
                    Compared::Same(_),
                ],
            ) => known_of(candidate, value),
            Measure::Near(..) => None,
            Measure::Holds(_, settled) => candidate.known(settled.as_ref()?.value),
        }
    }
}

/// A value that is the same for every candidate, or asked of each.
pub(super) enum Compared<'p> {
    Same(Value),
    OfEach(&'p Expression),
}

/// What a line scores.
struct LineScores<'c> {
    /// In the order of the candidates.
    scores: Vec<Rational>,
    /// By the value of the candidate that decides, the first few.
    by_value: Vec<(&'c Value, Rational)>,
}

impl LineScores<'_> {
    fn of(candidates: usize) -> Self {
        LineScores {
            scores: Vec::with_capacity(candidates),
            // One alone is compared with none.
            by_value: match candidates {
                0 | 1 => Vec::new(),
                _ => Vec::with_capacity(MOST_WEIGHED.min(candidates)),
            },
        }
    }

    fn clear(&mut self) {
        self.scores.clear();
        self.by_value.clear();
    }

    fn of_value(&self, value: &Value) -> Option<Rational> {
        let mut known = self.by_value.iter();
        let is_same = |known: &Value| match (known, value) {
            // Nearly all are numbers or words, and many are compared.
            (Value::Number(known), Value::Number(value)) => known == value,
            (Value::Word(known), Value::Word(value)) => known == value,
            _ => known == value,
        };
        let (_, score) = known.find(|(known, _)| is_same(known))?;
        Some(*score)
    }
}

impl<S: TraceSink> Asker<'_, S> {
    /// The sums of the candidates' scores, in their order. The trace learns which lines were not
    /// weighed.
    pub(super) fn score(
        &mut self,
        choose: &Choose,
        questions: &Questions<'_>,
        candidates: &[Candidate<'_>],
        at: At<'_>,
        selection: &mut Selection,
    ) -> Result<Vec<Rational>, Ended> {
        let mut totals = vec![Rational::ZERO; candidates.len()];
        let mut line = LineScores::of(candidates.len());
        for (index, prefers) in choose.prefers.iter().enumerate() {
            line.clear();
            let is_weighed = match self.preference(questions, index, at)? {
                Question::OfEach { measure, when } => {
                    self.weigh(prefers, measure, *when, candidates, at, &mut line)?
                }
                Question::DoesNotApply => continue,
                Question::NotWeighed => false,
            };
            if is_weighed {
                let scored = totals.iter_mut().zip(&line.scores);
                for (total, score) in scored.filter(|(_, score)| !score.is_zero()) {
                    *total = total.plus(*score)?;
                }
            } else if S::IS_KEPT {
                selection.not_weighed.push(index);
            }
        }
        Ok(totals)
    }

    /// What each line scores for a candidate that was scored; `None` where the line was not
    /// weighed. It costs the choice no steps.
    pub(super) fn scores_by_line(
        &mut self,
        choose: &Choose,
        questions: &Questions<'_>,
        candidate: &Candidate<'_>,
        at: At<'_>,
        not_weighed: &[usize],
    ) -> Vec<Option<Rational>> {
        let budget = std::mem::take(&mut self.budget);
        let was_recording = std::mem::replace(&mut self.is_recording, false);
        let lines = choose.prefers.iter().enumerate();
        let scores = lines.map(|(index, prefers)| {
            if not_weighed.contains(&index) {
                return None;
            }
            let Ok(Question::OfEach { measure, when }) = self.preference(questions, index, at)
            else {
                return None;
            };
            // That it has an answer was seen before.
            self.scored(prefers.weight, measure, *when, candidate, at)
                .ok()?
        });
        let scores = scores.collect();
        self.is_recording = was_recording;
        self.budget = budget;
        scores
    }

    /// What a line asks of each candidate.
    pub(super) fn asked<'p>(
        &mut self,
        prefers: &'p Prefers,
        at: At<'_>,
    ) -> Result<Question<'p>, Ended> {
        let mut open = OpenSide::default();
        let mut when_of_candidate = None;
        if let Some(when) = &prefers.when {
            match self.ruleset_side(when, at)? {
                Side::Known(Value::Flag(true)) => {}
                Side::Known(_) | Side::None => return Ok(Question::DoesNotApply),
                Side::OfCandidate => when_of_candidate = Some(when),
                Side::Open(_) => return Ok(Question::NotWeighed),
            }
        }
        let measure = match &prefers.what {
            Preference::Near {
                value,
                near,
                within,
            } => {
                let mut side = |expression: &'p Expression| -> Result<Compared<'p>, Ended> {
                    let side = self.ruleset_side(expression, at)?;
                    Ok(match side {
                        Side::Known(value) if !speaks_of_the_candidate(expression) => {
                            Compared::Same(value)
                        }
                        side => {
                            open.add(side);
                            Compared::OfEach(expression)
                        }
                    })
                };
                let sides = [side(value)?, side(near)?, side(within)?];
                Measure::Near(value.value_type, sides)
            }
            Preference::Holds(condition) => {
                open.add(self.ruleset_side(condition, at)?);
                Measure::Holds(condition, self.settle(condition, at)?)
            }
        };
        Ok(match open {
            OpenSide { is_none: true, .. } => Question::DoesNotApply,
            OpenSide {
                undecided: Some(_), ..
            } => Question::NotWeighed,
            OpenSide {
                undecided: None, ..
            } => Question::OfEach {
                measure: Box::new(measure),
                when: when_of_candidate,
            },
        })
    }

    /// The scores of a line, candidate by candidate; whether it is weighed: not where the ruleset's
    /// side turns out not to be decided.
    fn weigh<'c>(
        &mut self,
        prefers: &Prefers,
        measure: &Measure<'_>,
        when: Option<&Expression>,
        candidates: &'c [Candidate<'_>],
        at: At<'_>,
        line: &mut LineScores<'c>,
    ) -> Result<bool, Ended> {
        for candidate in candidates {
            self.step()?;
            let deciding = match when {
                None if candidates.len() > 1 => measure.deciding_value(candidate),
                _ => None,
            };
            if let Some(score) = deciding.and_then(|value| line.of_value(value)) {
                line.scores.push(score);
                continue;
            }
            let scored = self.scored(prefers.weight, measure, when, candidate, at)?;
            let Some(score) = scored else {
                return Ok(false);
            };
            line.scores.push(score);
            if let (Some(value), true) = (deciding, line.by_value.len() < MOST_WEIGHED) {
                line.by_value.push((value, score));
            }
        }
        Ok(true)
    }

    /// From nothing to the line's weight; `None` where the ruleset's side turns out not to be
    /// decided.
    fn scored(
        &mut self,
        weight: Rational,
        measure: &Measure<'_>,
        when: Option<&Expression>,
        candidate: &Candidate<'_>,
        at: At<'_>,
    ) -> Result<Option<Rational>, Ended> {
        let at = At {
            candidate: Some(candidate),
            ..at
        };
        if let Some(when) = when {
            match self.of_candidate(when, at)? {
                State::Known(Value::Flag(true)) => {}
                open => return Ok(self.nothing_scored(open)),
            }
        }
        let (value_type, sides) = match measure {
            Measure::Near(value_type, sides) => (*value_type, sides),
            Measure::Holds(condition, settled) => {
                let settled = settled.as_ref();
                let holds = settled.and_then(|settled| {
                    let value = candidate.known(settled.value)?;
                    Some(State::Known(Value::Flag(settled.holds(value))))
                });
                let holds = match holds {
                    Some(holds) => holds,
                    None => self.of_candidate(condition, at)?,
                };
                return Ok(match holds {
                    State::Known(Value::Flag(true)) => Some(weight),
                    open => self.nothing_scored(open),
                });
            }
        };
        let mut known = [const { Cow::Owned(Value::Flag(false)) }; 3];
        for (place, side) in known.iter_mut().zip(sides) {
            *place = match side {
                Compared::Same(value) => Cow::Borrowed(value),
                Compared::OfEach(expression) => match known_of(candidate, expression) {
                    Some(value) => Cow::Borrowed(value),
                    None => match self.of_candidate(expression, at)? {
                        State::Known(value) => Cow::Owned(value),
                        open => return Ok(self.nothing_scored(open)),
                    },
                },
            };
        }
        let [at_hand, wanted, within] = &known;
        let nearness = operators::nearness(value_type, at_hand, wanted, number(within)?, weight);
        nearness.map(Some)
    }

    /// What a line scores whose value is not there: nothing, where that is the candidate's own.
    fn nothing_scored(&self, open: State) -> Option<Rational> {
        let rulesets_own = match open {
            State::Undecided(undecided) => self.rulesets_own(undecided),
            State::Known(_) | State::None => None,
        };
        match rulesets_own {
            Some(_) => None,
            None => Some(Rational::ZERO),
        }
    }
}

/// A value of the candidate that is known and need not be computed.
fn known_of<'c>(candidate: &'c Candidate<'_>, expression: &Expression) -> Option<&'c Value> {
    match expression.kind {
        ExpressionKind::Candidate(value) => candidate.known(value),
        _ => None,
    }
}

/// How many of the candidates' lets their scores and ties need.
pub(super) fn lets_scored(choose: &Choose) -> usize {
    let of_line = |prefers: &Prefers| {
        let when = prefers.when.as_ref().map_or(0, lets_needed);
        let what = match &prefers.what {
            Preference::Near {
                value,
                near,
                within,
            } => lets_needed(value)
                .max(lets_needed(near))
                .max(lets_needed(within)),
            Preference::Holds(condition) => lets_needed(condition),
        };
        when.max(what)
    };
    let of_tie = |tie: &TieBreak| match tie.key {
        CandidateValue::Let(index) => index + 1,
        CandidateValue::Field(_) | CandidateValue::Setting(_) => 0,
    };
    let lines = choose.prefers.iter().map(of_line);
    lines
        .chain(choose.ties.iter().map(of_tie))
        .max()
        .unwrap_or(0)
}

/// The order of two candidates, the better first: the higher sum, then the ties, then the order of
/// part, piece and setting.
pub(super) fn better(
    ties: &[TieBreak],
    candidates: &[Candidate<'_>],
    totals: &[Rational],
    left: usize,
    right: usize,
) -> Ordering {
    let by_total = totals.get(right).cmp(&totals.get(left));
    let (Some(left_at_hand), Some(right_at_hand)) = (candidates.get(left), candidates.get(right))
    else {
        return by_total;
    };
    let by_ties = || {
        let mut orders = ties
            .iter()
            .map(|tie| by_tie(*tie, left_at_hand, right_at_hand));
        orders
            .find(|order| order.is_ne())
            .unwrap_or(Ordering::Equal)
    };
    by_total.then_with(by_ties).then(left.cmp(&right))
}

fn by_tie(tie: TieBreak, left: &Candidate<'_>, right: &Candidate<'_>) -> Ordering {
    match (left.value(tie.key), right.value(tie.key)) {
        (Some(left), Some(right)) if tie.largest_first => operators::compare(&right, &left),
        (Some(left), Some(right)) => operators::compare(&left, &right),
        (Some(_), None) => Ordering::Less,
        (None, Some(_)) => Ordering::Greater,
        (None, None) => Ordering::Equal,
    }
}
