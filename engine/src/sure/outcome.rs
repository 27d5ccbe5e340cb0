//! When two outcomes are the same to a fitter, and how they are told.
//!
//! Two outcomes are the same where the sheet shows them alike. A number is shown to the step of its
//! declaration (`shown in inches, to 1/8`), else to four places; so a length that moves by a
//! hundredth of an inch is the same length. A part is the same where it is the same part, the same
//! piece of it and in the same setting.

use loftwright_dsl::program::{Node, Value};

use crate::explain::{View, code_text, setting_texts};
use crate::outcome::{ChosenPart, Outcome, Place};

/// An outcome as far as it can be told from others.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Seen {
    /// A value.
    Value(Value),
    /// A part.
    Part {
        /// Whether it is to be ordered.
        is_ordered: bool,
        /// The part's index in its kind.
        part: usize,
        /// The piece's index.
        piece: Option<usize>,
        /// The setting's index.
        setting: Option<usize>,
    },
    /// No value: how it ended.
    Ended(&'static str),
    /// The set that the moved readings give does not have the club.
    NotInTheBag,
}

/// How a place is told that waits for readings.
const WAITS: &str = "waits for readings";
/// How places for each club are told that were not there before and have come to something.
const SETTLED: &str = "settled club by club";

impl Seen {
    /// What there is to see of an outcome.
    pub(crate) fn of(outcome: &Outcome) -> Self {
        let part = |chosen: &ChosenPart, is_ordered| Seen::Part {
            is_ordered,
            part: chosen.part,
            piece: chosen.piece,
            setting: chosen.setting,
        };
        match outcome {
            Outcome::Decided(value) => Seen::Value(value.clone()),
            Outcome::Chosen(chosen) => part(chosen, false),
            Outcome::Ordered(chosen) => part(chosen, true),
            Outcome::Needs(_) | Outcome::Blocked(_) => Seen::Ended(WAITS),
            Outcome::DoesNotApply => Seen::Ended("does not apply"),
            Outcome::Contradicted { .. } => Seen::Ended("contradicted by the readings"),
            Outcome::OutsideRange(_) => Seen::Ended("outside range"),
            Outcome::Infeasible(_) => Seen::Ended("cannot be made"),
            Outcome::Faulted(_) => Seen::Ended("met a fault"),
            Outcome::LeftOpen => Seen::Ended("left open"),
            Outcome::NoneOnHand => Seen::Ended("none on hand"),
        }
    }

    /// What there is to see of the clubs of a group that was not there before.
    pub(crate) fn of_all(outcomes: &[Outcome]) -> Self {
        let is_waiting = |outcome: &Outcome| Seen::of(outcome).is_waiting();
        Seen::Ended(if outcomes.iter().any(is_waiting) {
            WAITS
        } else {
            SETTLED
        })
    }

    /// Whether readings are still missing.
    pub(crate) fn is_waiting(&self) -> bool {
        *self == Seen::Ended(WAITS)
    }

    /// As a person reads it.
    pub(crate) fn text(&self, view: &View<'_>, place: Place) -> String {
        match (self, place.node) {
            (Seen::Value(value), Node::Decision(id)) => {
                let decision = &view.program.decisions[id];
                decision
                    .shown
                    .text(view.program, decision.value_type, value)
            }
            (
                Seen::Part {
                    is_ordered,
                    part,
                    piece,
                    setting,
                },
                Node::Choose(id),
            ) => {
                let choose = &view.program.chooses[id];
                let mut text = code_text(view, choose.part, *part, *piece);
                let record = view.parts.of(choose.part).get(*part);
                for (name, value) in setting_texts(view, choose, record, *setting) {
                    text.push_str(&format!(", {name} {value}"));
                }
                if *is_ordered {
                    text.push_str(", to be ordered");
                }
                text
            }
            (Seen::Ended(text), _) => (*text).to_owned(),
            (Seen::NotInTheBag, _) => "not in the bag".to_owned(),
            _ => String::new(),
        }
    }

    /// The number, where it is one.
    pub(crate) fn number(&self) -> Option<loftwright_dsl::quantity::Rational> {
        match self {
            Seen::Value(value) => value.number(),
            _ => None,
        }
    }
}
