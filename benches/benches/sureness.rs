//! How long it takes to say how sure a bag is: `cargo bench -p loftwright-benches`.
//!
//! The full answer evaluates a bag with 64 plausible sets of readings, and each uncertain reading
//! by itself; the short one only the other side of a bound that is near.

use std::hint::black_box;
use std::thread::available_parallelism;

use criterion::{Criterion, criterion_group, criterion_main};
use loftwright_benches::bag::Bag;
use loftwright_engine::fit::fit_to_depth;
use loftwright_engine::sure::{Depth, Workers};

fn sureness(criterion: &mut Criterion) {
    let bag = Bag::read();
    for (stock, parts) in [("", &bag.demo), (", 400 heads and 800 shafts", &bag.large)] {
        let every_core = available_parallelism().map_or(Workers::ONE, Workers::new);
        for (name, depth) in [
            ("short", Depth::Short),
            ("full, by one worker", Depth::Full(Workers::ONE)),
            ("full", Depth::Full(every_core)),
        ] {
            criterion.bench_function(&format!("how sure a bag is, {name}{stock}"), |bencher| {
                let player = black_box(&bag.player);
                bencher.iter(|| fit_to_depth(&bag.program, parts, player, bag.day, depth));
            });
        }
    }
}

criterion_group!(benches, sureness);
criterion_main!(benches);
