//! One player of the demo before a stock: what the benches of a bag start from.

use std::collections::BTreeMap;

use loftwright_dsl::program::Program;
use loftwright_dsl::quantity::Date;
use loftwright_engine::intake::{PlayerText, ReadingText, read_player};
use loftwright_engine::parts::Parts;
use loftwright_engine::player::Player;
use loftwright_tests::{engine_side, workshop};

use crate::stock::grown;

/// A program, a player, a day, and two stocks.
pub struct Bag {
    /// The house ruleset of the demo.
    pub program: Program,
    /// The demo's stock.
    pub demo: Parts,
    /// The same grown to 400 heads and 800 kinds of shafts.
    pub large: Parts,
    /// The player.
    pub player: Player,
    /// The day.
    pub day: Date,
}

impl Bag {
    /// Reads everything.
    pub fn read() -> Self {
        let program = engine_side::program("skerry");
        let folder = workshop::demo_parts();
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
        Bag {
            demo: engine_side::parts(&program, &folder),
            large: engine_side::parts(&program, &grown(&folder, 400, 800)),
            player: read_player(&program, &text).expect("the demo's readings"),
            day: Date::parse("2026-11-25").expect("a date"),
            program,
        }
    }
}
