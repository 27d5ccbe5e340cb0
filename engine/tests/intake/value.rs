//! One text, one value. Factors: 1 in = 25.4 mm, 1 mph = 0.44704 m/s (NIST Special Publication 811,
//! 2008, appendix B, exact); 32 degF = 0 degC = 273.15 K (the same, section 4.2.2.3); days since
//! 1970-01-01 from Python's `datetime.date`.

use loftwright_dsl::program::{Shown, Type, Value};
use loftwright_dsl::quantity::{Dimension, Rational};
use loftwright_engine::intake::{allowed_reading, nearest, quoted, read_value, text_to_write};

use crate::support::{input, program};

fn fraction(numerator: i128, denominator: i128) -> Value {
    Value::Number(Rational::fraction(numerator, denominator).expect("a fraction"))
}

fn type_of(name: &str) -> Type {
    let program = program();
    program.inputs[input(&program, name)].value_type
}

pub(crate) fn sentence(value_type: Type, text: &str) -> String {
    match read_value(&program(), value_type, text) {
        Ok(value) => panic!("`{text}` was read as {value:?}"),
        Err(sentence) => sentence,
    }
}

pub(crate) const LENGTH: Type = Type::Quantity(Dimension::LENGTH);
pub(crate) const ANGLE: Type = Type::Quantity(Dimension::ANGLE);
pub(crate) const SPIN: Type = Type::Quantity(Dimension::SPIN);
const NUMBER: Type = Type::Quantity(Dimension::NUMBER);

#[test]
fn inches_and_millimetres_are_the_same_number() {
    let program = program();
    let expected = Ok(fraction(8_763, 10_000));
    for text in [
        "34.5 in",
        "876.3 mm",
        "34 1/2 in",
        " 87.63 cm ",
        "2 ft 10 1/2 in",
    ] {
        assert_eq!(read_value(&program, LENGTH, text), expected, "{text}");
    }
    assert_ne!(read_value(&program, LENGTH, "876.3000000001 mm"), expected);
    assert_ne!(read_value(&program, LENGTH, "876.2999999999 mm"), expected);
}

#[test]
fn every_type_is_read() {
    let program = program();
    let read = |value_type, text| read_value(&program, value_type, text);
    assert_eq!(read(ANGLE, "-6.5 deg"), Ok(fraction(-13, 2)));
    assert_eq!(
        read(Type::Quantity(Dimension::SPEED), "100 mph"),
        Ok(fraction(44_704, 1_000))
    );
    assert_eq!(read(NUMBER, "9.4"), Ok(fraction(94, 10)));
    assert_eq!(read(NUMBER, "25 percent"), Ok(fraction(1, 4)));
    assert_eq!(read(Type::Count, "14"), Ok(fraction(14, 1)));
    // Ten points a letter from A0: common practice of the scale.
    assert_eq!(read(Type::Swingweight, "D2"), Ok(fraction(32, 1)));
    assert_eq!(read(Type::Swingweight, "C9.5"), Ok(fraction(59, 2)));
    assert_eq!(
        read(Type::Temperature, "32 degF"),
        Ok(fraction(27_315, 100))
    );
    assert_eq!(read(Type::Temperature, "0 degC"), Ok(fraction(27_315, 100)));
    assert_eq!(
        read(Type::Quantity(Dimension::TEMPERATURE), "9 degF"),
        Ok(fraction(5, 1))
    );
    assert_eq!(
        read(Type::Quantity(Dimension::SWINGWEIGHT), "1.5 points"),
        Ok(fraction(3, 2))
    );
    assert_eq!(read(Type::Date, "2026-05-01"), Ok(fraction(20_574, 1)));
    assert_eq!(read(Type::Flag, "yes"), Ok(Value::Flag(true)));
    assert_eq!(read(Type::Flag, "no"), Ok(Value::Flag(false)));
    assert_eq!(
        read(Type::Text, "plus one"),
        Ok(Value::Text("plus one".into()))
    );
    assert_eq!(read(type_of("player_hand"), "left"), Ok(Value::Word(1)));
}

#[test]
fn a_scale_takes_half_steps() {
    let program = program();
    let flex = type_of("wanted_flex");
    let bounce = type_of("wanted_bounce");
    let read = |text| read_value(&program, flex, text);
    assert_eq!(read("regular"), Ok(Value::Word(4)));
    assert_eq!(read("regular plus 1/2"), Ok(Value::Word(5)));
    assert_eq!(read("regular plus 0.5"), Ok(Value::Word(5)));
    assert_eq!(read("senior plus 1"), Ok(Value::Word(4)));
    assert_eq!(
        read_value(&program, bounce, "low plus 1"),
        Ok(Value::Word(2))
    );
    assert_eq!(
        sentence(flex, "stiff plus 1/2"),
        "`stiff plus 1/2` is above `stiff`, the highest of `flex`; allowed are `ladies`, `senior`, \
         `regular`, `stiff` and the half steps between them, such as `ladies plus 1/2`"
    );
    assert_eq!(
        sentence(flex, "senior plus 1/4"),
        "`senior plus 1/4` is not a value of `flex`, which goes in steps of 1/2; allowed are \
         `ladies`, `senior`, `regular`, `stiff` and the half steps between them, such as \
         `ladies plus 1/2`"
    );
    assert_eq!(
        sentence(bounce, "low plus 1/2"),
        "`low plus 1/2` is not a value of `bounce`, which goes in steps of 1; allowed are `low`, \
         `standard`, `high`"
    );
}

#[test]
fn words_are_listed_with_the_nearest() {
    assert_eq!(
        sentence(type_of("player_hand"), "Rihgt"),
        "`Rihgt` is not a value of `hand`; allowed are `right`, `left`; did you mean `right`?"
    );
    assert_eq!(
        sentence(type_of("wanted_bounce"), "medium"),
        "`medium` is not a value of `bounce`; allowed are `low`, `standard`, `high`"
    );
    assert_eq!(
        sentence(type_of("wanted_flex"), "reguler plus 1/2"),
        "`reguler plus 1/2` is not a value of `flex`; allowed are `ladies`, `senior`, `regular`, \
         `stiff` and the half steps between them, such as `ladies plus 1/2`; did you mean \
         `regular plus 1/2`?"
    );
}

#[test]
fn a_flag_is_yes_or_no() {
    assert_eq!(
        sentence(Type::Flag, "True"),
        "`True` is neither `yes` nor `no`; write `yes`"
    );
    assert_eq!(
        sentence(Type::Flag, "0"),
        "`0` is neither `yes` nor `no`; write `no`"
    );
    assert_eq!(
        sentence(Type::Flag, "perhaps"),
        "`perhaps` is neither `yes` nor `no`"
    );
}

#[test]
fn another_dimension_is_named_with_both() {
    assert_eq!(
        sentence(LENGTH, "34 kg"),
        "`34 kg` is a mass; a length is needed, such as `34 1/2 in`"
    );
    assert_eq!(
        sentence(ANGLE, "D2"),
        "`D2` is a swingweight; an angle is needed, such as `-6.5 deg`"
    );
    assert_eq!(
        sentence(SPIN, "20 degC"),
        "`20 degC` is a temperature; a spin is needed, such as `2600 rpm`"
    );
    assert_eq!(
        sentence(Type::Swingweight, "2 points"),
        "`2 points` is a swingweight_change; a swingweight is needed, such as `D2`"
    );
    assert_eq!(
        sentence(Type::Date, "7 days"),
        "`7 days` is a time; a date is needed, such as `2026-05-01`"
    );
    let per_length = Dimension::ANGLE
        .over(Dimension::LENGTH)
        .expect("a quotient");
    assert_eq!(
        sentence(Type::Quantity(per_length), "3 deg"),
        "`3 deg` is an angle; an angle / length is needed, such as `1 deg/m`"
    );
}

#[test]
fn a_number_without_its_unit_is_shown_with_one() {
    assert_eq!(
        sentence(LENGTH, "34"),
        "`34` has no unit; a length is needed, such as `34 in`"
    );
    assert_eq!(
        sentence(Type::Temperature, "20"),
        "`20` has no unit; a temperature is needed, such as `20 degC`"
    );
}

#[test]
fn a_list_is_not_a_text() {
    let program = program();
    let head = program
        .parts
        .iter()
        .find(|part| part.name == "head")
        .expect("head");
    let settings = head
        .fields
        .iter()
        .find(|field| field.name == "settings")
        .expect("settings");
    assert_eq!(
        read_value(&program, settings.value_type, "neutral"),
        Err("`neutral` is a text; a list of records of `setting` is needed".to_owned())
    );
}

#[test]
fn a_long_text_is_refused_and_not_repeated() {
    let long = "9".repeat(4_097);
    let sentence = sentence(Type::Text, &long);
    assert!(sentence.ends_with("is 4097 bytes long; at most 4096 are read of one value"));
    assert!(sentence.len() < 200, "{sentence}");
    let fits = "9".repeat(4_096);
    assert!(read_value(&program(), Type::Text, &fits).is_ok());
    assert!(read_value(&program(), NUMBER, "12345678901234567890").is_ok());
}

#[test]
fn what_is_allowed_reads_in_the_unit_of_the_input() {
    let program = program();
    let allowed = |name| allowed_reading(&program, &program.inputs[input(&program, name)]);
    assert_eq!(
        allowed("wrist_to_floor"),
        "a length from 18.1 in through 48 in"
    );
    assert_eq!(allowed("age"), "a whole number from 4 through 110");
    assert_eq!(allowed("player_hand"), "one of `right`, `left`");
    assert_eq!(allowed("feel"), "a swingweight from C0 through E5");
    assert_eq!(
        allowed("range_temperature"),
        "a temperature from -10 degC through 45 degC"
    );
}

#[test]
fn a_bare_number_gets_the_text_to_write() {
    let program = program();
    let write = |value_type, unit: Option<&str>, number| {
        let shown = Shown {
            unit: unit.map(str::to_owned),
            step: None,
        };
        text_to_write(&program, value_type, &shown, number)
    };
    assert_eq!(write(ANGLE, None, "-6.5").as_deref(), Some("-6.5 deg"));
    assert_eq!(
        write(LENGTH, Some("mm"), "8.763e2").as_deref(),
        Some("876.3 mm")
    );
    assert_eq!(write(NUMBER, None, "9.4").as_deref(), Some("9.4"));
    assert_eq!(write(Type::Text, None, "1.5").as_deref(), Some("1.5"));
    assert_eq!(write(Type::Flag, None, "1.5"), None);
    assert_eq!(write(ANGLE, None, "nan"), None);
}

#[test]
fn nearest_is_a_slip_of_the_hand_and_no_more() {
    assert_eq!(nearest("stif", ["ladies", "stiff"]), Some("stiff"));
    assert_eq!(nearest("STIFF", ["ladies", "stiff"]), Some("stiff"));
    assert_eq!(nearest("medium", ["low", "standard"]), None);
    assert_eq!(nearest("", ["low"]), None);
    assert_eq!(nearest(&"x".repeat(1_000_000), ["low"]), None);
}

#[test]
fn a_quoted_text_cannot_steer_a_terminal() {
    assert_eq!(quoted("a\u{1b}[2Jb\u{202e}"), "`a\\u{1b}[2Jb\\u{202e}`");
    assert_eq!(quoted(&"x".repeat(100)), format!("`{}…`", "x".repeat(80)));
}
