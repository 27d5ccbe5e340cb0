//! Parts that agree: one family for all clubs, and which.
//!
//! The expected parts are worked out by hand from DEVELOPERS.md, *Families*.

use crate::choices::RULES;
use crate::support::{Answer, answer_choosing, parts};
use crate::together::selections;
use loftwright_dsl::quantity::Rational;

const HEADS: [&str; 4] = [
    "id = h, kind = wedge, stamped = 50 deg, bounce = high",
    "id = l, kind = wedge, stamped = 50 deg, bounce = low",
    "id = s, kind = wedge, stamped = 54 deg, bounce = standard",
    "id = u, kind = wedge, stamped = 50 deg",
];

/// Wedges of 50, 54, 58 … deg.
fn wedges(lines: &str, readings: &str, pieces: &[(&str, &str)]) -> Answer {
    let rules = format!(
        "{RULES}\nchoose x from heads, for each wedge\n  source common practice\n{lines}\n"
    );
    let pieces: Vec<String> = pieces
        .iter()
        .map(|(id, measured)| {
            let part = id.trim_end_matches(char::is_numeric);
            format!("part = {part}, id = {id}, measured = {measured}")
        })
        .collect();
    let pieces: Vec<&str> = pieces.iter().map(String::as_str).collect();
    answer_choosing(&rules, readings, parts("head", &HEADS, &pieces))
}

const TWO: &str = "wanted = 50 deg\nhow_many = 2";
const LINES: &str = "  takes 1 from on_hand
  agrees on bounce
  needs measured within 3 deg of wedge_loft
  prefers measured near wedge_loft, within 10 deg weight 10
";

/// `h1` is the best for the 50, and no high sole is there for the 54.
#[test]
fn the_family_that_leaves_no_club_without_wins() {
    let pieces = [("h1", "50 deg"), ("l1", "51 deg"), ("l2", "52 deg")];
    let answer = wedges(LINES, TWO, &pieces);
    assert_eq!(answer.all("x"), ["chosen l/l1", "chosen l/l2"]);
    let apart = LINES.replace("  agrees on bounce\n", "");
    assert_eq!(
        wedges(&apart, TWO, &pieces).all("x"),
        ["chosen h/h1", "chosen l/l2"]
    );
    let families = &selections(&answer, "x")[1].families;
    let totals: Vec<_> = families
        .iter()
        .map(|family| {
            let totals = family.totals;
            (totals.without, totals.ordered, totals.levels, totals.score)
        })
        .collect();
    // Low: 9 + 8. High: 10, and the 54 goes without.
    assert_eq!(
        totals,
        [
            (0, 0, 0, Rational::whole(17)),
            (1, 0, 0, Rational::whole(10))
        ]
    );
}

/// Two pieces of each: low comes to 9 + 9, high to 10 + 9.
#[test]
fn then_the_higher_sum_wins_and_then_the_lower_value() {
    let low = [("l1", "51 deg"), ("l2", "53 deg")];
    let better = [low[0], low[1], ("h1", "50 deg"), ("h2", "53 deg")];
    assert_eq!(
        wedges(LINES, TWO, &better).all("x"),
        ["chosen h/h1", "chosen h/h2"]
    );
    let alike = [low[0], low[1], ("h1", "51 deg"), ("h2", "53 deg")];
    assert_eq!(
        wedges(LINES, TWO, &alike).all("x"),
        ["chosen l/l1", "chosen l/l2"]
    );
}

/// High would need the ladder for the 54 and score more; low takes none.
#[test]
fn fewer_rungs_count_before_the_score() {
    let lines = format!(
        "{LINES}  prefers bounce is high weight 50
  if none on hand, needs measured within 6 deg of wedge_loft\n"
    );
    let pieces = [
        ("h1", "50 deg"),
        ("h2", "49 deg"),
        ("l1", "52 deg"),
        ("l2", "52 deg"),
    ];
    assert_eq!(
        wedges(&lines, TWO, &pieces).all("x"),
        ["chosen l/l1", "chosen l/l2"]
    );
}

#[test]
fn fewer_orders_count_before_fewer_rungs() {
    let lines = "  takes 1 from on_hand
  agrees on bounce
  needs measured within 1 deg of wedge_loft
  if none on hand, needs measured within 6 deg of wedge_loft
  if none on hand, orders
";
    // High: one exact piece and an order. Low: two pieces by the rung. Standard: two orders.
    let pieces = [("h1", "50 deg"), ("l1", "52 deg"), ("l2", "52 deg")];
    let answer = wedges(lines, TWO, &pieces);
    assert_eq!(
        answer.all("x"),
        ["chosen l/l1 rung 0", "chosen l/l2 rung 0"]
    );
    // The catalogue's families are there too: nothing of a standard sole is on hand.
    assert_eq!(selections(&answer, "x")[0].families.len(), 3);
    let answer = wedges(lines, TWO, &[("h1", "50 deg"), ("h2", "49 deg")]);
    assert_eq!(answer.all("x"), ["chosen h/h1", "chosen h/h2 rung 0"]);
    // With nothing on hand all order, and the lowest value decides.
    let answer = wedges(lines, TWO, &[]);
    assert_eq!(answer.all("x"), ["ordered l rung 1", "ordered l rung 1"]);
}

#[test]
fn what_has_no_value_is_of_no_family() {
    let pieces = [("u1", "50 deg"), ("u2", "54 deg")];
    let answer = wedges(LINES, TWO, &pieces);
    assert_eq!(answer.all("x"), ["none on hand", "none on hand"]);
    let pieces = [("u1", "50 deg"), ("u2", "54 deg"), ("h1", "53 deg")];
    let answer = wedges(LINES, TWO, &pieces);
    assert_eq!(answer.all("x"), ["chosen h/h1", "none on hand"]);
}

#[test]
fn the_condition_is_asked_once_for_all_clubs() {
    let lines = LINES.replace("on bounce", "on bounce when wants_soft is yes");
    let pieces = [("h1", "50 deg"), ("l1", "51 deg"), ("l2", "52 deg")];
    let answer = |reading: &str| {
        let readings = format!("{TWO}\n{reading}");
        wedges(&lines, &readings, &pieces).all("x")
    };
    assert_eq!(answer("wants_soft = yes"), ["chosen l/l1", "chosen l/l2"]);
    assert_eq!(answer("wants_soft = no"), ["chosen h/h1", "chosen l/l2"]);
    assert_eq!(answer(""), ["needs wants_soft", "needs wants_soft"]);
    // What does not apply does not wait.
    let lines = format!("  only when wedge.number is 2\n{lines}");
    let answer = wedges(&lines, TWO, &pieces);
    assert_eq!(answer.all("x"), ["none", "needs wants_soft"]);
}

/// The low sole is stamped 50, the standard one 54: with both fields each is a family of its own.
#[test]
fn several_lines_make_a_tuple() {
    let lines = "  takes 1 from on_hand
  agrees on kind
  agrees on stamped
  needs measured over 10 deg
";
    let pieces = [("h1", "50 deg"), ("l1", "50 deg"), ("s1", "54 deg")];
    let answer = wedges(lines, TWO, &pieces);
    assert_eq!(answer.all("x"), ["chosen h/h1", "chosen l/l1"]);
    let families = &selections(&answer, "x")[0].families;
    assert_eq!(families.len(), 2);
    assert_eq!(families[0].values.len(), 2);
}

/// Low in turn would leave the 54 without: `l1` is the only one near it, and the best for the 50.
#[test]
fn families_are_solved_together_where_the_stock_is_shared() {
    let pieces = [("l1", "51 deg"), ("l2", "48 deg"), ("h1", "50 deg")];
    let together = LINES.replace("on_hand", "on_hand, together");
    let answer = wedges(&together, TWO, &pieces);
    assert_eq!(answer.all("x"), ["chosen l/l2", "chosen l/l1"]);
    // In turn both come to one club: low scores 9, high 10.
    let answer = wedges(LINES, TWO, &pieces);
    assert_eq!(answer.all("x"), ["chosen h/h1", "none on hand"]);
}

/// Low has nothing, and what high comes to rests on `wanted`.
#[test]
fn a_club_that_finds_nothing_waits_for_what_could_find_it_a_part() {
    let lines = "  let found = if its bounce is high then wanted otherwise its measured
  takes 1 from on_hand
  agrees on bounce
  needs found within 1 deg of 60 deg
";
    let pieces = [("h1", "50 deg"), ("l1", "50 deg")];
    let answer = wedges(lines, "how_many = 1", &pieces);
    assert_eq!(answer.all("x"), ["needs wanted"]);
    let answer = wedges(lines, "how_many = 1\nwanted = 60 deg", &pieces);
    assert_eq!(answer.all("x"), ["chosen h/h1"]);
    let answer = wedges(lines, "how_many = 1\nwanted = 50 deg", &pieces);
    assert_eq!(answer.all("x"), ["none on hand"]);
}

#[test]
fn without_takes_the_catalogue_has_the_families() {
    let lines = "  agrees on bounce
  needs stamped within 2 deg of wedge_loft
";
    // Low and high are stamped 50, standard 54: each serves one club; low is the lowest value.
    let answer = wedges(lines, TWO, &[]);
    assert_eq!(answer.all("x"), ["chosen l", "none on hand"]);
}

#[test]
fn what_the_winner_takes_is_taken_and_nothing_else() {
    let rules = format!(
        "{LINES}
choose y from heads, for each wedge
  source common practice
  takes 1 from on_hand
  needs measured over 10 deg
"
    );
    let pieces = [("h1", "50 deg"), ("l1", "51 deg"), ("l2", "52 deg")];
    let answer = wedges(&rules, TWO, &pieces);
    assert_eq!(answer.all("x"), ["chosen l/l1", "chosen l/l2"]);
    assert_eq!(answer.all("y"), ["chosen h/h1", "none on hand"]);
}

/// Every family is tried by the same needs; a sleeve that does not tilt leaves the loft as it is.
#[test]
fn the_models_that_the_needs_ask_are_in_the_trace_once_for_each_club() {
    let lines = LINES.replace(
        "3 deg of wedge_loft",
        "3 deg of sleeve_loft(wedge_loft, 60 deg, 0 deg, 0 deg)",
    );
    let pieces = [("h1", "50 deg"), ("l1", "51 deg"), ("l2", "52 deg")];
    let answer = wedges(&lines, TWO, &pieces);
    assert_eq!(answer.all("x"), ["chosen l/l1", "chosen l/l2"]);
    let asked_for = answer.trace.models.iter().map(|call| call.place.member);
    assert_eq!(asked_for.collect::<Vec<_>>(), [Some(0), Some(1)]);
}
