//! The proof of `never falls as X rises` where X is a column of the decision.
//!
//! All other columns are held fixed and X goes from its lowest value to its highest; the decision's
//! value after all its tables and steps must never fall. Columns are swept with X last, so that the
//! regions along X come one after the other. Where X does not apply or is not known it has no place
//! in the order. A region in which the decision has no value says nothing.

use std::ops::ControlFlow;

use super::cell_set::CellSet;
use super::joint::{Deciding, Joint, JointRegion, Standing};
use super::space::Space;
use super::sweep::Swept;
use super::worth::{Worth, worth};
use crate::digest::of_expression;
use crate::program::{Decision, Expression, Program, Promise, Value};
use crate::syntax::Span;

/// The most boxes of a proof.
const MOST_BOXES: usize = 200_000;

/// What a proof comes to.
#[derive(Clone, Debug)]
pub enum PromiseProof {
    /// It holds for every player.
    Proved,
    /// It does not hold between these two, who differ in X alone.
    Broken(Box<CounterExample>),
    /// The proof cannot be made: why, and where that stands.
    NotProvable(String, Option<Span>),
}

/// Two players who differ in X alone.
#[derive(Clone, Debug)]
pub struct CounterExample {
    /// The one with the lower X.
    pub lower: Player,
    /// The one with the higher X.
    pub higher: Player,
    /// What else is looked at and what it is: the column as it is written, and its value for
    /// people. Columns that do not matter are left out.
    pub others: Vec<(String, String)>,
    /// Every column of the joint tables with the value that both players share; X apart. `None`
    /// stands for what does not apply or is not known.
    pub fixed: Vec<(String, Option<Value>)>,
}

/// One player of a counter-example.
#[derive(Clone, Debug)]
pub struct Player {
    /// X.
    pub at: Value,
    /// What the decision comes to.
    pub gives: Value,
    /// The rows that decide, table by table: none where `if unknown` does, or nothing.
    pub rows: Vec<Option<usize>>,
}

/// Proves that a decision never falls (or rises) as the column `what` rises (or falls).
pub fn prove_promise(
    program: &Program,
    decision: &Decision,
    promise: &Promise,
    what: &Expression,
) -> PromiseProof {
    let tables = decision.tables();
    let key = of_expression(program, what);
    let space = Space::of_tables(program, &tables);
    let column = tables
        .iter()
        .zip(&space.columns)
        .flat_map(|(table, axes)| table.columns.iter().zip(axes))
        .find(|(column, _)| of_expression(program, &column.value) == key);
    let Some((_, axis)) = column else {
        return PromiseProof::NotProvable(no_column(decision), None);
    };
    let axis = *axis;
    let joint = Joint::new(tables, space);
    if !joint.has_cells() {
        let why = "a column of texts cannot be swept".to_owned();
        return PromiseProof::NotProvable(why, None);
    }
    let Some(situations) = joint.situations(&|axis| joint.decides_if_unknown(axis)) else {
        return PromiseProof::NotProvable("its tables ask too much at once".to_owned(), None);
    };
    let mut search = Search {
        program,
        decision,
        promise,
        joint: &joint,
        axis,
        line: None,
        ends: None,
    };
    for standings in situations {
        if standings.get(axis) != Some(&Standing::Known) {
            continue;
        }
        search.line = None;
        let swept = joint.visit(
            &standings,
            Some(axis),
            MOST_BOXES,
            &mut |region, deciding| search.region(region, deciding),
        );
        match (search.ends.take(), swept) {
            (Some(ends), _) => return ends,
            (None, Swept::OverBudget) => {
                let why = format!("more than {MOST_BOXES} boxes would have to be looked at");
                return PromiseProof::NotProvable(why, None);
            }
            (None, _) => {}
        }
    }
    PromiseProof::Proved
}

fn no_column(decision: &Decision) -> String {
    let mut columns: Vec<String> = Vec::new();
    for table in decision.tables() {
        for column in &table.columns {
            let text = format!("`{}`", column.text);
            if !columns.contains(&text) {
                columns.push(text);
            }
        }
    }
    match columns.as_slice() {
        [] => format!("`{}` has no columns", decision.name),
        columns => format!(
            "it is no column of `{}`, whose columns are {}",
            decision.name,
            columns.join(", ")
        ),
    }
}

/// The value that was passed last on a line along X, and where.
struct Passed {
    others: Vec<CellSet>,
    own: CellSet,
    gives: Value,
    deciding: Vec<Deciding>,
}

struct Search<'s> {
    program: &'s Program,
    decision: &'s Decision,
    promise: &'s Promise,
    joint: &'s Joint<'s>,
    axis: usize,
    line: Option<Passed>,
    ends: Option<PromiseProof>,
}

impl Search<'_> {
    fn region(&mut self, region: &JointRegion, deciding: &[Deciding]) -> ControlFlow<()> {
        let gives = match worth(self.program, self.decision, deciding) {
            Worth::Value(value) => value,
            Worth::Formula(formula) => {
                let why = "this is no constant".to_owned();
                self.ends = Some(PromiseProof::NotProvable(why, Some(formula.span)));
                return ControlFlow::Break(());
            }
            Worth::DoesNotApply | Worth::Undecided | Worth::Contradicted => {
                return ControlFlow::Continue(());
            }
        };
        let mut others = region.sets.clone();
        let Some(own) = others.get_mut(self.axis).map(std::mem::take) else {
            return ControlFlow::Continue(());
        };
        if let Some(passed) = self.line.as_ref().filter(|line| line.others == others)
            && !self.promise.allows(&passed.gives, &gives)
            && let Some(found) = self.counter_example(passed, region, &own, &gives, deciding)
        {
            self.ends = Some(PromiseProof::Broken(Box::new(found)));
            return ControlFlow::Break(());
        }
        self.line = Some(Passed {
            others,
            own,
            gives,
            deciding: deciding.to_vec(),
        });
        ControlFlow::Continue(())
    }

    fn counter_example(
        &self,
        passed: &Passed,
        region: &JointRegion,
        own: &CellSet,
        gives: &Value,
        deciding: &[Deciding],
    ) -> Option<CounterExample> {
        let rows = |deciding: &[Deciding]| {
            let row = |deciding: &Deciding| match deciding {
                Deciding::Row(row) => Some(*row),
                _ => None,
            };
            deciding.iter().map(row).collect()
        };
        let mut others = Vec::new();
        let mut fixed = Vec::new();
        for (axis, set) in region.sets.iter().enumerate() {
            if axis == self.axis {
                continue;
            }
            let standing = region.standings.get(axis).copied()?;
            let sample = match standing {
                Standing::Known => Some(self.joint.sample(axis, set)?),
                Standing::None | Standing::Unknown => None,
            };
            let column = self.joint.column_of(axis)?;
            let text = match (&sample, standing) {
                (Some(value), _) => {
                    let value_type = column.value.value_type;
                    column.shown.text(self.program, value_type, value)
                }
                (None, Standing::None) => "none".to_owned(),
                (None, _) => "unknown".to_owned(),
            };
            let length = self.joint.space.axes.get(axis)?.known_len();
            if sample.is_none() || !set.is_full(length) {
                others.push((column.text.clone(), text));
            }
            fixed.push((column.text.clone(), sample));
        }
        Some(CounterExample {
            lower: Player {
                at: self.joint.sample(self.axis, &passed.own)?,
                gives: passed.gives.clone(),
                rows: rows(&passed.deciding),
            },
            higher: Player {
                at: self.joint.sample(self.axis, own)?,
                gives: gives.clone(),
                rows: rows(deciding),
            },
            others,
            fixed,
        })
    }
}
