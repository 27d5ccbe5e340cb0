//! One ruleset on both sides: the engine and the oracle, player for player.

use std::collections::{BTreeMap, BTreeSet};

use loftwright_dsl::check::{LayerSource, check};
use loftwright_dsl::program::Program;
use loftwright_dsl::quantity::Date;
use loftwright_dsl::syntax::tree::Declaration;
use loftwright_engine::CONTRACT_VERSION;
use loftwright_engine::evaluate::{Evaluation, Evaluator};
use loftwright_engine::intake::read_player;
use loftwright_engine::parts::Parts;
use loftwright_engine::trace::NoTrace;

use crate::generator::{Generator, Random};
use crate::oracle::{self, Oracle, Person, Rules};
use crate::{engine_side, workshop};

/// One ruleset on both sides.
pub struct Sides {
    ruleset: String,
    /// The ruleset as the engine has it.
    pub program: Program,
    trees: Vec<Vec<Declaration>>,
    rules: Rules,
    /// The day of the fitting.
    pub today: Date,
}

impl Sides {
    /// A ruleset of the repository or of the corpus.
    pub fn new(ruleset: &str) -> Self {
        Self::of_layers(&engine_side::layers(ruleset))
    }

    /// Layers put on top of each other, the contract first; they must check without an error.
    pub fn of_layers(layers: &[LayerSource]) -> Self {
        let output = check(layers, CONTRACT_VERSION);
        let findings = engine_side::rendered(&output);
        let ruleset = layers.last().unwrap().name.clone();
        let program = output.program;
        let trees: Vec<_> = layers
            .iter()
            .map(|layer| workshop::trees_of(&layer.name, layer.files.clone()))
            .collect();
        Sides {
            program: program.unwrap_or_else(|| panic!("{ruleset} does not check:\n{findings}")),
            rules: Rules::new(&trees),
            trees,
            ruleset,
            today: Date::parse("2026-05-01").unwrap(),
        }
    }

    /// Players and parts for this ruleset.
    pub fn generator(&self) -> Generator<'_> {
        Generator::new(&self.program, &self.trees)
    }

    /// What the oracle makes of a parts folder.
    pub fn oracle_parts(&self, folder: &workshop::PartsFolder) -> oracle::Parts {
        workshop::oracle_parts(&self.rules, folder)
    }

    fn evaluation(&self, evaluator: &Evaluator<'_>, parts: &Parts, person: &Person) -> Evaluation {
        let text = engine_side::player_text(person);
        let player = read_player(&self.program, &text)
            .unwrap_or_else(|faults| panic!("{}\n{faults:?}", shown(person)));
        evaluator.evaluate(parts, &player, self.today, &mut NoTrace)
    }

    /// What the engine comes to without parts, by node and club.
    pub fn engine_summary(
        &self,
        evaluator: &Evaluator<'_>,
        person: &Person,
    ) -> BTreeMap<String, String> {
        self.engine_summary_with(evaluator, &Parts::default(), person)
    }

    /// What the engine comes to with these parts, by node and club.
    pub fn engine_summary_with(
        &self,
        evaluator: &Evaluator<'_>,
        parts: &Parts,
        person: &Person,
    ) -> BTreeMap<String, String> {
        let evaluation = self.evaluation(evaluator, parts, person);
        engine_side::summary(&self.program, parts, &evaluation)
    }

    /// The first differences, a line each, and how many there are.
    pub fn differences(
        &self,
        evaluator: &Evaluator<'_>,
        parts: &Parts,
        oracle_parts: &oracle::Parts,
        person: &Person,
    ) -> (usize, Vec<String>) {
        let evaluation = self.evaluation(evaluator, parts, person);
        let engine = engine_side::summary(&self.program, parts, &evaluation);
        let built = engine_side::built(&self.program, &evaluation);
        let oracle = Oracle::new(&self.rules, oracle_parts, person, self.today.days(), built);
        let expected = oracle.summary();
        let mut lines = Vec::new();
        let names: BTreeSet<_> = engine.keys().chain(expected.keys()).collect();
        for name in names {
            let (ours, theirs) = (engine.get(name), expected.get(name));
            if ours != theirs {
                let text = |side: Option<&String>| side.cloned().unwrap_or_else(|| "—".to_owned());
                lines.push(format!(
                    "{name}\n  engine: {}\n  oracle: {}",
                    text(ours),
                    text(theirs)
                ));
            }
        }
        let count = lines.len();
        lines.truncate(5);
        (count, lines)
    }

    /// Compares players from a seed on; stops at the first who differs.
    pub fn compare(&self, folder: &workshop::PartsFolder, seeds: std::ops::Range<u64>) {
        let parts = engine_side::parts(&self.program, folder);
        let oracle_parts = self.oracle_parts(folder);
        let generator = self.generator();
        let evaluator = Evaluator::new(&self.program);
        for seed in seeds {
            let person = generator.person(&mut Random(seed));
            let (count, lines) = self.differences(&evaluator, &parts, &oracle_parts, &person);
            assert!(
                count == 0,
                "{}, player {seed}: {count} differences, the first of them\n{}\n\n{}",
                self.ruleset,
                lines.join("\n"),
                shown(&person)
            );
        }
    }
}

/// A player as his file would read.
pub fn shown(person: &Person) -> String {
    let mut text = String::from("[readings]\n");
    for (name, value) in &person.readings {
        text.push_str(&format!("{name} = {value:?}\n"));
    }
    for club in person.given.values().flatten() {
        text.push_str("\n[[kept]]\n");
        for (name, value) in club {
            text.push_str(&format!("{name} = {value:?}\n"));
        }
    }
    text
}
