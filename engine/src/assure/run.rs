//! Running cases.

use std::collections::BTreeMap;

use loftwright_dsl::program::{Case, GivenReading, Program};
use loftwright_dsl::quantity::Date;

use super::coverage::RowCounts;
use super::try_points::TryPoint;
use super::{
    CaseReport, CaseResult, ExpectationResult, expectation, findings, over_range, promises,
};
use crate::evaluate::evaluate;
use crate::explain::{View, listed, quoted};
use crate::parts::Parts;
use crate::trace::CompactTrace;

/// A case may give this many clubs of a group.
const MOST_CLUBS_GIVEN: u32 = 100;

/// Runs every case of a program, and tests the promises that are not proved.
///
/// `stocks` holds the parts that a case may name by `with stock`; a case that names none sees an
/// empty catalogue. `today` is the day of all cases that do not give one.
pub fn run_cases(program: &Program, stocks: &BTreeMap<String, Parts>, today: Date) -> CaseReport {
    let mut counts = RowCounts::default();
    let mut cases = Vec::new();
    let mut diagnostics = Vec::new();
    for case in &program.cases {
        let result = run_case(program, stocks, today, case, &mut counts);
        counts.end_case();
        diagnostics.extend(findings::of_case(&result));
        cases.push(result);
    }
    let (promises, broken) = promises::test_promises(program, today);
    diagnostics.extend(broken);
    let all_promises = program
        .decisions
        .iter()
        .flat_map(|decision| &decision.promises);
    CaseReport {
        cases,
        promises_proved: all_promises.filter(|promise| !promise.is_tested).count(),
        promises,
        coverage: counts.coverage(program),
        diagnostics,
    }
}

fn run_case(
    program: &Program,
    stocks: &BTreeMap<String, Parts>,
    today: Date,
    case: &Case,
    counts: &mut RowCounts,
) -> CaseResult {
    let is_range =
        |(_, reading): &(_, GivenReading)| matches!(reading, GivenReading::Through(_, _));
    let mut result = CaseResult {
        title: case.title.clone(),
        layer: program
            .layers
            .get(case.layer)
            .map_or_else(String::new, |layer| layer.name.clone()),
        span: case.span,
        players: 0,
        is_over_a_range: case.given.iter().any(is_range),
        not_proved: None,
        problem: None,
        expectations: Vec::new(),
    };
    if let Some((group, number, ..)) = case
        .given_members
        .iter()
        .find(|(_, number, ..)| *number > MOST_CLUBS_GIVEN)
    {
        let group = &program.groups[*group].name;
        result.problem = Some(format!(
            "{} is more than the {MOST_CLUBS_GIVEN} clubs that can be given",
            quoted(&format!("{group}.{number}"))
        ));
        return result;
    }
    let nothing = Parts::default();
    let parts = match &case.with_stock {
        None => &nothing,
        Some(name) => match stocks.get(name) {
            Some(parts) => parts,
            None => {
                result.problem = Some(no_such_stock(name, stocks));
                return result;
            }
        },
    };
    result.expectations = case
        .expect
        .iter()
        .map(|line| ExpectationResult {
            text: line.text.clone(),
            span: line.span,
            failure: None,
        })
        .collect();
    let players = over_range::players(program, parts, today, case);
    result.not_proved = players.not_proved;
    for point in players.points {
        result.players += 1;
        try_player(
            program,
            parts,
            today,
            case,
            &point,
            counts,
            &mut result.expectations,
        );
    }
    result
}

/// Holds one player against the expectations that no player before has failed.
fn try_player(
    program: &Program,
    parts: &Parts,
    today: Date,
    case: &Case,
    point: &TryPoint,
    counts: &mut RowCounts,
    results: &mut [ExpectationResult],
) {
    let today = point.today.unwrap_or(today);
    let mut trace = CompactTrace::default();
    let evaluation = evaluate(program, parts, &point.player, today, &mut trace);
    counts.note(&evaluation, &trace);
    let view = View::new(program, parts, &point.player, today, &evaluation, &trace);
    for (line, result) in case.expect.iter().zip(results) {
        if result.failure.is_some() {
            continue;
        }
        result.failure = expectation::failure(&view, line).map(|mut failure| {
            failure.tried_with.clone_from(&point.tried_with);
            failure
        });
    }
}

fn no_such_stock(name: &str, stocks: &BTreeMap<String, Parts>) -> String {
    let known: Vec<String> = stocks.keys().map(|name| quoted(name)).collect();
    match known.as_slice() {
        [] => format!("there is no stock {}, nor any other", quoted(name)),
        known => format!(
            "there is no stock {}; there is {}",
            quoted(name),
            listed(known)
        ),
    }
}
