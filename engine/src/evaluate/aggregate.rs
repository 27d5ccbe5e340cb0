//! Aggregates over the clubs of a group or over what is on hand of a part.
//!
//! Members for which the value does not apply are left out. Over a group that is not decided, an
//! aggregate is not decided either; a member whose value is not decided makes it so too, except
//! where `any … where` has found a yes already.

use loftwright_dsl::program::{Aggregate, Expression, Over, Value};
use loftwright_dsl::quantity::Rational;
use loftwright_dsl::syntax::tree::Extreme;

use super::algebra::{Answer, Ended, flag, merge, number};
use super::choose::Candidate;
use super::expression::{Asker, At};
use super::operators;
use crate::outcome::{State, Undecided};
use crate::trace::TraceSink;

/// What an aggregate has gathered so far.
struct Gathered {
    /// How many members counted, each as often as it is there.
    count: Rational,
    total: Rational,
    furthest: Option<Value>,
    any: bool,
    undecided: Option<Box<Undecided>>,
}

/// What is done with each member's value.
#[derive(Clone, Copy)]
enum Gathering {
    /// Count where it is yes.
    Count,
    /// Whether one is yes.
    Any,
    /// Sum.
    Total,
    /// The largest or smallest.
    Furthest(Extreme),
}

impl<S: TraceSink> Asker<'_, S> {
    pub(super) fn aggregate(&mut self, aggregate: &Aggregate, at: At<'_>) -> Answer {
        let (over, gathering, value) = match aggregate {
            Aggregate::NumberOf(over, condition) => (*over, Gathering::Count, condition.as_ref()),
            Aggregate::AnyWhere(over, condition) => (*over, Gathering::Any, Some(condition)),
            Aggregate::TotalOf(over, value) => (*over, Gathering::Total, Some(value)),
            Aggregate::ExtremeOf(extreme, over, value) => {
                (*over, Gathering::Furthest(*extreme), Some(value))
            }
        };
        let mut gathered = Gathered {
            count: Rational::ZERO,
            total: Rational::ZERO,
            furthest: None,
            any: false,
            undecided: None,
        };
        match over {
            Over::Group(group) => {
                let Some(clubs) = self.evaluation.members(group) else {
                    return Ok(State::Undecided(self.evaluation.not_made(group)));
                };
                for member in 0..clubs.len() {
                    let inside = At {
                        club: Some((group, member)),
                        along: None,
                        ..at
                    };
                    self.gather(gathering, value, Rational::ONE, inside, &mut gathered)?;
                }
            }
            Over::PartsOnHand(part) => {
                for (candidate, times) in Candidate::on_hand(self.world, part) {
                    let inside = At {
                        candidate: Some(&candidate),
                        ..at
                    };
                    self.gather(gathering, value, times, inside, &mut gathered)?;
                }
            }
        }
        Ok(gathered.result(gathering))
    }

    fn gather(
        &mut self,
        gathering: Gathering,
        value: Option<&Expression>,
        times: Rational,
        at: At<'_>,
        gathered: &mut Gathered,
    ) -> Result<(), Ended> {
        self.step()?;
        let state = match value {
            Some(value) => self.ask(value, at)?,
            None => flag(true),
        };
        let value = match state {
            State::Known(value) => value,
            State::None => return Ok(()),
            State::Undecided(undecided) => {
                merge(gathered.undecided.get_or_insert_default(), *undecided);
                return Ok(());
            }
        };
        match gathering {
            Gathering::Count | Gathering::Any => {
                if value.flag() == Some(true) {
                    gathered.any = true;
                    gathered.count = gathered.count.plus(times)?;
                }
            }
            Gathering::Total => {
                gathered.total = gathered.total.plus(number(&value)?.times(times)?)?;
            }
            Gathering::Furthest(extreme) => {
                let is_further = gathered
                    .furthest
                    .as_ref()
                    .is_none_or(|known| operators::is_more_extreme(extreme, &value, known));
                if is_further {
                    gathered.furthest = Some(value);
                }
            }
        }
        Ok(())
    }
}

impl Gathered {
    fn result(self, gathering: Gathering) -> State {
        if matches!(gathering, Gathering::Any) && self.any {
            return flag(true);
        }
        if let Some(undecided) = self.undecided {
            return State::Undecided(undecided);
        }
        match gathering {
            Gathering::Count => State::Known(Value::Number(self.count)),
            Gathering::Any => flag(false),
            Gathering::Total => State::Known(Value::Number(self.total)),
            Gathering::Furthest(_) => self.furthest.map_or(State::None, State::Known),
        }
    }
}
