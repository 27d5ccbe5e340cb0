//! Values as the answer shows them: a text for people, and the exact number beside it.

use loftwright_dsl::program::{Program, Shown, Type, Value};
use loftwright_dsl::quantity::Date;

use crate::recommendation::{ShownValue, ValueKind};

/// The value of a type, shown as its declaration is.
pub fn shown_value(
    program: &Program,
    value_type: Type,
    shown: &Shown,
    value: &Value,
) -> ShownValue {
    ShownValue {
        text: shown.text(program, value_type, value),
        kind: kind_of(value_type),
        exact: exact_text(program, value_type, value),
        measure: measure_of(program, value_type),
    }
}

/// A text without a number: a part's code.
pub(crate) fn text_value(text: String, exact: String) -> ShownValue {
    ShownValue {
        text,
        kind: ValueKind::Text,
        exact,
        measure: String::new(),
    }
}

fn kind_of(value_type: Type) -> ValueKind {
    match value_type {
        Type::Quantity(_) => ValueKind::Quantity,
        Type::Temperature => ValueKind::Temperature,
        Type::Swingweight => ValueKind::Swingweight,
        Type::Count => ValueKind::Count,
        Type::Date => ValueKind::Date,
        Type::Flag => ValueKind::Flag,
        Type::Choice(_) | Type::Scale(_) => ValueKind::Word,
        Type::Text | Type::List(_) | Type::ListOf(_) => ValueKind::Text,
    }
}

fn measure_of(program: &Program, value_type: Type) -> String {
    match value_type {
        Type::Quantity(dimension) => dimension.to_string(),
        Type::Temperature => "temperature".to_owned(),
        Type::Swingweight => "swingweight".to_owned(),
        Type::Count => "number".to_owned(),
        Type::Choice(id) | Type::Scale(id) => program.vocabularies[id].name.clone(),
        Type::Date | Type::Flag | Type::Text | Type::List(_) | Type::ListOf(_) => String::new(),
    }
}

fn exact_text(program: &Program, value_type: Type, value: &Value) -> String {
    match (value, value_type) {
        (Value::Number(days), Type::Date) => days
            .to_whole()
            .map_or_else(|| days.to_text(), |days| Date::from_days(days).to_string()),
        (Value::Number(number), _) => number.to_text(),
        (Value::Flag(flag), _) => flag.to_string(),
        (Value::Word(word), Type::Choice(id) | Type::Scale(id)) => {
            program.vocabularies[id].text_of(*word)
        }
        (Value::Word(word), _) => word.to_string(),
        (Value::Text(text), _) => text.to_string(),
        (Value::List(records), _) => records.len().to_string(),
        (Value::Values(values), Type::ListOf(element)) => {
            let exact = |value| exact_text(program, element.value_type(), value);
            values.iter().map(exact).collect::<Vec<_>>().join("; ")
        }
        (Value::Values(values), _) => values.len().to_string(),
    }
}

/// A value of any state for a line of reasons: its text, `does not apply`, or `not known`.
pub(crate) fn state_text(
    program: &Program,
    value_type: Type,
    shown: &Shown,
    state: &crate::outcome::State,
) -> String {
    match state {
        crate::outcome::State::Known(value) => shown.text(program, value_type, value),
        crate::outcome::State::None => "does not apply".to_owned(),
        crate::outcome::State::Undecided(_) => "not known".to_owned(),
    }
}
