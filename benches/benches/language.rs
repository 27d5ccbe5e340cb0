//! How long the language takes: `cargo bench -p loftwright-benches --bench language`.
//!
//! What is aimed at: 4,000 decisions read, checked and compiled in 250 ms with every table proved;
//! a table of 100,000 rows proved in 1 s and looked up in ten times a binary search at most; the
//! findings after a keystroke in a folder of 2,000 lines in 50 ms.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use loftwright_benches::rules::{LongTable, house_of};
use loftwright_dsl::analysis::prove_table;
use loftwright_dsl::check::check;
use loftwright_dsl::quantity::Rational;
use loftwright_engine::CONTRACT_VERSION;
use loftwright_tests::engine_side;

fn reading(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("read, check and compile");
    group.sample_size(10);
    for decisions in [40, 400, 4_000] {
        let layers = house_of(decisions);
        let output = check(&layers, CONTRACT_VERSION);
        assert!(output.program.is_some(), "{:#?}", output.diagnostics);
        group.bench_function(format!("{decisions} decisions"), |bencher| {
            bencher.iter(|| check(black_box(&layers), CONTRACT_VERSION));
        });
    }
    // What an editor does after a keystroke: the folder and all below it, from the text on.
    let layers = engine_side::layers("skerry");
    group.bench_function(
        "a keystroke in skerry, 2,000 lines with common",
        |bencher| {
            bencher.iter(|| check(black_box(&layers), CONTRACT_VERSION));
        },
    );
    group.finish();
}

fn long_tables(criterion: &mut Criterion) {
    for rows in [1_000, 100_000] {
        let long = LongTable::of(rows);
        let mut group = criterion.benchmark_group(format!("a table of {rows} rows"));
        group.sample_size(10);
        group.bench_function("made ready", |bencher| bencher.iter(|| long.table()));
        let table = long.table();
        let proof = prove_table(&long.program, &table);
        assert!(proof.is_whole && proof.overlaps.is_empty() && proof.gaps.is_empty());
        group.bench_function("proved", |bencher| {
            bencher.iter(|| prove_table(&long.program, black_box(&table)));
        });
        group.sample_size(100);
        // Values all over the table, in an order that no cache foresees.
        let bounds = long.bounds();
        let values: Vec<Rational> = (0..4_096_usize)
            .map(|number| bounds[number * 7_919 % bounds.len()])
            .collect();
        let index = table.index().expect("an index");
        let mut turn = values.iter().cycle();
        group.bench_function("one look-up", |bencher| {
            bencher.iter(|| index.rows_of(*black_box(turn.next().expect("a value"))));
        });
        let floats: Vec<f64> = bounds.iter().map(|bound| bound.to_f64()).collect();
        let values: Vec<f64> = values.iter().map(|value| value.to_f64()).collect();
        let mut turn = values.iter().cycle();
        group.bench_function("a binary search of floats", |bencher| {
            bencher.iter(|| {
                let value = *black_box(turn.next().expect("a value"));
                floats.partition_point(|bound| *bound < value)
            });
        });
        group.finish();
    }
}

criterion_group!(benches, reading, long_tables);
criterion_main!(benches);
