//! The catalogue.

use loftwright_dsl::program::Value;
use loftwright_dsl::quantity::Rational;
use loftwright_engine::intake::{FieldText, PartsText, RecordText, read_parts};
use loftwright_engine::parts::{OnHand, Parts};

use crate::support::{fields, lines, parts_text, program, record};

fn parts(text: &PartsText) -> Parts {
    match read_parts(&program(), text) {
        Ok(parts) => parts,
        Err(faults) => panic!("{:#?}", lines(&faults)),
    }
}

fn faults(text: &PartsText) -> Vec<String> {
    match read_parts(&program(), text) {
        Ok(parts) => panic!("{parts:?}"),
        Err(faults) => lines(&faults),
    }
}

fn head(place: &str, id: &str) -> RecordText {
    let fields = [
        ("id", id),
        ("kind", "driver"),
        ("stamped_loft", "9 deg"),
        ("mass", "200 g"),
    ];
    record(place, &fields)
}

fn catalogue(kind: &str, records: Vec<RecordText>) -> PartsText {
    parts_text(kind, records, Vec::new())
}

#[test]
fn parts_come_sorted_by_id_with_their_fields() {
    let mut first = head("heads.toml:1", "H-2");
    let settings = vec![
        fields(&[("position", "neutral"), ("tilt", "0 deg")]),
        fields(&[("position", "plus one"), ("tilt", "1 deg")]),
    ];
    first
        .fields
        .insert("settings".to_owned(), FieldText::List(settings));
    let lead_time = FieldText::Text("7".to_owned());
    first.fields.insert("lead_time_days".to_owned(), lead_time);
    let read = parts(&catalogue("head", vec![first, head("heads.toml:9", "H-1")]));
    let heads: Vec<_> = read.all().collect();
    let ids: Vec<_> = heads.iter().map(|head| head.id.as_str()).collect();
    assert_eq!(ids, ["H-1", "H-2"]);
    let program = program();
    let declared = program
        .parts
        .iter()
        .find(|part| part.name == "head")
        .expect("head");
    let field = |name: &str| {
        let index = declared.field_index(name).expect("a field");
        heads[1].fields[index].clone()
    };
    assert_eq!(
        field("stamped_loft"),
        Some(Value::Number(Rational::whole(9)))
    );
    assert_eq!(field("measured_loft"), None);
    assert_eq!(field("on_hand"), None);
    assert_eq!(field("volume"), None);
    let Some(Value::List(settings)) = field("settings") else {
        panic!("no settings");
    };
    assert_eq!(settings.len(), 2);
    assert_eq!(settings[1][1], Some(Value::Number(Rational::ONE)));
    assert_eq!(heads[1].lead_time_days, Some(7));
    assert_eq!(heads[0].lead_time_days, None);
    assert_eq!(heads[0].on_hand, OnHand::Pieces(Vec::new()));
}

#[test]
fn every_fault_of_a_record_is_named() {
    let record = record(
        "heads.toml:1",
        &[
            ("kind", "drivr"),
            ("stamped_loft", "9"),
            ("mas", "200 g"),
            ("measured_loft", "9 deg"),
            ("on_hand", "3"),
            ("lead_time_days", "-1"),
            ("settings", "neutral"),
        ],
    );
    assert_eq!(
        faults(&catalogue("head", vec![record])),
        [
            "heads.toml:1: id: `id` is missing; a code is needed",
            "heads.toml:1: lead_time_days: `-1` is out of range; a whole number from 0 through \
             3650 is allowed",
            "heads.toml:1: mas: there is no field `mas`; allowed are `id`, `lead_time_days`, \
             `kind`, `stamped_loft`, `mass`, `volume`, `settings`; did you mean `mass`?",
            "heads.toml:1: measured_loft: `measured_loft` is measured on each piece; it stands in \
             the stock, not in the catalogue",
            "heads.toml:1: on_hand: `on_hand` is the stock's; it does not stand in the catalogue",
            "heads.toml:1: kind: `drivr` is not a value of `club_kind`; allowed are `driver`, \
             `iron`, `putter`; did you mean `driver`?",
            "heads.toml:1: stamped_loft: `9` has no unit; an angle from 0 deg through 66 deg is \
             needed, such as `9 deg`",
            "heads.toml:1: mass: `mass` is missing; a mass is needed, such as `200 g`",
            "heads.toml:1: settings: `neutral` is a text; a list of records of `setting` is needed",
        ]
    );
}

#[test]
fn settings_are_checked_one_by_one() {
    let mut record = head("heads.toml:1", "H-1");
    let settings = vec![
        fields(&[("position", "neutral"), ("tilt", "0 deg")]),
        fields(&[("tilt", "4 deg"), ("trun", "0 deg")]),
    ];
    record
        .fields
        .insert("settings".to_owned(), FieldText::List(settings));
    assert_eq!(
        faults(&catalogue("head", vec![record])),
        [
            "heads.toml:1: settings[2].trun: there is no field `trun`; allowed are `position`, \
             `tilt`",
            "heads.toml:1: settings[2].position: `position` is missing; a text is needed",
            "heads.toml:1: settings[2].tilt: `4 deg` is out of range; an angle from 0 deg through \
             3 deg is allowed",
        ]
    );
    let mut record = head("heads.toml:1", "H-1");
    let empty = FieldText::List(Vec::new());
    for field in ["mass", "id", "lead_time_days"] {
        record.fields.insert(field.to_owned(), empty.clone());
    }
    assert_eq!(
        faults(&catalogue("head", vec![record])),
        [
            "heads.toml:1: id: a list was sent; a code is needed",
            "heads.toml:1: lead_time_days: a list was sent; a whole number from 0 through 3650 is \
             needed, such as `3`",
            "heads.toml:1: mass: a list was sent; a mass is needed, such as `200 g`",
        ]
    );
    let mut record = head("heads.toml:1", "H-1");
    let neutral = || fields(&[("position", "neutral"), ("tilt", "0 deg")]);
    let settings = std::iter::repeat_with(neutral).take(201).collect();
    record
        .fields
        .insert("settings".to_owned(), FieldText::List(settings));
    assert_eq!(
        faults(&catalogue("head", vec![record])),
        ["heads.toml:1: settings: 201 records were sent; at most 200 are read"]
    );
}

#[test]
fn codes_are_unique_visible_and_short() {
    let records = vec![
        head("heads.toml:1", "H-1"),
        head("heads.toml:9", "H-1"),
        head("heads.toml:17", " "),
        head("heads.toml:25", &"x".repeat(65)),
        head("heads.toml:33", "H\u{200b}2"),
    ];
    assert_eq!(
        faults(&catalogue("head", records)),
        [
            "heads.toml:9: id: `H-1` is the code of another head too (heads.toml:1); each has its \
             own"
            .to_owned(),
            "heads.toml:17: id: the code is empty; a code is needed".to_owned(),
            format!(
                "heads.toml:25: id: `{}` is 65 bytes long; a code has at most 64",
                "x".repeat(65)
            ),
            "heads.toml:33: id: `H\\u{200b}2` holds an invisible character; a code is written in \
             visible ones"
                .to_owned(),
        ]
    );
    parts(&catalogue(
        "head",
        vec![head("heads.toml:1", &"x".repeat(64))],
    ));
}

#[test]
fn kinds_are_known() {
    let mut text = catalogue("haed", Vec::new());
    text.catalogue.push(("setting".to_owned(), Vec::new()));
    assert_eq!(
        faults(&text),
        [
            "catalogue.haed: there is no kind of part `haed`; the kinds are `grip`, `head`, \
             `sleeve`, `wrap`; did you mean `head`?",
            "catalogue.setting: records of `setting` stand in the lists of other parts; the kinds \
             are `grip`, `head`, `sleeve`, `wrap`",
            "stock.haed: there is no kind of part `haed`; the kinds are `grip`, `head`, `sleeve`, `wrap`; \
             did you mean `head`?",
        ]
    );
}

fn wrap(hands: FieldText, widths: Option<FieldText>) -> PartsText {
    let mut wrap = record("wraps.toml:1", &[("id", "W-1")]);
    wrap.fields.insert("hands".to_owned(), hands);
    let widths = widths.map(|widths| ("widths".to_owned(), widths));
    wrap.fields.extend(widths);
    catalogue("wrap", vec![wrap])
}

fn text(text: &str) -> FieldText {
    FieldText::Text(text.to_owned())
}

fn values(values: &[&str]) -> FieldText {
    FieldText::Values(values.iter().map(ToString::to_string).collect())
}

#[test]
fn a_list_of_values_comes_as_values_or_as_a_text_with_semicolons() {
    let of_values = parts(&wrap(
        values(&["left", "right"]),
        Some(values(&["1 in", "20 mm"])),
    ));
    let of_text = parts(&wrap(text("left; right"), Some(text("1 in;20 mm"))));
    assert_eq!(format!("{of_values:?}"), format!("{of_text:?}"));
    let read = of_values.all().next().unwrap().clone();
    let words = [Value::Word(1), Value::Word(0)];
    assert_eq!(read.fields[0], Some(Value::Values(words.into())));
    // In base units: 0.0254 m and 0.02 m.
    let length =
        |numerator, denominator| Value::Number(Rational::fraction(numerator, denominator).unwrap());
    let widths = [length(254, 10_000), length(2, 100)];
    assert_eq!(read.fields[1], Some(Value::Values(widths.into())));
    // Made for nobody is said, and is not the same as not said.
    let nobody = parts(&wrap(values(&[]), None));
    let read = nobody.all().next().unwrap().clone();
    assert_eq!(read.fields[0], Some(Value::Values(Vec::new().into())));
    assert_eq!(read.fields[1], None);
}

#[test]
fn every_fault_of_a_list_is_told_with_its_place() {
    let found = faults(&wrap(
        text("left; both; left"),
        Some(values(&["1 in", "90 mm", "wide"])),
    ));
    assert_eq!(found.len(), 4, "{found:#?}");
    assert!(
        found[0].contains("hands[2]") && found[0].contains("`right`, `left`"),
        "{found:#?}"
    );
    assert!(found[1].contains("hands[3]") && found[1].contains("twice"));
    assert!(found[2].contains("widths[2]") && found[2].contains("out of range"));
    assert!(found[3].contains("widths[3]"));
    let records = FieldText::List(vec![fields(&[("hand", "left")])]);
    let found = faults(&wrap(records, None));
    assert!(found[0].contains("a list, each one of"), "{found:#?}");
    let missing = catalogue("wrap", vec![record("wraps.toml:1", &[("id", "W-1")])]);
    assert!(faults(&missing)[0].contains("with `;` between them"));
}
