//! A JSON Schema of the readings, as the interface takes them in JSON.
//!
//! Draft 2020-12. What a schema cannot say of texts (the range of `34 1/2 in`) stands beside it
//! under `x-` keywords, which every validator leaves alone.

use loftwright_dsl::program::{Input, Program, Type, Value, Vocabulary};
use loftwright_dsl::quantity::{Dimension, UNITS};
use serde_json::{Map, Value as Json, json};

/// The schema of the `readings` of a request.
pub fn readings_schema(program: &Program) -> Json {
    let properties: Map<String, Json> = program
        .inputs
        .iter()
        .filter(|input| !input.filled_by_the_engine)
        .map(|input| (input.name.clone(), reading(program, input)))
        .collect();
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": format!("Readings of the ruleset {}", program.name),
        "type": "object",
        "properties": properties,
        "additionalProperties": false,
    })
}

fn reading(program: &Program, input: &Input) -> Json {
    let mut value = value_schema(program, input.value_type);
    let show = |value: &Value| input.shown.text(program, input.value_type, value);
    if let Json::Object(fields) = &mut value {
        if let Some((lowest, highest)) = &input.between {
            fields.insert("x-lowest".to_owned(), show(lowest).into());
            fields.insert("x-highest".to_owned(), show(highest).into());
        }
        if let Some(default) = &input.default {
            fields.insert("default".to_owned(), show(default).into());
        }
    }
    let mut properties = Map::from_iter([("value".to_owned(), value)]);
    if input.value_type.is_numeric() {
        properties.insert("spread".to_owned(), json!({ "type": "string" }));
        properties.insert(
            "shots".to_owned(),
            json!({ "type": "integer", "minimum": 1 }),
        );
    }
    let mut schema = json!({
        "type": "object",
        "properties": properties,
        "required": ["value"],
        "additionalProperties": false,
    });
    if let (Json::Object(fields), Some(question)) = (&mut schema, &input.ask) {
        fields.insert("title".to_owned(), question.clone().into());
    }
    schema
}

fn value_schema(program: &Program, value_type: Type) -> Json {
    match value_type {
        Type::Flag => json!({ "type": "string", "enum": ["yes", "no"] }),
        Type::Choice(id) | Type::Scale(id) => {
            json!({ "type": "string", "enum": words(&program.vocabularies[id]) })
        }
        Type::Count => json!({ "type": "string", "pattern": "^[0-9]+$" }),
        Type::Date => json!({ "type": "string", "format": "date" }),
        Type::Swingweight => json!({ "type": "string", "pattern": "^[A-G][0-9](\\.[0-9]+)?$" }),
        Type::Quantity(dimension) => quantity(dimension),
        Type::Temperature => quantity(Dimension::TEMPERATURE),
        Type::Text | Type::List(_) | Type::ListOf(_) => json!({ "type": "string" }),
    }
}

fn quantity(dimension: Dimension) -> Json {
    let units: Vec<&str> = UNITS
        .iter()
        .filter(|unit| unit.dimension == dimension)
        .map(|unit| unit.symbol)
        .collect();
    if dimension == Dimension::NUMBER || units.is_empty() {
        return json!({ "type": "string" });
    }
    let endings = units.join("|");
    json!({
        "type": "string",
        "pattern": format!("^-?[0-9].* ?({endings})$"),
        "x-units": units,
    })
}

/// The words of a vocabulary, half steps among them.
pub fn words(vocabulary: &Vocabulary) -> Vec<String> {
    vocabulary
        .values()
        .into_iter()
        .map(|value| vocabulary.text_of(value))
        .collect()
}
