//! The proof that rows neither overlap nor leave a gap.
//!
//! Each column is cut at its rows' own bounds into cells on which no condition changes: points and
//! the open intervals between them, words, flags. A row is a box of cells. Marking the boxes finds
//! every overlap; what stays unmarked is a gap. The cells of a column lie within its range, and
//! counts and dates only where a whole number lies. Columns are taken as independent, which is
//! sound for every player.

use std::collections::BTreeSet;

use super::cells::{Cell, accepts, cell_text, cells_of, region_text};
use super::checker::{Checker, Symbol};
use super::ranges::Ranges;
use crate::diagnostic::{Code, Diagnostic};
use crate::program::{Condition, Decision, DecisionId, Program, Row, Table, Type, ValueSet};
use crate::syntax::tree::{self, DeclarationKind, HitPolicy};

/// The most cells of a table of several columns.
pub(super) const MOST_CELLS: usize = 100_000;
/// The most gaps shown of one table.
const MOST_GAPS: usize = 20;

/// One table ready to be proved: its columns' cells.
struct Grid<'t> {
    table: &'t Table,
    cells: Vec<Vec<Cell>>,
}

impl Checker<'_> {
    /// Proves every table of every decision, and writes the columns' ranges into the program. A
    /// decision that is not whole is left out: nothing can be said of what it lacks.
    pub(super) fn prove_tables(&mut self) {
        if self.program.order.is_empty() {
            return;
        }
        for id in self.whole_decisions() {
            let mut decision = self.program.decisions[id].clone();
            let mut ranges = Ranges::new(&self.program);
            for table in tables_mut(&mut decision) {
                for column in &mut table.columns {
                    column.between = if column.value.value_type.is_numeric() {
                        ranges.of(&column.value)
                    } else {
                        None
                    };
                }
            }
            let findings: Vec<Diagnostic> = decision
                .tables()
                .into_iter()
                .flat_map(|table| prove(&self.program, &decision, table))
                .collect();
            self.diagnostics.extend(findings);
            self.program.decisions[id] = decision;
        }
    }

    /// The decisions in which every line was read, and every name and type is right.
    fn whole_decisions(&self) -> Vec<DecisionId> {
        let mut whole = Vec::new();
        for entry in &self.merged.entries {
            let declaration = entry.declaration;
            let (DeclarationKind::Decide(decide), Some(Symbol::Decision(id))) =
                (&declaration.kind, self.symbols.get(entry.name).copied())
            else {
                continue;
            };
            let is_inside = |finding: &Diagnostic| {
                let (outer, inner) = (declaration.span, finding.primary.span);
                is_error(finding)
                    && inner.file == outer.file
                    && (outer.start..=outer.end).contains(&inner.start)
            };
            let is_faulty = self.diagnostics.iter().any(is_inside);
            let tables = self.program.decisions[id].tables();
            // A column that rests on a let that failed is missing without a finding here.
            let has_all_columns = tables.iter().zip(tree_tables(decide)).all(|(table, tree)| {
                table.columns.len() == tree.columns.len() && table.rows.len() == tree.rows.len()
            });
            if !declaration.is_damaged && !is_faulty && has_all_columns {
                whole.push(id);
            }
        }
        whole
    }
}

/// The tables of a decision as they are written, in the order of [`Decision::tables`].
fn tree_tables(decide: &tree::Decide) -> Vec<&tree::Table> {
    let body = match &decide.body {
        tree::DecideBody::Table(table) => Some(table),
        tree::DecideBody::Progression(progression) => match &progression.next {
            Some(tree::NextStep::Table(table)) => Some(table),
            _ => None,
        },
        tree::DecideBody::Gives(_) => None,
    };
    let steps = decide.steps.iter().filter_map(|step| match step {
        tree::Step::Table(table) => Some(table),
        tree::Step::Post(..) => None,
    });
    body.into_iter().chain(steps).collect()
}

fn is_error(finding: &Diagnostic) -> bool {
    finding.severity == crate::diagnostic::Severity::Error
}

fn tables_mut(decision: &mut Decision) -> Vec<&mut Table> {
    use crate::program::{Body, NextStep, Step};
    let body = match &mut decision.body {
        Body::Table(table) => Some(table),
        Body::Progression(progression) => match &mut progression.next {
            Some(NextStep::Table(table)) => Some(table),
            _ => None,
        },
        Body::Gives(_) => None,
    };
    let steps = decision.steps.iter_mut().filter_map(|step| match step {
        Step::Table(table) => Some(table),
        _ => None,
    });
    body.into_iter().chain(steps).collect()
}

fn prove(program: &Program, decision: &Decision, table: &Table) -> Vec<Diagnostic> {
    let cells: Vec<Vec<Cell>> = table
        .columns
        .iter()
        .enumerate()
        .map(|(index, column)| cells_of(program, table, index, column))
        .collect();
    let total = cells
        .iter()
        .try_fold(1_usize, |total, cells| total.checked_mul(cells.len()));
    let is_too_large = table.columns.len() > 1 && total.is_none_or(|total| total > MOST_CELLS);
    let (Some(total), false) = (total, is_too_large) else {
        return vec![
            Diagnostic::error(
                Code::TooManyCells,
                table.span,
                format!(
                    "this table of `{}` has too many cells to prove it",
                    decision.name
                ),
            )
            .with_help(format!(
                "split this table: more than {MOST_CELLS} cells are not looked at"
            )),
        ];
    };
    let grid = Grid { table, cells };
    let (owners, mut findings) = grid.mark(program, total);
    findings.extend(grid.gaps(program, decision, &owners));
    findings.extend(grid.unreached(&owners));
    findings
}

impl Grid<'_> {
    /// Marks every row's box. Under *unique* a cell with two rows is an overlap; under *first* the
    /// first one keeps it.
    fn mark(&self, program: &Program, total: usize) -> (Vec<Option<usize>>, Vec<Diagnostic>) {
        let mut owners: Vec<Option<usize>> = vec![None; total];
        let mut clashes: BTreeSet<(usize, usize)> = BTreeSet::new();
        let mut findings = Vec::new();
        for (number, row) in self.table.rows.iter().enumerate() {
            if row.is_otherwise {
                continue;
            }
            for flat in self.cells_of_row(row) {
                let Some(owner) = owners.get_mut(flat) else {
                    continue;
                };
                match *owner {
                    None => *owner = Some(number),
                    Some(other) if self.table.hit_policy == HitPolicy::Unique => {
                        if clashes.insert((other, number)) {
                            findings.extend(self.overlap(program, other, number, flat));
                        }
                    }
                    Some(_) => {}
                }
            }
        }
        (owners, findings)
    }

    /// The flat numbers of the cells in a row's box.
    fn cells_of_row(&self, row: &Row) -> Vec<usize> {
        let mut flats = vec![0_usize];
        for (cells, condition) in self.cells.iter().zip(&row.conditions) {
            let accepted: Vec<usize> = self.accepted(cells, condition);
            flats = flats
                .iter()
                .flat_map(|flat| accepted.iter().map(move |place| flat * cells.len() + place))
                .collect();
        }
        flats
    }

    fn accepted(&self, cells: &[Cell], condition: &Condition) -> Vec<usize> {
        let starts = match &condition.values {
            // Numeric cells are in order: begin at the lower bound instead of looking at all.
            ValueSet::Intervals(intervals) if intervals.len() == 1 && !condition.is_any => {
                let low = intervals.first().and_then(|interval| interval.low);
                low.map_or(0, |low| {
                    cells.partition_point(|cell| match cell {
                        Cell::Point(number) => *number < low.value,
                        Cell::Open(_, high) => high.is_some_and(|high| high <= low.value),
                        _ => false,
                    })
                })
            }
            _ => 0,
        };
        let is_run = matches!(condition.values, ValueSet::Intervals(_)) && !condition.is_any;
        let mut places = Vec::new();
        for (place, cell) in cells.iter().enumerate().skip(starts) {
            if accepts(condition, cell) {
                places.push(place);
            } else if is_run && !places.is_empty() && !matches!(cell, Cell::None | Cell::Unknown) {
                // Past the end of a single interval; only none and unknown may follow.
                if let ValueSet::Intervals(intervals) = &condition.values
                    && intervals.len() == 1
                    && !condition.none
                    && !condition.unknown
                {
                    break;
                }
            }
        }
        places
    }

    fn cell_places(&self, flat: usize) -> Vec<&Cell> {
        let mut rest = flat;
        let mut places = Vec::new();
        for cells in self.cells.iter().rev() {
            let length = cells.len().max(1);
            places.extend(cells.get(rest % length));
            rest /= length;
        }
        places.reverse();
        places
    }

    /// A cell for people, as a player: `steepness of 4.5 deg`.
    fn witness(&self, program: &Program, flat: usize) -> String {
        let parts: Vec<String> = self
            .cell_places(flat)
            .into_iter()
            .zip(&self.table.columns)
            .filter(|(_, column)| !matches!(column.value.value_type, Type::Text))
            .map(|(cell, column)| format!("`{}` {}", column.text, cell_text(program, column, cell)))
            .collect();
        parts.join(" and ")
    }

    fn overlap(
        &self,
        program: &Program,
        one: usize,
        other: usize,
        flat: usize,
    ) -> Option<Diagnostic> {
        let (one, other) = (self.table.rows.get(one)?, self.table.rows.get(other)?);
        let finding = Diagnostic::error(
            Code::Overlap,
            other.span,
            format!(
                "two rows match a player with {}",
                self.witness(program, flat)
            ),
        )
        .labelled("this row matches")
        .also_at(one.span, "and so does this one")
        .with_help(
            "let the rows meet without sharing a value, or write `, first` after the columns",
        );
        Some(finding)
    }

    fn gaps(
        &self,
        program: &Program,
        decision: &Decision,
        owners: &[Option<usize>],
    ) -> Option<Diagnostic> {
        if self.table.rows.iter().any(|row| row.is_otherwise) {
            return None;
        }
        let open: Vec<usize> = owners
            .iter()
            .enumerate()
            .filter(|(_, owner)| owner.is_none())
            .map(|(flat, _)| flat)
            .collect();
        let first = open.first()?;
        let mut finding = Diagnostic::error(
            Code::Gap,
            self.table.span,
            format!(
                "a player with {} matches no row",
                self.witness(program, *first)
            ),
        )
        .labelled(format!("the rows of `{}` leave a gap", decision.name));
        for line in self.merged_gaps(program, &open).into_iter().take(MOST_GAPS) {
            finding = finding.with_help(line);
        }
        for column in &self.table.columns {
            if column.between.is_none() && column.value.value_type.is_numeric() {
                finding = finding.with_help(format!(
                    "`{}` has no range that is known here: state it with `between`, or `kept within`",
                    column.text
                ));
            }
        }
        Some(finding.with_help("add a row for it, or end with `otherwise`"))
    }

    /// Gaps that follow each other in the last column are one line.
    fn merged_gaps(&self, program: &Program, open: &[usize]) -> Vec<String> {
        let width = self.cells.last().map_or(1, Vec::len).max(1);
        let mut runs: Vec<(usize, usize)> = Vec::new();
        for flat in open {
            match runs.last_mut() {
                Some((start, end)) if *end + 1 == *flat && *start / width == *flat / width => {
                    *end = *flat
                }
                _ => runs.push((*flat, *flat)),
            }
        }
        let count = runs.len();
        let mut lines: Vec<String> = runs
            .into_iter()
            .take(MOST_GAPS - 1)
            .map(|(start, end)| {
                if start == end {
                    format!("not covered: {}", self.region(program, start))
                } else {
                    format!(
                        "not covered: {} … {}",
                        self.region(program, start),
                        self.region(program, end)
                    )
                }
            })
            .collect();
        if count > lines.len() {
            lines.push(format!("and {} gaps more", count - lines.len()));
        }
        lines
    }

    fn region(&self, program: &Program, flat: usize) -> String {
        let parts: Vec<String> = self
            .cell_places(flat)
            .into_iter()
            .zip(&self.table.columns)
            .map(|(cell, column)| {
                format!("`{}` {}", column.text, region_text(program, column, cell))
            })
            .collect();
        parts.join(" and ")
    }

    fn unreached(&self, owners: &[Option<usize>]) -> Vec<Diagnostic> {
        let reached: BTreeSet<usize> = owners.iter().flatten().copied().collect();
        let is_full = owners.iter().all(Option::is_some);
        self.table
            .rows
            .iter()
            .enumerate()
            .filter(|(number, row)| {
                if row.is_otherwise {
                    is_full
                } else {
                    !reached.contains(number)
                }
            })
            .map(|(_, row)| {
                Diagnostic::warning(Code::UnreachableRow, row.span, "no player reaches this row")
                    .with_help("rows above it, or the range of its column, leave nothing for it")
            })
            .collect()
    }
}
