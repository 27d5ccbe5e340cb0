//! The player and the parts as the oracle reads them: text by field name.

use std::collections::BTreeMap;

use loftwright_dsl::quantity::{ParsedLiteral, Rational, parse_literal};
use loftwright_dsl::syntax::tree::TypeReference;

use super::{Rules, State, Value};

/// The fields of a club or part by name, as states; a field that is not there is not known.
pub type Fields = BTreeMap<String, State>;

/// A player: texts, as a file or a request brings them.
#[derive(Clone, Debug, Default)]
pub struct Person {
    /// Readings by input.
    pub readings: BTreeMap<String, String>,
    /// Clubs by group: fields by name.
    pub given: BTreeMap<String, Vec<BTreeMap<String, String>>>,
}

/// Catalogue and stock: the parts of each kind, sorted by id.
#[derive(Clone, Debug, Default)]
pub struct Parts {
    /// Parts by kind.
    pub kinds: BTreeMap<String, Vec<Part>>,
}

/// A part of the catalogue.
#[derive(Clone, Debug, Default)]
pub struct Part {
    /// Its code.
    pub id: String,
    /// The fields that are known.
    pub fields: BTreeMap<String, Value>,
    /// Fields that are lists of records.
    pub lists: BTreeMap<String, Vec<BTreeMap<String, Value>>>,
    /// How many are on hand, where they are only counted.
    pub on_hand: i64,
    /// The single pieces, sorted by id.
    pub pieces: Vec<Piece>,
}

/// A single piece.
#[derive(Clone, Debug, Default)]
pub struct Piece {
    /// Its code.
    pub id: String,
    /// What is measured on it.
    pub fields: BTreeMap<String, Value>,
}

impl Rules {
    /// The fields of a part's record that its texts tell; a field of another name is left out.
    pub fn read_part(
        &self,
        kind: &str,
        texts: &BTreeMap<String, String>,
    ) -> BTreeMap<String, Value> {
        let mut values = BTreeMap::new();
        for (name, text) in texts {
            if let Some(field) = self.part_field(kind, name) {
                values.insert(name.clone(), self.read(text, &field.type_reference));
            }
        }
        values
    }

    /// A text as a value of a type.
    pub fn read(&self, text: &str, type_reference: &TypeReference) -> Value {
        if type_reference.is_list {
            let element = TypeReference {
                is_list: false,
                ..type_reference.clone()
            };
            let elements = text.split(';').map(str::trim);
            return Value::List(elements.map(|text| self.read(text, &element)).collect());
        }
        let type_name = type_reference.name.text.as_str();
        if let Some(vocabulary) = self.vocabularies.get(type_name) {
            let (word, half) = match text.split_once(" plus ") {
                Some((word, "1/2")) => (word, 1),
                Some((_, other)) => panic!("`{text}`: `{other}` is not a half step"),
                None => (text, 0),
            };
            let place = vocabulary
                .place(word)
                .unwrap_or_else(|| panic!("`{text}` as {type_name}"));
            return Value::Word {
                vocabulary: type_name.to_owned(),
                place: place + half,
            };
        }
        match type_name {
            "flag" => Value::Flag(text == "yes"),
            "text" => Value::Text(text.to_owned()),
            _ => literal_value(&parse_literal(text).unwrap()),
        }
    }
}

/// A literal as a value. Of a temperature the point is taken.
pub(super) fn literal_value(literal: &ParsedLiteral) -> Value {
    match literal {
        ParsedLiteral::Quantity { value, .. } | ParsedLiteral::Temperature { value, .. } => {
            Value::Number(*value)
        }
        ParsedLiteral::Swingweight(points) => Value::Number(*points),
        ParsedLiteral::Date(date) => Value::Date(date.days()),
    }
}

/// Half a step, as a number.
pub(super) fn halves(half_steps: i64) -> Rational {
    Rational::fraction(i128::from(half_steps), 2).unwrap()
}
