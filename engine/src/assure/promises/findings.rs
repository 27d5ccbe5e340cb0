//! What is said of a promise that a player breaks, or that could not be tested.

use loftwright_dsl::diagnostic::{Code, Diagnostic};
use loftwright_dsl::program::{Decision, InputId, Node, Program, Promise, PromiseAgainst, Value};
use loftwright_dsl::syntax::Span;

use super::players::Somebody;
use super::{Point, Test};
use crate::explain::{View, listed, quoted};
use crate::outcome::Place;
use crate::trace::{CompactTrace, StepTrace};

/// What breaks a promise.
pub(super) enum Broken {
    /// One player, with the promise's reading at two values.
    AsItMoves {
        somebody: Somebody,
        input: InputId,
        member: Option<usize>,
        lower: Point,
        higher: Point,
    },
    /// Two clubs of one player, one after the other.
    AlongTheBag {
        somebody: Somebody,
        before: (Option<usize>, Value),
        after: (Option<usize>, Value),
    },
}

pub(super) fn broken(test: &Test<'_>, found: &Broken) -> Diagnostic {
    match found {
        Broken::AsItMoves {
            somebody,
            input,
            member,
            lower,
            higher,
        } => as_it_moves(test, somebody, *input, *member, (lower, higher)),
        Broken::AlongTheBag {
            somebody,
            before,
            after,
        } => along_the_bag(test, somebody, before, after),
    }
}

/// One club of one player, as it was run.
struct Run {
    club: Option<String>,
    row: Option<Span>,
}

fn run(test: &Test<'_>, somebody: &Somebody, member: Option<usize>) -> Run {
    let (player, today) = somebody.player(test.program, test.today);
    let mut trace = CompactTrace::default();
    let evaluation = test
        .evaluator
        .evaluate(test.parts, &player, today, &mut trace);
    let view = View::new(
        test.program,
        test.parts,
        &player,
        today,
        &evaluation,
        &trace,
    );
    let place = Place {
        node: Node::Decision(test.id),
        member,
    };
    let row = view.at(place).and_then(|entry| {
        let steps = trace.steps(entry.how)?;
        let tables = test.decision.tables();
        steps.iter().rev().find_map(|step| match step {
            StepTrace::Row { table, row, .. } => Some(tables.get(*table)?.rows.get(*row)?.span),
            _ => None,
        })
    });
    Run {
        club: view.club_of(place),
        row,
    }
}

fn as_it_moves(
    test: &Test<'_>,
    somebody: &Somebody,
    input: InputId,
    member: Option<usize>,
    (lower, higher): (&Point, &Point),
) -> Diagnostic {
    let program = test.program;
    let PromiseAgainst::As {
        what, text, shown, ..
    } = &test.promise.against
    else {
        return Diagnostic::error(Code::TestedPromiseBroken, test.promise.span, "not kept");
    };
    let at = |point: &Point| shown.text(program, what.value_type, &point.at);
    let with = |point: &Point| {
        let mut moved = somebody.clone();
        moved.readings.insert(input, point.reading.clone());
        moved
    };
    let runs = (
        run(test, &with(lower), member),
        run(test, &with(higher), member),
    );
    let for_club = match &runs.0.club {
        Some(club) => format!("for the {club}, "),
        None => String::new(),
    };
    let message = format!(
        "{} is not kept: {for_club}{} of {} gives {}, and of {} gives {}",
        quoted(&test.promise.text),
        quoted(text),
        at(lower),
        gives(test, &lower.gives),
        at(higher),
        gives(test, &higher.gives)
    );
    let mut finding = error(test, message);
    if runs.0.row != runs.1.row {
        for (span, point) in [(runs.0.row, lower), (runs.1.row, higher)] {
            if let Some(span) = span {
                finding = finding.also_at(span, format!("{} of {}", quoted(text), at(point)));
            }
        }
    }
    let reading = |point: &Point| {
        let declared = &program.inputs[input];
        let shown = &declared.shown;
        let text = shown.text(program, declared.value_type, &point.reading);
        format!("{} = {text}", quoted(&declared.name))
    };
    finding = finding.with_help(format!(
        "the players: {}, and {}",
        reading(lower),
        reading(higher)
    ));
    with_readings(test, finding, somebody, "both have")
}

fn along_the_bag(
    test: &Test<'_>,
    somebody: &Somebody,
    before: &(Option<usize>, Value),
    after: &(Option<usize>, Value),
) -> Diagnostic {
    let runs = (run(test, somebody, before.0), run(test, somebody, after.0));
    let club = |run: &Run| match &run.club {
        Some(club) => format!("the {club}"),
        None => "the club".to_owned(),
    };
    let message = format!(
        "{} is not kept: {} has {}, and {} after it {}",
        quoted(&test.promise.text),
        club(&runs.0),
        gives(test, &before.1),
        club(&runs.1),
        gives(test, &after.1)
    );
    let mut finding = error(test, message);
    if runs.0.row != runs.1.row {
        for run in [&runs.0, &runs.1] {
            if let Some(span) = run.row {
                finding = finding.also_at(span, club(run));
            }
        }
    }
    with_readings(test, finding, somebody, "the player has")
}

fn error(test: &Test<'_>, message: String) -> Diagnostic {
    Diagnostic::error(Code::TestedPromiseBroken, test.promise.span, message)
        .labelled("this is promised")
}

fn gives(test: &Test<'_>, value: &Value) -> String {
    let decision = test.decision;
    decision
        .shown
        .text(test.program, decision.value_type, value)
}

fn with_readings(
    test: &Test<'_>,
    finding: Diagnostic,
    somebody: &Somebody,
    who: &str,
) -> Diagnostic {
    let readings: Vec<String> = somebody
        .readings
        .iter()
        .map(|(id, value)| {
            let declared = &test.program.inputs[*id];
            let text = declared
                .shown
                .text(test.program, declared.value_type, value);
            format!("{} = {text}", quoted(&declared.name))
        })
        .collect();
    match readings.as_slice() {
        [] => finding,
        readings => finding.with_help(format!("{who} {}", listed(readings))),
    }
}

/// A promise about a value that rests on no reading, or on several.
pub(super) fn no_one_reading(
    program: &Program,
    promise: &Promise,
    inputs: &[InputId],
) -> Diagnostic {
    let text = match &promise.against {
        PromiseAgainst::As { text, .. } => text.as_str(),
        PromiseAgainst::AlongTheBag => "it",
    };
    let names: Vec<String> = inputs
        .iter()
        .map(|id| quoted(&program.inputs[*id].name))
        .collect();
    let why = match names.as_slice() {
        [] => "rests on no reading that could be moved".to_owned(),
        names => format!(
            "rests on {}: which of them moves is not said",
            listed(names)
        ),
    };
    let message = format!("{} cannot be tested", quoted(&promise.text));
    Diagnostic::error(Code::PromiseNotProvable, promise.span, message)
        .labelled(format!("{} {why}", quoted(text)))
        .with_help("promise it of one reading, or of a let of one reading")
}

/// A promise that no player could break, since none had two values.
pub(super) fn says_nothing(decision: &Decision, promise: &Promise, players: usize) -> Diagnostic {
    let message = format!(
        "{} was tested at {players} players, and {} has no two values for any of them",
        quoted(&promise.text),
        quoted(&decision.name)
    );
    Diagnostic::warning(Code::PromiseNotProvable, promise.span, message)
        .labelled("nothing was found out")
        .with_help("no parts are on hand and no clubs are kept where promises are tested")
}
