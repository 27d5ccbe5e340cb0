//! A small ruleset of inputs, clubs and parts for the tests of intake.

use std::collections::BTreeMap;

use loftwright_dsl::check::{LayerSource, check};
use loftwright_dsl::program::{InputId, Program};
use loftwright_engine::intake::{Fault, FieldText, PartsText, PlayerText, ReadingText, RecordText};

/// Stands where the engine's contract does, with what these tests need of it.
const CONTRACT: &str = r#"
ruleset contract
  title    "What the tests need of the contract"
  language 1

choice club_kind is driver, iron, putter

input today : date, filled by the engine

group kept, given with the player
  has kind      : club_kind
  has loft      : angle, may be unknown, between -15 deg and 80 deg
  has length    : length, between 18 in and 60 in
  has bought_on : date, may be unknown

group made, as many as made_count
  has number : count

reads made_count : count
"#;

const HOUSE: &str = r#"
ruleset house
  title    "A house for tests"
  language 1

choice hand is right, left
scale  flex is ladies < senior < regular < stiff, in halves
scale  bounce is low < standard < high

input wedge_attack_angle : angle
  ask      "Angle of attack."
  between  -20 deg and 10 deg
  formerly wedge_aoa

input wrist_to_floor : length, shown in inches, to 1/4
  ask     "Wrist to floor."
  between 18.1 in and 48 in

input age : count
  ask     "Age."
  between 4 and 110

input player_hand : hand
  ask "Hand."

input wanted_flex : flex
  ask "Flex."

input wanted_bounce : bounce
  ask "Bounce."

input sore_hands : flag
  ask "Sore?"

input first_visit : date
  ask "When?"

input feel : swingweight
  ask     "Swingweight of the gamer."
  between C0 and E5

input range_temperature : temperature
  ask     "How warm?"
  between -10 degC and 45 degC

input handicap : number
  ask     "Handicap."
  between -8 and 54

let steepness = -wedge_attack_angle

part setting
  has position : text
  has tilt     : angle, between 0 deg and 3 deg

part head
  has kind          : club_kind
  has stamped_loft  : angle, between 0 deg and 66 deg
  has measured_loft : angle, of each piece, between -1 deg and 68 deg
  has mass          : mass
  has volume        : volume, may be unknown
  has settings      : list of setting, may be unknown
  has on_hand       : count

part grip
  has mass    : mass
  has ribbed  : flag
  has on_hand : count

part sleeve
  has mass     : mass
  has diameter : length, of each piece, may be unknown
  has on_hand  : count

part wrap
  has hands   : list of hand
  has widths  : list of length, may be unknown, between 5 mm and 60 mm
  has on_hand : count

decide made_count : count
  about  "None are made."
  source common practice
  gives 0
"#;

/// The checked program of the tests.
pub(crate) fn program() -> Program {
    let layer = |name: &str, text: &str| LayerSource {
        name: name.to_owned(),
        files: vec![(format!("{name}.rules"), text.to_owned())],
    };
    let output = check(&[layer("contract", CONTRACT), layer("house", HOUSE)], 1);
    match output.program {
        Some(program) => program,
        None => panic!("{:#?}", output.diagnostics),
    }
}

/// The id of an input.
pub(crate) fn input(program: &Program, name: &str) -> InputId {
    let found = program
        .inputs
        .entries()
        .find(|(_, input)| input.name == name);
    found.expect("the input is declared").0
}

/// A player with these readings, without spread or shots.
pub(crate) fn readings(pairs: &[(&str, &str)]) -> PlayerText {
    let reading = |value: &str| ReadingText {
        value: value.to_owned(),
        ..ReadingText::default()
    };
    PlayerText {
        readings: pairs
            .iter()
            .map(|(name, value)| ((*name).to_owned(), reading(value)))
            .collect(),
        given: BTreeMap::new(),
    }
}

/// The fields of a club or a setting.
pub(crate) fn fields(pairs: &[(&str, &str)]) -> BTreeMap<String, String> {
    pairs
        .iter()
        .map(|(name, value)| ((*name).to_owned(), (*value).to_owned()))
        .collect()
}

/// A record of catalogue or stock.
pub(crate) fn record(place: &str, pairs: &[(&str, &str)]) -> RecordText {
    let texts = fields(pairs).into_iter();
    RecordText {
        place: place.to_owned(),
        fields: texts
            .map(|(name, text)| (name, FieldText::Text(text)))
            .collect(),
    }
}

/// Catalogue and stock of one kind.
pub(crate) fn parts_text(
    kind: &str,
    catalogue: Vec<RecordText>,
    stock: Vec<RecordText>,
) -> PartsText {
    PartsText {
        catalogue: vec![(kind.to_owned(), catalogue)],
        stock: vec![(kind.to_owned(), stock)],
    }
}

/// The faults as lines of text.
pub(crate) fn lines(faults: &[Fault]) -> Vec<String> {
    faults.iter().map(Fault::to_string).collect()
}
