//! Choices of parts: candidates, needs, preferences, ties, the ladder, the stock.
//!
//! This file is long because each sentence about choices has its own small ruleset beside it.

use crate::support::{Answer, answer_choosing, parts};
use loftwright_dsl::quantity::Rational;
use loftwright_engine::trace::{How, Selection};

pub(crate) const RULES: &str = r#"
input wanted : angle
  ask     "Wanted?"
  between 0 deg and 60 deg

input wants_soft : flag
  ask "Soft?"

input how_many : count
  ask     "How many?"
  between 0 and 6

scale bounce_class is low < standard < high

input turf_bounce : bounce_class
  ask "Bounce?"

part setting
  has tilt : angle, between 0 deg and 3 deg

part head
  has kind     : club_kind
  has stamped  : angle, between 0 deg and 70 deg
  has measured : angle, of each piece, may be unknown, between 0 deg and 70 deg
  has bounce   : bounce_class, may be unknown
  has settings : list of setting, may be unknown
  has on_hand  : count

part grip
  has mass    : mass, may be unknown
  has soft    : flag
  has on_hand : count

group wedge, as many as how_many
  has number : count

let wedge_loft : angle, for each wedge = wanted + 4 deg * (wedge.number - 1)
"#;

/// Heads of three parts with measured pieces, a part without pieces on hand.
const HEADS: [&str; 4] = [
    "id = a, kind = wedge, stamped = 50 deg, bounce = low",
    "id = b, kind = wedge, stamped = 54 deg, bounce = high",
    "id = c, kind = iron, stamped = 50 deg",
    "id = d, kind = wedge, stamped = 60 deg, bounce = standard",
];
const PIECES: [&str; 5] = [
    "part = a, id = a1, measured = 49.8 deg",
    "part = a, id = a2, measured = 50.3 deg",
    "part = b, id = b1, measured = 54 deg",
    "part = b, id = b2",
    "part = c, id = c1, measured = 50 deg",
];

fn head(lines: &str, readings: &str) -> Answer {
    let rules = format!("{RULES}\nchoose x from heads\n  source common practice\n{lines}\n");
    answer_choosing(&rules, readings, parts("head", &HEADS, &PIECES))
}

fn selection<'a>(answer: &'a Answer, name: &str) -> &'a Selection {
    let node = answer.node(name);
    let entry = answer
        .trace
        .entries
        .iter()
        .find(|entry| entry.place.node == node)
        .unwrap();
    match &entry.how {
        How::Selection(selection) => selection,
        other => panic!("{other:?}"),
    }
}

const WEDGE: &str = "  takes 1 from on_hand
  needs kind is wedge
";

#[test]
fn candidates_are_the_pieces_on_hand_in_the_order_of_part_and_piece() {
    let answer = head(WEDGE, "");
    assert_eq!(answer.of("x"), "chosen a/a1");
    let selection = selection(&answer, "x");
    assert_eq!(selection.candidates, 5);
    let failed: Vec<_> = selection
        .failed
        .iter()
        .map(|group| (group.needs, group.count))
        .collect();
    assert_eq!(failed, [(0, 1)]);
    let others: Vec<_> = selection
        .runners_up
        .iter()
        .map(|other| (other.part, other.piece))
        .collect();
    assert_eq!(others, [(0, Some(1)), (1, Some(0)), (1, Some(1))]);
}

#[test]
fn a_field_of_the_piece_overlies_the_part_and_what_is_not_known_fails() {
    let near = |wanted: &str| {
        let lines = format!("{WEDGE}  needs measured within 0.4 deg of wanted\n");
        head(&lines, &format!("wanted = {wanted}")).of("x")
    };
    assert_eq!(near("50.5 deg"), "chosen a/a2");
    assert_eq!(near("54.4 deg"), "chosen b/b1");
    assert_eq!(near("54.5 deg"), "none on hand");
    // `b2` was not measured: it fails where its loft is asked for.
    let lines = format!("{WEDGE}  needs bounce is high\n  needs measured is not 54 deg\n");
    assert_eq!(head(&lines, "").of("x"), "none on hand");
}

#[test]
fn the_nearest_miss_is_kept() {
    let lines = format!("{WEDGE}  needs measured within 0.4 deg of wanted\n");
    let answer = head(&lines, "wanted = 52 deg");
    let selection = selection(&answer, "x");
    let missed = &selection.failed[1];
    assert_eq!((missed.needs, missed.count), (1, 4));
    // a2: 52 − 50.3 is 1.7, less 0.4.
    let (part, piece, setting, miss) = missed.nearest.unwrap();
    assert_eq!((part, piece, setting), (0, Some(1), None));
    assert_eq!(miss, Rational::fraction(13, 10).unwrap());
}

#[test]
fn the_rulesets_side_blocks_before_any_candidate_is_looked_at() {
    let lines = format!("{WEDGE}  needs measured within 0.4 deg of wanted\n");
    assert_eq!(head(&lines, "").of("x"), "needs wanted");
    // Whichever line comes first, and whether anything is left of the stock.
    let lines = "  takes 1 from on_hand\n  needs kind is putter\n  needs measured over wanted\n";
    assert_eq!(head(lines, "").of("x"), "needs wanted");
    let empty = answer_choosing(
        &format!("{RULES}\nchoose x from heads\n  source common practice\n{lines}\n"),
        "",
        loftwright_engine::intake::PartsText::default(),
    );
    assert_eq!(empty.of("x"), "needs wanted");
}

/// A let belongs to the candidates; what it rests on blocks once a candidate comes as far.
#[test]
fn a_reading_behind_a_let_blocks_with_the_candidates() {
    let lines = |kind: &str| {
        format!(
            "  let off = its measured - wanted
  takes 1 from on_hand
  needs kind is {kind}
  needs off at most 1 deg
"
        )
    };
    assert_eq!(head(&lines("wedge"), "").of("x"), "needs wanted");
    assert_eq!(head(&lines("putter"), "").of("x"), "none on hand");
    // `b2` was not measured: the reading alone is named, and decides nothing of its own.
    assert_eq!(
        head(&lines("wedge"), "wanted = 50 deg").of("x"),
        "chosen a/a1"
    );
}

/// What is not known of a part that was chosen before stands on the ruleset's side.
#[test]
fn a_field_of_an_earlier_choice_is_not_the_candidates_own() {
    let lines = "  takes 1 from on_hand
  needs bounce is high
  ties by measured, largest first, then stamped

choose y from heads, after x
  source common practice
  takes 1 from on_hand
  needs kind is wedge
  needs measured is not x.measured
";
    let answer = head(lines, "");
    assert_eq!(
        (answer.of("x"), answer.of("y")),
        ("chosen b/b1".into(), "chosen a/a1".into())
    );
    let unmeasured = lines.replace(
        "ties by measured, largest first, then stamped",
        "prefers measured is not known weight 1",
    );
    let answer = head(&unmeasured, "");
    assert_eq!(answer.of("x"), "chosen b/b2");
    assert_eq!(answer.of("y"), "needs head.measured");
}

#[test]
fn or_if_unknown_takes_what_is_missing_away_on_either_side() {
    let lines = format!(
        "{WEDGE}  needs bounce is high
  needs (its measured, or if unknown its stamped) within 1 deg of (wanted, or if unknown 54 deg)
  ties by measured, largest first
"
    );
    assert_eq!(head(&lines, "").of("x"), "chosen b/b1");
}

#[test]
fn a_line_is_left_out_where_its_when_does_not_hold_and_blocks_where_it_is_open() {
    let lines = format!("{WEDGE}  needs bounce is high when wants_soft is yes\n");
    assert_eq!(head(&lines, "wants_soft = yes").of("x"), "chosen b/b1");
    assert_eq!(head(&lines, "wants_soft = no").of("x"), "chosen a/a1");
    assert_eq!(head(&lines, "").of("x"), "needs wants_soft");
}

#[test]
fn where_the_rulesets_side_does_not_apply_the_choice_does_not() {
    let lines = "  takes 1 from on_hand\n  needs measured within 1 deg of soft_loft\n";
    let soft = "decide soft_loft : angle
  source common practice
  only when wants_soft is yes
  gives 50 deg
";
    let lines = format!("{lines}\n{soft}");
    assert_eq!(head(&lines, "wants_soft = no").of("x"), "none");
    assert_eq!(head(&lines, "wants_soft = yes").of("x"), "chosen a/a1");
    assert_eq!(head(&lines, "").of("x"), "blocked by soft_loft: wants_soft");
}

#[test]
fn only_when() {
    let lines = format!("  only when wants_soft is yes\n{WEDGE}");
    assert_eq!(head(&lines, "wants_soft = no").of("x"), "none");
    assert_eq!(head(&lines, "").of("x"), "needs wants_soft");
    assert_eq!(head(&lines, "wants_soft = yes").of("x"), "chosen a/a1");
}

/// weight × max(0, 1 − |d| / Y), by hand: a1 4 × (1 − 0.8/2), a2 4 × (1 − 0.3/2), b1 0, b2 unknown.
#[test]
fn scores_are_exact() {
    let lines = format!("{WEDGE}  prefers measured near wanted, within 2 deg weight 4\n");
    let answer = head(&lines, "wanted = 50.6 deg");
    assert_eq!(answer.of("x"), "chosen a/a2");
    let selection = selection(&answer, "x");
    assert_eq!(selection.total, Rational::fraction(34, 10).ok());
    assert_eq!(selection.scores, [Rational::fraction(34, 10).ok()]);
    let totals: Vec<_> = selection
        .runners_up
        .iter()
        .map(|other| other.total)
        .collect();
    assert_eq!(
        totals,
        [
            Rational::fraction(24, 10).unwrap(),
            Rational::ZERO,
            Rational::ZERO
        ]
    );
}

/// low, high and standard are two whole steps apart at the most: 1 − 1/2 for a neighbour.
#[test]
fn near_on_a_scale_counts_whole_steps() {
    let lines = format!("{WEDGE}  prefers bounce near turf_bounce, within 2 weight 1\n");
    let answer = head(&lines, "turf_bounce = high");
    assert_eq!(answer.of("x"), "chosen b/b1");
    assert_eq!(selection(&answer, "x").total, Some(Rational::ONE));
    let answer = head(&lines, "turf_bounce = standard");
    assert_eq!(selection(&answer, "x").total, Rational::fraction(1, 2).ok());
}

#[test]
fn a_preference_whose_ruleset_side_is_open_is_not_weighed() {
    let lines = format!(
        "{WEDGE}  prefers measured near wanted, within 2 deg weight 4
  prefers bounce is high weight 1
"
    );
    let answer = head(&lines, "");
    assert_eq!(answer.of("x"), "chosen b/b1");
    let selection = selection(&answer, "x");
    assert_eq!(selection.not_weighed, [0]);
    assert_eq!(selection.scores, [None, Some(Rational::ONE)]);
    let when = format!("{WEDGE}  prefers bounce is high weight 1 when wants_soft is yes\n");
    assert_eq!(head(&when, "wants_soft = yes").of("x"), "chosen b/b1");
    assert_eq!(head(&when, "wants_soft = no").of("x"), "chosen a/a1");
    let open = head(&when, "");
    assert_eq!(open.of("x"), "chosen a/a1");
    assert_eq!(self::selection(&open, "x").not_weighed, [0]);
}

#[test]
fn ties_go_by_their_keys_unknown_last_then_by_part_and_piece() {
    let ties = |ties: &str| head(&format!("{WEDGE}  ties by {ties}\n"), "").of("x");
    assert_eq!(ties("measured, smallest first"), "chosen a/a1");
    assert_eq!(ties("measured, largest first"), "chosen b/b1");
    assert_eq!(
        ties("stamped, largest first, then measured, smallest first"),
        "chosen b/b1"
    );
    assert_eq!(ties("bounce, largest first"), "chosen b/b1");
}

#[test]
fn rungs_start_from_the_original_needs_each() {
    let lines = format!(
        "{WEDGE}  needs measured within 0.2 deg of wanted
  needs bounce is low
  if none on hand, needs measured within 1 deg of wanted says \"Bend it.\"
  if none on hand, needs bounce is one of low, high says \"Another bounce.\"
  if none on hand, leaves open
"
    );
    assert_eq!(head(&lines, "wanted = 50 deg").of("x"), "chosen a/a1");
    assert_eq!(
        head(&lines, "wanted = 51 deg").of("x"),
        "chosen a/a2 rung 0"
    );
    // The second rung asks for 0.2 deg again: the first one's degree is not carried over.
    assert_eq!(
        head(&lines, "wanted = 54.1 deg").of("x"),
        "chosen b/b1 rung 1"
    );
    assert_eq!(head(&lines, "wanted = 54.5 deg").of("x"), "left open");
}

#[test]
fn orders_takes_the_best_of_the_catalogue_to_measure() {
    let lines = format!(
        "{WEDGE}  needs measured within 0.2 deg of wanted
  needs stamped within 1 deg of wanted
  prefers stamped near wanted, within 2 deg weight 1
  if none on hand, orders
  if none on hand, leaves open
"
    );
    // No wedge of 60 deg is on hand; its measured loft counts as met.
    assert_eq!(head(&lines, "wanted = 60 deg").of("x"), "ordered d rung 0");
    assert_eq!(head(&lines, "wanted = 40 deg").of("x"), "left open");
    // What is not measured on each piece must hold: the bounce of `c` is not known.
    let lines = "  takes 1 from on_hand
  needs kind is iron
  needs bounce is high
  if none on hand, orders
";
    assert_eq!(head(lines, "").of("x"), "none on hand");
}

#[test]
fn what_is_worked_out_of_a_part_is_asked_as_its_fields_are() {
    let lines = |measured: &str| {
        format!(
            "  let own = its measured
{WEDGE}  needs {measured} within 0.2 deg of wanted
  needs stamped within 1 deg of wanted
  if none on hand, needs {measured} within 1 deg of wanted says \"Bend it.\"
  if none on hand, orders
  if none on hand, leaves open
"
        )
    };
    // Where it is not known since it is measured on the piece, it counts as met by the maker.
    let ordered = head(&lines("own"), "wanted = 60 deg");
    assert_eq!(ordered.of("x"), "ordered d rung 1");
    for wanted in ["40", "49.4", "50", "50.3", "54", "54.9", "60"] {
        let readings = format!("wanted = {wanted} deg");
        let (by_let, by_field) = (
            head(&lines("own"), &readings),
            head(&lines("measured"), &readings),
        );
        assert_eq!(by_let.of("x"), by_field.of("x"), "{wanted}");
        let failed = |answer| selection(answer, "x").failed.clone();
        assert_eq!(failed(&by_let), failed(&by_field), "{wanted}");
    }
}

#[test]
fn without_a_ladder_nothing_on_hand_is_none_on_hand_and_blocks() {
    let lines = "  takes 1 from on_hand\n  needs kind is putter\n";
    let rules = format!("{lines}\nlet of_x : angle = x.stamped\n");
    let answer = head(&rules, "");
    assert_eq!(answer.of("x"), "none on hand");
    assert_eq!(answer.of("of_x"), "blocked by x: end of x");
}

#[test]
fn a_chosen_parts_fields_are_known_or_name_the_part() {
    let lines = format!(
        "  let off = its measured - its stamped\n{WEDGE}  needs stamped is wanted
  ties by measured, largest first
  if none on hand, orders

let x_measured : angle = x.measured
let x_off : angle = x.off
decide x_again : angle
  source common practice
  gives x.measured + 1 deg
"
    );
    let chosen = head(&lines, "wanted = 50 deg");
    assert_eq!(chosen.of("x"), "chosen a/a2");
    assert_eq!(chosen.of("x_measured"), "50.3 deg");
    assert_eq!(chosen.of("x_off"), "0.3 deg");
    let ordered = head(&lines, "wanted = 60 deg");
    assert_eq!(ordered.of("x"), "ordered d rung 0");
    assert_eq!(ordered.of("x_measured"), "needs head.measured");
    assert_eq!(ordered.of("x_again"), "needs head.measured");
    assert_eq!(ordered.of("x_off"), "needs head.measured");
}

#[test]
fn each_setting_is_a_candidate() {
    let heads = [
        "id = a, kind = driver, stamped = 10 deg, \
         settings = [tilt: 0 deg] [tilt: 1 deg] [tilt: 2 deg]",
        "id = b, kind = driver, stamped = 9 deg",
    ];
    let pieces = [
        "part = a, id = a1, measured = 10.2 deg",
        "part = b, id = b1, measured = 10 deg",
    ];
    let rules = format!(
        "{RULES}
choose x from heads, in each of its settings
  source common practice
  let    delivered = its measured + setting.tilt
  takes  1 from on_hand
  needs  kind is driver
  needs  delivered within 0.5 deg of wanted
  prefers setting.tilt near 0 deg, within 4 deg weight 1
  ties by delivered, smallest first

let x_delivered : angle = x.delivered
let x_tilt : angle = x.tilt
"
    );
    let answer = |wanted: &str| {
        answer_choosing(
            &rules,
            &format!("wanted = {wanted}"),
            parts("head", &heads, &pieces),
        )
    };
    let one = answer("11 deg");
    assert_eq!(one.of("x"), "chosen a/a1@1");
    assert_eq!(one.of("x_delivered"), "11.2 deg");
    assert_eq!(one.of("x_tilt"), "1 deg");
    // A part without settings has no setting to be tried in.
    assert_eq!(selection(&one, "x").candidates, 3);
    assert_eq!(answer("9 deg").of("x"), "none on hand");
}

/// A head beyond the model's range is not known to deliver anything; the others are still tried.
#[test]
fn a_model_without_an_answer_for_one_candidate_is_not_the_end_of_the_choice() {
    let heads = [
        "id = a, kind = driver, stamped = 10 deg",
        "id = b, kind = driver, stamped = 11 deg",
    ];
    let pieces = [
        "part = a, id = a1, measured = 3 deg",
        "part = b, id = b1, measured = 4 deg",
    ];
    let rules = format!(
        "{RULES}
choose x from heads
  source common practice
  let   delivered = sleeve_loft(10 deg, 58 deg, its measured + 0.5 deg, 90 deg)
  takes 1 from on_hand
  needs delivered at least 0 deg
  ties by stamped, largest first
"
    );
    let answer = answer_choosing(&rules, "", parts("head", &heads, &pieces));
    assert_eq!(answer.of("x"), "chosen a/a1");
    // Only the model behind what was taken is in the trace.
    assert_eq!(answer.trace.models.len(), 1);
}
