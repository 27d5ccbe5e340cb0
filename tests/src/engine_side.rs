//! The engine's answers, written down as the oracle writes its own.

use std::collections::{BTreeMap, BTreeSet};

use loftwright_dsl::check::{CheckOutput, LayerSource, check};
use loftwright_dsl::diagnostic::render_for_terminal;
use loftwright_dsl::program::{GroupId, Node, PartId, Program, Value};
use loftwright_engine::CONTRACT_VERSION;
use loftwright_engine::evaluate::Evaluation;
use loftwright_engine::intake::{
    FieldText, PartsText, PlayerText, ReadingText, RecordText, read_parts,
};
use loftwright_engine::outcome::{Cause, ChosenPart, Outcome, Place, State, Undecided};
use loftwright_engine::parts::Parts;

use crate::oracle::{self, Fields};
use crate::workshop::{PartsFolder, Record, layer, layer_names};

/// The layers of a ruleset of the repository.
pub fn layers(ruleset: &str) -> Vec<LayerSource> {
    let source = |name: &str| LayerSource {
        name: name.to_owned(),
        files: layer(name),
    };
    layer_names(ruleset).into_iter().map(source).collect()
}

/// The findings of a check as a terminal shows them.
pub fn rendered(output: &CheckOutput) -> String {
    render_for_terminal(&output.folder, &output.diagnostics, false)
}

/// The checked program of a ruleset of the repository.
pub fn program(ruleset: &str) -> Program {
    let output = check(&layers(ruleset), CONTRACT_VERSION);
    let findings = rendered(&output);
    output
        .program
        .unwrap_or_else(|| panic!("{ruleset} does not check:\n{findings}"))
}

/// Parts of a folder, read by the engine without a fault.
pub fn parts(program: &Program, folder: &PartsFolder) -> Parts {
    read_parts(program, &parts_text(folder)).unwrap_or_else(|faults| panic!("{faults:?}"))
}

/// The texts of a parts folder as the engine's intake takes them.
pub fn parts_text(folder: &PartsFolder) -> PartsText {
    let record = |record: &Record| {
        let texts = record
            .texts
            .iter()
            .map(|(name, text)| (name.clone(), FieldText::Text(text.clone())));
        let lists = record
            .lists
            .iter()
            .map(|(name, list)| (name.clone(), FieldText::List(list.clone())));
        RecordText {
            place: record.place.clone(),
            fields: texts.chain(lists).collect(),
        }
    };
    let kinds = |kinds: &BTreeMap<String, Vec<Record>>| {
        let kind = |(kind, records): (&String, &Vec<Record>)| {
            (kind.clone(), records.iter().map(record).collect())
        };
        kinds.iter().map(kind).collect()
    };
    PartsText {
        catalogue: kinds(&folder.catalogue),
        stock: kinds(&folder.stock),
    }
}

/// A player's texts as the engine's intake takes them.
pub fn player_text(person: &oracle::Person) -> PlayerText {
    let reading = |(name, value): (&String, &String)| {
        let text = ReadingText {
            value: value.clone(),
            ..ReadingText::default()
        };
        (name.clone(), text)
    };
    PlayerText {
        readings: person.readings.iter().map(reading).collect(),
        given: person.given.clone(),
    }
}

/// Every outcome, by the names that the oracle uses.
pub fn summary(
    program: &Program,
    parts: &Parts,
    evaluation: &Evaluation,
) -> BTreeMap<String, String> {
    let side = Side { program, parts };
    let mut summary = BTreeMap::new();
    for node in side.nodes() {
        for (place, outcome) in evaluation.outcomes(node) {
            let name = match node {
                Node::Group(_) => format!("group {}", side.place(place)),
                _ => side.place(place).to_string(),
            };
            let text = match (node, evaluation_size(node, evaluation)) {
                (Node::Group(_), Some(size)) => format!("{size} members"),
                _ => side.outcome(node, outcome),
            };
            summary.insert(name, text);
        }
    }
    summary
}

fn evaluation_size(node: Node, evaluation: &Evaluation) -> Option<usize> {
    match node {
        Node::Group(group) => evaluation.members(group).map(<[_]>::len),
        _ => None,
    }
}

/// The fields of the clubs as assembled, for the oracle.
pub fn built(program: &Program, evaluation: &Evaluation) -> Option<Vec<Fields>> {
    let (id, group) = program
        .groups
        .entries()
        .find(|(_, group)| group.name == "built")?;
    let size = evaluation.members(id)?.len();
    let club = |member: usize| {
        let field = |(index, field): (usize, &loftwright_dsl::program::Field)| {
            let state = evaluation.field(id, member, index)?;
            let side = Side {
                program,
                parts: &Parts::default(),
            };
            let state = match state {
                State::Known(value) => oracle::State::Known(side.value_for_oracle(field, &value)),
                State::None => oracle::State::None,
                State::Undecided(undecided) => oracle::State::Undecided(side.undecided(&undecided)),
            };
            Some((field.name.clone(), state))
        };
        group.fields.iter().enumerate().filter_map(field).collect()
    };
    Some((0..size).map(club).collect())
}

struct Side<'a> {
    program: &'a Program,
    parts: &'a Parts,
}

impl Side<'_> {
    fn nodes(&self) -> Vec<Node> {
        let program = self.program;
        let mut nodes: Vec<Node> = program.inputs.ids().map(Node::Input).collect();
        nodes.extend(program.lets.ids().map(Node::Let));
        nodes.extend(program.groups.ids().map(Node::Group));
        nodes.extend(program.decisions.ids().map(Node::Decision));
        nodes.extend(program.chooses.ids().map(Node::Choose));
        nodes.extend(program.limits.ids().map(Node::Limit));
        nodes.extend(program.cautions.ids().map(Node::Caution));
        nodes
    }

    fn name(&self, node: Node) -> &str {
        self.program.name_of(node)
    }

    fn place(&self, place: Place) -> oracle::Place {
        oracle::Place {
            name: self.name(place.node).to_owned(),
            member: place.member,
        }
    }

    fn field_name(&self, group: GroupId, index: usize) -> String {
        self.program.groups[group].fields[index].name.clone()
    }

    fn cause(&self, cause: Cause) -> oracle::Cause {
        match cause {
            Cause::Reading(input) => {
                oracle::Cause::Reading(self.program.inputs[input].name.clone())
            }
            Cause::ClubField {
                group,
                member,
                field,
            } => oracle::Cause::ClubField(
                self.program.groups[group].name.clone(),
                member,
                self.field_name(group, field),
            ),
            Cause::PartField { part, field } => {
                let part = &self.program.parts[part];
                oracle::Cause::PartField(part.name.clone(), part.fields[field].name.clone())
            }
            Cause::Ended(place) => oracle::Cause::Ended(self.place(place)),
        }
    }

    fn causes(&self, causes: &BTreeSet<Cause>) -> BTreeSet<oracle::Cause> {
        causes.iter().map(|cause| self.cause(*cause)).collect()
    }

    fn undecided(&self, undecided: &Undecided) -> oracle::Undecided {
        oracle::Undecided {
            blocked_by: undecided
                .blocked_by
                .iter()
                .map(|place| self.place(*place))
                .collect(),
            causes: self.causes(&undecided.causes),
        }
    }

    /// A value without its type: words by their place.
    fn value(&self, value: &Value) -> oracle::Value {
        match value {
            Value::Number(number) => oracle::Value::Number(*number),
            Value::Flag(flag) => oracle::Value::Flag(*flag),
            Value::Word(place) => oracle::Value::Word {
                vocabulary: String::new(),
                place: *place,
            },
            Value::Text(text) => oracle::Value::Text(text.to_string()),
            Value::List(_) | Value::Values(_) => panic!("no node comes to a list"),
        }
    }

    fn value_for_oracle(
        &self,
        field: &loftwright_dsl::program::Field,
        value: &Value,
    ) -> oracle::Value {
        use loftwright_dsl::program::Type;
        match (self.value(value), field.value_type) {
            (oracle::Value::Word { place, .. }, Type::Choice(id) | Type::Scale(id)) => {
                oracle::Value::Word {
                    vocabulary: self.program.vocabularies[id].name.clone(),
                    place,
                }
            }
            (plain, _) => plain,
        }
    }

    fn pick(&self, node: Node, chosen: &ChosenPart) -> oracle::Pick {
        let Node::Choose(id) = node else {
            panic!("only a choice picks");
        };
        let kind: PartId = self.program.chooses[id].part;
        let part = &self.parts.of(kind)[chosen.part];
        let piece = match (&part.on_hand, chosen.piece) {
            (loftwright_engine::parts::OnHand::Pieces(pieces), Some(piece)) => {
                pieces[piece].id.as_str()
            }
            _ => "",
        };
        oracle::Pick {
            part: chosen.part,
            piece: chosen.piece,
            setting: chosen.setting,
            rung: chosen.rung,
            codes: format!("{} {piece}", part.id),
        }
    }

    fn outcome(&self, node: Node, outcome: &Outcome) -> String {
        let outcome = match outcome {
            Outcome::Decided(value) => oracle::Outcome::Decided(self.value(value)),
            Outcome::Needs(causes) => oracle::Outcome::Needs(self.causes(causes)),
            Outcome::Blocked(undecided) => oracle::Outcome::Blocked(self.undecided(undecided)),
            Outcome::DoesNotApply => oracle::Outcome::DoesNotApply,
            Outcome::Contradicted { table, row } => oracle::Outcome::Contradicted(*table, *row),
            Outcome::OutsideRange(outside) => {
                oracle::Outcome::OutsideRange(self.program.models[outside.model].name.clone())
            }
            Outcome::Infeasible(_) => oracle::Outcome::Infeasible,
            Outcome::Faulted(_) => oracle::Outcome::Faulted,
            Outcome::Chosen(chosen) => oracle::Outcome::Chosen(self.pick(node, chosen)),
            Outcome::Ordered(chosen) => oracle::Outcome::Ordered(self.pick(node, chosen)),
            Outcome::LeftOpen => oracle::Outcome::LeftOpen,
            Outcome::NoneOnHand => oracle::Outcome::NoneOnHand,
        };
        outcome.to_string()
    }
}
