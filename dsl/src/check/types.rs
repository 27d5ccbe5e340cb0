//! Types: from their names, and how two of them fit.

use super::checker::{Checker, Symbol};
use crate::diagnostic::{Code, Diagnostic};
use crate::program::{Element, Type, VocabularyKind};
use crate::quantity::{Dimension, UNITS};
use crate::syntax::Span;
use crate::syntax::tree::TypeReference;

impl Checker<'_> {
    /// The type that a reference names where a value stands that is no list: a list is a field of
    /// a part.
    pub(super) fn resolve_type(&mut self, reference: &TypeReference) -> Option<Type> {
        let found = self.resolve_field_type(reference)?;
        if found.is_list() {
            let name = self.type_name(found);
            let message = format!("a {name} stands here, and only a part has lists");
            let finding = Diagnostic::error(Code::DoesNotGoWith, reference.span, message)
                .with_help("write it as a field of a part: `has NAME : list of …`");
            return self.report(finding);
        }
        Some(found)
    }

    /// The type of a reading, decision or model: no list, and no text, of which nothing is decided.
    pub(super) fn resolve_plain_type(&mut self, reference: &TypeReference) -> Option<Type> {
        let found = self.resolve_type(reference)?;
        if found == Type::Text {
            let message = "a text stands here, and only a part has texts";
            let finding = Diagnostic::error(Code::DoesNotGoWith, reference.span, message)
                .with_help(
                    "words to choose from are a `choice`, or a `scale` where they have an order",
                );
            return self.report(finding);
        }
        Some(found)
    }

    /// The type that a reference names in a field of a part.
    pub(super) fn resolve_field_type(&mut self, reference: &TypeReference) -> Option<Type> {
        if reference.is_list {
            return self.resolve_list(reference);
        }
        let name = reference.name.text.as_str();
        if let Some(plain) = plain_type(name) {
            return Some(plain);
        }
        match self.symbol(&reference.name) {
            Some(Symbol::Vocabulary(id)) => Some(match self.program.vocabularies[id].kind {
                VocabularyKind::Choice => Type::Choice(id),
                VocabularyKind::Scale { .. } => Type::Scale(id),
            }),
            Some(other) => {
                let message = format!("`{name}` is {}, not a type", other.word());
                self.error(Code::WrongKind, reference.span, message)
            }
            None => {
                let mut known: Vec<String> = Dimension::NAMED
                    .iter()
                    .map(|(name, _)| (*name).to_owned())
                    .collect();
                known.extend(PLAIN.iter().map(|(name, _)| (*name).to_owned()));
                known.extend(
                    self.program
                        .vocabularies
                        .iter()
                        .map(|words| words.name.clone()),
                );
                self.unknown_name(&reference.name, "a type", known)
            }
        }
    }

    fn resolve_list(&mut self, reference: &TypeReference) -> Option<Type> {
        let name = reference.name.text.as_str();
        if let Some(Symbol::Part(part)) = self.symbol(&reference.name) {
            return Some(Type::List(part));
        }
        let of_what = TypeReference {
            is_list: false,
            ..reference.clone()
        };
        let element = self.resolve_field_type(&of_what)?;
        match Element::of(element) {
            Some(element) => Some(Type::ListOf(element)),
            None => {
                let message = format!("a list of {name}: yes and no need no list");
                self.error(Code::TypeMismatch, reference.span, message)
            }
        }
    }

    /// A type's name for people.
    pub(super) fn type_name(&self, value_type: Type) -> String {
        value_type.name(&self.program)
    }

    /// Whether a value of type `found` may stand where `expected` is wanted; a count is a number.
    pub(super) fn fits(found: Type, expected: Type) -> bool {
        found == expected || (found == Type::Count && expected == Type::Quantity(Dimension::NUMBER))
    }

    /// Reports a type that does not fit.
    pub(super) fn mismatch<T>(&mut self, span: Span, found: Type, expected: Type) -> Option<T> {
        let help = self.mismatch_help(span, found, expected);
        let (found, expected) = (self.type_name(found), self.type_name(expected));
        let text = self.text(span);
        let mut finding = Diagnostic::error(
            Code::TypeMismatch,
            span,
            format!("`{text}` is of type {found}, and {expected} is needed here"),
        )
        .with_operand(text, found)
        .with_operand("needed here", expected);
        finding.help.extend(help);
        self.report(finding)
    }

    /// The right form, where it is plain from the types what was forgotten.
    fn mismatch_help(&self, span: Span, found: Type, expected: Type) -> Option<String> {
        let number = Type::Quantity(Dimension::NUMBER);
        match expected {
            Type::Count if found == number => {
                Some("a number becomes a count by rounding: `…, rounded to 1`".to_owned())
            }
            Type::Quantity(dimension) if found == number || found == Type::Count => {
                let text = self.text(span);
                let is_literal = text.starts_with(|first: char| first.is_ascii_digit());
                let unit = UNITS.iter().find(|unit| unit.dimension == dimension)?;
                is_literal.then(|| format!("its unit is missing: write `{text} {}`", unit.symbol))
            }
            Type::Swingweight if found == Type::Quantity(Dimension::SWINGWEIGHT) => {
                Some("a swingweight is a point on the scale, such as `D2`".to_owned())
            }
            _ => None,
        }
    }
}

/// The types that are neither dimensions nor declared.
pub(crate) const PLAIN: &[(&str, Type)] = &[
    ("temperature", Type::Temperature),
    ("swingweight", Type::Swingweight),
    ("count", Type::Count),
    ("date", Type::Date),
    ("flag", Type::Flag),
    ("text", Type::Text),
];

fn plain_type(name: &str) -> Option<Type> {
    if name == "percent" {
        return Some(Type::Quantity(Dimension::NUMBER));
    }
    PLAIN
        .iter()
        .find(|(known, _)| *known == name)
        .map(|(_, value_type)| *value_type)
        .or_else(|| Dimension::named(name).map(Type::Quantity))
}
