//! From a checked program to its outline.

use std::collections::{BTreeMap, BTreeSet};

use super::decide::decision_detail;
use super::words::{range_text, source_text};
use super::{
    CaseFact, Detail, FieldFact, InputDetail, LayerFact, NodeFact, NodeKind, Outline, PartFact,
    VocabularyFact,
};
use crate::check::dependencies;
use crate::program::{
    Expression, Field, ForEach, GivenReading, Group, GroupId, Members, Node, Origin, Program,
    Shown, Source, TextPiece, Type, VocabularyKind,
};
use crate::quantity::Date;
use crate::syntax::Folder;

/// What gathering looks at: the program, and the text it was read from.
pub(super) struct Desk<'a> {
    pub(super) program: &'a Program,
    pub(super) folder: &'a Folder,
}

/// The outline of a program; `folder` holds the files that it was checked from.
pub fn outline(program: &Program, folder: &Folder) -> Outline {
    let desk = Desk { program, folder };
    // That a choice takes from the stock after another is no reading; its line says it.
    let mut without_turns = program.clone();
    for id in program.chooses.ids() {
        without_turns.chooses[id].after.clear();
    }
    let reads = dependencies(&without_turns);
    let mut read_by: BTreeMap<Node, BTreeSet<Node>> = BTreeMap::new();
    for (node, targets) in &reads {
        for target in targets {
            read_by.entry(*target).or_default().insert(*node);
        }
    }
    let names = |nodes: Option<&BTreeSet<Node>>| {
        let nodes = nodes.into_iter().flatten();
        let mut names: Vec<String> = nodes
            .map(|node| program.name_of(*node).to_owned())
            .collect();
        names.sort();
        names
    };
    let node = |node: &Node| NodeFact {
        reads: names(reads.get(node)),
        read_by: names(read_by.get(node)),
        ..desk.node(*node)
    };
    let mut cases: Vec<CaseFact> = program.cases.iter().map(|case| desk.case(case)).collect();
    cases.sort_by(|left, right| left.title.cmp(&right.title));
    Outline {
        name: program.name.clone(),
        title: program.title.clone(),
        layers: desk.layers(),
        meaning_digest: program.digests.meaning.clone(),
        text_digest: program.digests.text.clone(),
        vocabularies: desk.vocabularies(),
        parts: desk.parts(),
        nodes: program.order.iter().map(node).collect(),
        cases,
    }
}

impl Desk<'_> {
    fn layers(&self) -> Vec<LayerFact> {
        let layers = self.program.layers.iter();
        layers
            .map(|layer| LayerFact {
                name: layer.name.clone(),
                title: layer.title.clone(),
            })
            .collect()
    }

    fn layer(&self, index: usize) -> String {
        let layer = self.program.layers.get(index);
        layer.map_or_else(String::new, |layer| layer.name.clone())
    }

    fn vocabularies(&self) -> Vec<VocabularyFact> {
        let words = self.program.vocabularies.iter();
        let mut facts: Vec<VocabularyFact> = words
            .map(|words| VocabularyFact {
                name: words.name.clone(),
                is_scale: matches!(words.kind, VocabularyKind::Scale { .. }),
                in_halves: words.kind == VocabularyKind::Scale { in_halves: true },
                words: words.words.clone(),
                layer: self.layer(words.layer),
            })
            .collect();
        facts.sort_by(|left, right| left.name.cmp(&right.name));
        facts
    }

    fn parts(&self) -> Vec<PartFact> {
        let parts = self.program.parts.iter();
        let mut facts: Vec<PartFact> = parts
            .map(|part| PartFact {
                name: part.name.clone(),
                plural: part.plural.clone(),
                layer: self.layer(part.origin.layer),
                fields: self.fields(&part.fields),
            })
            .collect();
        facts.sort_by(|left, right| left.name.cmp(&right.name));
        facts
    }

    fn fields(&self, fields: &[Field]) -> Vec<FieldFact> {
        let fact = |field: &Field| FieldFact {
            name: field.name.clone(),
            value_type: field.value_type.name(self.program),
            range: range_text(
                self.program,
                field.value_type,
                &field.shown,
                field.between.as_ref(),
            ),
            may_be_unknown: field.may_be_unknown,
            of_each_piece: field.of_each_piece,
        };
        fields.iter().map(fact).collect()
    }

    pub(super) fn written(&self, expression: &Expression) -> String {
        source_text(self.folder, expression.span)
    }

    pub(super) fn group_name(&self, group: GroupId) -> String {
        self.program.groups[group].name.clone()
    }

    fn node(&self, node: Node) -> NodeFact {
        let program = self.program;
        match node {
            Node::Input(id) => self.input(id),
            Node::Let(id) => {
                let let_ = &program.lets[id];
                let value = self.written(&let_.value);
                let mut fact = self.fact(
                    NodeKind::Let,
                    &let_.name,
                    &let_.origin,
                    Detail::Let { value },
                );
                self.measure(&mut fact, let_.value_type, &let_.shown);
                fact.for_each = let_.for_each.map(|group| self.group_name(group));
                fact
            }
            Node::Group(id) => {
                let group = &program.groups[id];
                let detail = Detail::Group {
                    made: self.made(group),
                    fields: self.fields(&group.fields),
                };
                self.fact(NodeKind::Group, &group.name, &group.origin, detail)
            }
            Node::Decision(id) => {
                let decision = &program.decisions[id];
                let detail = decision_detail(self, decision);
                let mut fact =
                    self.fact(NodeKind::Decision, &decision.name, &decision.origin, detail);
                self.measure(&mut fact, decision.value_type, &decision.shown);
                self.along(&mut fact, decision.for_each.as_ref());
                fact.only_when = decision.only_when.as_ref().map(|when| self.written(when));
                fact
            }
            Node::Choose(id) => {
                let choose = &program.chooses[id];
                let detail = Detail::Choice(self.choice(choose));
                let mut fact = self.fact(NodeKind::Choice, &choose.name, &choose.origin, detail);
                fact.value_type = program.parts[choose.part].name.clone();
                self.along(&mut fact, choose.for_each.as_ref());
                fact.only_when = choose.only_when.as_ref().map(|when| self.written(when));
                fact
            }
            Node::Limit(id) => {
                let limit = &program.limits[id];
                let detail = self.condition(&limit.text, &limit.says, limit.in_force, Vec::new());
                let mut fact = self.fact(NodeKind::Limit, &limit.name, &limit.origin, detail);
                fact.for_each = limit.for_each.map(|group| self.group_name(group));
                fact.only_when = limit.only_when.as_ref().map(|when| self.written(when));
                fact
            }
            Node::Caution(id) => {
                let caution = &program.cautions[id];
                let at = program.works_of(caution).collect();
                let detail = self.condition(&caution.text, &caution.says, caution.in_force, at);
                let mut fact = self.fact(NodeKind::Caution, &caution.name, &caution.origin, detail);
                fact.for_each = caution.for_each.map(|group| self.group_name(group));
                fact.only_when = caution.only_when.as_ref().map(|when| self.written(when));
                fact
            }
        }
    }

    fn fact(&self, kind: NodeKind, name: &str, origin: &Origin, detail: Detail) -> NodeFact {
        NodeFact {
            name: name.to_owned(),
            kind,
            value_type: String::new(),
            unit: None,
            for_each: None,
            in_order_of: None,
            layer: self.layer(origin.layer),
            replaces: origin.replaces.map(|layer| self.layer(layer)),
            about: origin.about.clone(),
            source: origin.source.as_ref().map(|source| match source {
                Source::CommonPractice => "common practice".to_owned(),
                Source::Published(publication) => publication.clone(),
            }),
            only_when: None,
            reads: Vec::new(),
            read_by: Vec::new(),
            detail,
        }
    }

    fn measure(&self, fact: &mut NodeFact, value_type: Type, shown: &Shown) {
        fact.value_type = value_type.name(self.program);
        fact.unit = shown.unit_text(value_type).map(str::to_owned);
    }

    fn along(&self, fact: &mut NodeFact, for_each: Option<&ForEach>) {
        let Some(for_each) = for_each else { return };
        fact.for_each = Some(self.group_name(for_each.group));
        fact.in_order_of = for_each.order.as_ref().map(|order| {
            let largest_first = if order.largest_first {
                ", largest first"
            } else {
                ""
            };
            format!("{}{largest_first}", order.text)
        });
    }

    fn input(&self, id: crate::program::InputId) -> NodeFact {
        let input = &self.program.inputs[id];
        let shown = |value| input.shown.text(self.program, input.value_type, value);
        let difference = input.value_type.dimension();
        let spread = |value| {
            let value_type = difference.map_or(input.value_type, Type::Quantity);
            // A spread is often finer than the step in which readings are shown.
            let exact = Shown {
                step: None,
                ..input.shown.clone()
            };
            exact.text(self.program, value_type, value)
        };
        let words = match input.value_type {
            Type::Choice(id) | Type::Scale(id) => Some(&self.program.vocabularies[id]),
            _ => None,
        };
        let between = input.between.as_ref();
        let detail = InputDetail {
            ask: input.ask.clone(),
            range: range_text(self.program, input.value_type, &input.shown, between)
                .or_else(|| words.map(|words| words.words.join(", "))),
            spread: input.spread.as_ref().map(spread),
            strike: input.strike.clone(),
            default: input.default.as_ref().map(shown),
            private: input.private.as_ref().map(|kind| {
                let kind = kind.as_deref().unwrap_or_default();
                format!("private {kind}").trim_end().to_owned()
            }),
            formerly: input.formerly.clone(),
            filled_by_the_engine: input.filled_by_the_engine,
        };
        let detail = Detail::Input(detail);
        let mut fact = self.fact(NodeKind::Input, &input.name, &input.origin, detail);
        self.measure(&mut fact, input.value_type, &input.shown);
        fact.only_when = input.only_when.as_ref().map(|when| self.written(when));
        fact
    }

    fn made(&self, group: &Group) -> String {
        match &group.members {
            Members::GivenWithThePlayer => "given with the player".to_owned(),
            Members::AsManyAs(count) => format!("as many as {}", self.written(count)),
            Members::MadeBy { maker, from } => {
                let from: Vec<&str> = from
                    .iter()
                    .map(|node| self.program.name_of(*node))
                    .collect();
                format!("made by {maker} from {}", from.join(", "))
            }
            Members::Where { of, condition } => {
                format!(
                    "is {} where {}",
                    self.group_name(*of),
                    self.written(condition)
                )
            }
        }
    }

    fn condition(
        &self,
        condition: &str,
        says: &[TextPiece],
        in_force: Option<(Date, Option<Date>)>,
        at: Vec<String>,
    ) -> Detail {
        let piece = |piece: &TextPiece| match piece {
            TextPiece::Words(words) => words.clone(),
            TextPiece::Value(value, _) => format!("{{{}}}", self.value_name(value)),
        };
        Detail::Condition {
            condition: super::words::one_line(condition),
            says: says.iter().map(piece).collect(),
            in_force: in_force
                .map(|(from, until)| (from.to_string(), until.map(|until| until.to_string()))),
            at,
        }
    }

    fn case(&self, case: &crate::program::Case) -> CaseFact {
        let given = case.given.iter().map(|(id, reading)| {
            let input = &self.program.inputs[*id];
            let shown = |value| input.shown.text(self.program, input.value_type, value);
            let value = match reading {
                GivenReading::Unknown => "unknown".to_owned(),
                GivenReading::Exact(value) => shown(value),
                GivenReading::Through(low, high) => {
                    format!("{} through {}", shown(low), shown(high))
                }
            };
            format!("{} = {value}", input.name)
        });
        let members = case
            .given_members
            .iter()
            .map(|(group, number, field, value)| {
                let group = &self.program.groups[*group];
                let (name, text) =
                    group
                        .fields
                        .get(*field)
                        .map_or_else(Default::default, |field| {
                            let text = field.shown.text(self.program, field.value_type, value);
                            (field.name.as_str(), text)
                        });
                format!("{}.{number}.{name} = {text}", group.name)
            });
        let lines = case.expect.iter();
        CaseFact {
            title: case.title.clone(),
            layer: self.layer(case.layer),
            given: given.chain(members).collect(),
            expect: lines
                .map(|line| super::words::one_line(&line.text))
                .collect(),
        }
    }
}
