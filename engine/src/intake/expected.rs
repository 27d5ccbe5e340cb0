//! What is expected where a text stands, in words: `an angle from -20 deg through 10 deg`.

use loftwright_dsl::program::{Element, Field, Input, Program, Shown, Type, Value};
use loftwright_dsl::quantity::{Dimension, ParsedLiteral, Rational, parse_literal};

use super::names::listed;
use super::quote::{quoted, with_article};
use super::units::written_in_base_units;

/// What is expected where a text stands.
#[derive(Clone, Copy)]
pub(super) struct Expected<'a> {
    /// The program, for its vocabularies.
    pub(super) program: &'a Program,
    /// The type.
    pub(super) value_type: Type,
    /// The unit in which people see it; `None` for the usual one.
    pub(super) unit: Option<&'a str>,
    /// The lowest and highest value; both belong to it.
    pub(super) between: Option<&'a (Value, Value)>,
}

impl<'a> Expected<'a> {
    /// Any value of a type.
    pub(super) fn of_type(program: &'a Program, value_type: Type) -> Self {
        Expected {
            program,
            value_type,
            unit: None,
            between: None,
        }
    }

    /// A reading of an input.
    pub(super) fn of_input(program: &'a Program, input: &'a Input) -> Self {
        Expected {
            program,
            value_type: input.value_type,
            unit: input.shown.unit.as_deref(),
            between: input.between.as_ref(),
        }
    }

    /// A field of a part or club.
    pub(super) fn of_field(program: &'a Program, field: &'a Field) -> Self {
        Expected {
            program,
            value_type: field.value_type,
            unit: field.shown.unit.as_deref(),
            between: field.between.as_ref(),
        }
    }

    /// One element of a list of which this is expected.
    pub(super) fn of_element(&self, element: Element) -> Self {
        Expected {
            value_type: element.value_type(),
            ..*self
        }
    }

    /// Whether the value lies within the range.
    pub(super) fn allows(&self, value: &Value) -> bool {
        match (value, self.between) {
            (Value::Number(number), Some((Value::Number(low), Value::Number(high)))) => {
                (low..=high).contains(&number)
            }
            (Value::Word(word), Some((Value::Word(low), Value::Word(high)))) => {
                (low..=high).contains(&word)
            }
            _ => true,
        }
    }

    /// The value in the expected unit; a bound is never rounded to the step of the declaration.
    pub(super) fn text_of(&self, value: &Value) -> String {
        // Without a usual unit the base units are written: a bare number would say nothing.
        let base_units = || match self.value_type {
            Type::Quantity(dimension) if usual_literal(dimension).is_none() => {
                written_in_base_units(dimension)
            }
            _ => None,
        };
        let shown = Shown {
            unit: self.unit.map(str::to_owned).or_else(base_units),
            step: None,
        };
        shown.text(self.program, self.value_type, value)
    }

    /// The type's name with its article: `an angle`.
    fn type_text(&self) -> String {
        match self.value_type {
            Type::Quantity(dimension) => with_article(&dimension.to_string()),
            Type::Temperature => "a temperature".to_owned(),
            Type::Swingweight => "a swingweight".to_owned(),
            Type::Count => "a whole number".to_owned(),
            Type::Date => "a date".to_owned(),
            Type::Flag => "`yes` or `no`".to_owned(),
            Type::Text => "a text".to_owned(),
            Type::List(part) => {
                let name = &self.program.parts[part].name;
                format!("a list of records of {}", quoted(name))
            }
            Type::ListOf(element) => {
                let each = self.of_element(element).type_text();
                format!("a list, each {each}, with `;` between them")
            }
            Type::Choice(id) | Type::Scale(id) => {
                let vocabulary = &self.program.vocabularies[id];
                format!(
                    "one of {}",
                    listed(vocabulary.words.iter().map(String::as_str))
                )
            }
        }
    }

    /// What is expected: `an angle from -20 deg through 10 deg`.
    pub(super) fn text(&self) -> String {
        let type_text = self.type_text();
        match self.between {
            Some((low, high)) => {
                let (low, high) = (self.text_of(low), self.text_of(high));
                format!("{type_text} from {low} through {high}")
            }
            None => type_text,
        }
    }

    /// What is needed, with an example of the right form where that helps.
    pub(super) fn needed(&self) -> String {
        match self.example() {
            Some(example) => format!("{} is needed, such as {}", self.text(), quoted(&example)),
            None => format!("{} is needed", self.text()),
        }
    }

    /// The unit to write: the one in which people see it, or the usual one.
    pub(super) fn unit_to_write(&self) -> Option<String> {
        if let Some(unit) = self.unit.filter(|unit| !unit.is_empty()) {
            return Some(unit.to_owned());
        }
        match self.value_type {
            Type::Temperature => Some("degC".to_owned()),
            Type::Quantity(Dimension::NUMBER) => None,
            Type::Quantity(dimension) => match usual_literal(dimension) {
                Some(literal) => literal.rsplit(' ').next().map(str::to_owned),
                None => written_in_base_units(dimension),
            },
            _ => None,
        }
    }

    /// A literal of the right form, within the range. `None` where the sentence lists the words
    /// anyway, or where nothing short can be written.
    pub(super) fn example(&self) -> Option<String> {
        let literal = match self.value_type {
            Type::Quantity(dimension) => {
                usual_literal(dimension).map_or_else(|| self.one_unit(), |text| Some(text.into()))
            }
            Type::Temperature => Some("20 degC".to_owned()),
            Type::Swingweight => Some("D2".to_owned()),
            Type::Count => Some("3".to_owned()),
            Type::Date => Some("2026-05-01".to_owned()),
            _ => None,
        }?;
        let usual = self.value_of_literal(&literal)?;
        let value = match self.between {
            Some((low, _)) if !self.allows(&usual) => low,
            _ => &usual,
        };
        let text = self.text_of(value);
        // A text that stands for a rounded value, or for one beyond the scale's letters, is none.
        let reads_back = self.value_of_literal(&text).as_ref() == Some(value);
        reads_back.then_some(text)
    }

    fn one_unit(&self) -> Option<String> {
        self.unit_to_write().map(|unit| format!("1 {unit}"))
    }

    /// The value of a literal that has the expected type, whatever its range.
    pub(super) fn value_of_literal(&self, text: &str) -> Option<Value> {
        let literal = parse_literal(text).ok()?;
        number_of(&literal, self.value_type).map(Value::Number)
    }
}

/// The number of a literal in the base units of a type, if it is of that type.
pub(super) fn number_of(literal: &ParsedLiteral, value_type: Type) -> Option<Rational> {
    match (literal, value_type) {
        (
            ParsedLiteral::Quantity {
                value, dimension, ..
            },
            Type::Quantity(needed),
        ) if *dimension == needed => Some(*value),
        (ParsedLiteral::Temperature { difference, .. }, Type::Quantity(Dimension::TEMPERATURE)) => {
            Some(*difference)
        }
        (ParsedLiteral::Temperature { value, .. }, Type::Temperature) => Some(*value),
        (ParsedLiteral::Swingweight(points), Type::Swingweight) => Some(*points),
        (ParsedLiteral::Date(date), Type::Date) => Some(Rational::whole(date.days())),
        (
            ParsedLiteral::Quantity {
                value,
                dimension: Dimension::NUMBER,
                unit,
            },
            Type::Count,
        ) if unit.is_empty() && value.to_whole().is_some() => Some(*value),
        _ => None,
    }
}

/// A literal of the dimension as a fitter would write it.
fn usual_literal(dimension: Dimension) -> Option<&'static str> {
    Some(match dimension {
        Dimension::NUMBER => "1.5",
        Dimension::LENGTH => "34 1/2 in",
        Dimension::MASS => "200 g",
        Dimension::ANGLE => "-6.5 deg",
        Dimension::SPEED => "92 mph",
        Dimension::SPIN => "2600 rpm",
        Dimension::TIME => "10 days",
        Dimension::FREQUENCY => "256 cpm",
        Dimension::VOLUME => "460 cm3",
        Dimension::DENSITY => "1.2 kg/m3",
        Dimension::PRESSURE => "1013 hPa",
        Dimension::MOMENT_OF_INERTIA => "2800 kg*cm2",
        Dimension::TEMPERATURE => "5 degC",
        Dimension::SWINGWEIGHT => "1 point",
        Dimension::MONEY => "120 money",
        _ => return None,
    })
}
