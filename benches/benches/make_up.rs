//! How long it takes to make a set up: `cargo bench -p loftwright-benches --bench make_up`.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use loftwright_dsl::quantity::Rational;
use loftwright_engine::set::make_up::{Contender, Standing, Terms, make_up};

/// A yard in metres.
const YARD_M: (i128, i128) = (9144, 10_000);

fn yards(tenths: i64) -> Rational {
    let (metres, of) = YARD_M;
    let tenth = Rational::fraction(metres, of * 10).expect("a length");
    tenth.times(Rational::whole(tenths)).expect("a length")
}

/// A driver, 4 fairways, 6 hybrids, 41 irons by half degrees and 8 wedges: 60 lofts, carrying less
/// by 4 yards a degree.
fn sixty_lofts() -> Vec<Contender> {
    let kinds = [
        (0, 10, 1, 10),
        (1, 30, 4, 6),
        (2, 36, 6, 5),
        (3, 50, 41, 1),
        (4, 92, 8, 4),
    ];
    let lofts = kinds.into_iter().flat_map(|(kind, first, count, step)| {
        (0..count).map(move |number| (kind, first + number * step))
    });
    lofts
        .map(|(kind, halves)| Contender {
            kind,
            loft: Rational::fraction(i128::from(halves), 2).ok(),
            carry: yards(2700 - 20 * halves),
            standing: if kind == 0 {
                Standing::Driver
            } else {
                Standing::Free
            },
            reluctance: Rational::whole(i64::from(kind == 3 && halves < 54)),
            widest_gap: Some(yards(140)),
        })
        .collect()
}

fn sets(criterion: &mut Criterion) {
    let contenders = sixty_lofts();
    assert_eq!(contenders.len(), 60, "as many lofts as the name says");
    let terms = |most_clubs| Terms {
        narrowest_gap: yards(70),
        most_clubs,
    };
    criterion.bench_function("make a set up of 60 lofts", |bencher| {
        bencher.iter(|| make_up(black_box(&contenders), terms(20)));
    });
    // The set that keeps all steps has too many clubs: the search goes by number.
    criterion.bench_function("make a set up of 60 lofts, in a full bag", |bencher| {
        bencher.iter(|| make_up(black_box(&contenders), terms(10)));
    });
}

criterion_group!(benches, sets);
criterion_main!(benches);
