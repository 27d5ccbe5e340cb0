//! Small rulesets, players and parts as text, and their outcomes as text.
//!
//! Expected outcomes are written from DEVELOPERS.md, *How an answer comes about*, and the language
//! reference; never copied from what the engine said.

use std::collections::{BTreeMap, BTreeSet};

use loftwright_dsl::check::{LayerSource, check};
use loftwright_dsl::diagnostic::render_for_terminal;
use loftwright_dsl::program::{GroupId, Node, Program, Value};
use loftwright_dsl::quantity::Date;
use loftwright_engine::evaluate::{Evaluation, evaluate};
use loftwright_engine::intake::{
    FieldText, PartsText, PlayerText, ReadingText, RecordText, read_parts, read_player,
};
use loftwright_engine::outcome::{Cause, Outcome, Place, State};
use loftwright_engine::parts::Parts;
use loftwright_engine::player::Player;
use loftwright_engine::trace::{CompactTrace, NoTrace};

/// A stand-in for the contract, with what the snippets use.
const TOY_CONTRACT: &str = r#"
ruleset contract
  title    "A stand-in"
  language 1

input today : date, filled by the engine

group kept, given with the player
  has kind : club_kind
  has loft : angle, may be unknown, between 0 deg and 80 deg

choice club_kind is driver, fairway, hybrid, iron, wedge, putter

model sleeve_loft(
    loft : angle between 0 deg and 70 deg,
    lie  : angle between 45 deg and 80 deg,
    tilt : angle between -4 deg and 4 deg,
    turn : angle between -360 deg and 360 deg) : angle
  about      "Loft of a head on a tilted sleeve."
  source     "Exact rotation of the face normal"
  answers to 0.01 deg
"#;

/// A ruleset, evaluated for one player.
pub(crate) struct Answer {
    pub(crate) program: Program,
    pub(crate) parts: Parts,
    pub(crate) player: Player,
    pub(crate) evaluation: Evaluation,
    pub(crate) trace: CompactTrace,
}

pub(crate) const TODAY: (i64, u32, u32) = (2026, 5, 1);

pub(crate) fn today() -> Date {
    let (year, month, day) = TODAY;
    Date::new(year, month, day).unwrap()
}

/// The program of these rules upon the stand-in contract.
pub(crate) fn program(rules: &str) -> Program {
    program_of(TOY_CONTRACT, rules)
}

/// The program of these rules upon this contract.
pub(crate) fn program_of(contract: &str, rules: &str) -> Program {
    let house = format!("ruleset house\n  title \"House\"\n  language 1\n\n{rules}");
    let layer = |name: &str, text: &str| LayerSource {
        name: name.to_owned(),
        files: vec![(format!("{name}.rules"), text.to_owned())],
    };
    let layers = [layer("contract", contract), layer("house", &house)];
    let output = check(&layers, 1);
    let findings = render_for_terminal(&output.folder, &output.diagnostics, false);
    output.program.unwrap_or_else(|| panic!("{findings}"))
}

/// The rules for a player without parts. Readings as `name = value`, one a line.
pub(crate) fn answer(rules: &str, readings: &str) -> Answer {
    answer_with(program(rules), readings, &[], PartsText::default())
}

/// A player who also keeps clubs: each `field = value, field = value`.
pub(crate) fn answer_keeping(rules: &str, readings: &str, kept: &[&str]) -> Answer {
    answer_with(program(rules), readings, kept, PartsText::default())
}

/// A player choosing from parts.
pub(crate) fn answer_choosing(rules: &str, readings: &str, parts: PartsText) -> Answer {
    answer_with(program(rules), readings, &[], parts)
}

pub(crate) fn answer_with(
    program: Program,
    readings: &str,
    kept: &[&str],
    parts: PartsText,
) -> Answer {
    let reading = |(name, value): (String, String)| {
        (
            name,
            ReadingText {
                value,
                ..ReadingText::default()
            },
        )
    };
    let kept: Vec<BTreeMap<String, String>> = kept
        .iter()
        .map(|club| assignments(club, ',').collect())
        .collect();
    let mut text = PlayerText {
        readings: assignments(readings, '\n').map(reading).collect(),
        ..PlayerText::default()
    };
    if !kept.is_empty() {
        text.given.insert("kept".to_owned(), kept);
    }
    let player = read_player(&program, &text).unwrap_or_else(|faults| panic!("{faults:?}"));
    let parts = read_parts(&program, &parts).unwrap_or_else(|faults| panic!("{faults:?}"));
    let mut trace = CompactTrace::default();
    let evaluation = evaluate(&program, &parts, &player, today(), &mut trace);
    let answer = Answer {
        program,
        parts,
        player,
        evaluation,
        trace,
    };
    answer.is_the_same_without_a_trace();
    answer
}

fn assignments(text: &str, separator: char) -> impl Iterator<Item = (String, String)> {
    let lines = text
        .split(separator)
        .map(str::trim)
        .filter(|line| !line.is_empty());
    lines.map(|line| {
        let (name, value) = line.split_once('=').unwrap();
        (name.trim().to_owned(), value.trim().to_owned())
    })
}

/// Catalogue and stock records of a kind: `id = h1, loft = 10 deg`; `part = h1, on_hand = 2`; a
/// list of settings as `settings = [tilt: 0 deg; turn: 0 deg] [tilt: 1 deg; turn: 0 deg]`.
pub(crate) fn parts(kind: &str, catalogue: &[&str], stock: &[&str]) -> PartsText {
    PartsText {
        catalogue: vec![(kind.to_owned(), records(catalogue))],
        stock: vec![(kind.to_owned(), records(stock))],
    }
}

/// The parts of several kinds together.
pub(crate) fn together(all: Vec<PartsText>) -> PartsText {
    let mut parts = PartsText::default();
    for one in all {
        parts.catalogue.extend(one.catalogue);
        parts.stock.extend(one.stock);
    }
    parts
}

fn records(lines: &[&str]) -> Vec<RecordText> {
    let record = |(number, line): (usize, &&str)| RecordText {
        place: format!("record {number}"),
        fields: assignments(line, ',')
            .map(|(name, value)| (name, field(&value)))
            .collect(),
    };
    lines.iter().enumerate().map(record).collect()
}

fn field(value: &str) -> FieldText {
    if !value.starts_with('[') {
        return FieldText::Text(value.to_owned());
    }
    let setting = |text: &str| {
        let pairs = text.split(';').filter_map(|pair| pair.split_once(':'));
        pairs
            .map(|(name, value)| (name.trim().to_owned(), value.trim().to_owned()))
            .collect()
    };
    let settings = value
        .split(['[', ']'])
        .map(str::trim)
        .filter(|text| !text.is_empty());
    FieldText::List(settings.map(setting).collect())
}

impl Answer {
    /// One evaluator: with no trace every outcome is the same.
    fn is_the_same_without_a_trace(&self) {
        let bare = evaluate(
            &self.program,
            &self.parts,
            &self.player,
            today(),
            &mut NoTrace,
        );
        for node in &self.program.order {
            assert_eq!(bare.outcomes(*node), self.evaluation.outcomes(*node));
        }
    }

    pub(crate) fn node(&self, name: &str) -> Node {
        let found = self
            .program
            .order
            .iter()
            .find(|node| self.name_of(**node) == name);
        *found.unwrap_or_else(|| panic!("nothing is called {name}"))
    }

    pub(crate) fn group(&self, name: &str) -> GroupId {
        match self.node(name) {
            Node::Group(group) => group,
            other => panic!("{other:?} is no group"),
        }
    }

    pub(crate) fn name_of(&self, node: Node) -> &str {
        self.program.name_of(node)
    }

    /// The outcome of a name that has one for the bag.
    pub(crate) fn of(&self, name: &str) -> String {
        self.all(name).join(" | ")
    }

    /// The outcomes of a name, one for each club.
    pub(crate) fn all(&self, name: &str) -> Vec<String> {
        let node = self.node(name);
        let outcomes = self.evaluation.outcomes(node);
        outcomes
            .into_iter()
            .map(|(_, outcome)| self.outcome_text(node, outcome))
            .collect()
    }

    /// Whether a name has one outcome without a club.
    pub(crate) fn is_for_the_bag(&self, name: &str) -> bool {
        let place = Place {
            node: self.node(name),
            member: None,
        };
        self.evaluation.outcome(place).is_some()
    }

    /// A field of the clubs of a group.
    pub(crate) fn field(&self, group: &str, field: &str) -> Vec<String> {
        let id = self.group(group);
        let declared = &self.program.groups[id];
        let index = declared.field_index(field).unwrap();
        let size = self.evaluation.members(id).map_or(0, <[_]>::len);
        let state = |member| self.evaluation.field(id, member, index).unwrap();
        let text = |member| match state(member) {
            State::Known(value) => {
                let field = &declared.fields[index];
                field.shown.text(&self.program, field.value_type, &value)
            }
            State::None => "none".to_owned(),
            State::Undecided(undecided) => format!("unknown: {}", self.causes(&undecided.causes)),
        };
        (0..size).map(text).collect()
    }

    fn outcome_text(&self, node: Node, outcome: &Outcome) -> String {
        match outcome {
            Outcome::Decided(value) => self.value_text(node, value),
            Outcome::Needs(causes) => format!("needs {}", self.causes(causes)),
            Outcome::Blocked(undecided) => {
                let blockers: Vec<String> = undecided
                    .blocked_by
                    .iter()
                    .map(|place| self.place(*place))
                    .collect();
                format!(
                    "blocked by {}: {}",
                    blockers.join(", "),
                    self.causes(&undecided.causes)
                )
            }
            Outcome::DoesNotApply => "none".to_owned(),
            Outcome::Contradicted { table, row } => format!("contradicted {table}.{row}"),
            Outcome::OutsideRange(beyond) => format!(
                "outside range {} {:?}",
                self.program.models[beyond.model].name, beyond.argument
            ),
            Outcome::Infeasible(reason) => format!("infeasible: {}", reason.0),
            Outcome::Faulted(fault) => format!("faulted: {fault}"),
            Outcome::Chosen(chosen) | Outcome::Ordered(chosen) => {
                let word = if matches!(outcome, Outcome::Ordered(_)) {
                    "ordered"
                } else {
                    "chosen"
                };
                let Node::Choose(id) = node else {
                    panic!("{node:?} chose")
                };
                let part = &self.parts.of(self.program.chooses[id].part)[chosen.part];
                let piece = chosen.piece.map(|piece| match &part.on_hand {
                    loftwright_engine::parts::OnHand::Pieces(pieces) => {
                        format!("/{}", pieces[piece].id)
                    }
                    loftwright_engine::parts::OnHand::Counted(_) => panic!("no pieces"),
                });
                let setting = chosen.setting.map(|setting| format!("@{setting}"));
                let rung = chosen.rung.map(|rung| format!(" rung {rung}"));
                let (piece, setting) = (piece.unwrap_or_default(), setting.unwrap_or_default());
                format!(
                    "{word} {}{piece}{setting}{}",
                    part.id,
                    rung.unwrap_or_default()
                )
            }
            Outcome::LeftOpen => "left open".to_owned(),
            Outcome::NoneOnHand => "none on hand".to_owned(),
        }
    }

    fn value_text(&self, node: Node, value: &Value) -> String {
        let program = &self.program;
        let (value_type, shown) = match node {
            Node::Input(id) => (program.inputs[id].value_type, &program.inputs[id].shown),
            Node::Let(id) => (program.lets[id].value_type, &program.lets[id].shown),
            Node::Decision(id) => (
                program.decisions[id].value_type,
                &program.decisions[id].shown,
            ),
            _ => {
                return match value {
                    Value::Flag(true) => "yes".to_owned(),
                    Value::Flag(false) => "no".to_owned(),
                    Value::Number(number) => number.to_text(),
                    other => format!("{other:?}"),
                };
            }
        };
        shown.text(program, value_type, value)
    }

    fn place(&self, place: Place) -> String {
        match place.member {
            Some(member) => format!("{}[{member}]", self.name_of(place.node)),
            None => self.name_of(place.node).to_owned(),
        }
    }

    fn causes(&self, causes: &BTreeSet<Cause>) -> String {
        let program = &self.program;
        let text = |cause: &Cause| match cause {
            Cause::Reading(input) => program.inputs[*input].name.clone(),
            Cause::ClubField {
                group,
                member,
                field,
            } => {
                let group = &program.groups[*group];
                format!("{}[{member}].{}", group.name, group.fields[*field].name)
            }
            Cause::PartField { part, field } => {
                let part = &program.parts[*part];
                format!("{}.{}", part.name, part.fields[*field].name)
            }
            Cause::Ended(place) => format!("end of {}", self.place(*place)),
        };
        let texts: Vec<String> = causes.iter().map(text).collect();
        texts.join(", ")
    }
}
