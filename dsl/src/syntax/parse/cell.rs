//! Rows: what they ask of each column and what they do.

use super::node::direction;
use super::reading::{Node, Reading, child, has, only, parts};
use crate::syntax::grammar::Rule;
use crate::syntax::tree::{
    Condition, ConditionKind, ListedValue, Literal, Row, RowConditions, RowResult, RowResultKind,
};

impl Reading<'_, '_> {
    /// One row.
    pub(super) fn row(&mut self, node: &Node<'_>) -> Option<Row> {
        let conditions = self.conditions(&child(node, Rule::conditions)?)?;
        let result = self.result_in(node)?;
        Some(Row {
            span: self.span(node),
            conditions,
            result,
            because: self.because_in(node),
        })
    }

    fn conditions(&mut self, node: &Node<'_>) -> Option<RowConditions> {
        if has(node, Rule::kw_otherwise) {
            return Some(RowConditions::Otherwise);
        }
        let mut each = Vec::new();
        for cell in parts(node) {
            let inner = only(&cell)?;
            let span = self.span(&cell);
            let kind = if inner.as_rule() == Rule::near_cell {
                let (kind, right) = self.near_cell(&only(&inner)?)?;
                self.near_miss(span, &right);
                kind
            } else {
                self.cell(&inner)?
            };
            each.push(Condition { span, kind });
        }
        Some(RowConditions::Each(each))
    }

    fn cell(&mut self, node: &Node<'_>) -> Option<ConditionKind> {
        Some(match node.as_rule() {
            Rule::cell_any => ConditionKind::Any,
            Rule::cell_under => ConditionKind::Under(self.literal_in(node)?),
            Rule::cell_up_to => ConditionKind::UpTo(self.literal_in(node)?),
            Rule::cell_over => self.cell_over(node)?,
            Rule::cell_not => ConditionKind::NotOneOf(self.listed(node)?),
            Rule::cell_values => ConditionKind::OneOf(self.listed(node)?),
            _ => self.cell_from(node)?,
        })
    }

    /// A condition that begins with `over`.
    fn cell_over(&mut self, node: &Node<'_>) -> Option<ConditionKind> {
        let ends = [Rule::from_through, Rule::from_to_under];
        let Some(upper) = parts(node).find(|part| ends.contains(&part.as_rule())) else {
            return Some(ConditionKind::Over(self.literal_in(node)?));
        };
        let low = child(node, Rule::literal)?;
        let (low, high) = self.bounds(&low, &child(&upper, Rule::literal)?)?;
        Some(if upper.as_rule() == Rule::from_through {
            ConditionKind::OverThrough(low, high)
        } else {
            ConditionKind::OverToUnder(low, high)
        })
    }

    /// A condition that begins with a value: its lower bound, or the value alone.
    fn cell_from(&mut self, node: &Node<'_>) -> Option<ConditionKind> {
        let upper = parts(node).find(|part| part.as_rule() != Rule::literal)?;
        match upper.as_rule() {
            Rule::from_or_more => return Some(ConditionKind::OrMore(self.literal_in(node)?)),
            Rule::from_alone => {
                let value = ListedValue::Value(self.literal_in(node)?);
                return Some(ConditionKind::OneOf(vec![value]));
            }
            _ => {}
        }
        let low = child(node, Rule::literal)?;
        let (low, high) = self.bounds(&low, &child(&upper, Rule::literal)?)?;
        Some(if upper.as_rule() == Rule::from_through {
            ConditionKind::Through(low, high)
        } else {
            ConditionKind::ToUnder(low, high)
        })
    }

    fn both_bounds(&mut self, node: &Node<'_>) -> Option<(Literal, Literal)> {
        let mut bounds = parts(node).filter(|part| part.as_rule() == Rule::literal);
        let (low, high) = (bounds.next()?, bounds.next()?);
        self.bounds(&low, &high)
    }

    fn listed(&mut self, node: &Node<'_>) -> Option<Vec<ListedValue>> {
        let mut values = Vec::new();
        for part in parts(node) {
            values.push(match child(&part, Rule::literal) {
                Some(literal) => ListedValue::Value(self.literal(&literal)?),
                None => ListedValue::Unknown(self.span(&part)),
            });
        }
        Some(values)
    }

    /// A condition that is almost right: what is meant, and how it is written.
    fn near_cell(&mut self, node: &Node<'_>) -> Option<(ConditionKind, String)> {
        if node.as_rule() == Rule::near_cell_range {
            let (low, high) = self.both_bounds(node)?;
            let right = format!(
                "{} through {}",
                self.written(low.span),
                self.written(high.span)
            );
            return Some((ConditionKind::Through(low, high), right));
        }
        let bound = self.literal_in(node)?;
        let written = self.written(bound.span);
        let any = |rules: &[Rule]| rules.iter().any(|rule| has(node, *rule));
        Some(if node.as_rule() == Rule::near_cell_is {
            let right = written.to_owned();
            let values = vec![ListedValue::Value(bound)];
            if any(&[Rule::near_differs, Rule::kw_is_not]) {
                (ConditionKind::NotOneOf(values), format!("not {right}"))
            } else {
                (ConditionKind::OneOf(values), right)
            }
        } else if any(&[Rule::near_under]) {
            let right = format!("under {written}");
            (ConditionKind::Under(bound), right)
        } else if any(&[Rule::near_up_to, Rule::near_less]) {
            let right = format!("up to {written}");
            (ConditionKind::UpTo(bound), right)
        } else if any(&[Rule::near_over]) {
            let right = format!("over {written}");
            (ConditionKind::Over(bound), right)
        } else {
            let right = format!("{written} or more");
            (ConditionKind::OrMore(bound), right)
        })
    }

    /// What a row does, among the parts of a node.
    pub(super) fn result_in(&mut self, node: &Node<'_>) -> Option<RowResult> {
        let node = child(node, Rule::result)?;
        let inner = only(&node)?;
        let kind = match inner.as_rule() {
            Rule::result_gives => RowResultKind::Gives(self.expression_in(&inner)?),
            Rule::result_moves => RowResultKind::Moves {
                direction: direction(&inner),
                half_steps: self.half_steps(&child(&inner, Rule::number)?)?,
            },
            Rule::result_keeps => RowResultKind::Keeps,
            Rule::result_adds => RowResultKind::Adds(self.expression_in(&inner)?),
            Rule::result_takes_off => RowResultKind::TakesOff(self.expression_in(&inner)?),
            _ => RowResultKind::CannotHappen,
        };
        Some(RowResult {
            span: self.span(&node),
            kind,
        })
    }
}
