//! The layout of rules, from outside: what is written before, and after.

#![expect(clippy::panic, reason = "a test stops at the first surprise")]

use loftwright_dsl::diagnostic::Code;
use loftwright_dsl::format::{NotFormatted, format_text};

/// The text is laid out so, and then stays so.
#[track_caller]
fn becomes(before: &str, after: &str) {
    let once = format_text(before).unwrap_or_else(|why| panic!("{why:?}"));
    assert_eq!(once, after, "laid out:\n{once}");
    let twice = format_text(&once).unwrap_or_else(|why| panic!("{why:?}"));
    assert_eq!(twice, once, "laid out again:\n{twice}");
}

#[track_caller]
fn stays(text: &str) {
    becomes(text, text);
}

#[test]
fn conditions_verbs_and_reasons_stand_in_columns() {
    becomes(
        "decide bounce:bounce_class
 source    common practice
 by   steepness
  under 5 deg gives low because \"Skims.\"
  5 through 8 deg gives standard
  over 8 deg gives high because \"Digs.\"
 then by turf,if unknown keeps
  firm or normal keeps
  soft moves up 1 because \"Sinks.\"
 never falls as steepness rises
",
        "decide bounce : bounce_class
  source common practice
  by steepness
    under 5 deg     gives low  because \"Skims.\"
    5 through 8 deg gives standard
    over 8 deg      gives high because \"Digs.\"
  then by turf, if unknown keeps
    firm or normal keeps
    soft           moves up 1 because \"Sinks.\"
  never falls as steepness rises
",
    );
}

#[test]
fn cells_stand_under_the_columns_that_they_are_of() {
    becomes(
        "decide junior : flag
  source common practice
  by age and height, if unknown gives no
    under 14 and under 5 ft 3 in gives yes
    14 or more and any gives no
    otherwise gives no
decide shaft : mass, for each wood
  source common practice
  first gives 50 g
  next by club.is_kept and kind
    yes and any gives previous
    no and driver or fairway gives previous + 10 g
",
        "decide junior : flag
  source common practice
  by age        and height, if unknown gives no
     under 14   and under 5 ft 3 in gives yes
     14 or more and any             gives no
     otherwise                      gives no

decide shaft : mass, for each wood
  source common practice
  first gives 50 g
  next by club.is_kept and kind
          yes          and any               gives previous
          no           and driver or fairway gives previous + 10 g
",
    );
}

#[test]
fn what_follows_the_words_of_clauses_begins_in_one_column() {
    becomes(
        "choose head from heads
  source common practice
  only when club.is_kept is no
  let own = (its measured_loft, or if unknown its stamped_loft)
  let delivered_loft = own + 1 deg
  takes 1 from on_hand
  needs hand is player_hand
  needs lie within 1 deg of wanted when wanted is known
  prefers own near 10 deg, within 2 deg weight 4
  prefers mass near 200 g, within 10 g weight 2 because \"Swings well.\"
  ties by own, smallest first
  if none on hand, orders
",
        "choose head from heads
  source  common practice
  only when club.is_kept is no
  let     own            = (its measured_loft, or if unknown its stamped_loft)
  let     delivered_loft = own + 1 deg
  takes   1 from on_hand
  needs   hand is player_hand
  needs   lie within 1 deg of wanted when wanted is known
  prefers own near 10 deg, within 2 deg weight 4
  prefers mass near 200 g, within 10 g  weight 2 because \"Swings well.\"
  ties by own, smallest first
  if none on hand, orders
",
    );
    becomes(
        "input age : count
  ask \"Age.\"
  between 4 and 110
  private

part head
  has kind : club_kind
  has measured_loft : angle, of each piece

decide loft : angle, for each wedge in order of number
  source common practice
  kept gives 50 deg
  first gives 51 deg
  next gives previous + 4 deg
  last gives 60 deg
",
        "input age : count
  ask     \"Age.\"
  between 4 and 110
  private

part head
  has kind          : club_kind
  has measured_loft : angle, of each piece

decide loft : angle, for each wedge in order of number
  source common practice
  kept  gives 50 deg
  first gives 51 deg
  next  gives previous + 4 deg
  last  gives 60 deg
",
    );
}

#[test]
fn short_declarations_right_below_each_other_stand_in_columns() {
    becomes(
        "choice hand is right, left
choice construction is forged, cast
scale flex is soft < stiff
let forged : angle = 3 deg
let cast = 1.5 deg

let other : angle, for each club = 1 deg
",
        "choice hand         is right, left
choice construction is forged, cast
scale  flex         is soft < stiff
let forged : angle = 3 deg
let cast           = 1.5 deg

let other : angle, for each club = 1 deg
",
    );
}

#[test]
fn a_clause_of_any_declaration_keeps_its_place() {
    stays(
        "replace decide a : count
  source common practice
  stands on \"0123abcd\"
  gives  7
",
    );
}

#[test]
fn literals_and_operators_stay_what_they_are() {
    becomes(
        "let a = 35   1/4 in+5 ft 10 in
let b = 1/2
let c = 1 / 2
let d = ( a - -b )*2/c
let e = first_visit  under 2026-05-01
let f = larger (1,2) -3
let g = the size of - a
let i = 2 g for  each 1 in of -x
let h = D2
",
        "let a = 35 1/4 in + 5 ft 10 in
let b = 1/2
let c = 1 / 2
let d = (a - -b) * 2 / c
let e = first_visit under 2026-05-01
let f = larger(1, 2) - 3
let g = the size of -a
let i = 2 g for each 1 in of -x
let h = D2
",
    );
}

#[test]
fn comments_stay_where_they_are() {
    becomes(
        "# The head of the file.
#And its second line.


# Of the decision.
decide bounce : bounce_class # behind the header
# in column 1, inside
  source common practice    # behind a clause
  by steepness
  # above a row
    under 5 deg gives low #1
    5 deg or more gives standard because # behind because
      # on its own
      \"A reason.\"   # 2
    # after the last row
# of what comes next

let a = (1 deg # one
  # two
  + 2 deg)
# the end",
        "# The head of the file.
#And its second line.

# Of the decision.
decide bounce : bounce_class  # behind the header
  # in column 1, inside
  source common practice  # behind a clause
  by steepness
    # above a row
    under 5 deg   gives low               #1
    5 deg or more gives standard because  # behind because
        # on its own
        \"A reason.\"  # 2
    # after the last row

# of what comes next

let a = (1 deg  # one
    # two
    + 2 deg)
# the end
",
    );
}

#[test]
fn line_ends_tabs_marks_and_blank_lines_are_made_plain() {
    becomes(
        "\u{feff}\r\n\r\nlet a = 1  \r\n\r\n\r\n\r\n\tlet_what = 2"
            .replace("\tlet_what = 2", "let b\t=\t2")
            .as_str(),
        "let a = 1\n\nlet b = 2\n",
    );
    becomes("", "");
    becomes("\n \n", "");
    becomes("#", "#\n");
}

#[test]
fn a_blank_line_parts_declarations_of_several_lines() {
    becomes(
        "let a = 1
input b : flag
  ask \"B?\"
# of c
let c = 1
let d = 1
",
        "let a = 1

input b : flag
  ask \"B?\"

# of c
let c = 1
let d = 1
",
    );
}

#[test]
fn adjacent_texts_stand_below_each_other() {
    becomes(
        "caution epoxy : builds_something
  says \"One. \" \"Two. \"
    \"Three.\"
  source common practice
drop case \"gone\" because \"It \" \"went.\"
",
        "caution epoxy : builds_something
  says   \"One. \"
         \"Two. \"
         \"Three.\"
  source common practice

drop case \"gone\"
  because \"It \"
          \"went.\"
",
    );
}

#[test]
fn a_line_that_would_be_too_wide_is_broken_before_its_reason() {
    let (fits, longer) = ("x".repeat(80), "x".repeat(81));
    let table = |result: &str, reason: &str| {
        format!(
            "decide a : flag\n  source common practice\n  by turf\n    firm gives {result}{reason}\n"
        )
    };
    // 4 + `firm gives ` + 13 + ` because ` + 83 are 120.
    let result = "a_longer_name";
    stays(&table(result, &format!(" because \"{fits}x\"")));
    becomes(
        &table(result, &format!(" because \"{longer}x\"")),
        &table(result, &format!("\n         because \"{longer}x\"")),
    );
}

#[test]
fn a_wide_line_keeps_its_line_ends_inside_parentheses_and_another_loses_them() {
    becomes("let a = (1 +\n 2)\n", "let a = (1 + 2)\n");
    let long = "a_rather_long_name_of_something".repeat(3);
    stays(&format!("let a = ({long}\n    + {long})\n"));
}

#[test]
fn a_file_with_errors_is_left_as_it_is() {
    for (text, code) in [
        ("let a =\u{a0}1\n", Code::BadCharacter),
        ("let a = \u{2212}1\n", Code::BadCharacter),
        ("let = 1\n", Code::Syntax),
        ("let a = (1\n", Code::Syntax),
        ("let a = 1 <= 2\n", Code::NearMiss),
        ("  let a = 1\n", Code::StrayLine),
    ] {
        match format_text(text) {
            Err(NotFormatted::Findings(findings)) => assert_eq!(findings[0].code, code, "{text}"),
            other => panic!("{text}: {other:?}"),
        }
    }
}

#[test]
fn a_layout_beyond_a_limit_is_refused_by_its_name() {
    // A wide cell fills up the column of thousands of narrow ones.
    let mut text = String::from("decide a : count\n  source common practice\n  by turf\n");
    text.push_str(&format!("    {} gives 1\n", "x".repeat(60)));
    for number in 0..1_500 {
        text.push_str(&format!("    y{number} gives 1\n"));
    }
    match format_text(&text) {
        Err(NotFormatted::Limit(why)) => assert!(why.contains("`declaration size`"), "{why}"),
        other => panic!("{other:?}"),
    }
}
