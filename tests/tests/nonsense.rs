//! Rules that something has happened to: bytes flipped, lines swapped, doubled or lost, files cut
//! in the middle. Whatever comes, the checker ends in findings or a program, never in a panic; and
//! a program that still checks still fits a player.

use std::panic::{AssertUnwindSafe, catch_unwind};

use loftwright_dsl::check::{CheckOutput, LayerSource, check};
use loftwright_dsl::diagnostic::render_for_terminal;
use loftwright_dsl::quantity::Date;
use loftwright_engine::CONTRACT_VERSION;
use loftwright_engine::evaluate::evaluate;
use loftwright_engine::parts::Parts;
use loftwright_engine::player::Player;
use loftwright_engine::trace::NoTrace;
use loftwright_tests::engine_side;
use loftwright_tests::generator::Random;

/// What happens to a file; its text afterwards.
fn broken(text: &str, random: &mut Random) -> String {
    let mut lines: Vec<&str> = text.lines().collect();
    let (one, other) = (random.below(lines.len()), random.below(lines.len()));
    match random.below(7) {
        0 => lines.swap(one, other),
        1 => drop(lines.remove(one)),
        2 => lines.insert(one, lines[other]),
        3 => lines.truncate(one),
        // A word from elsewhere.
        4 => {
            let words: Vec<&str> = text.split_whitespace().collect();
            let (from, to) = (*random.one_of(&words), *random.one_of(&words));
            return text.replacen(from, to, 1 + random.below(3));
        }
        // A bit of a byte; what is then no UTF-8 is replaced, as an editor would.
        5 => {
            let mut bytes = text.as_bytes().to_vec();
            let place = random.below(bytes.len());
            bytes[place] ^= 1 << random.below(8);
            return String::from_utf8_lossy(&bytes).into_owned();
        }
        _ => {
            let odd = [
                "\u{0}", "\u{2212}", "\u{a0}", "(", "\"", "\t", "é", "1/0", "≤", "\r",
            ];
            let odd = *random.one_of(&odd);
            let boundary = |place: &usize| text.is_char_boundary(*place);
            let places: Vec<usize> = (0..=text.len()).filter(boundary).collect();
            let place = *random.one_of(&places);
            return format!("{}{odd}{}", &text[..place], &text[place..]);
        }
    }
    lines.join("\n")
}

/// Checks on a thread with the stack that a worker of the service has.
fn checked(layers: Vec<LayerSource>) -> Result<CheckOutput, String> {
    let check = move || {
        let checked = catch_unwind(AssertUnwindSafe(|| check(&layers, CONTRACT_VERSION)));
        checked.map_err(|panic| match panic.downcast_ref::<String>() {
            Some(text) => text.clone(),
            None => "a panic".to_owned(),
        })
    };
    let worker = std::thread::Builder::new().stack_size(2 * 1024 * 1024);
    worker.spawn(check).unwrap().join().unwrap()
}

fn survives(ruleset: &str, rounds: u64) {
    let layers = engine_side::layers(ruleset);
    let (mut refused, mut accepted) = (0, 0);
    for seed in 0..rounds {
        let mut random = Random(seed);
        let mut broken_layers = layers.clone();
        let house = broken_layers.last_mut().unwrap();
        let place = random.below(house.files.len());
        for _ in 0..=random.below(3) {
            house.files[place].1 = broken(&house.files[place].1, &mut random);
            if house.files[place].1.is_empty() {
                break;
            }
        }
        let text = house.files[place].1.clone();
        let shown = || {
            format!(
                "{ruleset}, seed {seed}, {}\n{text}",
                layers.last().unwrap().files[place].0
            )
        };
        let output = checked(broken_layers).unwrap_or_else(|panic| panic!("{panic}\n{}", shown()));
        // The findings can be shown, whatever stands in the text.
        let rendered = render_for_terminal(&output.folder, &output.diagnostics, false);
        assert_eq!(
            rendered.is_empty(),
            output.diagnostics.is_empty(),
            "{}",
            shown()
        );
        assert_eq!(output.program.is_none(), output.has_errors(), "{}", shown());
        match &output.program {
            None => refused += 1,
            Some(program) => {
                accepted += 1;
                let day = Date::parse("2026-05-01").unwrap();
                evaluate(
                    program,
                    &Parts::default(),
                    &Player::default(),
                    day,
                    &mut NoTrace,
                );
            }
        }
    }
    assert!(
        refused > 0 && accepted > 0,
        "{refused} refused, {accepted} accepted"
    );
}

#[test]
fn broken_rules_of_the_trade_end_in_findings() {
    survives("common", 120);
}

#[test]
fn broken_corners_end_in_findings() {
    survives("corners", 120);
}
