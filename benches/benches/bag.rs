//! How long a check and a whole bag take: `cargo bench -p loftwright-benches`.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use loftwright_benches::bag::Bag;
use loftwright_dsl::check::check;
use loftwright_engine::CONTRACT_VERSION;
use loftwright_engine::evaluate::Evaluator;
use loftwright_engine::fit::fit;
use loftwright_engine::trace::{CompactTrace, NoTrace};
use loftwright_tests::engine_side;

fn bag(criterion: &mut Criterion) {
    let layers = engine_side::layers("skerry");
    criterion.bench_function("check common and skerry", |bencher| {
        bencher.iter(|| check(black_box(&layers), CONTRACT_VERSION));
    });

    let bag = Bag::read();
    let (player, day) = (&bag.player, bag.day);
    let evaluator = Evaluator::new(&bag.program);
    for (stock, parts) in [("", &bag.demo), (", 400 heads and 800 shafts", &bag.large)] {
        criterion.bench_function(&format!("evaluate a bag, no trace{stock}"), |bencher| {
            bencher.iter(|| evaluator.evaluate(parts, black_box(player), day, &mut NoTrace));
        });
        criterion.bench_function(
            &format!("evaluate a bag, compact trace{stock}"),
            |bencher| {
                bencher.iter(|| {
                    let mut trace = CompactTrace::default();
                    evaluator.evaluate(parts, black_box(player), day, &mut trace)
                });
            },
        );
        criterion.bench_function(&format!("recommend a bag, explained{stock}"), |bencher| {
            bencher.iter(|| fit(&bag.program, parts, black_box(player), day));
        });
    }
}

criterion_group!(benches, bag);
criterion_main!(benches);
