//! One line of a case held against what came out.

use loftwright_dsl::program::{
    Expectation, ExpectationKind, GroupId, InputId, Node, Shown, Type, Value, Valued,
};
use loftwright_dsl::syntax::Span;
use loftwright_dsl::syntax::tree::Position;

use super::Failure;
use crate::explain::{Evaluated, View, causes_of, in_force, listed, quoted};
use crate::explain::{step_reports, unsettled_sentence, value_of};
use crate::outcome::{Cause, Outcome, Place};
use crate::trace::StepTrace;

/// What is wrong with an expectation; `None` where it is met.
pub(super) fn failure(view: &View<'_>, expectation: &Expectation) -> Option<Failure> {
    match &expectation.kind {
        ExpectationKind::Caution(id, raised) => {
            condition_failure(view, Node::Caution(*id), *raised, true, "raised")
        }
        ExpectationKind::Limit(id, broken) => {
            condition_failure(view, Node::Limit(*id), *broken, false, "broken")
        }
        ExpectationKind::Every(valued, value) => every_failure(view, *valued, value.as_ref()),
        ExpectationKind::CannotHappen(id) => cannot_happen_failure(view, Node::Decision(*id)),
        ExpectationKind::Needs(valued, input) => needs_failure(view, *valued, *input),
        ExpectationKind::Values(valued, values) => values_failure(view, *valued, values),
        ExpectationKind::OfMember(valued, position, group, value) => {
            member_failure(view, *valued, *position, *group, value.as_ref())
        }
    }
}

/// A failure without a row that decided.
fn plain(expected: String, found: String) -> Failure {
    Failure {
        expected,
        found,
        reason: None,
        row: None,
        tried_with: Vec::new(),
    }
}

/// A caution is raised, or a limit broken, where one of its conditions came to `flag`. What is not
/// known is neither: it meets no expectation.
fn condition_failure(
    view: &View<'_>,
    node: Node,
    wanted: bool,
    flag: bool,
    word: &str,
) -> Option<Failure> {
    let asked = || view.evaluated_for(node).filter(|entry| in_force(entry));
    let hits: Vec<_> = asked()
        .filter(|entry| *entry.outcome == Outcome::Decided(Value::Flag(flag)))
        .collect();
    let name = quoted(view.name_of(node));
    if wanted {
        if !hits.is_empty() {
            return None;
        }
        let open = view
            .evaluated_for(node)
            .find_map(|entry| unsettled_sentence(view, entry));
        let found = match open {
            Some(sentence) => format!("not {word}: {sentence}"),
            None => format!("not {word}"),
        };
        return Some(plain(format!("{name} {word}"), found));
    }
    let found = if hits.is_empty() {
        let mut open = asked().filter(|entry| *entry.outcome != Outcome::DoesNotApply);
        let sentence = open.find_map(|entry| unsettled_sentence(view, entry))?;
        format!("not known: {sentence}")
    } else {
        let places: Vec<Place> = hits.iter().map(|entry| entry.place).collect();
        format!("{} {word}", listed(&view.places_text(places.iter())))
    };
    Some(plain(format!("{name} not {word}"), found))
}

fn every_failure(view: &View<'_>, valued: Valued, value: Option<&Value>) -> Option<Failure> {
    let node = node_of(valued);
    let expected = format!(
        "every {} = {}",
        quoted(view.name_of(node)),
        wanted_text(view, valued, value)
    );
    let mut entries = view.evaluated_for(node).peekable();
    if entries.peek().is_none() {
        return Some(plain(expected, no_member_text(view, node)));
    }
    entries
        .find(|entry| !comes_to(view, entry, value))
        .map(|entry| with_reason(view, expected, entry))
}

/// Clubs that the decision does not apply to are not asked; where it is asked for none, nothing is
/// shown to be impossible.
fn cannot_happen_failure(view: &View<'_>, node: Node) -> Option<Failure> {
    let expected = format!("{} cannot happen", quoted(view.name_of(node)));
    let asked: Vec<_> = view
        .evaluated_for(node)
        .filter(|entry| *entry.outcome != Outcome::DoesNotApply)
        .collect();
    let happens = |entry: &&&Evaluated<'_>| !matches!(entry.outcome, Outcome::Contradicted { .. });
    match asked.iter().find(happens) {
        Some(entry) => Some(with_reason(view, expected, entry)),
        None if asked.is_empty() => Some(plain(expected, no_member_text(view, node))),
        None => None,
    }
}

fn needs_failure(view: &View<'_>, valued: Valued, input: InputId) -> Option<Failure> {
    let node = node_of(valued);
    let reading = quoted(&view.program.inputs[input].name);
    let expected = format!("{} needs {reading}", quoted(view.name_of(node)));
    let waits = |entry: &Evaluated<'_>| causes_of(entry.outcome).0.contains(&Cause::Reading(input));
    let asked: Vec<_> = view
        .evaluated_for(node)
        .filter(|entry| *entry.outcome != Outcome::DoesNotApply)
        .collect();
    match asked.iter().find(|entry| !waits(entry)) {
        Some(entry) => Some(with_reason(view, expected, entry)),
        None if asked.is_empty() => Some(plain(expected, no_member_text(view, node))),
        None => None,
    }
}

fn values_failure(view: &View<'_>, valued: Valued, values: &[Option<Value>]) -> Option<Failure> {
    let node = node_of(valued);
    let texts: Vec<String> = values
        .iter()
        .map(|value| wanted_text(view, valued, value.as_ref()))
        .collect();
    let expected = format!("{} = {}", quoted(view.name_of(node)), texts.join(", "));
    let entries: Vec<_> = view.evaluated_for(node).collect();
    // Not made, or not asked: the only entry there is says why.
    if let [only] = entries.as_slice()
        && only.place.member.is_none()
        && view.group_of(node).is_some()
    {
        return Some(with_reason(view, expected, only));
    }
    if entries.is_empty() {
        return Some(plain(expected, no_member_text(view, node)));
    }
    let pairs = || entries.iter().zip(values);
    if let Some((entry, _)) = pairs().find(|(entry, value)| !comes_to(view, entry, value.as_ref()))
    {
        return Some(with_reason(view, expected, entry));
    }
    if entries.len() == values.len() {
        return None;
    }
    let found: Vec<String> = entries
        .iter()
        .map(|entry| found_text(view, entry))
        .collect();
    let count = if entries.len() == 1 {
        "1 value".to_owned()
    } else {
        format!("{} values", entries.len())
    };
    Some(plain(expected, format!("{count}: {}", found.join(", "))))
}

fn member_failure(
    view: &View<'_>,
    valued: Valued,
    position: Position,
    group: GroupId,
    value: Option<&Value>,
) -> Option<Failure> {
    let node = node_of(valued);
    let word = match position {
        Position::First => "first",
        Position::Last => "last",
        Position::Next => "next",
        Position::Previous => "previous",
    };
    let expected = format!(
        "{} of the {word} {} = {}",
        quoted(view.name_of(node)),
        view.program.groups[group].name,
        wanted_text(view, valued, value)
    );
    let Some(size) = view.groups.size(group) else {
        return Some(plain(expected, group_text(view, group)));
    };
    let member = match position {
        Position::First => (size > 0).then_some(0),
        Position::Last => size.checked_sub(1),
        // There is no club at hand in a case.
        Position::Next | Position::Previous => None,
    };
    let Some(member) = member else {
        return Some(plain(expected, group_text(view, group)));
    };
    let place = match view.group_of(node) {
        None => Some(Place { node, member: None }),
        Some(own) => view
            .groups
            .same_club(group, member, own)
            .map(|member| Place {
                node,
                member: Some(member),
            }),
    };
    let Some(entry) = place.and_then(|place| view.at(place)) else {
        let club = view.club_name(group, member);
        return Some(plain(
            expected,
            format!("nothing is decided for the {club}"),
        ));
    };
    (!comes_to(view, entry, value)).then(|| with_reason(view, expected, entry))
}

/// Whether an entry came to the value; `None` stands for *does not apply*. A choice comes to the
/// code of its part or piece.
fn comes_to(view: &View<'_>, entry: &Evaluated<'_>, wanted: Option<&Value>) -> bool {
    match (&entry.outcome, wanted) {
        (Outcome::DoesNotApply, None) => true,
        (Outcome::Decided(value), Some(wanted)) => value == wanted,
        (Outcome::Chosen(_) | Outcome::Ordered(_), Some(Value::Text(code))) => {
            let codes = value_of(view, entry);
            codes.is_some_and(|shown| {
                shown.exact == code.as_ref()
                    || shown.text == code.as_ref()
                    || shown.text.strip_prefix(&format!("{} / ", shown.exact)) == Some(code)
            })
        }
        _ => false,
    }
}

/// What an entry came to in words.
fn found_text(view: &View<'_>, entry: &Evaluated<'_>) -> String {
    match (value_of(view, entry), unsettled_sentence(view, entry)) {
        (Some(shown), _) => shown.text,
        (None, Some(sentence)) => sentence,
        (None, None) => "no value".to_owned(),
    }
}

/// The failure with the row that decided.
fn with_reason(view: &View<'_>, expected: String, entry: &Evaluated<'_>) -> Failure {
    let found = match view.club_of(entry.place) {
        Some(club) => format!("{} for the {club}", found_text(view, entry)),
        None => found_text(view, entry),
    };
    let reports = step_reports(view, entry);
    let deciding = reports.iter().rev().find(|step| step.row.is_some());
    let reason = deciding.or(reports.last()).map(|step| {
        let looked_at: Vec<String> = step
            .readings
            .iter()
            .map(|reading| format!("{} {}", quoted(&reading.name), reading.text))
            .collect();
        let with = match looked_at.as_slice() {
            [] => String::new(),
            readings => format!(", with {}", listed(readings)),
        };
        match (step.table, step.row) {
            (Some(table), Some(row)) => {
                format!(
                    "table {table}, row {row} decided: {}{with}",
                    quoted(&step.rule)
                )
            }
            _ => format!("{}{with}", quoted(&step.rule)),
        }
    });
    Failure {
        expected,
        found,
        reason,
        row: row_span(view, entry),
        tried_with: Vec::new(),
    }
}

/// Where the last row stands that had a say.
fn row_span(view: &View<'_>, entry: &Evaluated<'_>) -> Option<Span> {
    let (Node::Decision(id), Some(steps)) = (entry.place.node, view.trace.steps(entry.how)) else {
        return None;
    };
    let tables = view.program.decisions[id].tables();
    steps.iter().rev().find_map(|step| match step {
        StepTrace::Row { table, row, .. } => Some(tables.get(*table)?.rows.get(*row)?.span),
        _ => None,
    })
}

fn node_of(valued: Valued) -> Node {
    match valued {
        Valued::Decision(id) => Node::Decision(id),
        Valued::Let(id) => Node::Let(id),
        Valued::Choose(id) => Node::Choose(id),
    }
}

fn wanted_text(view: &View<'_>, valued: Valued, value: Option<&Value>) -> String {
    value.map_or_else(|| "none".to_owned(), |value| text_of(view, valued, value))
}

fn text_of(view: &View<'_>, valued: Valued, value: &Value) -> String {
    let program = view.program;
    match valued {
        Valued::Decision(id) => {
            let decision = &program.decisions[id];
            decision.shown.text(program, decision.value_type, value)
        }
        Valued::Let(id) => {
            let declared = &program.lets[id];
            declared.shown.text(program, declared.value_type, value)
        }
        Valued::Choose(_) => Shown::default().text(program, Type::Text, value),
    }
}

/// Why there is no value at all: the group is empty, or nothing was evaluated.
fn no_member_text(view: &View<'_>, node: Node) -> String {
    match view.group_of(node) {
        Some(group) => group_text(view, group),
        None => "nothing is decided".to_owned(),
    }
}

/// Why a group has no club to look at.
fn group_text(view: &View<'_>, group: GroupId) -> String {
    let name = quoted(&view.program.groups[group].name);
    let entry = view.at(Place {
        node: Node::Group(group),
        member: None,
    });
    match entry.and_then(|entry| unsettled_sentence(view, entry)) {
        Some(sentence) => format!("the group {name} is not made: {sentence}"),
        None => format!("the group {name} has no club"),
    }
}
