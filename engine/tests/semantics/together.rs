//! One stock for all clubs at once: levels, the assignment, its ties, and who goes without.
//!
//! The expected pieces are worked out by hand from DEVELOPERS.md, *Sharing a stock*; the sums stand
//! beside them.

use crate::choices::RULES;
use crate::support::{Answer, answer_choosing, parts};
use loftwright_dsl::quantity::Rational;
use loftwright_engine::trace::{Entry, How, Selection};

const HEAD: [&str; 1] = ["id = h, kind = wedge, stamped = 50 deg"];

/// Wedges of 50, 54, 58 … deg and these measured pieces of one head.
fn wedges(lines: &str, how_many: usize, pieces: &[(&str, &str)]) -> Answer {
    let rules = format!(
        "{RULES}\nchoose x from heads, for each wedge\n  source common practice\n\
         \x20 takes 1 from on_hand, together\n{lines}\n"
    );
    of_rules(&rules, how_many, pieces)
}

fn of_rules(rules: &str, how_many: usize, pieces: &[(&str, &str)]) -> Answer {
    let pieces: Vec<String> = pieces
        .iter()
        .map(|(id, measured)| format!("part = h, id = {id}, measured = {measured}"))
        .collect();
    let pieces: Vec<&str> = pieces.iter().map(String::as_str).collect();
    let readings = format!("wanted = 50 deg\nhow_many = {how_many}");
    answer_choosing(rules, &readings, parts("head", &HEAD, &pieces))
}

pub(crate) fn selections<'a>(answer: &'a Answer, name: &str) -> Vec<&'a Selection> {
    let node = answer.node(name);
    let of_node = |entry: &&Entry| entry.place.node == node;
    let selection = |entry: &'a Entry| match &entry.how {
        How::Selection(selection) => Some(&**selection),
        _ => None,
    };
    let entries = answer.trace.entries.iter().filter(of_node);
    entries.filter_map(selection).collect()
}

const NEAR: &str = "  prefers measured near wedge_loft, within 10 deg weight 10\n";

/// In turn the 50 takes `p51` (9) and leaves `p47` to the 54 (3): 12. Together the 50 takes `p47`
/// (7) and the 54 `p51` (7): 14.
#[test]
fn the_sum_for_all_clubs_counts_not_who_comes_first() {
    let pieces = [("p47", "47 deg"), ("p51", "51 deg")];
    let answer = wedges(NEAR, 2, &pieces);
    assert_eq!(answer.all("x"), ["chosen h/p47", "chosen h/p51"]);
    let in_turn = format!(
        "{RULES}\nchoose x from heads, for each wedge\n  source common practice\n\
         \x20 takes 1 from on_hand\n{NEAR}\n"
    );
    let in_turn = of_rules(&in_turn, 2, &pieces);
    assert_eq!(in_turn.all("x"), ["chosen h/p51", "chosen h/p47"]);
    let selections = selections(&answer, "x");
    let totals = selections[0].together.unwrap();
    assert_eq!((totals.without, totals.levels), (0, 0));
    assert_eq!(totals.score, Rational::whole(14));
    assert_eq!(selections[0].total, Some(Rational::whole(7)));
    // Why not `p51`, which scores more here? It goes to the other club.
    let other = &selections[0].runners_up[0];
    assert_eq!(
        (other.piece, other.total, other.taken_for),
        (Some(1), Rational::whole(9), Some(1))
    );
}

/// The 50 could take either, the 54 only `a`: in turn the 50 would take it.
#[test]
fn no_club_goes_without_where_it_need_not() {
    let lines = "  needs measured within 4 deg of wedge_loft\n";
    let answer = wedges(lines, 2, &[("a", "50 deg"), ("b", "47 deg")]);
    assert_eq!(answer.all("x"), ["chosen h/b", "chosen h/a"]);
}

/// `b` meets the needs of the 50 exactly; whatever else there is takes the rung. Giving the 50 `a`
/// would score 100 and cost a rung more.
#[test]
fn a_lower_level_counts_before_any_score() {
    let lines = "  needs measured within 1 deg of wedge_loft
  prefers measured over 51 deg weight 100
  if none on hand, needs measured within 5 deg of wedge_loft
";
    let answer = wedges(lines, 2, &[("a", "52 deg"), ("b", "50 deg")]);
    assert_eq!(answer.all("x"), ["chosen h/b", "chosen h/a rung 0"]);
    assert_eq!(selections(&answer, "x")[0].together.unwrap().levels, 1);
}

/// The one piece is of level 0 for the 54 and of level 1 for the others; those order.
#[test]
fn a_club_without_a_piece_goes_on_down_the_ladder() {
    let lines = "  needs measured within 1 deg of wedge_loft
  if none on hand, needs measured within 5 deg of wedge_loft
  if none on hand, orders
";
    let answer = wedges(lines, 3, &[("a", "54 deg")]);
    assert_eq!(
        answer.all("x"),
        ["ordered h rung 1", "chosen h/a", "ordered h rung 1"]
    );
    let lines = lines.replace("orders", "leaves open");
    let answer = wedges(&lines, 3, &[("a", "54 deg")]);
    assert_eq!(answer.all("x"), ["left open", "chosen h/a", "left open"]);
    assert_eq!(selections(&answer, "x")[0].gone_to_others, 1);
}

/// Nothing to order is near 54 or 58 deg; the rung after `orders` looks at what is left, one club
/// after the other.
#[test]
fn a_rung_of_needs_after_orders_takes_what_is_left_in_turn() {
    let rules = format!(
        "{RULES}\nchoose x from heads, for each wedge
  source common practice
  takes 1 from on_hand, together
  needs stamped within 1 deg of wedge_loft
  if none on hand, orders
  if none on hand, needs stamped under 40 deg
"
    );
    let heads = [
        "id = h, kind = wedge, stamped = 50 deg",
        "id = i, kind = iron, stamped = 30 deg",
    ];
    let pieces = ["part = h, id = h1", "part = i, id = i1"];
    let readings = "wanted = 50 deg\nhow_many = 3";
    let answer = answer_choosing(&rules, readings, parts("head", &heads, &pieces));
    assert_eq!(
        answer.all("x"),
        ["chosen h/h1", "chosen i/i1 rung 1", "none on hand"]
    );
}

/// Two pieces that are alike for three clubs: read in the stated order, the first two have them.
#[test]
fn of_equal_assignments_the_smallest_in_the_stated_order_is_taken() {
    let pieces = [("a", "50 deg"), ("b", "52 deg")];
    let lines = "  needs kind is wedge\n";
    let answer = wedges(lines, 3, &pieces);
    assert_eq!(
        answer.all("x"),
        ["chosen h/a", "chosen h/b", "none on hand"]
    );
    let by_ties = format!("{lines}  ties by measured, largest first\n");
    let answer = wedges(&by_ties, 3, &pieces);
    assert_eq!(
        answer.all("x"),
        ["chosen h/b", "chosen h/a", "none on hand"]
    );
    let from_the_last = format!(
        "{RULES}\nchoose x from heads, for each wedge in order of number, largest first\n\
         \x20 source common practice\n  takes 1 from on_hand, together\n{lines}\n"
    );
    let answer = of_rules(&from_the_last, 3, &pieces);
    assert_eq!(
        answer.all("x"),
        ["none on hand", "chosen h/b", "chosen h/a"]
    );
}

#[test]
fn a_counted_part_is_taken_as_often_as_it_is_there() {
    let rules = format!(
        "{RULES}\nchoose x from grips, for each wedge
  source common practice
  takes 1 from on_hand, together
  needs mass over 40 g
  prefers mass over 50 g weight 1
"
    );
    let grips = [
        "id = light, mass = 45 g, soft = yes",
        "id = heavy, mass = 55 g, soft = no",
    ];
    let stock = ["part = light, on_hand = 1", "part = heavy, on_hand = 2"];
    let answer = answer_choosing(
        &rules,
        "wanted = 50 deg\nhow_many = 4",
        parts("grip", &grips, &stock),
    );
    // `heavy`, `heavy`, `light` or `light` among the first three scores 2; `heavy` comes first by
    // its id, and who goes without comes last.
    assert_eq!(
        answer.all("x"),
        [
            "chosen heavy",
            "chosen heavy",
            "chosen light",
            "none on hand"
        ]
    );
}

#[test]
fn a_piece_is_one_piece_in_all_its_settings() {
    let rules = format!(
        "{RULES}\nchoose x from heads, for each wedge, in each of its settings
  source common practice
  let delivered = its measured + setting.tilt
  takes 1 from on_hand, together
  needs delivered within 3 deg of wedge_loft
  prefers delivered near wedge_loft, within 10 deg weight 10
"
    );
    let heads = ["id = h, kind = wedge, stamped = 50 deg, settings = [tilt: 0 deg] [tilt: 2 deg]"];
    let pieces = [
        "part = h, id = a, measured = 52 deg",
        "part = h, id = b, measured = 49 deg",
    ];
    let answer = answer_choosing(
        &rules,
        "wanted = 50 deg\nhow_many = 2",
        parts("head", &heads, &pieces),
    );
    // The 50: `b` at 49 (9) or 51 (9), `a` at 52 (8). The 54: `a` at 54 (10), `b` at 51 (7).
    assert_eq!(answer.all("x"), ["chosen h/b@0", "chosen h/a@1"]);
}

const OPEN: &str = "
let target : angle, for each wedge = if wedge.number is 1 then wanted otherwise 50 deg

choose x from heads, for each wedge
  source common practice
  takes 1 from on_hand, together
";

/// The first club waits for `wanted`; the others share without it.
#[test]
fn a_club_that_is_not_decided_takes_no_part() {
    let answer = |lines: &str| {
        let rules = format!("{RULES}{OPEN}{lines}\n");
        answer_choosing(
            &rules,
            "how_many = 3",
            parts("head", &HEAD, &["part = h, id = a, measured = 50 deg"]),
        )
    };
    let line = "  needs measured within 1 deg of target\n";
    let wanted = ["needs wanted", "chosen h/a", "none on hand"];
    assert_eq!(answer(line).all("x"), wanted);
    // An open rung of needs is enough: who gets what hangs on it.
    let rung = "  needs measured over 10 deg
  if none on hand, needs measured within 5 deg of target\n";
    assert_eq!(answer(rung).all("x"), wanted);
    let only_when = "  only when wedge.number over 1\n  needs measured over 10 deg\n";
    assert_eq!(
        answer(only_when).all("x"),
        ["none", "chosen h/a", "none on hand"]
    );
    let nothing_blocks = "  needs measured over 10 deg\n  if none on hand, orders\n  \
         if none on hand, needs measured within 5 deg of target\n";
    assert_eq!(
        answer(nothing_blocks).all("x"),
        ["chosen h/a", "ordered h rung 0", "ordered h rung 0"]
    );
}

/// `a_first` and `x` take from the same heads; the one before takes first.
#[test]
fn what_choices_before_took_is_gone() {
    let rules = format!(
        "{RULES}
choose a_first from heads
  source common practice
  takes 1 from on_hand
  needs measured over 51 deg

choose x from heads, for each wedge
  source common practice
  takes 1 from on_hand, together
  needs kind is wedge

choose y from heads
  source common practice
  takes 1 from on_hand
  needs kind is wedge
"
    );
    let pieces = [
        ("a", "52 deg"),
        ("b", "50 deg"),
        ("c", "50 deg"),
        ("d", "50 deg"),
    ];
    let answer = of_rules(&rules, 2, &pieces);
    assert_eq!(answer.of("a_first"), "chosen h/a");
    assert_eq!(answer.all("x"), ["chosen h/b", "chosen h/c"]);
    assert_eq!(answer.of("y"), "chosen h/d");
}

#[test]
fn the_models_behind_what_is_taken_are_in_the_trace_and_no_others() {
    let rules = format!(
        "{RULES}\nchoose x from heads, for each wedge
  source common practice
  let   delivered = sleeve_loft(its measured, 60 deg, 1 deg, 0 deg)
  takes 1 from on_hand, together
  needs delivered over 10 deg
"
    );
    let answer = of_rules(
        &rules,
        2,
        &[("a", "50 deg"), ("b", "52 deg"), ("c", "54 deg")],
    );
    assert_eq!(answer.all("x"), ["chosen h/a", "chosen h/b"]);
    assert_eq!(answer.trace.models.len(), 2);
}

/// All ways of giving three pieces to three clubs, against what the engine says.
#[test]
fn every_other_assignment_is_worse() {
    let lines = "  needs measured within 3 deg of wedge_loft
  prefers measured near wedge_loft, within 9 deg weight 9
  if none on hand, needs measured within 8 deg of wedge_loft
";
    let lofts = [50, 54, 58];
    for seed in 0..60 {
        let measured: Vec<i64> = (0..3)
            .map(|piece| 44 + (seed * 7 + piece * piece * 5) % 19)
            .collect();
        let texts: Vec<String> = measured.iter().map(|loft| format!("{loft} deg")).collect();
        let pieces: Vec<(&str, &str)> = ["a", "b", "c"]
            .into_iter()
            .zip(texts.iter().map(String::as_str))
            .collect();
        let mut ways = Vec::new();
        for way in 0..64_usize {
            let places = [way % 4, way / 4 % 4, way / 16];
            let mut cost = (0, 0, 0, places);
            let mut is_allowed = true;
            let mut outcomes = Vec::new();
            for (club, place) in places.into_iter().enumerate() {
                let Some(loft) = measured.get(place) else {
                    cost.0 += 1;
                    outcomes.push("none on hand".to_owned());
                    continue;
                };
                let distance = (loft - lofts[club]).abs();
                let is_twice = places[..club].contains(&place);
                is_allowed &= distance <= 8 && !is_twice;
                let level = i64::from(distance > 3);
                cost.1 += level;
                cost.2 -= (9 - distance).max(0);
                let rung = if level == 1 { " rung 0" } else { "" };
                outcomes.push(format!("chosen h/{}{rung}", pieces[place].0));
            }
            if is_allowed {
                ways.push((cost, outcomes));
            }
        }
        ways.sort();
        assert_eq!(
            wedges(lines, 3, &pieces).all("x"),
            ways[0].1,
            "{measured:?}"
        );
    }
}
