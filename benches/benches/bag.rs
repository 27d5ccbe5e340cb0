//! How long a check and a whole bag take: `cargo bench -p loftwright-benches`.

use std::collections::BTreeMap;
use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use loftwright_dsl::check::check;
use loftwright_dsl::quantity::Date;
use loftwright_engine::CONTRACT_VERSION;
use loftwright_engine::evaluate::Evaluator;
use loftwright_engine::fit::fit;
use loftwright_engine::intake::{PlayerText, ReadingText, read_player};
use loftwright_engine::trace::{CompactTrace, NoTrace};
use loftwright_tests::{engine_side, workshop};

fn bag(criterion: &mut Criterion) {
    let layers = engine_side::layers("skerry");
    criterion.bench_function("check common and skerry", |bencher| {
        bencher.iter(|| check(black_box(&layers), CONTRACT_VERSION));
    });

    let program = engine_side::program("skerry");
    let parts = engine_side::parts(&program, &workshop::demo_parts());
    let steady = workshop::demo_players()
        .into_iter()
        .find(|player| player.name == "steady-right-hander")
        .expect("the demo's player");
    let reading = |(name, value): (&String, &String)| {
        let text = ReadingText {
            value: value.clone(),
            ..ReadingText::default()
        };
        (name.clone(), text)
    };
    let text = PlayerText {
        readings: steady.readings.iter().map(reading).collect(),
        given: BTreeMap::from([("kept".to_owned(), steady.kept.clone())]),
    };
    let player = read_player(&program, &text).expect("the demo's readings");
    let day = Date::parse("2026-11-25").expect("a date");

    let evaluator = Evaluator::new(&program);
    criterion.bench_function("evaluate a bag, no trace", |bencher| {
        bencher.iter(|| evaluator.evaluate(&parts, black_box(&player), day, &mut NoTrace));
    });
    criterion.bench_function("evaluate a bag, compact trace", |bencher| {
        bencher.iter(|| {
            let mut trace = CompactTrace::default();
            evaluator.evaluate(&parts, black_box(&player), day, &mut trace)
        });
    });
    criterion.bench_function("recommend a bag, explained", |bencher| {
        bencher.iter(|| fit(&program, &parts, black_box(&player), day));
    });
}

criterion_group!(benches, bag);
criterion_main!(benches);
