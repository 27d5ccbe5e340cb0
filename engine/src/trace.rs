//! The trace: what each node came to and by which rows.
//!
//! The evaluator is generic over where its trace goes. A trace cites declarations, tables and rows
//! by number, never a file or line, and holds nothing that a reader could not find again from the
//! program, the parts and the player.

use std::sync::Arc;

use loftwright_dsl::program::{GroupId, ModelId, Value};
use loftwright_dsl::quantity::{ArithmeticFault, Rational};

use crate::model::BeyondLiterature;
use crate::outcome::{OutsideRange, Place, State};
use crate::set::make_up::{Objective, Terms};

/// Where the evaluator's trace goes.
pub trait TraceSink {
    /// Whether anything is kept; lets the evaluator skip what only a trace needs.
    const IS_KEPT: bool;

    /// So many more nodes and clubs will be done.
    fn make_room(&mut self, entries: usize);

    /// A node is done for a club.
    fn node(&mut self, entry: Entry);

    /// A model was asked.
    fn model(&mut self, call: ModelCall);

    /// A decision on its way made a step.
    fn step(&mut self, step: StepTrace);

    /// What the columns of a table were; the list is emptied.
    fn columns(&mut self, states: &mut Vec<State>) -> Stretch;

    /// How many steps were made by now.
    fn step_count(&self) -> usize;
}

/// No trace at all.
#[derive(Clone, Copy, Debug, Default)]
pub struct NoTrace;

impl TraceSink for NoTrace {
    const IS_KEPT: bool = false;

    fn make_room(&mut self, _: usize) {}

    fn node(&mut self, _: Entry) {}

    fn model(&mut self, _: ModelCall) {}

    fn step(&mut self, _: StepTrace) {}

    fn columns(&mut self, _: &mut Vec<State>) -> Stretch {
        Stretch::default()
    }

    fn step_count(&self) -> usize {
        0
    }
}

/// About every so many entries a model is asked.
const ENTRIES_FOR_A_MODEL: usize = 12;

/// The compact trace: entries in the order of evaluation. What a decision has several of lies in
/// one list for all of them, so that an evaluation fills a few long lists and not thousands of
/// short ones.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct CompactTrace {
    /// Every node that was evaluated, for every club.
    pub entries: Vec<Entry>,
    /// Every model that was asked, in order.
    pub models: Vec<ModelCall>,
    steps: Vec<StepTrace>,
    columns: Vec<State>,
}

impl CompactTrace {
    /// The steps of a decision, in order; `None` for anything else, and where it does not apply.
    pub fn steps(&self, how: &How) -> Option<&[StepTrace]> {
        match how {
            How::Steps(steps) => Some(steps.of(&self.steps)),
            _ => None,
        }
    }

    /// What the columns of the table were that a step asked; none where it asked no table.
    pub fn columns(&self, step: &StepTrace) -> &[State] {
        match step {
            StepTrace::Row { columns, .. }
            | StepTrace::IfUnknown { columns, .. }
            | StepTrace::Remaining { columns, .. } => columns.of(&self.columns),
            StepTrace::Gives { .. } | StepTrace::Moved { .. } | StepTrace::Post { .. } => &[],
        }
    }
}

/// Where in a list of the trace something lies.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Stretch {
    first: usize,
    end: usize,
}

impl Stretch {
    /// From one count of a list to another.
    pub(crate) fn between(first: usize, end: usize) -> Self {
        Stretch { first, end }
    }

    fn of<T>(self, list: &[T]) -> &[T] {
        list.get(self.first..self.end).unwrap_or_default()
    }
}

impl TraceSink for CompactTrace {
    const IS_KEPT: bool = true;

    fn make_room(&mut self, entries: usize) {
        self.entries.reserve(entries);
        self.models.reserve(entries / ENTRIES_FOR_A_MODEL);
        self.steps.reserve(entries);
        self.columns.reserve(entries);
    }

    fn node(&mut self, entry: Entry) {
        self.entries.push(entry);
    }

    fn model(&mut self, call: ModelCall) {
        self.models.push(call);
    }

    fn step(&mut self, step: StepTrace) {
        self.steps.push(step);
    }

    fn columns(&mut self, states: &mut Vec<State>) -> Stretch {
        let first = self.columns.len();
        self.columns.append(states);
        Stretch::between(first, self.columns.len())
    }

    fn step_count(&self) -> usize {
        self.steps.len()
    }
}

/// One node for one club; what it came to the evaluation says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// Which.
    pub place: Place,
    /// How it came to its outcome.
    pub how: How,
}

/// How a node came to its outcome.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum How {
    /// Nothing more is to be said: an input, a let, a group.
    Plain,
    /// A default was assumed for an input.
    Assumed,
    /// `only when` did not hold, or is not decided.
    OnlyWhen,
    /// A decision: where its steps lie, in order.
    Steps(Stretch),
    /// A choice of a part.
    Selection(Box<Selection>),
    /// A limit that is not in force on the day, or a limit or caution that was asked.
    Condition {
        /// Whether it was in force.
        in_force: bool,
    },
    /// A group: how many members.
    Members(GroupId, usize),
    /// The plan of the set.
    Plan(Box<PlanTrace>),
}

/// One step of a decision.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum StepTrace {
    /// A row of a table decided.
    Row {
        /// The table's number in the decision (see `Decision::tables`).
        table: usize,
        /// The row's number, from 0.
        row: usize,
        /// Where it lies what the columns were.
        columns: Stretch,
        /// The value after it; not there where a `moves` waits for the others.
        value: Option<Value>,
    },
    /// Readings were missing and the table's `if unknown` decided.
    IfUnknown {
        /// The table's number in the decision.
        table: usize,
        /// Where it lies what the columns were.
        columns: Stretch,
        /// The value after it.
        value: Option<Value>,
    },
    /// An expression gave the value.
    Gives {
        /// Which expression of the decision.
        which: GivesWhich,
        /// The value.
        value: Value,
    },
    /// Moves summed and applied once.
    Moved {
        /// The half steps asked for.
        half_steps: i32,
        /// The value after it.
        value: Value,
        /// Whether an end of the scale stopped it.
        stopped: bool,
    },
    /// `kept within`, `rounded to`, `or if unknown`: the step's number and the value after it.
    Post {
        /// The number of the step in the decision's steps, from 0.
        step: usize,
        /// The value after it.
        value: Value,
    },
    /// No row decided: these rows of the table remain.
    Remaining {
        /// The table's number in the decision.
        table: usize,
        /// The rows that are not out.
        rows: Vec<usize>,
        /// Where it lies what the columns were.
        columns: Stretch,
    },
}

/// Which expression of a decision gave the value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GivesWhich {
    /// `gives`.
    Gives,
    /// `kept gives`.
    Kept,
    /// `first gives`.
    First,
    /// `next gives`.
    Next,
    /// `last gives`.
    Last,
}

/// How many families a selection keeps: the one taken, and those that came next.
pub const MOST_FAMILIES: usize = 4;

/// How a part was chosen.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Selection {
    /// How many candidates there were: parts or pieces, times settings.
    pub candidates: usize,
    /// The preferences' scores of the one chosen; `None` where the line was not weighed.
    pub scores: Vec<Option<Rational>>,
    /// The sum of the scores; families are told apart by it, so that it is there without a trace.
    pub total: Option<Rational>,
    /// The best of those not chosen, best first.
    pub runners_up: Vec<RunnerUp>,
    /// Those that failed, by the first `needs` they failed.
    pub failed: Vec<FailedGroup>,
    /// The preferences that were not weighed since the ruleset's side is not decided.
    pub not_weighed: Vec<usize>,
    /// How many candidates of a club that goes without would do and go to other clubs.
    pub gone_to_others: usize,
    /// What the assignment comes to, where the clubs share the stock together.
    pub together: Option<Totals>,
    /// The families that the clubs could agree on, the best [`MOST_FAMILIES`], the one taken first;
    /// empty where they need not agree.
    pub families: Arc<[FamilyTotals]>,
}

/// A candidate that met the needs and was not taken.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RunnerUp {
    /// The part's index in its kind.
    pub part: usize,
    /// The piece's index.
    pub piece: Option<usize>,
    /// The setting's index.
    pub setting: Option<usize>,
    /// The sum of its scores.
    pub total: Rational,
    /// The club of the group that takes it, where the clubs share the stock together.
    pub taken_for: Option<usize>,
}

/// What a choice for all clubs comes to: what an assignment, or a family, is judged by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Totals {
    /// Clubs with neither a piece nor an order.
    pub without: usize,
    /// Clubs whose part is to be ordered.
    pub ordered: usize,
    /// The sum of the rungs of the ladder, counted from 1, by which pieces were found; 0 for those
    /// that meet the original needs.
    pub levels: usize,
    /// The sum of all scores.
    pub score: Rational,
}

impl Totals {
    /// Before any club.
    pub const NOTHING: Totals = Totals {
        without: 0,
        ordered: 0,
        levels: 0,
        score: Rational::ZERO,
    };

    /// What families are ordered by, the best first.
    pub(crate) fn in_order(self) -> (usize, usize, usize, Rational) {
        let Totals {
            without,
            ordered,
            levels,
            score,
        } = self;
        (without, ordered, levels, score.negated())
    }

    /// With one more club: the level and score of its part, if it has one, and whether that is to
    /// be ordered.
    pub(crate) fn with(
        mut self,
        part: Option<(usize, Rational)>,
        is_ordered: bool,
    ) -> Result<Self, ArithmeticFault> {
        match part {
            Some((level, score)) => {
                self.score = self.score.plus(score)?;
                if is_ordered {
                    self.ordered += 1;
                } else {
                    self.levels += level;
                }
            }
            None => self.without += 1,
        }
        Ok(self)
    }
}

/// A family of parts that all clubs could agree on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FamilyTotals {
    /// The fields of the part, by index.
    pub fields: Arc<[usize]>,
    /// The values of the fields that the choice agrees on.
    pub values: Arc<[Value]>,
    /// What the choice comes to with it.
    pub totals: Totals,
}

/// Candidates that failed the same `needs` line first.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FailedGroup {
    /// The line's index.
    pub needs: usize,
    /// How many.
    pub count: usize,
    /// The nearest miss: the part's index, the piece's, the setting's, and by how much, where the
    /// line compares numbers.
    pub nearest: Option<(usize, Option<usize>, Option<usize>, Rational)>,
}

/// How the set was made up. Candidates are cited by their places in their group.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlanTrace {
    /// What the set had to keep to.
    pub terms: Terms,
    /// What it was judged by.
    pub objective: Objective,
    /// How many candidates could be taken.
    pub contenders: usize,
    /// Those taken, longest carry first.
    pub taken: Vec<usize>,
    /// Those left out since a kept club holds their place, each with that club.
    pub held: Vec<(usize, usize)>,
    /// Settled clubs that could not be placed, since nobody knows how far they carry.
    pub without_carry: Vec<usize>,
    /// Others that the rules allow and that could not be placed for the same reason.
    pub unplaced: Vec<usize>,
    /// Clubs of a kind, the stronger loft first, of which the weaker carries no less.
    pub not_falling: Vec<(usize, usize)>,
}

/// One call of a model.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ModelCall {
    /// The node that asked.
    pub place: Place,
    /// The model.
    pub model: ModelId,
    /// Its arguments.
    pub arguments: Vec<Value>,
    /// Its answer.
    pub answer: Result<Value, OutsideRange>,
    /// What of the answer lies beyond what the model's source covers: a warning, no other value.
    pub beyond: Option<BeyondLiterature>,
}
