//! How long a trajectory takes: `cargo bench -p loftwright-benches --bench flight`.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use loftwright_engine::model::flight::{Aerodynamics, Conditions, Launch, fly, fly_by};

/// A drive, a middle iron and a wedge, as struck.
const LAUNCHES: [(&str, Launch); 3] = [
    ("drive", Launch::straight(74.0, 11.0, 2600.0)),
    ("middle iron", Launch::straight(53.0, 17.0, 6500.0)),
    ("wedge", Launch::straight(43.0, 27.0, 9000.0)),
];

fn trajectories(criterion: &mut Criterion) {
    let air = Conditions::still(1.2);
    for (name, launch) in LAUNCHES {
        criterion.bench_function(&format!("fly a {name}"), |bencher| {
            bencher.iter(|| fly(black_box(&launch), black_box(&air)));
        });
    }
    criterion.bench_function("fly a drive by formulas", |bencher| {
        bencher.iter(|| {
            let (_, launch) = LAUNCHES[0];
            fly_by(
                Aerodynamics::SmitsSmith,
                black_box(&launch),
                black_box(&air),
            )
        });
    });
}

criterion_group!(benches, trajectories);
criterion_main!(benches);
