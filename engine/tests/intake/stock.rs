//! The stock: pieces and counts.

use loftwright_dsl::program::Value;
use loftwright_dsl::quantity::Rational;
use loftwright_engine::intake::{PartsText, RecordText, read_parts};
use loftwright_engine::parts::{OnHand, Parts};

use crate::support::{lines, parts_text, program, record};

fn heads(stock: Vec<RecordText>) -> PartsText {
    let head = |place: &str, id: &str| {
        record(
            place,
            &[
                ("id", id),
                ("kind", "iron"),
                ("stamped_loft", "30 deg"),
                ("mass", "250 g"),
            ],
        )
    };
    let catalogue = vec![head("heads.csv:2", "H-1"), head("heads.csv:3", "H-2")];
    parts_text("head", catalogue, stock)
}

fn grips(stock: Vec<RecordText>) -> PartsText {
    let grip = record(
        "grips.csv:2",
        &[("id", "G-1"), ("mass", "49 g"), ("ribbed", "no")],
    );
    parts_text("grip", vec![grip], stock)
}

fn sleeves(stock: Vec<RecordText>) -> PartsText {
    let sleeve = record("sleeves.csv:2", &[("id", "S-1"), ("mass", "5 g")]);
    parts_text("sleeve", vec![sleeve], stock)
}

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

#[test]
fn pieces_are_sorted_by_id_with_what_was_measured() {
    let read = parts(&heads(vec![
        record(
            "stock.csv:2",
            &[("id", "N2"), ("part", "H-1"), ("measured_loft", "29.8 deg")],
        ),
        record(
            "stock.csv:3",
            &[("id", "N1"), ("part", "H-1"), ("measured_loft", "30.2 deg")],
        ),
    ]));
    let heads: Vec<_> = read.all().collect();
    let OnHand::Pieces(pieces) = &heads[0].on_hand else {
        panic!("no pieces");
    };
    let ids: Vec<_> = pieces.iter().map(|piece| piece.id.as_str()).collect();
    assert_eq!(ids, ["N1", "N2"]);
    let measured = Rational::fraction(302, 10).map(Value::Number).ok();
    let known: Vec<_> = pieces[0].fields.iter().flatten().cloned().collect();
    assert_eq!(known, Vec::from_iter(measured));
    assert_eq!(heads[1].on_hand, OnHand::Pieces(Vec::new()));
}

#[test]
fn what_is_not_measured_is_counted() {
    let on_hand = |text: &PartsText| {
        let read = parts(text);
        read.all().next().expect("a part").on_hand.clone()
    };
    let counted = |count| record("stock.csv:2", &[("part", "G-1"), ("on_hand", count)]);
    assert_eq!(on_hand(&grips(vec![counted("12")])), OnHand::Counted(12));
    assert_eq!(on_hand(&grips(vec![counted("0")])), OnHand::Counted(0));
    assert_eq!(on_hand(&grips(Vec::new())), OnHand::Counted(0));
    // Nothing needs to be measured of a sleeve, so it may be counted.
    let sleeve = record("stock.csv:2", &[("part", "S-1"), ("on_hand", "3")]);
    assert_eq!(on_hand(&sleeves(vec![sleeve])), OnHand::Counted(3));
}

#[test]
fn counts_are_whole_and_not_negative() {
    for (count, why) in [
        (
            "-1",
            "`-1` is out of range; a whole number from 0 through 100000 is allowed",
        ),
        (
            "100001",
            "`100001` is out of range; a whole number from 0 through 100000 is allowed",
        ),
        (
            "2.5",
            "`2.5` is not a whole number; a whole number from 0 through 100000 is needed, such as \
             `3`",
        ),
    ] {
        let counted = record("stock.csv:2", &[("part", "G-1"), ("on_hand", count)]);
        assert_eq!(
            faults(&grips(vec![counted])),
            [format!("stock.csv:2: on_hand: {why}")]
        );
    }
}

#[test]
fn a_measured_part_is_not_counted() {
    let counted = record("stock.csv:2", &[("part", "H-1"), ("on_hand", "2")]);
    assert_eq!(
        faults(&heads(vec![counted])),
        [
            "stock.csv:2: on_hand: each head has its own `measured_loft`: give pieces, with `id`, \
             in \
          place of `on_hand`"
        ]
    );
    let counted = [("part", "S-1"), ("on_hand", "2"), ("diameter", "8 mm")];
    assert_eq!(
        faults(&sleeves(vec![record("stock.csv:2", &counted)])),
        [
            "stock.csv:2: diameter: `diameter` is measured on a single piece: give its `id` in \
             place \
          of `on_hand`"
        ]
    );
}

#[test]
fn a_part_has_a_count_or_pieces() {
    let count = || record("stock.csv:2", &[("part", "S-1"), ("on_hand", "2")]);
    let piece = |place: &str, id: &str| record(place, &[("part", "S-1"), ("id", id)]);
    assert_eq!(
        faults(&sleeves(vec![
            count(),
            piece("stock.csv:3", "P1"),
            piece("stock.csv:4", "P2")
        ])),
        [
            "stock.csv:3: id: `S-1` has a count and single pieces too (stock.csv:2); it has one or \
          the other"
        ]
    );
    assert_eq!(
        faults(&sleeves(vec![piece("stock.csv:1", "P1"), count()])),
        [
            "stock.csv:2: on_hand: `S-1` has a count and single pieces too (stock.csv:1); it has \
             one \
          or the other"
        ]
    );
    assert_eq!(
        faults(&sleeves(vec![count(), count()])),
        ["stock.csv:2: part: `S-1` is counted twice (first: stock.csv:2)"]
    );
}

#[test]
fn a_record_is_of_a_piece_or_a_count() {
    let both = [("part", "S-1"), ("id", "P1"), ("on_hand", "1")];
    assert_eq!(
        faults(&sleeves(vec![
            record("stock.csv:2", &both),
            record("stock.csv:3", &[("part", "S-1")]),
        ])),
        [
            "stock.csv:2: on_hand: a record has `id`, of a single piece, or `on_hand`, a count; \
             both were sent",
            "stock.csv:3: id: `id` of a single piece, or `on_hand`, a count, is missing",
        ]
    );
}

#[test]
fn every_fault_of_a_piece_is_named() {
    let stock = vec![
        record(
            "stock.csv:2",
            &[("id", "N1"), ("part", "H-3"), ("measured_loft", "30 deg")],
        ),
        record(
            "stock.csv:3",
            &[("id", "N1"), ("part", "H-1"), ("mesured_loft", "30 deg")],
        ),
        record(
            "stock.csv:4",
            &[("id", "N2"), ("mass", "250 g"), ("measured_loft", "70 deg")],
        ),
    ];
    assert_eq!(
        faults(&heads(stock)),
        [
            "stock.csv:2: part: the catalogue has no head `H-3`; did you mean `H-1`?",
            "stock.csv:3: mesured_loft: there is no field `mesured_loft`; allowed are `id`, \
             `part`, `on_hand`, `measured_loft`; did you mean `measured_loft`?",
            "stock.csv:3: measured_loft: `measured_loft` is missing; an angle from -1 deg through \
             68 deg is needed, such as `-1 deg`",
            "stock.csv:3: id: `N1` is the code of another piece too (stock.csv:2); each has its \
             own",
            "stock.csv:4: mass: `mass` is the part's; it stands in the catalogue, not in the stock",
            "stock.csv:4: part: `part` is missing; a code is needed",
            "stock.csv:4: measured_loft: `70 deg` is out of range; an angle from -1 deg through \
             68 deg is allowed",
        ]
    );
}

#[test]
fn faults_of_catalogue_and_stock_come_together() {
    let mut text = grips(vec![record(
        "stock.csv:2",
        &[("part", "G-2"), ("on_hand", "1")],
    )]);
    text.catalogue[0].1[0].fields.remove("ribbed");
    assert_eq!(
        faults(&text),
        [
            "grips.csv:2: ribbed: `ribbed` is missing; `yes` or `no` is needed",
            "stock.csv:2: part: the catalogue has no grip `G-2`; did you mean `G-1`?",
        ]
    );
}
