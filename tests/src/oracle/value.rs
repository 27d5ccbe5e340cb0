//! Values, states and outcomes of the oracle, and how they are written down for comparison.

use std::collections::BTreeSet;
use std::fmt;

use loftwright_dsl::quantity::Rational;

/// A value with as much of its type as the oracle needs.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// A quantity in base units, a count, a plain number, a swingweight in points.
    Number(Rational),
    /// Days since 1970-01-01.
    Date(i64),
    /// Yes or no.
    Flag(bool),
    /// A word of a choice by its place, of a scale by its half steps above the lowest.
    Word {
        /// The choice or scale.
        vocabulary: String,
        /// The place or half steps.
        place: i32,
    },
    /// A text of a part.
    Text(String),
    /// Words, quantities or texts of a part.
    List(Vec<Value>),
    /// A part that was chosen, without looking into it.
    Part,
}

/// A node of the graph for one club; counted from 0, `None` where there is one for the bag.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Place {
    /// The declaration's name.
    pub name: String,
    /// The club.
    pub member: Option<usize>,
}

/// A root cause.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Cause {
    /// A reading that was not given.
    Reading(String),
    /// A field of a club that is not known.
    ClubField(String, usize, String),
    /// A field of a part that is not known.
    PartField(String, String),
    /// A node that ended without a value.
    Ended(Place),
}

/// Why a value is not decided.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Undecided {
    /// The nearest nodes that are not decided.
    pub blocked_by: BTreeSet<Place>,
    /// The root causes.
    pub causes: BTreeSet<Cause>,
}

/// A value on its way through expressions.
#[derive(Clone, Debug, PartialEq)]
pub enum State {
    /// A value.
    Known(Value),
    /// Does not apply.
    None,
    /// Not decided.
    Undecided(Undecided),
}

/// How a node ended.
#[derive(Clone, Debug, PartialEq)]
pub enum Outcome {
    /// A value.
    Decided(Value),
    /// Readings are missing.
    Needs(BTreeSet<Cause>),
    /// Something it rests on is not decided.
    Blocked(Undecided),
    /// Does not apply.
    DoesNotApply,
    /// A row that cannot happen: table and row, counted from 0.
    Contradicted(usize, usize),
    /// A model beyond its range.
    OutsideRange(String),
    /// A group that cannot be made.
    Infeasible,
    /// Arithmetic without an answer.
    Faulted,
    /// A part from the stock.
    Chosen(Pick),
    /// A part to be ordered.
    Ordered(Pick),
    /// The ladder leaves it open.
    LeftOpen,
    /// Nothing meets the needs.
    NoneOnHand,
}

/// A part that was picked.
#[derive(Clone, Debug, PartialEq)]
pub struct Pick {
    /// The index of the part, parts sorted by id.
    pub part: usize,
    /// The index of the piece, pieces sorted by id.
    pub piece: Option<usize>,
    /// The index of the setting.
    pub setting: Option<usize>,
    /// The rung that led here; `None` for the original needs.
    pub rung: Option<usize>,
    /// Names for people: part and piece.
    pub codes: String,
}

impl Undecided {
    /// Undecided for one cause, nothing blocking.
    pub fn cause(cause: Cause) -> Self {
        Undecided {
            blocked_by: BTreeSet::new(),
            causes: BTreeSet::from([cause]),
        }
    }

    /// Both together.
    pub fn merge(&mut self, other: &Undecided) {
        self.blocked_by.extend(other.blocked_by.iter().cloned());
        self.causes.extend(other.causes.iter().cloned());
    }

    /// The same causes, blocked by one node.
    pub fn behind(&self, place: &Place) -> Self {
        Undecided {
            blocked_by: BTreeSet::from([place.clone()]),
            causes: self.causes.clone(),
        }
    }
}

impl State {
    /// The flag, where the state is a known one.
    pub fn flag(&self) -> Option<bool> {
        match self {
            State::Known(Value::Flag(flag)) => Some(*flag),
            _ => None,
        }
    }

    /// What the node comes to whose value this is.
    pub fn into_outcome(self) -> Outcome {
        match self {
            State::Known(value) => Outcome::Decided(value),
            State::None => Outcome::DoesNotApply,
            State::Undecided(undecided) if undecided.blocked_by.is_empty() => {
                Outcome::Needs(undecided.causes)
            }
            State::Undecided(undecided) => Outcome::Blocked(undecided),
        }
    }
}

impl fmt::Display for Value {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Value::Number(number) => write!(formatter, "{number}"),
            Value::Date(days) => write!(formatter, "{days}"),
            Value::Flag(true) => write!(formatter, "yes"),
            Value::Flag(false) => write!(formatter, "no"),
            Value::Word { place, .. } => write!(formatter, "word {place}"),
            Value::Text(text) => write!(formatter, "{text:?}"),
            Value::List(values) => {
                let texts: Vec<String> = values.iter().map(Value::to_string).collect();
                write!(formatter, "[{}]", texts.join(", "))
            }
            Value::Part => write!(formatter, "part"),
        }
    }
}

impl fmt::Display for Place {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.member {
            Some(member) => write!(formatter, "{}[{member}]", self.name),
            None => write!(formatter, "{}", self.name),
        }
    }
}

impl fmt::Display for Cause {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Cause::Reading(input) => write!(formatter, "{input}"),
            Cause::ClubField(group, member, field) => {
                write!(formatter, "{group}[{member}].{field}")
            }
            Cause::PartField(part, field) => write!(formatter, "{part}.{field}"),
            Cause::Ended(place) => write!(formatter, "end of {place}"),
        }
    }
}

/// A set of texts in a stable order, whatever it was sorted by before.
fn joined<T: fmt::Display>(items: &BTreeSet<T>) -> String {
    let texts: BTreeSet<String> = items.iter().map(ToString::to_string).collect();
    texts.into_iter().collect::<Vec<_>>().join(", ")
}

impl fmt::Display for Pick {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            formatter,
            "part {} piece {:?} setting {:?} rung {:?} ({})",
            self.part, self.piece, self.setting, self.rung, self.codes
        )
    }
}

impl fmt::Display for Outcome {
    /// The summary that is compared with the engine's.
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Outcome::Decided(value) => write!(formatter, "decided {value}"),
            Outcome::Needs(causes) => write!(formatter, "needs {}", joined(causes)),
            Outcome::Blocked(undecided) => write!(
                formatter,
                "blocked by {}: {}",
                joined(&undecided.blocked_by),
                joined(&undecided.causes)
            ),
            Outcome::DoesNotApply => write!(formatter, "none"),
            Outcome::Contradicted(table, row) => {
                write!(formatter, "contradicted by row {row} of table {table}")
            }
            Outcome::OutsideRange(model) => write!(formatter, "outside the range of {model}"),
            Outcome::Infeasible => write!(formatter, "infeasible"),
            Outcome::Faulted => write!(formatter, "faulted"),
            Outcome::Chosen(pick) => write!(formatter, "chosen {pick}"),
            Outcome::Ordered(pick) => write!(formatter, "ordered {pick}"),
            Outcome::LeftOpen => write!(formatter, "left open"),
            Outcome::NoneOnHand => write!(formatter, "none on hand"),
        }
    }
}
