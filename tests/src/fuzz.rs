//! What the fuzzers run: any bytes go in, and none of the promises below may break.
//!
//! Each target is a plain function that panics where a promise is broken. `tests/tests/fuzz.rs`
//! runs them over the seeds and a few thousand mutations of them, `tests/fuzz` hands them to
//! libFuzzer (`cargo install cargo-fuzz`; no nightly compiler is needed):
//! `cargo fuzz run --fuzz-dir tests/fuzz --sanitizer none parse CORPUS`, with the rules files of
//! the repository copied into the folder CORPUS as seeds.

use std::sync::LazyLock;

use loftwright_dsl::check::{CheckOutput, LayerSource, check as check_layers};
use loftwright_dsl::diagnostic::{Diagnostic, render_for_terminal};
use loftwright_dsl::format::{NotFormatted, format_text};
use loftwright_dsl::program::Program;
use loftwright_dsl::quantity::Date;
use loftwright_dsl::syntax::{Folder, ParsedFile, SourceFile, parse_file};
use loftwright_engine::CONTRACT_VERSION;
use loftwright_engine::fit::fit;
use loftwright_engine::intake::{PlayerText, ReadingText, read_parts, read_player};
use loftwright_engine::parts::Parts;

use crate::generator::{Generator, Random};
use crate::{engine_side, workshop};

/// The rulesets that [`evaluate`] chooses from.
const RULESETS: [&str; 4] = ["common", "skerry", "base", "corners"];
/// The day on which players are fitted.
const DAY: &str = "2026-05-01";
/// How many players a program that checks is tried with.
const PLAYERS: u64 = 3;

/// A ruleset with what it is evaluated with.
struct Bench {
    program: Program,
    parts: Parts,
    layers: Vec<Vec<loftwright_dsl::syntax::tree::Declaration>>,
}

static BENCHES: LazyLock<Vec<Bench>> = LazyLock::new(|| RULESETS.map(bench).into());
static BELOW: LazyLock<Vec<LayerSource>> = LazyLock::new(|| engine_side::layers("base"));

fn bench(ruleset: &str) -> Bench {
    let program = engine_side::program(ruleset);
    let names = workshop::layer_names(ruleset);
    let layers: Vec<_> = names.into_iter().map(workshop::trees).collect();
    let folder = match ruleset {
        "common" | "skerry" => workshop::demo_parts(),
        _ => Generator::new(&program, &layers).parts(&mut Random(1)),
    };
    let parts = engine_side::parts(&program, &folder);
    Bench {
        program,
        parts,
        layers,
    }
}

/// Any bytes as the text of a file; what is no UTF-8 is replaced, as an editor would.
fn text_of(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

fn read(text: &str) -> (Folder, ParsedFile) {
    let mut folder = Folder::new();
    let file = folder.push(SourceFile {
        layer: "trial".to_owned(),
        name: "trial.rules".to_owned(),
        text: text.to_owned(),
    });
    let parsed = parse_file(file, &folder[file]);
    (folder, parsed)
}

/// Every finding can be shown and says something.
fn are_sound(folder: &Folder, findings: &[Diagnostic]) {
    for finding in findings {
        assert!(!finding.message.is_empty());
        assert!(!finding.message.ends_with('.'), "{}", finding.message);
        for label in std::iter::once(&finding.primary).chain(&finding.secondary) {
            let text = &folder[label.span.file].text;
            let place = text.get(label.span.start..label.span.end);
            assert!(place.is_some(), "{:?}", label.span);
        }
    }
    let rendered = render_for_terminal(folder, findings, false);
    assert_eq!(rendered.is_empty(), findings.is_empty());
}

/// Reading ends in declarations and findings; what was lost is said, and every place is one.
///
/// # Panics
/// Where that does not hold.
pub fn parse(bytes: &[u8]) {
    let text = text_of(bytes);
    let (folder, parsed) = read(&text);
    are_sound(&folder, &parsed.diagnostics);
    let is_lost = parsed.declarations.iter().any(|one| one.is_damaged);
    assert!(!is_lost || !parsed.diagnostics.is_empty(), "lost unsaid");
    for declaration in &parsed.declarations {
        let span = declaration.span;
        assert!(text.get(span.start..span.end).is_some(), "{span:?}");
    }
}

/// A file that can be read is laid out: the same tree, and laid out again the same text. One with
/// findings is refused.
///
/// # Panics
/// Where that does not hold.
pub fn parse_format_parse(bytes: &[u8]) {
    let text = text_of(bytes);
    let (_, before) = read(&text);
    let once = match format_text(&text) {
        Ok(once) => once,
        Err(NotFormatted::Limit(_)) => return,
        Err(NotFormatted::Findings(findings)) => {
            assert!(!findings.is_empty());
            assert_eq!(findings, before.diagnostics);
            return;
        }
        Err(NotFormatted::Differs) => panic!("laid out, it would read differently"),
    };
    let (_, after) = read(&once);
    assert_eq!(after.diagnostics, [], "of\n{once}");
    assert_eq!(
        without_places(&before, &text),
        without_places(&after, &once),
        "{once}"
    );
    assert_eq!(format_text(&once).as_deref().ok(), Some(once.as_str()));
}

/// The trees of a file as text, its places left out.
fn without_places(parsed: &ParsedFile, source: &str) -> String {
    let mut text = format!("{:?}", parsed.declarations);
    for comment in &parsed.comments {
        text.push_str(comment.text(source).trim_end());
    }
    let mut kept = String::with_capacity(text.len());
    let mut rest = text.as_str();
    while let Some(place) = rest.find("Span {") {
        kept.push_str(&rest[..place]);
        rest = &rest[place..];
        rest = &rest[rest.find('}').unwrap() + 1..];
    }
    kept + rest
}

/// The file as a house on the base ruleset, checked.
fn checked(text: String) -> CheckOutput {
    let line = "ruleset house\n  title \"A house\"\n  language 1\n  builds on base\n";
    let mut files = vec![("trial.rules".to_owned(), text)];
    if !files[0].1.contains("ruleset ") {
        files.push(("house.rules".to_owned(), line.to_owned()));
    }
    let mut layers = BELOW.clone();
    layers.push(LayerSource {
        name: "house".to_owned(),
        files,
    });
    check_layers(&layers, CONTRACT_VERSION)
}

/// Checking ends in findings or a program, and a program fits players.
///
/// # Panics
/// Where that does not hold.
pub fn check(bytes: &[u8]) {
    let output = checked(text_of(bytes));
    are_sound(&output.folder, &output.diagnostics);
    assert_eq!(output.program.is_none(), output.has_errors());
    let Some(program) = &output.program else {
        return;
    };
    let generator = Generator::new(program, &[]);
    // Where the house changed types, what is made up may not fit them; the intake says so then.
    let parts = engine_side::parts_text(&generator.parts(&mut Random(1)));
    let parts = read_parts(program, &parts).unwrap_or_default();
    for seed in 0..PLAYERS {
        let person = generator.person(&mut Random(seed));
        let text = engine_side::player_text(&person);
        if let Ok(player) = read_player(program, &text) {
            fit(program, &parts, &player, day());
        }
    }
}

fn day() -> Date {
    Date::parse(DAY).unwrap()
}

/// The bytes choose a ruleset, a player made up from a seed, and what is written over his readings;
/// intake refuses him with faults, or he is fitted.
///
/// # Panics
/// Where neither.
pub fn evaluate(bytes: &[u8]) {
    let Some((choice, rest)) = bytes.split_first() else {
        return;
    };
    let bench = &BENCHES[usize::from(*choice) % BENCHES.len()];
    let (seed, edits) = rest.split_at(rest.len().min(4));
    let seed = seed
        .iter()
        .fold(0, |seed, byte| seed << 8 | u64::from(*byte));
    let generator = Generator::new(&bench.program, &bench.layers);
    let mut text = engine_side::player_text(&generator.person(&mut Random(seed)));
    for edit in edits.split(|byte| *byte == b'\n') {
        write_over(&mut text, &bench.program, edit);
    }
    match read_player(&bench.program, &text) {
        Err(faults) => assert!(!faults.is_empty()),
        Ok(player) => {
            fit(&bench.program, &bench.parts, &player, day());
        }
    }
}

/// One edit: which reading or field of a kept club, and its new text; none takes it away.
fn write_over(player: &mut PlayerText, program: &Program, edit: &[u8]) {
    let Some((place, value)) = edit.split_first() else {
        return;
    };
    let inputs: Vec<_> = program.inputs.iter().collect();
    let place = usize::from(*place);
    let value = text_of(value);
    if let Some(input) = inputs.get(place % (inputs.len() + 8)) {
        if value.is_empty() {
            player.readings.remove(&input.name);
            return;
        }
        let (value, spread) = match value.split_once('~') {
            Some((value, spread)) => (value.to_owned(), Some(spread.to_owned())),
            None => (value, None),
        };
        let reading = ReadingText {
            value,
            shots: spread.as_ref().map(|_| 5),
            spread,
        };
        player.readings.insert(input.name.clone(), reading);
        return;
    }
    let field = place % 8;
    for clubs in player.given.values_mut() {
        for club in clubs {
            let name = club.keys().nth(field).cloned();
            match name {
                Some(name) if value.is_empty() => drop(club.remove(&name)),
                Some(name) => drop(club.insert(name, value.clone())),
                None => {}
            }
        }
    }
}
