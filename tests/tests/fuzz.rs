//! The fuzz targets over the seeds and a fixed number of mutations: the same inputs in every run.
//! `ROUNDS=100000 cargo test -p loftwright-tests --release --test fuzz` looks longer.

use loftwright_tests::fuzz;
use loftwright_tests::generator::Random;
use loftwright_tests::mutator::{declarations, mutated, rules_seeds};
use loftwright_tests::program_generator::rules_text;

/// How many mutations, unless `ROUNDS` says otherwise.
fn rounds(usual: u64) -> std::ops::Range<u64> {
    let wanted = std::env::var("ROUNDS").ok();
    0..wanted.and_then(|text| text.parse().ok()).unwrap_or(usual)
}

/// Runs a target; where it panics, the input is shown.
fn run(target: fn(&[u8]), bytes: &[u8]) {
    let panicked = std::panic::catch_unwind(|| target(bytes)).is_err();
    assert!(
        !panicked,
        "of the input\n{}",
        String::from_utf8_lossy(bytes)
    );
}

fn survives(target: fn(&[u8]), usual: u64) {
    let files = rules_seeds();
    let pieces = declarations(&files);
    for seed in files.iter().chain(&pieces) {
        run(target, seed);
    }
    for seed in rounds(usual) {
        run(target, &mutated(&pieces, &mut Random(seed)));
    }
}

#[test]
fn any_bytes_are_read() {
    survives(fuzz::parse, 1_000);
}

#[test]
fn any_bytes_are_laid_out_or_refused() {
    survives(fuzz::parse_format_parse, 500);
}

#[test]
fn any_bytes_are_checked() {
    let mut pieces = declarations(&rules_seeds());
    // Whole houses too: most of a mutated one still stands.
    for seed in 0..30 {
        let house = rules_text(seed).into_bytes();
        if seed < 10 {
            run(fuzz::check, &house);
        }
        pieces.extend(std::iter::repeat_n(house, 10));
    }
    for seed in rounds(100) {
        run(fuzz::check, &mutated(&pieces, &mut Random(seed)));
    }
}

#[test]
fn any_bytes_choose_a_player() {
    for seed in rounds(100) {
        let mut random = Random(seed);
        let mut bytes: Vec<u8> = (0..5).map(|_| random.bits().to_le_bytes()[0]).collect();
        let values = [
            "",
            "12",
            "-5 deg",
            "1e400 mph",
            "unknown",
            "35 1/4 in",
            "34.5 in~1/2 in",
            "1/0",
        ];
        for _ in 0..random.below(6) {
            bytes.push(random.bits().to_le_bytes()[0]);
            bytes.extend_from_slice(random.one_of(&values).as_bytes());
            bytes.push(b'\n');
        }
        run(fuzz::evaluate, &bytes);
    }
}
