//! `never falls as X rises` against brute force: made-up decisions, every pair of neighbours.

use loftwright_dsl::check::{LayerSource, check};
use loftwright_dsl::diagnostic::{Code, Severity};
use loftwright_engine::CONTRACT_VERSION;
use loftwright_tests::engine_side;
use loftwright_tests::generator::Random;
use loftwright_tests::tables::{Promised, Shape, promised};

/// Promises of one shape from a seed on, checked in rulesets of twenty; as many as are asked for
/// with `PROMISES=5000 cargo test -p loftwright-tests --test promises`.
fn look_at(columns: usize, ticks: i64, first: u64, usual: usize) {
    let asked = std::env::var("PROMISES").ok();
    let count = asked.map_or(usual, |text| text.parse().unwrap());
    let shape = Shape {
        columns,
        ticks,
        cuts: 6,
        spoilt: 0,
    };
    let mut random = Random(first);
    let mut kept = 0;
    for _ in 0..count.div_ceil(20) {
        let decisions: Vec<(Promised, String)> = (0..20)
            .map(|number| {
                let made = promised(&format!("promise_{number}"), shape, &mut random);
                let text = made.written(&mut random);
                (made, text)
            })
            .collect();
        let mut files = vec![(
            "ruleset.rules".to_owned(),
            "ruleset made_up\n  builds on base\n".to_owned(),
        )];
        let named =
            |(made, text): &(Promised, String)| (format!("{}.rules", made.body.name), text.clone());
        files.extend(decisions.iter().map(named));
        let mut layers = engine_side::layers("base");
        layers.push(LayerSource {
            name: "made_up".to_owned(),
            files,
        });
        let output = check(&layers, CONTRACT_VERSION);
        for (made, text) in &decisions {
            let name = format!("{}.rules", made.body.name);
            let own = output.diagnostics.iter().filter(|finding| {
                let file = &output.folder[finding.primary.span.file];
                file.name == name && finding.severity == Severity::Error
            });
            let codes: Vec<Code> = own.map(|finding| finding.code).collect();
            let broken = made.broken();
            let expected = broken.iter().map(|_| Code::PromiseBroken);
            let expected: Vec<Code> = expected.collect();
            assert_eq!(codes, expected, "{broken:?}\n{text}");
            kept += usize::from(broken.is_none());
        }
    }
    // Neither is every promise kept nor none.
    assert!(
        kept > count / 10 && kept < count * 9 / 10,
        "{kept} of {count}"
    );
}

#[test]
fn promises_of_one_column_are_proved_as_brute_force_finds_them() {
    look_at(1, 10, 1, 200);
}

#[test]
fn promises_beside_another_column_are_proved_as_brute_force_finds_them() {
    look_at(2, 6, 2, 200);
}

#[test]
fn promises_beside_two_columns_are_proved_as_brute_force_finds_them() {
    look_at(3, 4, 3, 120);
}
