//! Types and values of a checked program.

use std::sync::Arc;

use super::{PartId, Program, VocabularyId};
use crate::quantity::{Dimension, Rational};

/// The type of an expression.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Type {
    /// A size with a dimension; a plain number has none.
    Quantity(Dimension),
    /// A temperature: a point on its scale.
    Temperature,
    /// A swingweight: a point on its scale.
    Swingweight,
    /// A whole number of things.
    Count,
    /// A calendar date.
    Date,
    /// Yes or no.
    Flag,
    /// A value of a closed list.
    Choice(VocabularyId),
    /// A value of an ordered list.
    Scale(VocabularyId),
    /// A text of a part.
    Text,
    /// A list of records of a part.
    List(PartId),
    /// A list of words, quantities, texts and the like.
    ListOf(Element),
}

/// The type of what is in a list of plain values.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Element {
    /// Sizes with a dimension.
    Quantity(Dimension),
    /// Temperatures.
    Temperature,
    /// Swingweights.
    Swingweight,
    /// Whole numbers.
    Count,
    /// Dates.
    Date,
    /// Words of a closed list.
    Choice(VocabularyId),
    /// Words of an ordered list.
    Scale(VocabularyId),
    /// Texts.
    Text,
}

impl Element {
    /// The type of a list's elements as that of a list; none for flags and for lists.
    pub fn of(value_type: Type) -> Option<Element> {
        Some(match value_type {
            Type::Quantity(dimension) => Element::Quantity(dimension),
            Type::Temperature => Element::Temperature,
            Type::Swingweight => Element::Swingweight,
            Type::Count => Element::Count,
            Type::Date => Element::Date,
            Type::Choice(id) => Element::Choice(id),
            Type::Scale(id) => Element::Scale(id),
            Type::Text => Element::Text,
            Type::Flag | Type::List(_) | Type::ListOf(_) => return None,
        })
    }

    /// The type of one element.
    pub fn value_type(self) -> Type {
        match self {
            Element::Quantity(dimension) => Type::Quantity(dimension),
            Element::Temperature => Type::Temperature,
            Element::Swingweight => Type::Swingweight,
            Element::Count => Type::Count,
            Element::Date => Type::Date,
            Element::Choice(id) => Type::Choice(id),
            Element::Scale(id) => Type::Scale(id),
            Element::Text => Type::Text,
        }
    }
}

/// A value. Its type is known from where it stands.
///
/// The tag takes a whole word, and nothing lies beside it: values are moved about all day, and what
/// is written in scraps and read as a whole makes a processor wait.
#[repr(u64)]
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Value {
    /// A quantity in base units, a temperature in kelvin, a swingweight in points above A0, a
    /// count, or a date in days since 1970-01-01.
    Number(Rational),
    /// Yes or no.
    Flag(bool),
    /// A value of a choice by its place, or of a scale by its half steps above the lowest: the n-th
    /// whole step of a scale, counted from 0, is `Word(2 n)`.
    Word(i32),
    /// A text.
    Text(Arc<str>),
    /// A list of records.
    List(Arc<[Record]>),
    /// A list of plain values.
    Values(Arc<[Value]>),
}

/// The fields of a record in the order of its part; `None` where one is not known.
pub type Record = Vec<Option<Value>>;

impl Value {
    /// The number, where it is one.
    pub fn number(&self) -> Option<Rational> {
        match self {
            Value::Number(number) => Some(*number),
            _ => None,
        }
    }

    /// The flag, where it is one.
    pub fn flag(&self) -> Option<bool> {
        match self {
            Value::Flag(flag) => Some(*flag),
            _ => None,
        }
    }

    /// The place of a word, where it is one.
    pub fn word(&self) -> Option<i32> {
        match self {
            Value::Word(word) => Some(*word),
            _ => None,
        }
    }
}

impl Type {
    /// The dimension of the size, or of a difference of two points.
    pub fn dimension(self) -> Option<Dimension> {
        match self {
            Type::Quantity(dimension) => Some(dimension),
            Type::Temperature => Some(Dimension::TEMPERATURE),
            Type::Swingweight => Some(Dimension::SWINGWEIGHT),
            Type::Count => Some(Dimension::NUMBER),
            Type::Date => Some(Dimension::TIME),
            _ => None,
        }
    }

    /// Its name for people.
    pub fn name(self, program: &Program) -> String {
        match self {
            Type::Quantity(dimension) => dimension.to_string(),
            Type::Temperature => "temperature".to_owned(),
            Type::Swingweight => "swingweight".to_owned(),
            Type::Count => "count".to_owned(),
            Type::Date => "date".to_owned(),
            Type::Flag => "flag".to_owned(),
            Type::Choice(id) | Type::Scale(id) => program.vocabularies[id].name.clone(),
            Type::Text => "text".to_owned(),
            Type::List(part) => format!("list of {}", program.parts[part].name),
            Type::ListOf(element) => format!("list of {}", element.value_type().name(program)),
        }
    }

    /// Whether it is a list of any kind.
    pub fn is_list(self) -> bool {
        matches!(self, Type::List(_) | Type::ListOf(_))
    }

    /// Whether its values are ordered along a line of numbers.
    pub fn is_numeric(self) -> bool {
        self.dimension().is_some()
    }

    /// Whether its values are ordered.
    pub fn is_ordered(self) -> bool {
        self.is_numeric() || matches!(self, Type::Scale(_))
    }
}
