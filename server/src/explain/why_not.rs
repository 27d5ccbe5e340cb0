//! Why something did not come out: another outcome, a row, a part.

use loftwright_dsl::outline::{NodeKind, Outline};
use loftwright_engine::explain::{CandidateReport, TableReport};
use loftwright_proto::v1 as pb;
use pb::why_not_question::Other;

use super::again::look_into;
use super::facts::{Facts, came_to};
use super::{Rules, Unanswerable};
use crate::rpc::convert;

/// Answers in the explanation.
pub(super) fn answer(
    facts: &Facts<'_>,
    rules: Result<&Rules, &str>,
    asked: &pb::WhyNotQuestion,
    explanation: &mut pb::Explanation,
) -> Result<(), Unanswerable> {
    let reports = facts.asked(
        "why_not.decision",
        &asked.decision,
        "why_not.club",
        &asked.club,
    )?;
    let report = one_of(&reports, &asked.decision)?;
    let Some(other) = &asked.other else {
        return Err(Unanswerable {
            field: "why_not.other",
            sentence: "nothing was sent; name an outcome, a row or a part".to_owned(),
        });
    };
    fits(rules.ok().map(|rules| &*rules.outline), report, other)?;
    let mut why_not = pb::WhyNot {
        decision: report.name.clone(),
        club: report.club.clone(),
        asked: asked_text(other),
        came_out: came_to(report),
        ..pb::WhyNot::default()
    };
    explanation.decisions = vec![super::decision(facts, report, Vec::new())];
    match rules {
        Err(why) => why_not.answer = format!("it cannot be found: {why}"),
        Ok(rules) => {
            let (told, found) = look_into(facts, rules, &why_not.asked.clone(), |inquiry| {
                let club = report.club.as_deref();
                match other {
                    Other::Part(code) => {
                        Found::Candidates(inquiry.candidates(&report.name, club, code))
                    }
                    Other::Outcome(_) | Other::Row(_) => {
                        Found::Tables(inquiry.rows(&report.name, club))
                    }
                }
            });
            match found {
                Some(Found::Candidates(Some(candidates))) => {
                    tell_candidates(&candidates, other, &mut why_not)?;
                }
                Some(Found::Tables(Some(tables))) => {
                    tell_rows(&tables, other, report, &mut why_not)?
                }
                Some(_) => {
                    why_not.answer =
                        "evaluated again there is no such decision: verify the record".to_owned();
                }
                None => why_not.answer.clone_from(&told.sentence),
            }
            explanation.evaluated_again = Some(told);
        }
    }
    explanation.why_not = Some(why_not);
    Ok(())
}

enum Found {
    Candidates(Option<Vec<CandidateReport>>),
    Tables(Option<Vec<TableReport>>),
}

/// The one report that a question is about.
fn one_of<'a>(
    reports: &[&'a pb::DecisionReport],
    name: &str,
) -> Result<&'a pb::DecisionReport, Unanswerable> {
    match reports {
        [only] => Ok(only),
        several => {
            let clubs: Vec<String> = several
                .iter()
                .filter_map(|report| report.club.as_ref())
                .map(|club| format!("`{club}`"))
                .collect();
            Err(Unanswerable {
                field: "why_not.club",
                sentence: format!(
                    "`{name}` is decided for each club; name one of {}",
                    clubs.join(", ")
                ),
            })
        }
    }
}

/// A part is asked of a choice, an outcome or a row of a decision.
fn fits(
    outline: Option<&Outline>,
    report: &pb::DecisionReport,
    other: &Other,
) -> Result<(), Unanswerable> {
    let kind = outline.and_then(|outline| {
        let node = outline.nodes.iter().find(|node| node.name == report.name)?;
        Some(node.kind)
    });
    let sentence = match (kind, other) {
        (Some(NodeKind::Choice), Other::Outcome(_) | Other::Row(_)) => {
            format!(
                "`{}` is a choice of a part; ask for a part's or a piece's code",
                report.name
            )
        }
        (Some(NodeKind::Decision), Other::Part(_)) => {
            format!(
                "`{}` is no choice of a part; ask for an outcome or a row",
                report.name
            )
        }
        _ => return Ok(()),
    };
    Err(Unanswerable {
        field: "why_not.other",
        sentence,
    })
}

fn asked_text(other: &Other) -> String {
    match other {
        Other::Outcome(outcome) => format!("`{outcome}`"),
        Other::Row(row) if row.table > 1 => format!("row {} of table {}", row.row, row.table),
        Other::Row(row) => format!("row {}", row.row),
        Other::Part(code) => format!("`{code}`"),
    }
}

fn tell_candidates(
    candidates: &[CandidateReport],
    other: &Other,
    why_not: &mut pb::WhyNot,
) -> Result<(), Unanswerable> {
    if candidates.is_empty() {
        return Err(Unanswerable {
            field: "why_not.part",
            sentence: format!(
                "no part or piece of the record's catalogue has the code {}; codes are told as they \
                 stand on the drawer",
                asked_text(other)
            ),
        });
    }
    why_not.candidates = candidates
        .iter()
        .map(convert::candidate_not_taken)
        .collect();
    let first = why_not.candidates.first();
    why_not.answer = match (first, candidates.len()) {
        (Some(only), 1) => format!("{} {}", only.code, only.standing),
        (_, count) => format!("{count} pieces or parts have the code; each has its own reason"),
    };
    Ok(())
}

fn tell_rows(
    tables: &[TableReport],
    other: &Other,
    report: &pb::DecisionReport,
    why_not: &mut pb::WhyNot,
) -> Result<(), Unanswerable> {
    let all = tables.iter().flat_map(|table| {
        let rows = table.rows.iter();
        rows.map(|row| convert::row_not_taken(table.table, row))
    });
    match other {
        Other::Row(wanted) => {
            let table = wanted.table.max(1);
            why_not.rows = all
                .filter(|row| row.table == table && row.row == wanted.row)
                .collect();
            let Some(row) = why_not.rows.first() else {
                return Err(Unanswerable {
                    field: "why_not.row",
                    sentence: format!(
                        "`{}` has no {}{}",
                        report.name,
                        why_not.asked,
                        how_many(tables)
                    ),
                });
            };
            why_not.answer = format!("{} {}", why_not.asked, row.standing);
        }
        Other::Outcome(outcome) => {
            let wanted = |row: &pb::RowNotTaken| row.gives.as_deref() == Some(outcome.as_str());
            let (giving, others): (Vec<_>, Vec<_>) = all.partition(wanted);
            why_not.answer = outcome_answer(outcome, &giving, &others, report);
            // Where no row gives it as it stands, those that compute or move a value may.
            why_not.rows = match giving.is_empty() {
                true => others
                    .into_iter()
                    .filter(|row| row.gives.is_none())
                    .collect(),
                false => giving,
            };
        }
        Other::Part(_) => {}
    }
    Ok(())
}

fn how_many(tables: &[TableReport]) -> String {
    let counts: Vec<String> = tables
        .iter()
        .map(|table| format!("table {} has {} rows", table.table, table.rows.len()))
        .collect();
    match counts.as_slice() {
        [] => ": it is computed, and has no rows".to_owned(),
        counts => format!("; {}", counts.join(", ")),
    }
}

fn outcome_answer(
    outcome: &str,
    giving: &[pb::RowNotTaken],
    others: &[pb::RowNotTaken],
    report: &pb::DecisionReport,
) -> String {
    let is_value = report
        .value
        .as_ref()
        .is_some_and(|value| value.text == outcome);
    if is_value {
        return format!("`{outcome}` is what came out");
    }
    match (giving, others) {
        ([], []) => format!(
            "`{}` is computed, not looked up in rows: its steps say from what; its nearest change \
             says which reading moves it",
            report.name
        ),
        ([], others) => {
            let mut gives: Vec<&str> = Vec::new();
            for value in others.iter().filter_map(|row| row.gives.as_deref()) {
                if !gives.contains(&value) {
                    gives.push(value);
                }
            }
            match gives.as_slice() {
                [] => format!(
                    "no row gives `{outcome}` as it stands; the rows compute or move a value"
                ),
                gives => format!(
                    "no row gives `{outcome}`; the rows give {}",
                    gives.join(", ")
                ),
            }
        }
        ([only], _) => format!("row {} gives it, which {}", only.row, only.standing),
        (several, _) => format!("{} rows give it, and each is ruled out", several.len()),
    }
}
