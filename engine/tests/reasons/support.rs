//! Small rulesets for tests: a contract of a few lines, a house, a player.

use std::collections::BTreeMap;

use loftwright_dsl::check::{CheckOutput, LayerSource, check};
use loftwright_dsl::program::Program;
use loftwright_dsl::quantity::Date;
use loftwright_engine::intake::{PlayerText, ReadingText, read_player};
use loftwright_engine::player::Player;

/// What a house of a test needs and every contract has.
const SMALL_CONTRACT: &str = "ruleset contract
  title    \"A contract for tests\"
  language 1

input today : date, filled by the engine
";

/// A contract with one model, as the engine's own declares it.
pub(crate) const FLIGHT_CONTRACT: &str = r#"ruleset contract
  title    "A contract with a flight"
  language 1

input today : date, filled by the engine

model flight_carry(
    ball_speed  : speed   between 5 mph and 250 mph,
    launch      : angle   between 0 deg and 80 deg,
    spin        : spin    between 0 rpm and 15000 rpm,
    air_density : density between 0.5 kg/m3 and 1.6 kg/m3) : length
  source "A wind tunnel"
  answers to 0.1 yd
"#;

/// The head of a house's file.
const HOUSE_HEAD: &str = "ruleset house
  title    \"A house for tests\"
  language 1

";

fn layer(name: &str, text: &str) -> LayerSource {
    LayerSource {
        name: name.to_owned(),
        files: vec![(format!("{name}.rules"), text.to_owned())],
    }
}

/// Checks declarations on top of a contract that reads nothing.
pub(crate) fn checked(declarations: &str) -> CheckOutput {
    checked_on(SMALL_CONTRACT, declarations)
}

fn checked_on(contract: &str, declarations: &str) -> CheckOutput {
    let house = format!("{HOUSE_HEAD}{declarations}");
    check(&[layer("contract", contract), layer("house", &house)], 1)
}

/// The program of declarations that check clean.
pub(crate) fn program(declarations: &str) -> Program {
    program_on(SMALL_CONTRACT, declarations)
}

/// The program of declarations that check clean on a contract.
pub(crate) fn program_on(contract: &str, declarations: &str) -> Program {
    let output = checked_on(contract, declarations);
    let diagnostics = output.diagnostics;
    output.program.unwrap_or_else(|| panic!("{diagnostics:#?}"))
}

/// A player of readings alone.
pub(crate) fn player(program: &Program, readings: &[(&str, &str)]) -> Player {
    let reading = |(name, value): &(&str, &str)| {
        let text = ReadingText {
            value: (*value).to_owned(),
            spread: None,
            shots: None,
        };
        ((*name).to_owned(), text)
    };
    let text = PlayerText {
        readings: readings.iter().map(reading).collect(),
        given: BTreeMap::new(),
    };
    read_player(program, &text).unwrap_or_else(|faults| panic!("{faults:#?}"))
}

/// The day of every test.
pub(crate) fn today() -> Date {
    Date::new(2026, 5, 1).unwrap_or_else(|| panic!("2026-05-01 is a day"))
}
