//! Cases: what is given and what must come out.

use super::checker::{Checker, Symbol};
use crate::diagnostic::{Code, Diagnostic};
use crate::program::{
    Case, Expectation, ExpectationKind, GivenReading, Members, RowResult, Type, Value, Valued,
};
use crate::syntax::tree::{
    DeclarationKind, ExpectKind, Given, GivenValue, Literal, LiteralKind, Name, Position,
};

impl Checker<'_> {
    /// Every case that counts.
    pub(super) fn check_cases(&mut self) {
        let merged = self.merged;
        for entry in &merged.cases {
            let DeclarationKind::Case(case) = &entry.declaration.kind else {
                continue;
            };
            let mut checked = Case {
                title: case.title.text.clone(),
                span: case.title.span,
                layer: entry.layer,
                given: Vec::new(),
                given_members: Vec::new(),
                with_stock: case.with_stock.as_ref().map(|text| text.text.clone()),
                expect: Vec::new(),
            };
            for given in &case.given {
                self.given(given, &mut checked);
            }
            for expect in &case.expect {
                if let Some(kind) = self.expectation(&expect.kind) {
                    let text = self.text(expect.span);
                    checked.expect.push(Expectation {
                        span: expect.span,
                        text,
                        kind,
                    });
                }
            }
            self.program.cases.push(checked);
        }
    }

    fn given(&mut self, given: &Given, case: &mut Case) {
        match (&given.member, self.symbol(&given.name)) {
            (None, Some(Symbol::Input(id))) => {
                let value_type = self.program.inputs[id].value_type;
                let reading = match &given.value {
                    GivenValue::Unknown => Some(GivenReading::Unknown),
                    GivenValue::Exact(literal) => self
                        .given_value(literal, value_type, id)
                        .map(GivenReading::Exact),
                    GivenValue::Through(low, high) => {
                        let low = self.given_value(low, value_type, id);
                        let high = self.given_value(high, value_type, id);
                        low.zip(high)
                            .map(|(low, high)| GivenReading::Through(low, high))
                    }
                };
                if case.given.iter().any(|(known, _)| *known == id) {
                    let message = format!("`{}` is given twice in this case", given.name.text);
                    let _: Option<()> = self.error(Code::ClauseCount, given.span, message);
                }
                case.given.extend(reading.map(|reading| (id, reading)));
            }
            (Some((number, field)), Some(Symbol::Group(group)))
                if matches!(
                    self.program.groups[group].members,
                    Members::GivenWithThePlayer
                ) =>
            {
                let Some((index, value_type)) = self.group_field(group, field) else {
                    return;
                };
                match &given.value {
                    // What is not given is not known.
                    GivenValue::Unknown => {}
                    GivenValue::Exact(literal) => {
                        let value = self.literal(literal, value_type);
                        let member = value.map(|value| (group, *number, index, value));
                        case.given_members.extend(member);
                    }
                    GivenValue::Through(low, high) => {
                        let message = "a field of a kept club is given as one value, not a range";
                        let span = low.span.to(high.span);
                        let _: Option<()> = self.error(Code::DoesNotGoWith, span, message);
                    }
                }
            }
            _ => {
                let known: Vec<String> = self
                    .program
                    .inputs
                    .iter()
                    .map(|input| input.name.clone())
                    .collect();
                let _: Option<()> = self.unknown_name(&given.name, "an input", known);
            }
        }
    }

    fn given_value(
        &mut self,
        literal: &Literal,
        value_type: Type,
        id: crate::program::InputId,
    ) -> Option<Value> {
        let value = self.literal(literal, value_type)?;
        let input = &self.program.inputs[id];
        if let Some((low, high)) = &input.between
            && (value < *low || value > *high)
        {
            let low = input.shown.text(&self.program, value_type, low);
            let high = input.shown.text(&self.program, value_type, high);
            let (text, name) = (self.text(literal.span), input.name.clone());
            return self.error(
                Code::OutsideRange,
                literal.span,
                format!("`{text}` is no reading of `{name}`, which lies between {low} and {high}"),
            );
        }
        Some(value)
    }

    fn valued(&mut self, name: &Name) -> Option<(Valued, Option<Type>)> {
        match self.symbol(name) {
            Some(Symbol::Decision(id)) => Some((
                Valued::Decision(id),
                Some(self.program.decisions[id].value_type),
            )),
            Some(Symbol::Let(id)) => {
                Some((Valued::Let(id), Some(self.program.lets[id].value_type)))
            }
            Some(Symbol::Choose(id)) => Some((Valued::Choose(id), None)),
            _ => {
                let known = self.declared_names();
                self.unknown_name(name, "a decision, let or choice", known)
            }
        }
    }

    /// `X cannot happen`: the decision has such a row.
    fn cannot_happen(&mut self, name: &Name) -> Option<ExpectationKind> {
        let Some(Symbol::Decision(id)) = self.symbol(name) else {
            let decisions = self.program.decisions.iter();
            let known: Vec<String> = decisions.map(|decision| decision.name.clone()).collect();
            return self.unknown_name(name, "a decision", known);
        };
        let tables = self.program.decisions[id].tables();
        let has_row = tables
            .iter()
            .flat_map(|table| &table.rows)
            .any(|row| matches!(row.result, RowResult::CannotHappen));
        if !has_row {
            let message = format!("`{}` has no row that `cannot happen`", name.text);
            return self.error(Code::WrongKind, name.span, message);
        }
        Some(ExpectationKind::CannotHappen(id))
    }

    /// A value that is expected; `none` stands for *does not apply*.
    fn expected(&mut self, name: &Name, literal: &Literal) -> Option<(Valued, Option<Value>)> {
        let (valued, value_type) = self.valued(name)?;
        if matches!(literal.kind, LiteralKind::None) {
            return Some((valued, None));
        }
        let Some(value_type) = value_type else {
            let message = format!(
                "`{}` is a choice of parts: it has no value of its own",
                name.text
            );
            return self.error(Code::WrongKind, name.span, message);
        };
        self.literal(literal, value_type)
            .map(|value| (valued, Some(value)))
    }

    // Long because every form of an expectation has its arm.
    fn expectation(&mut self, expect: &ExpectKind) -> Option<ExpectationKind> {
        match expect {
            ExpectKind::Caution { raised, name } => match self.symbol(name) {
                Some(Symbol::Caution(id)) => Some(ExpectationKind::Caution(id, *raised)),
                _ => {
                    let known = self
                        .program
                        .cautions
                        .iter()
                        .map(|caution| caution.name.clone());
                    let known: Vec<String> = known.collect();
                    self.unknown_name(name, "a caution", known)
                }
            },
            ExpectKind::Limit { broken, name } => match self.symbol(name) {
                Some(Symbol::Limit(id)) => Some(ExpectationKind::Limit(id, *broken)),
                _ => {
                    let known = self.program.limits.iter().map(|limit| limit.name.clone());
                    let known: Vec<String> = known.collect();
                    self.unknown_name(name, "a limit", known)
                }
            },
            ExpectKind::Every { name, value } => {
                let (valued, expected) = self.expected(name, value)?;
                Some(ExpectationKind::Every(valued, expected))
            }
            ExpectKind::CannotHappen { name } => self.cannot_happen(name),
            ExpectKind::Needs { name, reading } => {
                let (valued, _) = self.valued(name)?;
                match self.symbol(reading) {
                    Some(Symbol::Input(input)) => Some(ExpectationKind::Needs(valued, input)),
                    _ => {
                        let known = self.program.inputs.iter().map(|input| input.name.clone());
                        let known: Vec<String> = known.collect();
                        self.unknown_name(reading, "an input", known)
                    }
                }
            }
            ExpectKind::Values { name, values } => {
                let found: Vec<_> = values
                    .iter()
                    .map(|value| self.expected(name, value))
                    .collect();
                let found: Option<Vec<_>> = found.into_iter().collect();
                let found = found?;
                let valued = found.first()?.0;
                let values = found.into_iter().map(|(_, value)| value).collect();
                Some(ExpectationKind::Values(valued, values))
            }
            ExpectKind::OfMember {
                name,
                position,
                group,
                value,
            } => {
                let group_id = self.group_named(group)?;
                let (valued, expected) = self.expected(name, value)?;
                if matches!(position, Position::Next | Position::Previous) {
                    let message = "a case has no club at hand: none is next or previous";
                    let finding = Diagnostic::error(Code::OutOfScope, name.span, message)
                        .with_help("write `of the first …` or `of the last …`");
                    return self.report(finding);
                }
                Some(ExpectationKind::OfMember(
                    valued, *position, group_id, expected,
                ))
            }
        }
    }
}
