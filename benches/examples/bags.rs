//! Evaluates one bag so often, for a count of instructions that no other load disturbs:
//!
//! ```text
//! cargo build --release -p loftwright-benches --example bags
//! valgrind --tool=callgrind target/release/examples/bags 10 traced large
//! ```
//!
//! `explained` and `sure` in the place of `traced` go on to the recommendation, the latter with all
//! of its uncertainty. What one bag takes is the difference between two counts, divided by that of
//! the bags.

use std::hint::black_box;

use loftwright_benches::bag::Bag;
use loftwright_engine::evaluate::Evaluator;
use loftwright_engine::fit::{fit, fit_to_depth};
use loftwright_engine::sure::{Depth, Workers};
use loftwright_engine::trace::{CompactTrace, NoTrace};

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let is_asked = |word: &str| arguments.iter().any(|argument| argument == word);
    let bags: usize = arguments
        .iter()
        .find_map(|argument| argument.parse().ok())
        .unwrap_or(1);
    let bag = Bag::read();
    let parts = if is_asked("large") {
        &bag.large
    } else {
        &bag.demo
    };
    let evaluator = Evaluator::new(&bag.program);
    for _ in 0..bags {
        let player = black_box(&bag.player);
        if is_asked("sure") {
            black_box(fit_to_depth(
                &bag.program,
                parts,
                player,
                bag.day,
                Depth::Full(Workers::ONE),
            ));
        } else if is_asked("explained") {
            black_box(fit(&bag.program, parts, player, bag.day));
        } else if is_asked("traced") {
            let mut trace = CompactTrace::default();
            black_box(evaluator.evaluate(parts, player, bag.day, &mut trace));
        } else {
            black_box(evaluator.evaluate(parts, player, bag.day, &mut NoTrace));
        }
    }
}
