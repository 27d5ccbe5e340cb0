//! What an inquiry says of the rows and candidates that were not taken agrees with what the
//! evaluator kept of them when it decided: who failed which line first, how much those that came
//! next scored, which row decided.

use std::collections::{BTreeMap, BTreeSet};

use loftwright_dsl::program::{ChooseId, Node, Program};
use loftwright_dsl::quantity::Date;
use loftwright_engine::evaluate::{Evaluation, Evaluator};
use loftwright_engine::explain::{CandidateStanding, Inquiry, RowStanding};
use loftwright_engine::fit::fit_traced;
use loftwright_engine::intake::read_player;
use loftwright_engine::outcome::Outcome;
use loftwright_engine::parts::{OnHand, Parts};
use loftwright_engine::player::Player;
use loftwright_engine::recommendation::DecisionReport;
use loftwright_engine::trace::{CompactTrace, Entry, How, NoTrace, Selection, StepTrace};
use loftwright_tests::oracle::Person;
use loftwright_tests::{engine_side, workshop};

fn day() -> Date {
    Date::parse("2026-05-01").unwrap()
}

fn players(program: &Program) -> Vec<(String, Player)> {
    let read = |file: workshop::PlayerFile| {
        let person = Person {
            readings: file.readings,
            given: [("kept".to_owned(), file.kept)].into(),
        };
        let player = read_player(program, &engine_side::player_text(&person)).unwrap();
        (file.name, player)
    };
    workshop::demo_players().into_iter().map(read).collect()
}

/// The reports and the entries of the same decisions and choices.
fn told<'a>(
    reports: &'a [DecisionReport],
    trace: &'a CompactTrace,
    program: &Program,
) -> Vec<(&'a DecisionReport, &'a Entry)> {
    let mut entries = trace.entries.iter();
    let mut found = Vec::new();
    for report in reports {
        // Reports stand in the order of the entries; some entries have none.
        let entry = entries.find(|entry| {
            matches!(entry.place.node, Node::Decision(_) | Node::Choose(_))
                && program.name_of(entry.place.node) == report.name
        });
        found.push((report, entry.unwrap()));
    }
    found
}

#[test]
fn the_row_that_decided_is_the_one_that_no_column_rules_out() {
    let program = engine_side::program("skerry");
    let parts = engine_side::parts(&program, &workshop::demo_parts());
    let mut decided = 0;
    for (name, player) in players(&program) {
        let (answer, trace) = fit_traced(&program, &parts, &player, day());
        let evaluator = Evaluator::new(&program);
        let inquiry = Inquiry::of(&evaluator, &parts, &player, day());
        for report in &answer.decisions {
            let Some(tables) = inquiry.rows(&report.name, report.club.as_deref()) else {
                continue;
            };
            for step in report.steps.iter().filter(|step| step.row.is_some()) {
                let place = format!("{name}: {} {:?}", report.name, report.club);
                let table = &tables[step.table.unwrap() - 1];
                let standing = |row: usize| &table.rows[row - 1].standing;
                let row = step.row.unwrap();
                assert_eq!(standing(row), &RowStanding::Decided, "{place}");
                for other in (1..=table.rows.len()).filter(|other| *other != row) {
                    let fits = match standing(other) {
                        RowStanding::RuledOut { .. } => true,
                        RowStanding::Behind { row: before } => *before == row,
                        _ => false,
                    };
                    assert!(fits, "{place}, row {other}: {:?}", standing(other));
                }
                decided += 1;
            }
        }
        let has_remaining = trace
            .entries
            .iter()
            .any(|entry| is_remaining(&trace, entry));
        assert!(!has_remaining || name != "steady-right-hander");
    }
    assert!(decided > 500, "{decided} rows decided");
}

fn is_remaining(trace: &CompactTrace, entry: &Entry) -> bool {
    let remains = |step: &StepTrace| matches!(step, StepTrace::Remaining { .. });
    trace
        .steps(&entry.how)
        .unwrap_or_default()
        .iter()
        .any(remains)
}

/// What choices before one took of a kind of part, by index of part and piece.
type Taken = BTreeMap<(usize, Option<usize>), i64>;

fn taken_before(
    (evaluation, trace): (&Evaluation, &CompactTrace),
    program: &Program,
    entry: &Entry,
    id: ChooseId,
) -> Taken {
    let choose = &program.chooses[id];
    let mut taken = Taken::new();
    for other in &trace.entries {
        if other.place == entry.place {
            break;
        }
        let (Node::Choose(node), Some(Outcome::Chosen(chosen))) =
            (other.place.node, evaluation.outcome(other.place))
        else {
            continue;
        };
        let is_sister = choose.together && node == id;
        if program.chooses[node].part == choose.part && !is_sister {
            *taken.entry((chosen.part, chosen.piece)).or_default() += 1;
        }
    }
    taken
}

/// Every code that is on hand once those before have taken theirs.
fn left(parts: &Parts, program: &Program, id: ChooseId, taken: &Taken) -> Vec<String> {
    let mut codes = Vec::new();
    for (part, record) in parts.of(program.chooses[id].part).iter().enumerate() {
        match &record.on_hand {
            OnHand::Counted(count) => {
                let gone = taken.get(&(part, None)).copied().unwrap_or(0);
                codes.extend((count - gone > 0).then(|| record.id.clone()));
            }
            OnHand::Pieces(pieces) => {
                let pieces = pieces.iter().enumerate();
                let there = pieces.filter(|(piece, _)| !taken.contains_key(&(part, Some(*piece))));
                codes.extend(there.map(|(_, piece)| format!("{} / {}", record.id, piece.id)));
            }
        }
    }
    codes
}

#[test]
fn candidates_fail_the_lines_that_the_choice_counted_them_by_and_score_what_it_said() {
    let program = engine_side::program("skerry");
    let parts = engine_side::parts(&program, &workshop::demo_parts());
    let (mut choices, mut outscored) = (0, 0);
    for (name, player) in players(&program) {
        let (answer, trace) = fit_traced(&program, &parts, &player, day());
        let evaluator = Evaluator::new(&program);
        let inquiry = Inquiry::of(&evaluator, &parts, &player, day());
        let evaluation = evaluator.evaluate(&parts, &player, day(), &mut NoTrace);
        let choices_of = told(&answer.decisions, &trace, &program);
        for (report, entry) in choices_of {
            let (Node::Choose(id), How::Selection(selection)) = (entry.place.node, &entry.how)
            else {
                continue;
            };
            let choose = &program.chooses[id];
            let by_the_first_needs = match evaluation.outcome(entry.place) {
                Some(Outcome::Chosen(chosen)) => chosen.rung.is_none(),
                _ => false,
            };
            // Settings multiply candidates, other rungs ask other lines, and of families those of
            // the winner alone are counted.
            let is_plain =
                choose.takes.is_some() && choose.in_each.is_none() && selection.families.is_empty();
            if !is_plain || !by_the_first_needs {
                continue;
            }
            choices += 1;
            let place = format!("{name}: {} {:?}", report.name, report.club);
            let taken = taken_before((&evaluation, &trace), &program, entry, id);
            let mut failed: BTreeMap<String, usize> = BTreeMap::new();
            for code in left(&parts, &program, id, &taken) {
                let found = inquiry
                    .candidates(&report.name, report.club.as_deref(), &code)
                    .unwrap();
                assert_eq!(found.len(), 1, "{place}: {code}");
                match &found[0].standing {
                    CandidateStanding::Fails { needs, .. } => {
                        *failed.entry(needs.clone()).or_default() += 1;
                    }
                    CandidateStanding::Outscored { total, .. } => {
                        outscored += 1;
                        assert_scores_as_told(selection, report, &code, total, &place);
                    }
                    CandidateStanding::Taken => {
                        let value = report.value.as_ref().unwrap();
                        assert_eq!(value.text, code, "{place}");
                    }
                    CandidateStanding::GoneTo { .. } => {}
                    other => panic!("{place}: {code} {other:?}"),
                }
            }
            let counted: BTreeMap<String, usize> = selection
                .failed
                .iter()
                .map(|group| (choose.needs[group.needs].text.clone(), group.count))
                .collect();
            assert_eq!(failed, counted, "{place}");
        }
    }
    assert!(choices > 50 && outscored > 100, "{choices}, {outscored}");
}

/// Where a step of the report says what the candidate scored, it is the same.
fn assert_scores_as_told(
    selection: &Selection,
    report: &DecisionReport,
    code: &str,
    total: &str,
    place: &str,
) {
    let opening = format!("`{code}` came next");
    let mut steps = report.steps.iter();
    if let Some(step) = steps.find(|step| step.rule == opening) {
        let told = step.value.as_deref().unwrap();
        assert_eq!(told, format!("score {total}"), "{place}: {code}");
    }
    assert!(!selection.runners_up.is_empty(), "{place}: {code}");
}

#[test]
fn a_piece_that_another_club_has_says_where_it_went() {
    let program = engine_side::program("skerry");
    let parts = engine_side::parts(&program, &workshop::demo_parts());
    let players = players(&program);
    let (_, player) = players
        .iter()
        .find(|(name, _)| name == "steady-right-hander")
        .unwrap();
    let evaluator = Evaluator::new(&program);
    let inquiry = Inquiry::of(&evaluator, &parts, player, day());
    let (answer, _) = fit_traced(&program, &parts, player, day());
    let heads: BTreeSet<(String, String)> = answer
        .decisions
        .iter()
        .filter(|report| report.name == "wedge_head")
        .map(|report| {
            let value = report.value.as_ref().unwrap();
            (report.club.clone().unwrap(), value.text.clone())
        })
        .collect();
    assert_eq!(heads.len(), 3);
    let mut found = heads.iter();
    let (first, code) = found.next().unwrap();
    for (club, _) in found {
        let reports = inquiry.candidates("wedge_head", Some(club), code).unwrap();
        // A head of another loft fails before it is asked who has it.
        let is_told = match &reports[0].standing {
            CandidateStanding::Fails { needs, .. } => needs.contains("own_loft"),
            CandidateStanding::GoneTo { club: Some(to), .. } => to == first,
            _ => false,
        };
        assert!(is_told, "{club}: {:?}", reports[0]);
    }
}

#[test]
fn nothing_is_found_under_names_and_codes_that_are_not_there() {
    let program = engine_side::program("skerry");
    let parts = engine_side::parts(&program, &workshop::demo_parts());
    let players = players(&program);
    let evaluator = Evaluator::new(&program);
    let inquiry = Inquiry::of(&evaluator, &parts, &players[0].1, day());
    assert!(inquiry.rows("no_such_decision", None).is_none());
    assert!(
        inquiry.rows("putter_head", None).is_none(),
        "a choice has no rows"
    );
    assert!(inquiry.candidates("wedge_bounce", None, "X").is_none());
    assert_eq!(
        inquiry.candidates("putter_head", None, "X"),
        Some(Vec::new())
    );
}
