//! What moves neither digest, and what moves one: layout, units, results.
//!
//! From the language reference, *Identity*: the meaning is what decides outcomes; the text is
//! about, because, says, ask and source (and titles); comments, layout, file names and order change
//! neither.

use loftwright_dsl::check::{LayerSource, check};
use loftwright_dsl::format::format_text;
use loftwright_dsl::program::Digests;
use loftwright_engine::CONTRACT_VERSION;
use loftwright_tests::engine_side;
use loftwright_tests::generator::Random;
use loftwright_tests::house::house;
use loftwright_tests::layout::{shuffled, spaced};
use loftwright_tests::program_generator::rules_text;
use loftwright_tests::tables::{Shape, Table, table};

fn digests(layers: &[LayerSource]) -> Digests {
    let output = check(layers, CONTRACT_VERSION);
    let findings = engine_side::rendered(&output);
    let program = output.program.unwrap_or_else(|| panic!("{findings}"));
    program.digests
}

/// Lays a ruleset out in other ways and looks whether a digest moves.
fn lay_out(name: &str, layers: &[LayerSource], seeds: std::ops::Range<u64>) {
    let plain = digests(layers);
    for seed in seeds {
        let mut random = Random(seed);
        let moved: Vec<_> = layers
            .iter()
            .map(|layer| {
                let shuffled = shuffled(layer, &mut random);
                spaced(&shuffled, &mut random)
            })
            .collect();
        assert_eq!(digests(&moved), plain, "{name}, seed {seed}");
        let mut formatted = moved;
        for (file, text) in formatted.iter_mut().flat_map(|layer| &mut layer.files) {
            *text = format_text(text).unwrap_or_else(|findings| panic!("{file}: {findings:?}"));
        }
        assert_eq!(digests(&formatted), plain, "{name} formatted, seed {seed}");
    }
}

#[test]
fn layout_order_files_and_comments_move_no_digest() {
    for ruleset in ["common", "skerry", "corners"] {
        lay_out(ruleset, &engine_side::layers(ruleset), 0..2);
    }
}

/// Tables that are proved, as a ruleset on top of the corpus' base.
fn made_up(random: &mut Random) -> (Vec<Table>, Vec<LayerSource>) {
    let shape = Shape {
        columns: 2,
        ticks: 6,
        cuts: 6,
        spoilt: 0,
    };
    let tables: Vec<Table> = (0..20)
        .map(|number| table(&format!("table_{number}"), shape, random))
        .collect();
    let layers = written(&tables, random);
    (tables, layers)
}

fn written(tables: &[Table], random: &mut Random) -> Vec<LayerSource> {
    let mut text = "ruleset made_up\n  builds on base\n".to_owned();
    for table in tables {
        text.push_str(&table.written(random).text);
    }
    let mut layers = engine_side::layers("base");
    layers.push(LayerSource {
        name: "made_up".to_owned(),
        files: vec![("made_up.rules".to_owned(), text)],
    });
    layers
}

#[test]
fn layout_moves_no_digest_of_made_up_houses() {
    for seed in 0..6 {
        let mut layers = engine_side::layers("base");
        layers.push(house("made_up.rules", &rules_text(seed)));
        lay_out("a made-up house", &layers, seed..seed + 1);
    }
}

#[test]
fn layout_moves_no_digest_of_made_up_tables() {
    let mut random = Random(7);
    for round in 0..3 {
        let (_, layers) = made_up(&mut random);
        lay_out("made up", &layers, round..round + 2);
    }
}

/// A bound is a quantity: in whichever unit it is written, it is the same rule.
#[test]
fn the_same_bounds_in_other_units_move_no_digest() {
    let mut random = Random(8);
    for _ in 0..3 {
        let (tables, layers) = made_up(&mut random);
        let again = written(&tables, &mut random);
        assert_ne!(
            layers[2].files, again[2].files,
            "the literals are written otherwise"
        );
        assert_eq!(digests(&layers), digests(&again));
    }
}

#[test]
fn another_result_of_any_row_moves_the_meaning_alone() {
    let mut random = Random(9);
    let (mut tables, layers) = made_up(&mut random);
    let plain = digests(&layers);
    for number in 0..tables.len() {
        let row = random.below(tables[number].row_count());
        tables[number].results[row] += 1_000;
        let moved = digests(&written(&tables, &mut random));
        assert_ne!(moved.meaning, plain.meaning, "row {row} of table {number}");
        assert_eq!(moved.text, plain.text);
        tables[number].results[row] -= 1_000;
    }
    assert_eq!(digests(&written(&tables, &mut random)), plain);
}
