//! Literals: numbers, quantities, dates, swingweights, `yes`, `no`, `none`, names of values.
//!
//! The text of a literal goes to the one literal reader of the language; nothing is computed here.

use super::reading::{Node, Reading, child, has, only, parts};
use crate::diagnostic::{Code, Diagnostic};
use crate::quantity::{
    Date, Dimension, LiteralError, ParsedLiteral, Rational, UNITS, parse_literal,
};
use crate::syntax::Span;
use crate::syntax::grammar::Rule;
use crate::syntax::nearest::nearest;
use crate::syntax::tree::{Literal, LiteralKind, Name, Number, Range};

impl Reading<'_, '_> {
    /// A literal.
    pub(super) fn literal(&mut self, node: &Node<'_>) -> Option<Literal> {
        let inner = node.clone().into_inner().next()?;
        let span = self.span(&inner);
        let kind = match inner.as_rule() {
            Rule::kw_yes => LiteralKind::Flag(true),
            Rule::kw_no => LiteralKind::Flag(false),
            Rule::kw_none => LiteralKind::None,
            Rule::named => self.named(&inner)?,
            _ => LiteralKind::Exact(self.exact(inner.as_str(), span)?),
        };
        Some(Literal { span, kind })
    }

    /// The first literal among the parts of a node.
    pub(super) fn literal_in(&mut self, node: &Node<'_>) -> Option<Literal> {
        let literal = child(node, Rule::literal)?;
        self.literal(&literal)
    }

    fn named(&mut self, node: &Node<'_>) -> Option<LiteralKind> {
        let name = self.name_in(node)?;
        if let Some(flag) = self.near_flag(&name) {
            return Some(LiteralKind::Flag(flag));
        }
        Some(LiteralKind::Named {
            name,
            plus_half_steps: self.plus_half_steps(node)?,
        })
    }

    /// `true` and `false` are answered with `yes` and `no`.
    pub(super) fn near_flag(&mut self, name: &Name) -> Option<bool> {
        let flag = match name.text.as_str() {
            "true" => true,
            "false" => false,
            _ => return None,
        };
        self.near_miss(name.span, if flag { "yes" } else { "no" });
        Some(flag)
    }

    /// The steps after `plus`, 0 where there is none.
    pub(super) fn plus_half_steps(&mut self, node: &Node<'_>) -> Option<i32> {
        match child(node, Rule::plus_step) {
            None => Some(0),
            Some(plus) => self.half_steps(&child(&plus, Rule::number)?),
        }
    }

    /// A number of steps along a scale, in half steps.
    pub(super) fn half_steps(&mut self, node: &Node<'_>) -> Option<i32> {
        let number = self.number(node)?;
        let half_steps = number
            .value
            .times(Rational::whole(2))
            .ok()
            .filter(|doubled| doubled.denominator() == 1)
            .and_then(|doubled| i32::try_from(doubled.numerator()).ok());
        if half_steps.is_none() {
            let finding = Diagnostic::error(
                Code::BadLiteral,
                number.span,
                format!("`{}` steps", self.written(number.span)),
            )
            .with_help("a scale has whole and half steps: `1/2`, `1`, `1 1/2`");
            self.fail_with(finding);
        }
        half_steps
    }

    /// A plain number.
    pub(super) fn number(&mut self, node: &Node<'_>) -> Option<Number> {
        let span = self.span(node);
        match self.exact(node.as_str(), span)? {
            ParsedLiteral::Quantity {
                value,
                dimension: Dimension::NUMBER,
                ..
            } => Some(Number { value, span }),
            _ => None,
        }
    }

    /// A date; one that is no day is reported.
    pub(super) fn date(&mut self, node: &Node<'_>) -> Option<Date> {
        let span = self.span(node);
        match self.exact(node.as_str(), span)? {
            ParsedLiteral::Date(date) => Some(date),
            _ => None,
        }
    }

    /// A literal of a number, quantity, date or swingweight.
    pub(super) fn exact_literal(&mut self, text: &str, span: Span) -> Option<Literal> {
        let kind = LiteralKind::Exact(self.exact(text, span)?);
        Some(Literal { span, kind })
    }

    /// Reads the text of a literal; what is wrong with it is reported.
    pub(super) fn exact(&mut self, text: &str, span: Span) -> Option<ParsedLiteral> {
        if let Some(right) = padded_date(text) {
            let finding =
                Diagnostic::error(Code::BadLiteral, span, format!("`{text}` is not a date"))
                    .with_help(format!("write `{right}`"));
            self.fail_with(finding);
            return None;
        }
        let spaced = text.split_whitespace().collect::<Vec<_>>().join(" ");
        match parse_literal(&spaced) {
            Ok(literal) => Some(literal),
            Err(error) => {
                let finding = Diagnostic::error(Code::BadLiteral, span, error.to_string());
                self.fail_with(match &error {
                    LiteralError::UnknownUnit(unit) => {
                        match nearest(unit, UNITS.iter().map(|unit| unit.symbol)) {
                            Some(meant) => finding.with_help(format!("did you mean `{meant}`?")),
                            None => finding,
                        }
                    }
                    LiteralError::NotADate(_) => finding.with_help("there is no such day"),
                    _ => finding,
                });
                None
            }
        }
    }

    /// Two bounds of a range. Where the unit stands once, at the end (`5 through 8 deg`), the first
    /// bound takes it.
    pub(super) fn bounds(&mut self, low: &Node<'_>, high: &Node<'_>) -> Option<(Literal, Literal)> {
        let high_literal = self.literal(high);
        if !is_bare_number(low) {
            return Some((self.literal(low)?, high_literal?));
        }
        let high_literal = high_literal?;
        let span = self.span(low);
        let text = low.as_str().trim();
        let low_literal = match unit_of(high) {
            Some(HighUnit::One(unit)) => Literal {
                span,
                kind: LiteralKind::Exact(self.exact(&format!("{text} {unit}"), span)?),
            },
            Some(HighUnit::FeetAndInches) => {
                let finding = Diagnostic::error(
                    Code::BadLiteral,
                    span,
                    format!("`{text}` may be feet or inches here"),
                )
                .with_help(format!("write `{text} ft` or `{text} in`"));
                self.fail_with(finding);
                return None;
            }
            None => self.literal(low)?,
        };
        Some((low_literal, high_literal))
    }

    /// `between A and B`.
    pub(super) fn range(&mut self, node: &Node<'_>) -> Option<Range> {
        let mut literals = parts(node);
        let (low, high) = (literals.next()?, literals.next()?);
        let (low, high) = self.bounds(&low, &high)?;
        Some(Range { low, high })
    }
}

enum HighUnit<'a> {
    One(&'a str),
    FeetAndInches,
}

/// The quantity of a literal node, where it is one.
fn quantity<'a>(literal: &Node<'a>) -> Option<Node<'a>> {
    let signed = only(literal).filter(|inner| inner.as_rule() == Rule::signed)?;
    child(&signed, Rule::quantity)
}

fn is_bare_number(literal: &Node<'_>) -> bool {
    quantity(literal)
        .is_some_and(|quantity| has(&quantity, Rule::number) && !has(&quantity, Rule::unit))
}

fn unit_of<'a>(literal: &Node<'a>) -> Option<HighUnit<'a>> {
    let quantity = quantity(literal)?;
    if has(&quantity, Rule::feet_inches) {
        return Some(HighUnit::FeetAndInches);
    }
    child(&quantity, Rule::unit).map(|unit| HighUnit::One(unit.as_str()))
}

/// `2026-05-01` for `2026-5-1`; `None` for what is no such date.
fn padded_date(text: &str) -> Option<String> {
    let mut parts = text.split('-');
    let (year, month, day) = (parts.next()?, parts.next()?, parts.next()?);
    let is_digits = |part: &str| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit());
    let is_date = parts.next().is_none() && [year, month, day].into_iter().all(is_digits);
    let is_short = month.len() == 1 || day.len() == 1;
    (is_date && is_short).then(|| format!("{year}-{month:0>2}-{day:0>2}"))
}
