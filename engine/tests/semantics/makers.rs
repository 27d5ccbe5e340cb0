//! The engine's makers upon its own contract: the bag, and the clubs as they leave the bench.

use crate::support::{Answer, answer_with, parts, program_of, together};
use loftwright_engine::CONTRACT_RULES;
use loftwright_engine::intake::PartsText;

const RULES: &str = include_str!("workshop.rules");
const READINGS: &str = "player_hand = right
driver_loft = 10 deg
fairways = 2
first_fairway = 15 deg
longer = 0 in";

fn stock() -> PartsText {
    let heads = [
        "id = d1, kind = driver, stamped_loft = 10 deg, mass = 200 g",
        "id = f1, kind = fairway, stamped_loft = 15 deg, mass = 210 g",
        "id = h1, kind = hybrid, stamped_loft = 22 deg, mass = 230 g",
        "id = i1, kind = iron, stamped_loft = 40 deg, mass = 280 g",
        "id = p1, kind = putter, stamped_loft = 3 deg, mass = 350 g",
        "id = w1, kind = wedge, stamped_loft = 52 deg, mass = 300 g",
    ];
    let pieces = [
        "part = d1, id = d1a",
        "part = f1, id = f1a",
        "part = f1, id = f1b",
        "part = h1, id = h1a",
        "part = i1, id = i1a",
        "part = i1, id = i1b",
        "part = p1, id = p1a",
        "part = w1, id = w1a",
    ];
    together(vec![
        parts("head", &heads, &pieces),
        parts(
            "shaft",
            &["id = s1, mass = 65 g, length = 46 in, balance = 22.5 in"],
            &["part = s1, on_hand = 20"],
        ),
        parts(
            "grip",
            &["id = g1, mass = 50 g"],
            &["part = g1, on_hand = 20"],
        ),
    ])
}

fn bag(readings: &str, kept: &[&str]) -> Answer {
    answer_with(program_of(CONTRACT_RULES, RULES), readings, kept, stock())
}

const KINDS: [&str; 9] = [
    "driver", "fairway", "fairway", "hybrid", "iron", "iron", "wedge", "wedge", "putter",
];

#[test]
fn the_bag_is_what_the_rules_plan_driver_first_putter_last() {
    let answer = bag(READINGS, &[]);
    assert_eq!(answer.field("club", "kind"), KINDS);
    let lofts = answer.field("club", "loft");
    assert_eq!(
        lofts[..8],
        [
            "10 deg", "15 deg", "18 deg", "22 deg", "40 deg", "44 deg", "50 deg", "56 deg"
        ]
    );
    // Nothing plans the loft of a putter.
    assert_eq!(lofts[8], "unknown: club[8].loft");
    assert!(
        answer
            .field("club", "is_kept")
            .iter()
            .all(|kept| kept == "no")
    );
    assert_eq!(answer.of("wood"), "4");
}

#[test]
fn a_kept_club_holds_the_nearest_place_and_its_own_loft_is_the_clubs() {
    let kept = ["kind = fairway, loft = 17 deg, length = 42.5 in, shaft_mass = 71 g"];
    let answer = bag(READINGS, &kept);
    assert_eq!(answer.field("club", "kind"), KINDS);
    assert_eq!(answer.field("club", "loft")[1..3], ["15 deg", "17 deg"]);
    assert_eq!(answer.field("club", "is_kept")[1..3], ["no", "yes"]);
    assert_eq!(answer.field("club", "kept_length")[2], "42 1/2 in");
    assert_eq!(answer.field("club", "carry")[2], "unknown: kept[0].carry");
    // One club: seen from the fairways, from the kept clubs and from the bag.
    assert_eq!(answer.all("through_the_bag"), ["15 deg", "17 deg"]);
    let from_kept = answer.all("from_kept");
    assert_eq!(from_kept[2], "17 deg");
    assert!(
        from_kept
            .iter()
            .enumerate()
            .all(|(place, loft)| place == 2 || loft == "none")
    );
}

#[test]
fn a_kept_club_without_a_place_is_one_more_after_its_kind() {
    let answer = bag(
        READINGS,
        &[
            "kind = fairway, loft = 24 deg",
            "kind = iron, loft = 30 deg",
        ],
    );
    assert_eq!(
        answer.field("club", "kind"),
        [
            "driver", "fairway", "fairway", "fairway", "hybrid", "iron", "iron", "iron", "wedge",
            "wedge", "putter"
        ]
    );
    assert_eq!(answer.field("club", "loft")[3], "24 deg");
    assert_eq!(answer.field("club", "loft")[7], "30 deg");
}

#[test]
fn a_kept_driver_or_putter_takes_its_place_at_any_loft() {
    let answer = bag(READINGS, &["kind = putter", "kind = driver, loft = 14 deg"]);
    assert_eq!(answer.field("club", "kind"), KINDS);
    assert_eq!(answer.field("club", "loft")[0], "14 deg");
    assert_eq!(answer.field("club", "loft")[8], "unknown: kept[0].loft");
}

#[test]
fn a_size_that_is_not_decided_leaves_the_set_open_and_a_loft_only_its_club() {
    let readings = READINGS.replace("fairways = 2\n", "");
    let answer = bag(&readings, &[]);
    assert_eq!(answer.of("club"), "blocked by fairway: fairways");
    assert_eq!(answer.of("built"), "blocked by club: fairways");
    let readings = READINGS
        .replace("first_fairway = 15 deg\n", "")
        .replace("driver_loft = 10 deg\n", "");
    let answer = bag(&readings, &[]);
    assert_eq!(answer.field("club", "kind"), KINDS);
    assert_eq!(
        answer.field("club", "loft")[..4],
        [
            "unknown: driver_loft",
            "unknown: first_fairway",
            "unknown: first_fairway",
            "22 deg"
        ]
    );
}

#[test]
fn kept_along_the_bag_goes_by_the_bags_own_field() {
    let kept = ["kind = fairway, loft = 15 deg, shaft_mass = 71 g"];
    // In order of length: driver, fairway (kept), fairway, hybrid.
    assert_eq!(
        bag(READINGS, &kept).all("wood_step"),
        ["60 g", "71 g", "81 g", "91 g"]
    );
}

#[test]
fn a_club_is_assembled_from_its_pieces() {
    let answer = bag(READINGS, &[]);
    assert_eq!(answer.field("built", "kind"), KINDS);
    assert_eq!(answer.field("built", "length")[..2], ["45 in", "43 in"]);
    let number = |field: &str, member: usize| {
        let text = &answer.field("built", field)[member];
        text.trim_start_matches('≈')
            .split(' ')
            .next()
            .unwrap()
            .parse::<f64>()
            .unwrap_or_else(|_| panic!("{text}"))
    };
    // Head 200 g, grip 50 g, tape and ferrule 2.5 g, and of a 46 in shaft of 65 g what is left of
    // 45 in less the 30 mm in the head: between 58 and 64 g.
    let mass_g = number("mass", 0);
    assert!((310.5..316.5).contains(&mass_g), "{mass_g}");
    // The heavier the head, the further out the balance: between two thirds and nine tenths.
    let balance_in = number("balance", 0);
    assert!((30.0..40.5).contains(&balance_in), "{balance_in}");
    assert!(number("moment", 0) > number("moment", 3) * 0.9);
    // 45 in less the 30 mm in the head leave 43.82 in of shaft, the rest of 46 in goes at the butt.
    assert_eq!(answer.field("built", "tip_cut")[0], "0 in");
    assert_eq!(answer.field("built", "shaft_length")[0], "43 13/16 in");
    assert_eq!(answer.field("built", "butt_cut")[0], "2 3/16 in");
    // The second wedge has no head: one was on hand.
    assert_eq!(answer.all("wedge_head"), ["chosen w1/w1a", "none on hand"]);
    for field in [
        "mass",
        "balance",
        "swingweight",
        "moment",
        "head_mass_change",
        "shaft_length",
        "tip_cut",
        "butt_cut",
        "tip_weight",
        "lead",
    ] {
        assert_eq!(
            answer.field("built", field)[7],
            "unknown: end of wedge_head[1]",
            "{field}"
        );
    }
    assert_eq!(answer.field("built", "length")[7], "36 in");
}

#[test]
fn of_a_kept_club_nothing_is_built() {
    let answer = bag(READINGS, &["kind = fairway, loft = 15 deg, length = 42 in"]);
    assert_eq!(answer.field("built", "is_kept")[1], "yes");
    assert_eq!(answer.field("built", "length")[1], "42 in");
    assert_eq!(answer.field("built", "loft")[1], "15 deg");
    for field in [
        "mass",
        "balance",
        "swingweight",
        "moment",
        "head_mass_change",
        "shaft_length",
        "tip_cut",
        "butt_cut",
        "tip_weight",
        "lead",
    ] {
        assert_eq!(answer.field("built", field)[1], "none", "{field}");
    }
}

#[test]
fn a_reading_that_is_missing_leaves_open_what_rests_on_it_alone() {
    let answer = bag(&READINGS.replace("\nlonger = 0 in", ""), &[]);
    assert_eq!(answer.field("built", "mass")[0], "unknown: longer");
    assert_eq!(answer.field("built", "length")[0], "unknown: longer");
    assert_ne!(answer.field("built", "mass")[3], "unknown: longer");
}

/// A 46 in shaft is too short for a driver of 50 in.
#[test]
fn what_cannot_be_built_says_why() {
    let answer = bag(&READINGS.replace("longer = 0 in", "longer = 5 in"), &[]);
    assert_eq!(answer.field("built", "mass")[0], "unknown: end of built[0]");
    let note = answer.evaluation.note(answer.group("built"), 0).unwrap();
    assert!(note.contains("butt_trim"), "{note}");
    assert_eq!(answer.evaluation.note(answer.group("built"), 3), None);
}
