//! All of what a decision did not come to: its rows, and the bands that its readings lie in.

use loftwright_engine::picture::Bands;
use loftwright_proto::v1 as pb;

use super::Rules;
use super::again::look_into;
use super::facts::Facts;
use crate::rpc::convert;

/// What did not decide.
#[derive(Clone, Debug, Default)]
pub(crate) struct NotTaken {
    /// Every row of every table with what ruled it out.
    pub(crate) rows: Vec<pb::RowNotTaken>,
    /// How many tables there are.
    pub(crate) tables: usize,
    /// The readings with a spread on the bands of the decision.
    pub(crate) bands: Vec<Bands>,
    /// Whether it is a choice of a part.
    pub(crate) is_choice: bool,
    /// That it was evaluated again, or why it was not.
    pub(crate) told: Option<String>,
}

/// The rows and bands of a decision, by an evaluation again; of a choice only that it is one.
pub(crate) fn not_taken(
    facts: &Facts<'_>,
    rules: Option<&Rules>,
    decision: &str,
    club: Option<&str>,
) -> NotTaken {
    let Some(rules) = rules else {
        return NotTaken::default();
    };
    let mut choices = rules.ruleset.program.chooses.iter();
    if choices.any(|choose| choose.name == decision) {
        return NotTaken {
            is_choice: true,
            ..NotTaken::default()
        };
    }
    let what = "the rows that did not decide and the bands";
    let (told, found) = look_into(facts, rules, what, |inquiry| {
        let inputs: Vec<&str> = facts.request.readings.keys().map(String::as_str).collect();
        let bands = inquiry.bands(decision, club, &inputs);
        (inquiry.rows(decision, club).unwrap_or_default(), bands)
    });
    let (tables, bands) = found.unwrap_or_default();
    let rows = tables.iter().flat_map(|table| {
        let rows = table.rows.iter();
        rows.map(|row| convert::row_not_taken(table.table, row))
    });
    NotTaken {
        rows: rows.collect(),
        tables: tables.len(),
        bands,
        is_choice: false,
        told: Some(told.sentence),
    }
}
