//! Literals and words as values of the type that their place expects.

use super::checker::{Checker, Progress, Symbol};
use crate::diagnostic::{Code, Diagnostic};
use crate::program::{Shown, Type, Value, VocabularyKind};
use crate::quantity::{Dimension, ParsedLiteral, Rational};
use crate::syntax::Span;
use crate::syntax::tree::{Literal, LiteralKind, Name};

impl Checker<'_> {
    /// The value of a literal where `expected` is needed; a constant let counts as one.
    pub(super) fn literal(&mut self, literal: &Literal, expected: Type) -> Option<Value> {
        match &literal.kind {
            LiteralKind::Exact(parsed) => {
                let (found, value) = self.exact(parsed, Some(expected));
                if Self::fits(found, expected) {
                    return self.whole_count(literal.span, expected, value);
                }
                self.mismatch(literal.span, found, expected)
            }
            LiteralKind::Flag(flag) if expected == Type::Flag => Some(Value::Flag(*flag)),
            LiteralKind::Flag(_) => self.mismatch(literal.span, Type::Flag, expected),
            LiteralKind::None => self.error(
                Code::TypeMismatch,
                literal.span,
                "`none` is not a value: it cannot stand here",
            ),
            LiteralKind::Named {
                name,
                plus_half_steps,
            } => {
                if let Some(value) = self.word(name, *plus_half_steps, expected) {
                    return value;
                }
                self.constant_let(name, expected)
            }
        }
    }

    fn whole_count(&mut self, span: Span, expected: Type, value: Value) -> Option<Value> {
        match &value {
            Value::Number(number) if expected == Type::Count && !number.is_whole() => {
                let text = self.text(span);
                self.error(
                    Code::TypeMismatch,
                    span,
                    format!("`{text}` is not a whole number, and a count is"),
                )
            }
            _ => Some(value),
        }
    }

    /// Type and value of a number, quantity, point or date, read toward what is expected.
    pub(super) fn exact(&self, parsed: &ParsedLiteral, expected: Option<Type>) -> (Type, Value) {
        match parsed {
            ParsedLiteral::Quantity {
                value,
                dimension,
                unit,
            } => {
                let is_count = unit.is_empty()
                    && *dimension == Dimension::NUMBER
                    && expected == Some(Type::Count);
                let value_type = if is_count {
                    Type::Count
                } else {
                    Type::Quantity(*dimension)
                };
                (value_type, Value::Number(*value))
            }
            ParsedLiteral::Temperature {
                value, difference, ..
            } => {
                let as_difference = Type::Quantity(Dimension::TEMPERATURE);
                if expected == Some(as_difference) {
                    (as_difference, Value::Number(*difference))
                } else {
                    (Type::Temperature, Value::Number(*value))
                }
            }
            ParsedLiteral::Swingweight(points) => (Type::Swingweight, Value::Number(*points)),
            ParsedLiteral::Date(date) => (Type::Date, Value::Number(Rational::whole(date.days()))),
        }
    }

    /// A word of the vocabulary that is expected: `None` where it is not one (the name may be
    /// something else), `Some(None)` where it is and has a fault that is reported.
    pub(super) fn word(
        &mut self,
        name: &Name,
        plus_half_steps: i32,
        expected: Type,
    ) -> Option<Option<Value>> {
        let (Type::Choice(id) | Type::Scale(id)) = expected else {
            return None;
        };
        let vocabulary = &self.program.vocabularies[id];
        let value = vocabulary.value_of(&name.text)?;
        self.note_word(name, id);
        let vocabulary = &self.program.vocabularies[id];
        if plus_half_steps == 0 {
            return Some(Some(Value::Word(value)));
        }
        let allowed = match vocabulary.kind {
            VocabularyKind::Choice => false,
            VocabularyKind::Scale { in_halves } => in_halves || plus_half_steps % 2 == 0,
        };
        let moved = value + plus_half_steps;
        if !allowed || moved > vocabulary.highest() {
            let message = format!(
                "there is no such step of `{}` above `{}`",
                vocabulary.name, name.text
            );
            return Some(self.error(Code::TypeMismatch, name.span, message));
        }
        Some(Some(Value::Word(moved)))
    }

    fn constant_let(&mut self, name: &Name, expected: Type) -> Option<Value> {
        if let Some(Symbol::Let(id)) = self.symbol(name) {
            if self.ensure_let(id) != Progress::Done {
                return None;
            }
            let declared = &self.program.lets[id];
            let found = declared.value_type;
            match declared.constant.clone() {
                Some(value) if Self::fits(found, expected) => return Some(value),
                Some(_) => return self.mismatch(name.span, found, expected),
                None => {
                    return self.report(
                        Diagnostic::error(
                            Code::WrongKind,
                            name.span,
                            format!("`{}` is not a constant: it cannot be a bound", name.text),
                        )
                        .with_help("a bound is a literal, or a let that depends on no reading"),
                    );
                }
            }
        }
        let known = self.words_of(expected);
        let what = format!("a value of type {}", self.type_name(expected));
        let listed = known.join(", ");
        let found: Option<Value> = self.unknown_name(name, &what, known);
        if !listed.is_empty()
            && let Some(last) = self.diagnostics.last_mut()
        {
            last.help.push(format!("the values are {listed}"));
        }
        found
    }

    /// The words of a vocabulary type; none for other types.
    pub(super) fn words_of(&self, value_type: Type) -> Vec<String> {
        match value_type {
            Type::Choice(id) | Type::Scale(id) => self.program.vocabularies[id].words.clone(),
            Type::Flag => vec!["yes".to_owned(), "no".to_owned()],
            _ => Vec::new(),
        }
    }

    /// The unit a literal is written in, as the way its declaration is shown.
    pub(super) fn shown_by(literal: &Literal) -> Option<Shown> {
        match &literal.kind {
            LiteralKind::Exact(
                ParsedLiteral::Quantity { unit, .. } | ParsedLiteral::Temperature { unit, .. },
            ) if !unit.is_empty() => Some(Shown {
                unit: Some(unit.clone()),
                step: None,
            }),
            _ => None,
        }
    }
}
