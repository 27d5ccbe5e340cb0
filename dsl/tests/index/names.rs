//! What the name at a place stands for.

use super::{index_of, layers, marked, named};
use loftwright_dsl::index::{Kind, index};

const RULES: &str = "
choice club_kind is iron, wedge
choice turf_kind is firm, soft
choice bounce is low, high

input turf : turf_kind
input attack : angle
  between -10 deg and 10 deg
  about \"How steep.\"

let steepness = -attack

part head
  has loft : angle

group wedge, as many as wedge_count
  has number : count

let wedge_count : count = 2

decide wedge_bounce : bounce, for each wedge
  source common practice
  by steepness and turf
    under 5 deg and any      gives low
    5 deg or more and firm   gives low
    5 deg or more and soft   gives high

choose wedge_head from heads, for each wedge
  let     close = its loft
  needs   loft over 40 deg
  prefers close near 50 deg, within 5 deg weight 1

decide first_loft : angle
  gives wedge_head.loft of_first

caution steep : steepness over 8 deg
  says \"{steepness} is steep: {attack} down.\"

case \"firm\"
  given  turf = firm
  expect every wedge_bounce = low
";

/// What stands at the mark that is put before the `count`th place of a text.
#[track_caller]
fn expect_at(text: &str, count: usize, kind: Kind, name: &str) {
    let (place, _) = RULES.match_indices(text).nth(count).expect("the text");
    let marked_rules = format!("{}^{}", &RULES[..place], &RULES[place..]);
    let (index, file, offset) = marked(&marked_rules);
    let found = index.name_at(file, offset);
    let found = found.unwrap_or_else(|| panic!("nothing at {text} {count}"));
    let declaration = &index.declarations[found.target];
    assert_eq!((declaration.kind, declaration.name.as_str()), (kind, name));
}

#[test]
fn a_name_stands_for_what_the_language_says() {
    expect_at("attack", 0, Kind::Input, "attack");
    expect_at("attack", 1, Kind::Input, "attack");
    expect_at("steepness and", 0, Kind::Let, "steepness");
    expect_at("turf\n    under", 0, Kind::Input, "turf");
    // A value of the type expected goes before a declaration of the name.
    expect_at("firm   gives", 0, Kind::Word, "firm");
    expect_at("low\n", 0, Kind::Word, "low");
    expect_at("bounce, for", 0, Kind::Vocabulary, "bounce");
    expect_at("wedge\n  source", 0, Kind::Group, "wedge");
    expect_at("wedge_count\n", 0, Kind::Let, "wedge_count");
    expect_at("heads", 0, Kind::Part, "head");
    expect_at("loft\n  needs", 0, Kind::Field, "loft");
    expect_at("loft over", 0, Kind::Field, "loft");
    expect_at("close near", 0, Kind::CandidateLet, "close");
    expect_at("turf = firm", 0, Kind::Input, "turf");
    expect_at("firm\n  expect", 0, Kind::Word, "firm");
    expect_at("wedge_bounce = low", 0, Kind::Decision, "wedge_bounce");
}

#[test]
fn a_name_in_the_braces_of_a_text_has_its_own_place() {
    expect_at("steepness}", 0, Kind::Let, "steepness");
    expect_at("attack}", 0, Kind::Input, "attack");
}

#[test]
fn names_are_found_in_a_folder_with_errors() {
    // `first_loft` cannot be read: what stands around it is indexed all the same.
    let index = index_of(RULES);
    assert!(index.has_errors());
    assert!(index.named("first_loft").is_some());
    let steepness = named(&index, "steepness");
    assert_eq!(index.uses_of(steepness).count(), 3);
}

#[test]
fn a_name_is_described_with_what_rests_on_it() {
    let index = index_of(RULES);
    let attack = index.describe(named(&index, "attack"));
    assert_eq!(attack.signature, "input attack : angle");
    assert_eq!(attack.type_name.as_deref(), Some("angle"));
    assert_eq!(attack.unit.as_deref(), Some("deg"));
    assert_eq!(attack.range.as_deref(), Some("-10 deg through 10 deg"));
    assert_eq!(attack.about.as_deref(), Some("How steep."));
    assert_eq!(attack.layer, "common");
    // Through the let; the caution both ways is said once.
    assert_eq!(attack.decides, ["steep", "wedge_bounce"]);
    let bounce = index.describe(named(&index, "wedge_bounce"));
    assert_eq!(
        bounce.signature,
        "decide wedge_bounce : bounce, for each wedge"
    );
    assert_eq!(bounce.source.as_deref(), Some("common practice"));
    assert_eq!(bounce.cases, 1);
    let steepness = index.describe(named(&index, "steepness"));
    assert_eq!(steepness.signature, "let steepness : angle");
    let head = named(&index, "head");
    let loft = index.member(head, "loft").expect("its field");
    assert_eq!(index.describe(loft).signature, "head.loft : angle");
}

#[test]
fn a_replacement_stands_for_the_name_and_knows_what_it_replaces() {
    let below = "input reach : length\n  between 20 in and 40 in\n\
                 decide long : flag\n  gives reach over 30 in\n";
    let above = "replace decide long : flag\n  gives reach over 31 in\n";
    let index = index(&layers(&["", below, above]), 1);
    assert!(!index.has_errors(), "{:#?}", index.diagnostics);
    let long = named(&index, "long");
    let described = index.describe(long);
    assert_eq!(described.layer, "house");
    assert_eq!(described.replaces.as_deref(), Some("common"));
    let family = index.family(long);
    let [lower, upper] = family[..] else {
        panic!("{family:?}");
    };
    assert_eq!(upper, long);
    assert_eq!(index.describe(lower).replaced_by.as_deref(), Some("house"));
}
