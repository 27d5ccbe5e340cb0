//! What a proof says to people.

use super::literal::literal_text;
use std::collections::BTreeMap;

use super::guess::{Guess, Seen};
use super::proof::{MOST_BOXES, Overlap, TableProof, prove_table};
use super::row_words::{cut_into_rows, row_text, sample_text};
use super::sentence::player_sentence;
use super::sweep::Region;
use super::witness::{Search, find_player};
use crate::diagnostic::{Code, Diagnostic, Witness, WitnessReading};
use crate::program::{
    Column, Decision, ExpressionKind, InputId, Program, Row, Table, Value, ValueSet,
};

/// The most gaps shown of one table.
pub const MOST_GAPS_SHOWN: usize = 20;
/// The most overlaps shown of one table.
pub const MOST_OVERLAPS_SHOWN: usize = 20;
/// Gaps in which a player is looked for before it is said that there is none.
const MOST_GAPS_SEARCHED: usize = 5;

/// Everything that is wrong with the tables of a decision.
pub(crate) fn table_findings(program: &Program, decision: &Decision) -> Vec<Diagnostic> {
    let tables = decision.tables();
    let mut findings = Vec::new();
    for (number, table) in tables.into_iter().enumerate() {
        let proof = prove_table(program, table);
        let about = About {
            program,
            decision,
            number,
            table,
            proof: &proof,
        };
        about.findings(&mut findings);
    }
    findings
}

struct About<'a> {
    program: &'a Program,
    decision: &'a Decision,
    number: usize,
    table: &'a Table,
    proof: &'a TableProof,
}

/// A player of a region, for people and as data.
struct Shown {
    /// `a player with …`.
    player: String,
    /// The columns' values, where the player is described by readings behind them.
    columns: Option<String>,
    witness: Option<Witness>,
    /// What is to be said of a search that found nobody.
    note: Option<String>,
}

impl About<'_> {
    fn findings(&self, findings: &mut Vec<Diagnostic>) {
        if !self.proof.is_whole && self.proof.overlaps.is_empty() {
            findings.push(self.over_budget());
            return;
        }
        let shown = self.proof.overlaps.iter().take(MOST_OVERLAPS_SHOWN);
        let overlaps: Vec<Diagnostic> = shown.filter_map(|overlap| self.overlap(overlap)).collect();
        let count = self.proof.overlaps.len();
        let more = count.saturating_sub(overlaps.len());
        let last = overlaps.len().saturating_sub(1);
        for (place, mut finding) in overlaps.into_iter().enumerate() {
            if place == last && more > 0 {
                let at_least = if self.proof.is_whole { "" } else { "at least " };
                finding = finding.with_help(format!("{at_least}{more} more pairs of rows overlap"));
            }
            findings.push(finding);
        }
        findings.extend(self.gap());
        for row in &self.proof.unreached {
            findings.extend(self.unreached(*row));
        }
    }

    fn over_budget(&self) -> Diagnostic {
        let message = format!(
            "the rows of this table of `{}` cross each other too often to prove it",
            self.decision.name
        );
        Diagnostic::error(Code::TooManyCells, self.table.span, message).with_help(format!(
            "split this table: more than {MOST_BOXES} boxes are not looked at"
        ))
    }

    fn overlap(&self, overlap: &Overlap) -> Option<Diagnostic> {
        let one = self.table.rows.get(overlap.one)?;
        let other = self.table.rows.get(overlap.other)?;
        let rows = vec![overlap.one, overlap.other];
        let shown = self.shown(&[&overlap.region], rows);
        let message = format!("two rows match {}", shown.player);
        let label = match &shown.columns {
            Some(columns) => format!("this row matches {columns}"),
            None => "this row matches".to_owned(),
        };
        let mut finding = Diagnostic::error(Code::Overlap, other.span, message)
            .labelled("and so does this one")
            .also_at(one.span, label);
        finding.witness = shown.witness;
        if let Some(note) = shown.note {
            finding = finding.with_help(note);
        }
        Some(finding.with_help(
            "let the rows meet without sharing a value, or write `, first` after the columns",
        ))
    }

    fn gap(&self) -> Option<Diagnostic> {
        let space = &self.proof.space;
        let rows = cut_into_rows(space, self.proof.gaps.clone());
        let searched: Vec<&Region> = rows.iter().take(MOST_GAPS_SEARCHED).collect();
        if searched.is_empty() {
            return None;
        }
        let shown = self.shown(&searched, Vec::new());
        let message = format!("{} matches no row", shown.player);
        let label = match &shown.columns {
            Some(columns) => format!("the rows of `{}` leave a gap {columns}", self.decision.name),
            None => format!("the rows of `{}` leave a gap", self.decision.name),
        };
        let mut finding = Diagnostic::error(Code::Gap, self.table.span, message).labelled(label);
        finding.witness = shown.witness;
        let most = if rows.len() > MOST_GAPS_SHOWN {
            MOST_GAPS_SHOWN - 1
        } else {
            rows.len()
        };
        for region in rows.iter().take(most) {
            let text = row_text(self.program, self.table, space, region);
            finding = finding.with_help(format!("not covered: {text}"));
        }
        if rows.len() > most {
            finding = finding.with_help(format!("and {} gaps more", rows.len() - most));
        }
        if let Some(note) = shown.note {
            finding = finding.with_help(note);
        }
        for column in &self.table.columns {
            if column.between.is_none() && column.value.value_type.is_numeric() {
                finding = finding.with_help(format!(
                    "`{}` has no range that is known here: state it with `between`, or `kept within`",
                    column.text
                ));
            }
        }
        let rows = if rows.len() == 1 {
            "a row for it"
        } else {
            "rows for them"
        };
        Some(finding.with_help(format!("add {rows}, or end with `otherwise`")))
    }

    /// The first of the regions in which a player is found, or the first one in the columns' words.
    fn shown(&self, regions: &[&Region], rows: Vec<usize>) -> Shown {
        let (mut tries, mut is_impossible, mut is_tried) = (0, true, true);
        for region in regions {
            let space = &self.proof.space;
            match find_player(self.program, self.decision, self.table, space, region) {
                Search::Found { given, absent } => return self.of_player(&given, &absent, rows),
                Search::Impossible => {}
                Search::NotFound(more) => {
                    tries += more;
                    is_impossible = false;
                }
                Search::NotTried => is_tried = false,
            }
        }
        let note = match (is_tried, is_impossible) {
            (false, _) => None,
            (true, true) => {
                Some("no readings lead there: `cannot happen` says so in a row".to_owned())
            }
            (true, false) => Some(format!(
                "no player was found there in {tries} tries: it may be out of reach; `cannot happen` \
                 says so in a row"
            )),
        };
        let columns = regions
            .first()
            .map(|region| self.column_values(region))
            .unwrap_or_default();
        Shown {
            player: format!("a player with {columns}"),
            columns: None,
            witness: None,
            note,
        }
    }

    fn of_player(&self, given: &[(InputId, Value)], absent: &[InputId], rows: Vec<usize>) -> Shown {
        let is_plain = |column: &Column| matches!(column.value.kind, ExpressionKind::Input(_));
        let are_readings = self.table.columns.iter().all(is_plain);
        let readings = given.iter().map(|(id, value)| {
            let input = &self.program.inputs[*id];
            let text = literal_text(self.program, &input.shown, input.value_type, value);
            WitnessReading {
                input: input.name.clone(),
                value: text,
            }
        });
        Shown {
            player: player_sentence(self.program, given, absent),
            columns: (!are_readings).then(|| format!("with {}", self.seen_by(given))),
            witness: Some(Witness {
                decision: self.decision.name.clone(),
                table: self.number,
                rows,
                given: readings.collect(),
            }),
            note: None,
        }
    }

    /// What each column that is no reading itself comes to for a player.
    fn seen_by(&self, given: &[(InputId, Value)]) -> String {
        let readings: BTreeMap<InputId, Value> = given.iter().cloned().collect();
        let guess = Guess::new(self.program, &readings);
        let mut values = Vec::new();
        for column in &self.table.columns {
            let text = match guess.see(&column.value) {
                _ if matches!(column.value.kind, ExpressionKind::Input(_)) => continue,
                Some(Seen::Known(value)) => self.written(column, &value),
                Some(Seen::None) => "that does not apply".to_owned(),
                _ => "unknown".to_owned(),
            };
            values.push(format!("`{}` {text}", column.text));
        }
        values.join(" and ")
    }

    fn written(&self, column: &Column, value: &Value) -> String {
        literal_text(self.program, &column.shown, column.value.value_type, value)
    }

    /// One value of each column: `steepness` 4.5 deg.
    fn column_values(&self, region: &Region) -> String {
        let columns = self
            .table
            .columns
            .iter()
            .zip(&self.proof.space.axes)
            .zip(&region.sets);
        let values: Vec<String> = columns
            .map(|((column, axis), set)| {
                format!(
                    "`{}` {}",
                    column.text,
                    sample_text(self.program, column, axis, set)
                )
            })
            .collect();
        values.join(" and ")
    }

    fn unreached(&self, number: usize) -> Option<Diagnostic> {
        let row = self.table.rows.get(number)?;
        let finding =
            Diagnostic::warning(Code::UnreachableRow, row.span, "no player reaches this row");
        if row.is_otherwise {
            return Some(finding.with_help("the rows above it leave nothing for it"));
        }
        Some(match self.outside_range(row) {
            Some((column, low, high)) => {
                finding.with_help(format!("`{}` lies between {low} and {high}", column.text))
            }
            None => finding.with_help("the rows above it take every player that it matches"),
        })
    }

    /// The column whose range a row lies outside of.
    fn outside_range(&self, row: &Row) -> Option<(&Column, String, String)> {
        let columns = self.table.columns.iter().zip(&self.proof.space.axes);
        columns
            .zip(&row.conditions)
            .find_map(|((column, axis), condition)| {
                let (low, high) = axis.between?;
                let is_outside = matches!(condition.values, ValueSet::Intervals(_))
                    && axis.accepted(condition).is_empty();
                let text = |number| {
                    let value = crate::program::Value::Number(number);
                    literal_text(self.program, &column.shown, column.value.value_type, &value)
                };
                is_outside.then(|| (column, text(low), text(high)))
            })
    }
}
