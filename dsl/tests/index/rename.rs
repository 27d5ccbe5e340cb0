//! Renaming: every place, and the reasons why not.

use super::{index_of, layers, named};
use loftwright_dsl::index::{Index, RenameRefusal, index};

const RULES: &str = "
choice bounce is low, high

input attack : angle
    between -10 deg and 10 deg
    spread  1 deg  # of one swing

let steepness = -attack

group wedge, given with the player
  has loft : angle

part head
  has loft : angle

decide wedge_bounce : bounce, for each wedge
  by steepness
    under 5 deg    gives low
    5 deg or more  gives high

decide heads_on_hand : count
  gives number of heads where loft over 50 deg

caution steep : steepness over 8 deg
  says \"{steepness} is steep\"

case \"flat\"
  given  attack = -1 deg
  expect every wedge_bounce = low
";

fn renamed(index: &Index, name: &str, new: &str) -> Result<String, RenameRefusal> {
    let edits = index.rename(named(index, name), new)?;
    let file = index.folder.ids().next_back().expect("a file");
    let mut text = index.folder[file].text.clone();
    for edit in edits.iter().rev() {
        text.replace_range(edit.span.start..edit.span.end, &edit.text);
    }
    Ok(text.split_once('\n').expect("the head").1.to_owned())
}

#[track_caller]
fn expect_refusal(name: &str, new: &str, said: &str) {
    let refusal = renamed(&index_of(RULES), name, new).expect_err("a refusal");
    assert!(refusal.to_string().contains(said), "{refusal}");
}

#[test]
fn a_let_is_renamed_in_tables_texts_and_conditions() {
    let renamed = renamed(&index_of(RULES), "steepness", "descent").expect("a new name");
    assert_eq!(renamed, RULES.replace("steepness", "descent"));
}

#[test]
fn an_input_keeps_its_old_name_for_callers() {
    let text = renamed(&index_of(RULES), "attack", "blow").expect("a new name");
    let spread = "    spread  1 deg  # of one swing\n";
    let expected = RULES
        .replace("attack", "blow")
        .replace(spread, &format!("{spread}    formerly attack\n"));
    assert_eq!(text, expected);
    // And back again: the two names change places.
    let back = renamed(&index_of(&text), "blow", "attack").expect("its old name");
    assert_eq!(
        back,
        RULES.replace(spread, &format!("{spread}    formerly blow\n"))
    );
}

#[test]
fn the_plural_of_a_part_follows_its_name() {
    let text = renamed(&index_of(RULES), "head", "club_head").expect("a new name");
    let expected = RULES
        .replace("part head", "part club_head")
        .replace("of heads", "of club_heads");
    assert_eq!(text, expected);
}

#[test]
fn a_field_is_renamed_where_it_is_meant_and_nowhere_else() {
    let index = index_of(RULES);
    let loft = index
        .member(named(&index, "head"), "loft")
        .expect("its field");
    let edits = index.rename(loft, "stamped_loft").expect("a new name");
    assert_eq!(edits.len(), 2, "{edits:?}");
}

#[test]
fn what_cannot_be_a_name_is_refused_with_the_reason() {
    expect_refusal("steepness", "within", "`within` is a word of the language");
    expect_refusal("steepness", "Steep", "`Steep` is no name");
    expect_refusal("steepness", "the steepness", "is no name");
    expect_refusal("steepness", "", "is no name");
    expect_refusal(
        "steepness",
        "attack",
        "`attack` is the name of another input",
    );
    expect_refusal("steepness", "heads", "`heads` is the name of another part");
    // As a name of that group's field it would mean the field wherever a wedge is at hand.
    expect_refusal("steepness", "loft", "would no longer say the same");
    let broken = format!("{RULES}\nlet nonsense = nowhere\n");
    let refusal = renamed(&index_of(&broken), "steepness", "descent");
    assert!(matches!(refusal, Err(RenameRefusal::Errors(_))));
}

#[test]
fn a_name_of_a_layer_below_is_renamed_there() {
    let contract = "choice kind is iron, wedge\nreads long : flag\n";
    let below = "input reach : length\n  between 20 in and 40 in\n";
    let above = "decide long : flag\n  gives reach over 30 in\n";
    let index = index(&layers(&[contract, below, above]), 1);
    assert!(!index.has_errors(), "{:#?}", index.diagnostics);
    let refused = |name| {
        let refusal = index.rename(named(&index, name), "new_name");
        refusal.expect_err("a refusal").to_string()
    };
    assert!(refused("reach").contains("belongs to `common`"));
    assert!(refused("kind").contains("belongs to `contract`"));
    assert!(refused("long").contains("`contract`, a layer below, speaks of `long`"));
}
