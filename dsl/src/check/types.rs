//! Types: from their names, and how two of them fit.

use super::checker::{Checker, Symbol};
use crate::diagnostic::{Code, Diagnostic};
use crate::program::{Type, VocabularyKind};
use crate::quantity::{Dimension, UNITS};
use crate::syntax::Span;
use crate::syntax::tree::TypeReference;

impl Checker<'_> {
    /// The type that a reference names.
    pub(super) fn resolve_type(&mut self, reference: &TypeReference) -> Option<Type> {
        let name = reference.name.text.as_str();
        if reference.is_list {
            return match self.symbol(&reference.name) {
                Some(Symbol::Part(part)) => Some(Type::List(part)),
                _ => {
                    let parts: Vec<String> = self
                        .program
                        .parts
                        .iter()
                        .map(|part| part.name.clone())
                        .collect();
                    self.unknown_name(&reference.name, "a part", parts)
                }
            };
        }
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
