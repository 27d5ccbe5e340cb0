//! A player who is said to fall in no row, or in two, confirmed by running him.

use loftwright_dsl::check::CheckOutput;
use loftwright_dsl::diagnostic::Witness;
use loftwright_dsl::program::{Decision, Node, Program};
use loftwright_dsl::quantity::Date;

use crate::evaluate::evaluate;
use crate::explain::{Evaluated, View, quoted, unsettled_sentence, value_of};
use crate::intake::{PlayerText, ReadingText, read_player};
use crate::outcome::{Outcome, State};
use crate::parts::Parts;
use crate::trace::{CompactTrace, StepTrace};

/// What a witness came to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum WitnessAnswer {
    /// The table does with him what the finding says.
    Confirmed,
    /// It does not: what came out, one sentence for each club, or one; or why he cannot be read.
    Refuted(Vec<String>),
    /// The table is asked for no club of this player, so nothing is shown either way.
    NotAsked,
}

/// Runs the player of a witness and looks at what the table did: a gap is confirmed where no row is
/// left, an overlap where all the rows of the witness are left though nothing is missing.
///
/// `program` may be a draft: the program of a check whose findings are of proofs only. No parts are
/// there, so a decision that rests on a chosen part is not asked its table.
pub fn confirm_witness(program: &Program, witness: &Witness, today: Date) -> WitnessAnswer {
    let named = |(_, decision): &(_, &Decision)| decision.name == witness.decision;
    let Some((id, decision)) = program.decisions.entries().find(named) else {
        return WitnessAnswer::NotAsked;
    };
    let mut text = PlayerText::default();
    let mut today = today;
    for reading in &witness.given {
        let is_it = |input: &&loftwright_dsl::program::Input| input.name == reading.input;
        let fills = program.inputs.iter().find(is_it);
        if fills.is_some_and(|input| input.filled_by_the_engine) {
            today = Date::parse(&reading.value).unwrap_or(today);
            continue;
        }
        let value = ReadingText {
            value: reading.value.clone(),
            ..ReadingText::default()
        };
        text.readings.insert(reading.input.clone(), value);
    }
    let player = match read_player(program, &text) {
        Ok(player) => player,
        Err(faults) => {
            let sentences = faults.iter().map(|fault| fault.message.clone());
            return WitnessAnswer::Refuted(sentences.collect());
        }
    };
    let parts = Parts::default();
    let mut trace = CompactTrace::default();
    let evaluation = evaluate(program, &parts, &player, today, &mut trace);
    let view = View::new(program, &parts, &player, today, &evaluation, &trace);
    let entries: Vec<&Evaluated<'_>> = view.evaluated_for(Node::Decision(id)).collect();
    let asked = |entry: &&Evaluated<'_>| steps_at(&trace, entry, witness.table).next().is_some();
    if entries
        .iter()
        .any(|entry| shows(&trace, entry, decision, witness))
    {
        WitnessAnswer::Confirmed
    } else if entries.iter().any(asked) {
        WitnessAnswer::Refuted(
            entries
                .iter()
                .map(|entry| told(&view, decision, entry))
                .collect(),
        )
    } else {
        WitnessAnswer::NotAsked
    }
}

/// Confirms every finding of a check that has a witness. One that is not confirmed says so in a
/// line of help.
pub fn confirm_findings(output: &mut CheckOutput, today: Date) {
    let Some(program) = output.draft.as_ref().or(output.program.as_ref()) else {
        return;
    };
    for finding in &mut output.diagnostics {
        let Some(witness) = &finding.witness else {
            continue;
        };
        let help = match confirm_witness(program, witness, today) {
            WitnessAnswer::Confirmed => continue,
            WitnessAnswer::Refuted(instead) => format!(
                "run as a player, this is not confirmed: {}",
                instead.join("; ")
            ),
            WitnessAnswer::NotAsked => {
                "this player's readings alone bring no club to this table".to_owned()
            }
        };
        finding.help.push(help);
    }
}

/// What was noted where the table was asked.
fn steps_at<'t>(
    trace: &'t CompactTrace,
    entry: &Evaluated<'_>,
    asked: usize,
) -> impl Iterator<Item = &'t StepTrace> {
    let steps = trace.steps(entry.how).unwrap_or_default();
    steps.iter().filter(move |step| match step {
        StepTrace::Row { table, .. }
        | StepTrace::IfUnknown { table, .. }
        | StepTrace::Remaining { table, .. } => *table == asked,
        _ => false,
    })
}

/// Whether the table did what the witness says.
fn shows(
    trace: &CompactTrace,
    entry: &Evaluated<'_>,
    decision: &Decision,
    witness: &Witness,
) -> bool {
    let tables = decision.tables();
    let declared = tables.get(witness.table).map(|table| &table.columns);
    let takes_unknown = |place: usize| {
        let column = declared.and_then(|columns| columns.get(place));
        column.is_some_and(|column| column.takes_unknown)
    };
    let is_settled = |(place, state): (usize, &State)| {
        !matches!(state, State::Undecided(_)) || takes_unknown(place)
    };
    steps_at(trace, entry, witness.table).any(|step| match step {
        StepTrace::Remaining { rows, .. } if witness.rows.is_empty() => rows.is_empty(),
        StepTrace::Remaining { rows, .. } => witness.rows.iter().all(|row| rows.contains(row)),
        // `if unknown` decides where several rows are left, though here nothing is missing.
        StepTrace::IfUnknown { .. } => {
            let columns = trace.columns(step);
            !witness.rows.is_empty() && columns.iter().enumerate().all(is_settled)
        }
        _ => false,
    })
}

/// What the decision came to for a club.
fn told(view: &View<'_>, decision: &Decision, entry: &Evaluated<'_>) -> String {
    let text = match (&entry.outcome, value_of(view, entry)) {
        (_, Some(value)) => value.text,
        (Outcome::DoesNotApply, None) => "does not apply".to_owned(),
        _ => unsettled_sentence(view, entry).unwrap_or_default(),
    };
    match view.club_of(entry.place) {
        Some(club) => format!("the {club}: {text}"),
        None => format!("{}: {text}", quoted(&decision.name)),
    }
}
