//! A ruleset as it is described to callers.

use loftwright_dsl::program::{
    Input, InputId, Node, Origin, Program, Source, Type, Value as DomainValue,
};
use loftwright_engine::explain::shown_value;
use loftwright_proto::v1 as pb;

use super::identity;
use super::value::value;
use crate::describe::{Dependencies, readings_schema, words};

/// The message of a ruleset: what it asks and decides.
pub fn ruleset_description(program: &Program, revision: &str) -> pb::RulesetDescription {
    let dependencies = Dependencies::of(program);
    let mut inputs: Vec<pb::InputDescription> = program
        .inputs
        .entries()
        .filter(|(_, input)| !input.filled_by_the_engine)
        .map(|(id, input)| input_description(program, &dependencies, id, input))
        .collect();
    inputs.sort_by(|left, right| left.name.cmp(&right.name));
    pb::RulesetDescription {
        identity: Some(identity(program, revision)),
        inputs,
        decisions: program
            .order
            .iter()
            .filter_map(|node| decision_description(program, &dependencies, *node))
            .collect(),
        readings_json_schema: readings_schema(program).to_string(),
    }
}

fn input_description(
    program: &Program,
    dependencies: &Dependencies,
    id: InputId,
    input: &Input,
) -> pb::InputDescription {
    let shown =
        |one: &DomainValue| value(&shown_value(program, input.value_type, &input.shown, one));
    pb::InputDescription {
        name: input.name.clone(),
        question: input.ask.clone(),
        r#type: input_type(input.value_type).into(),
        measure: measure(program, input.value_type),
        unit: unit(program, input),
        step: input.shown.step.map(|step| step.to_text()),
        lowest: input.between.as_ref().map(|(lowest, _)| shown(lowest)),
        highest: input.between.as_ref().map(|(_, highest)| shown(highest)),
        default_value: input.default.as_ref().map(shown),
        spread: input
            .spread
            .as_ref()
            .map(|spread| spread_value(program, input, spread)),
        strike: input.strike.clone(),
        is_private: input.private.is_some(),
        private_kind: input.private.clone().flatten(),
        words: match input.value_type {
            Type::Choice(id) | Type::Scale(id) => words(&program.vocabularies[id]),
            _ => Vec::new(),
        },
        is_conditional: input.only_when.is_some(),
        former_names: input.formerly.clone(),
        needed_by: program
            .order
            .iter()
            .filter(|node| dependencies.inputs_of(**node).any(|input| input == id))
            .filter_map(|node| Some(decision_name(program, *node)?.to_owned()))
            .collect(),
    }
}

fn decision_description(
    program: &Program,
    dependencies: &Dependencies,
    node: Node,
) -> Option<pb::DecisionDescription> {
    let (origin, group): (&Origin, _) = match node {
        Node::Decision(id) => {
            let decision = &program.decisions[id];
            (&decision.origin, decision.for_each.as_ref())
        }
        Node::Choose(id) => {
            let choose = &program.chooses[id];
            (&choose.origin, choose.for_each.as_ref())
        }
        _ => return None,
    };
    let mut inputs: Vec<String> = dependencies
        .inputs_of(node)
        .filter(|id| !program.inputs[*id].filled_by_the_engine)
        .map(|id| program.inputs[id].name.clone())
        .collect();
    inputs.sort();
    Some(pb::DecisionDescription {
        name: decision_name(program, node)?.to_owned(),
        about: origin.about.clone(),
        source: origin.source.as_ref().map(|source| match source {
            Source::CommonPractice => "common practice".to_owned(),
            Source::Published(publication) => publication.clone(),
        }),
        group: group.map(|for_each| program.groups[for_each.group].name.clone()),
        inputs,
    })
}

fn decision_name(program: &Program, node: Node) -> Option<&str> {
    match node {
        Node::Decision(id) => Some(&program.decisions[id].name),
        Node::Choose(id) => Some(&program.chooses[id].name),
        _ => None,
    }
}

fn input_type(value_type: Type) -> pb::InputType {
    match value_type {
        Type::Quantity(_) => pb::InputType::Quantity,
        Type::Temperature => pb::InputType::Temperature,
        Type::Swingweight => pb::InputType::Swingweight,
        Type::Count => pb::InputType::Count,
        Type::Date => pb::InputType::Date,
        Type::Flag => pb::InputType::Flag,
        Type::Choice(_) => pb::InputType::Choice,
        Type::Scale(_) => pb::InputType::Scale,
        // The checker lets no input be a text or a list.
        Type::Text | Type::List(_) | Type::ListOf(_) => pb::InputType::Unspecified,
    }
}

fn measure(program: &Program, value_type: Type) -> String {
    match value_type {
        Type::Quantity(dimension) => dimension.to_string(),
        Type::Temperature => "temperature".to_owned(),
        Type::Swingweight => "swingweight".to_owned(),
        Type::Choice(id) | Type::Scale(id) => program.vocabularies[id].name.clone(),
        _ => String::new(),
    }
}

/// The unit in which the input is shown: what follows the number in the text of its lowest value.
fn unit(program: &Program, input: &Input) -> String {
    if let Some(unit) = &input.shown.unit {
        return unit.clone();
    }
    let is_measured = matches!(input.value_type, Type::Quantity(_) | Type::Temperature);
    let Some((lowest, _)) = input.between.as_ref().filter(|_| is_measured) else {
        return String::new();
    };
    let text = input.shown.text(program, input.value_type, lowest);
    text.chars()
        .skip_while(|character| !character.is_alphabetic())
        .collect()
}

/// A spread is a difference: of a point on a scale, a number of its units.
fn spread_value(program: &Program, input: &Input, spread: &DomainValue) -> pb::Value {
    let value_type = input
        .value_type
        .dimension()
        .map_or(input.value_type, Type::Quantity);
    value(&shown_value(program, value_type, &input.shown, spread))
}
