//! The language reference, run: every fenced block of `dsl/reference` is checked, fitted or
//! compared with what the language knows. How a block is run stands in `page.rs` and, for readers,
//! on the reference's contents page. What the engine answers to a page's players, the oracle must
//! answer too.

mod answer;
mod bench;
mod page;
mod sure;
mod words;

use std::collections::BTreeSet;
use std::rc::Rc;

use bench::{Checked, Fitted, layers_of, parts_folder, person};
use loftwright_engine::evaluate::Evaluator;
use loftwright_tests::engine_side;
use loftwright_tests::sides::Sides;
use page::{Block, Kind, Page, pages};

/// What a page has built up so far.
#[derive(Default)]
struct Desk {
    rules: String,
    player: String,
    parts: String,
    /// The page's rules as they were last checked, with the rules and parts they were checked by.
    checked: Option<(String, String, Rc<Checked>)>,
    /// Every player and parts that a block of answers was about.
    fitted: Vec<(String, String)>,
    /// What the last refused block earned.
    findings: String,
    faults: Vec<String>,
}

impl Desk {
    fn of(page: &Page) -> Self {
        let mut desk = Desk::default();
        for block in &page.blocks {
            desk.run(block);
        }
        if desk.faults.is_empty() && !desk.fitted.is_empty() {
            desk.ask_the_oracle(&page.name);
        }
        desk
    }

    fn run(&mut self, block: &Block) {
        match &block.kind {
            Kind::Rules => {
                self.rules.push_str(&format!("{}\n", block.text));
                let checked = self.checked();
                self.must_be_clean(block, &checked);
            }
            Kind::RulesAlone => {
                let checked = Checked::of(&block.text, &self.parts);
                self.must_be_clean(block, &checked);
            }
            Kind::RulesContract => self.must_stand_in_the_contract(block),
            Kind::RulesRefused(codes) => self.must_earn(block, codes, &[]),
            Kind::RulesWarned(codes) => self.must_earn(block, &[], codes),
            Kind::Finding => self.must_be_said(block),
            Kind::Player => self.player.clone_from(&block.text),
            Kind::Parts => self.parts.clone_from(&block.text),
            Kind::Answer => self.must_answer(block),
            Kind::Sure => self.must_be_so_sure(block),
            Kind::Grammar => {}
        }
    }

    /// The oracle, which was written from the same words and not from the engine, says the same of
    /// every player of the page.
    fn ask_the_oracle(&mut self, page: &str) {
        let sides = Sides::of_layers(&layers_of(&self.rules));
        let evaluator = Evaluator::new(&sides.program);
        for (player, parts) in &self.fitted {
            let folder = parts_folder(parts);
            let of_engine = engine_side::parts(&sides.program, &folder);
            let of_oracle = sides.oracle_parts(&folder);
            let (count, lines) =
                sides.differences(&evaluator, &of_engine, &of_oracle, &person(player));
            if count > 0 {
                let lines = lines.join("\n");
                self.faults
                    .push(format!("{page}: the oracle differs for\n{player}\n{lines}"));
            }
        }
    }

    fn fault(&mut self, block: &Block, text: &str) {
        self.faults.push(format!("{}: {text}", block.place));
    }

    /// The page's rules, checked once.
    fn checked(&mut self) -> Rc<Checked> {
        if let Some((rules, parts, checked)) = &self.checked
            && *rules == self.rules
            && *parts == self.parts
        {
            return Rc::clone(checked);
        }
        let checked = Rc::new(Checked::of(&self.rules, &self.parts));
        self.checked = Some((self.rules.clone(), self.parts.clone(), Rc::clone(&checked)));
        checked
    }

    fn must_be_clean(&mut self, block: &Block, checked: &Checked) {
        if !checked.errors().is_empty() || !checked.warnings().is_empty() {
            self.fault(block, &checked.rendered());
        }
    }

    fn must_earn(&mut self, block: &Block, errors: &[String], warnings: &[String]) {
        let has_line = block.text.lines().any(|line| line.starts_with("ruleset "));
        let rules = if has_line {
            block.text.clone()
        } else {
            format!("{}\n{}", self.rules, block.text)
        };
        let checked = Checked::of(&rules, &self.parts);
        self.findings = checked.rendered();
        let (found, warned) = (checked.errors(), checked.warnings());
        let as_said = |found: &BTreeSet<String>, said: &[String]| found.iter().eq(said);
        // What is refused may be warned of besides.
        if !as_said(&found, errors) || (errors.is_empty() && !as_said(&warned, warnings)) {
            let earned = format!("earns {found:?}, {warned:?}\n{}", self.findings);
            self.fault(block, &earned);
        }
    }

    fn must_be_said(&mut self, block: &Block) {
        for line in block.text.lines().filter(|line| !line.is_empty()) {
            if !self.findings.contains(line.trim()) {
                let text = format!("`{line}` is not said:\n{}", self.findings);
                self.fault(block, &text);
            }
        }
    }

    fn must_stand_in_the_contract(&mut self, block: &Block) {
        let plain = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
        let contract = plain(loftwright_engine::CONTRACT_RULES);
        for declaration in block.text.split("\n\n").map(plain) {
            if !contract.contains(&declaration) {
                self.fault(block, &format!("the contract does not say `{declaration}`"));
            }
        }
    }

    fn must_be_so_sure(&mut self, block: &Block) {
        let checked = self.checked();
        let Some(program) = &checked.output.program else {
            return;
        };
        let answer = match Fitted::in_full(program, &self.player, &self.parts) {
            Ok(answer) => answer,
            Err(faults) => return self.fault(block, &faults),
        };
        for line in block.text.lines().filter(|line| !line.trim().is_empty()) {
            let Some((name, expected)) = line.split_once(':') else {
                self.fault(block, &format!("`{line}` is not `name: how sure`"));
                continue;
            };
            let found = sure::told(&answer, name.trim());
            if found.as_deref() != Some(expected.trim()) {
                self.fault(block, &format!("`{line}`, and the engine says {found:?}"));
            }
        }
    }

    fn must_answer(&mut self, block: &Block) {
        let checked = self.checked();
        let Some(program) = &checked.output.program else {
            return;
        };
        let fitted = match Fitted::new(program, &self.player, &self.parts) {
            Ok(fitted) => fitted,
            Err(faults) => return self.fault(block, &faults),
        };
        self.fitted.push((self.player.clone(), self.parts.clone()));
        for line in block.text.lines().filter(|line| !line.trim().is_empty()) {
            let Some((name, expected)) = line.split_once(':') else {
                self.fault(block, &format!("`{line}` is not `name: answer`"));
                continue;
            };
            let found = fitted.answer(name.trim());
            if found.as_deref() != Some(expected.trim()) {
                self.fault(block, &format!("`{line}`, and the engine says {found:?}"));
            }
        }
    }
}

#[test]
fn every_example_does_what_the_page_says() {
    let mut faults = Vec::new();
    for page in pages() {
        assert!(!page.text.is_empty(), "{} is empty", page.name);
        faults.extend(Desk::of(&page).faults);
    }
    assert!(faults.is_empty(), "{}", faults.join("\n\n"));
}

#[test]
fn a_wrong_answer_is_found() {
    let block = |kind, text: &str| Block {
        place: "here:1".to_owned(),
        kind,
        text: text.to_owned(),
    };
    let mut desk = Desk::default();
    desk.run(&block(Kind::Player, "head_speed = 85 mph\n"));
    desk.run(&block(Kind::Answer, "shaft_flex: regular\n"));
    assert!(desk.faults.is_empty(), "{:?}", desk.faults);
    desk.run(&block(Kind::Answer, "shaft_flex: stiff\nnobody: 1\n"));
    desk.run(&block(Kind::Sure, "shaft_flex: 1 of 64\n"));
    desk.run(&block(Kind::Rules, "let wrong : angle = 1 in\n"));
    desk.run(&block(Kind::RulesContract, "input tomorrow : date\n"));
    desk.run(&block(
        Kind::RulesRefused(vec!["L0402".to_owned()]),
        "let fine : angle = 1 deg\n",
    ));
    assert_eq!(desk.faults.len(), 6, "{:?}", desk.faults);
}
