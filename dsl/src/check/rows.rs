//! Tables: columns typed, conditions turned into the sets of values they accept.

use std::collections::BTreeSet;

use super::checker::Checker;
use super::scope::Scope;
use crate::diagnostic::{Code, Diagnostic};
use crate::program::{
    Bound, Column, Condition, Interval, Row, RowResult, Table, Type, Value, ValueSet,
};
use crate::quantity::Rational;
use crate::syntax::tree::{
    self, ConditionKind, Direction, ListedValue, Literal, LiteralKind, RowConditions, RowResultKind,
};

/// What a table's rows may do.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum RowsMay {
    /// Give a value: a first table.
    Give,
    /// Change the value so far as well: a `then by` table.
    Change,
}

impl Checker<'_> {
    /// A table whose rows give values of `value_type`.
    pub(super) fn table(
        &mut self,
        table: &tree::Table,
        scope: &Scope,
        value_type: Type,
        may: RowsMay,
    ) -> Option<Table> {
        let columns: Vec<Option<Column>> = table
            .columns
            .iter()
            .map(|column| self.column(column, scope))
            .collect();
        let columns: Option<Vec<Column>> = columns.into_iter().collect();
        // Rows' results are checked even where a column is at fault.
        let mut rows = Vec::new();
        let mut is_whole = true;
        for (index, row) in table.rows.iter().enumerate() {
            let conditions = match &columns {
                Some(columns) => self.row_conditions(row, columns, index + 1 == table.rows.len()),
                None => None,
            };
            let result = self.row_result(&row.result, scope, value_type, may);
            match (conditions, result) {
                (Some(conditions), Some(result)) => rows.push(Row {
                    is_otherwise: matches!(row.conditions, RowConditions::Otherwise),
                    conditions,
                    result,
                    because: row.because.as_ref().map(|text| text.text.clone()),
                    text: self.row_text(row),
                    span: row.span,
                }),
                _ => is_whole = false,
            }
        }
        let if_unknown = match &table.if_unknown {
            Some(result) => Some(self.row_result(result, scope, value_type, may)?),
            None => None,
        };
        let mut columns = columns?;
        if !is_whole {
            return None;
        }
        for (index, column) in columns.iter_mut().enumerate() {
            // A row that leaves none out asks for it as much as one that takes it.
            let names = |what: fn(&ListedValue) -> bool| {
                table.rows.iter().any(|row| names_in(row, index, what))
            };
            column.takes_none = names(is_none);
            column.takes_unknown = names(|listed| matches!(listed, ListedValue::Unknown(_)));
        }
        Some(Table::new(
            columns,
            table.hit_policy,
            if_unknown,
            rows,
            table.span,
        ))
    }

    /// The row as it is written, without its reason.
    fn row_text(&self, row: &tree::Row) -> String {
        self.text(crate::syntax::Span {
            end: row.result.span.end,
            ..row.span
        })
    }

    fn column(&mut self, column: &tree::Column, scope: &Scope) -> Option<Column> {
        let value = self.expression(&column.value, scope, None)?;
        if value.value_type.is_list() {
            let message = "a list cannot be a column".to_owned();
            return self.error(Code::TypeMismatch, value.span, message);
        }
        let shown = self.shown_of(&value);
        Some(Column {
            text: self.text(column.value.span),
            shown,
            takes_none: false,
            takes_unknown: false,
            between: None,
            value,
        })
    }

    fn row_conditions(
        &mut self,
        row: &tree::Row,
        columns: &[Column],
        is_last: bool,
    ) -> Option<Vec<Condition>> {
        let RowConditions::Each(conditions) = &row.conditions else {
            if !is_last {
                return self.error(
                    Code::Arity,
                    row.span,
                    "`otherwise` stands last: no row after it is reached",
                );
            }
            return Some(Vec::new());
        };
        if columns.is_empty() {
            // The line with the columns could not be read, which is reported.
            return None;
        }
        if conditions.len() != columns.len() {
            let names: Vec<&str> = columns.iter().map(|column| column.text.as_str()).collect();
            let plural = |count: usize, word: &str| match count {
                1 => format!("1 {word}"),
                _ => format!("{count} {word}s"),
            };
            let message = format!(
                "this row has {}, and the table has {}",
                plural(conditions.len(), "condition"),
                plural(columns.len(), "column")
            );
            let of_columns = match names.as_slice() {
                [only] => format!("one condition for `{only}`"),
                _ => format!(
                    "one condition for each of {}, joined by `and`",
                    names.join(", ")
                ),
            };
            let mut finding =
                Diagnostic::error(Code::Arity, row.span, message).with_help(of_columns);
            if conditions.len() > columns.len() {
                finding = finding.with_help(
                    "a range is one condition, such as `5 deg to under 8 deg`; several values are joined by `or`",
                );
            }
            return self.report(finding);
        }
        let checked: Vec<_> = conditions
            .iter()
            .zip(columns)
            .map(|(condition, column)| self.row_condition(condition, column.value.value_type))
            .collect();
        checked.into_iter().collect()
    }

    fn row_condition(
        &mut self,
        condition: &tree::Condition,
        value_type: Type,
    ) -> Option<Condition> {
        let plain = |values| Condition {
            is_any: false,
            values,
            none: false,
            unknown: false,
        };
        match &condition.kind {
            ConditionKind::Any => Some(Condition {
                is_any: true,
                values: ValueSet::All,
                none: true,
                unknown: true,
            }),
            ConditionKind::OneOf(listed) => self.listed_values(listed, value_type, false),
            ConditionKind::NotOneOf(listed) => self.listed_values(listed, value_type, true),
            ConditionKind::Under(high) => self
                .bounds(condition, None, Some((high, false)), value_type)
                .map(plain),
            ConditionKind::UpTo(high) => self
                .bounds(condition, None, Some((high, true)), value_type)
                .map(plain),
            ConditionKind::Over(low) => self
                .bounds(condition, Some((low, false)), None, value_type)
                .map(plain),
            ConditionKind::OrMore(low) => self
                .bounds(condition, Some((low, true)), None, value_type)
                .map(plain),
            ConditionKind::Through(low, high) => self
                .bounds(condition, Some((low, true)), Some((high, true)), value_type)
                .map(plain),
            ConditionKind::ToUnder(low, high) => self
                .bounds(
                    condition,
                    Some((low, true)),
                    Some((high, false)),
                    value_type,
                )
                .map(plain),
            ConditionKind::OverToUnder(low, high) => self
                .bounds(
                    condition,
                    Some((low, false)),
                    Some((high, false)),
                    value_type,
                )
                .map(plain),
            ConditionKind::OverThrough(low, high) => self
                .bounds(
                    condition,
                    Some((low, false)),
                    Some((high, true)),
                    value_type,
                )
                .map(plain),
            ConditionKind::NearMiss => None,
        }
    }

    fn bounds(
        &mut self,
        condition: &tree::Condition,
        low: Option<(&Literal, bool)>,
        high: Option<(&Literal, bool)>,
        value_type: Type,
    ) -> Option<ValueSet> {
        if !value_type.is_ordered() {
            let (name, text) = (self.type_name(value_type), self.text(condition.span));
            return self.error(
                Code::TypeMismatch,
                condition.span,
                format!("`{text}` asks for an order, and values of {name} have none"),
            );
        }
        let low = match low {
            Some((literal, is_included)) => Some((self.literal(literal, value_type)?, is_included)),
            None => None,
        };
        let high = match high {
            Some((literal, is_included)) => Some((self.literal(literal, value_type)?, is_included)),
            None => None,
        };
        if let (Some((low, low_in)), Some((high, high_in))) = (&low, &high)
            && (low > high || (low == high && !(*low_in && *high_in)))
        {
            let text = self.text(condition.span);
            return self.error(
                Code::BadRange,
                condition.span,
                format!("`{text}` holds no value: its ends are the wrong way round"),
            );
        }
        if let Type::Scale(id) = value_type {
            let words = self.program.vocabularies[id]
                .values()
                .into_iter()
                .filter(|word| {
                    let above = low
                        .as_ref()
                        .and_then(|(low, included)| Some((low.word()?, *included)));
                    let below = high
                        .as_ref()
                        .and_then(|(high, included)| Some((high.word()?, *included)));
                    above.is_none_or(|(low, included)| *word > low || (included && *word == low))
                        && below.is_none_or(|(high, included)| {
                            *word < high || (included && *word == high)
                        })
                });
            return Some(ValueSet::Words(words.collect()));
        }
        let bound = |end: Option<(Value, bool)>| {
            end.and_then(|(value, is_included)| {
                Some(Bound {
                    value: value.number()?,
                    is_included,
                })
            })
        };
        Some(ValueSet::Intervals(vec![Interval {
            low: bound(low),
            high: bound(high),
        }]))
    }

    fn listed_values(
        &mut self,
        listed: &[ListedValue],
        value_type: Type,
        is_negated: bool,
    ) -> Option<Condition> {
        let mut values = Vec::new();
        let (mut none, mut unknown) = (false, false);
        for value in listed {
            match value {
                ListedValue::Unknown(_) => unknown = true,
                listed if is_none(listed) => none = true,
                ListedValue::Value(literal) => values.push(self.literal(literal, value_type)?),
            }
        }
        let mut set = self.value_set(values, value_type);
        if is_negated {
            set = self.complement(set, value_type);
            // `not a` asks for a value: neither none nor an absent reading is one.
            (none, unknown) = (false, false);
        }
        Some(Condition {
            is_any: false,
            values: set,
            none,
            unknown,
        })
    }

    fn value_set(&self, values: Vec<Value>, value_type: Type) -> ValueSet {
        match value_type {
            Type::Choice(_) | Type::Scale(_) => {
                ValueSet::Words(values.iter().filter_map(Value::word).collect())
            }
            Type::Flag => ValueSet::Flags(values.iter().filter_map(Value::flag).collect()),
            Type::Text | Type::List(_) | Type::ListOf(_) => ValueSet::Texts(BTreeSet::new()),
            _ => {
                let numbers: BTreeSet<Rational> = values.iter().filter_map(Value::number).collect();
                let point = |value| Interval {
                    low: Some(Bound {
                        value,
                        is_included: true,
                    }),
                    high: Some(Bound {
                        value,
                        is_included: true,
                    }),
                };
                ValueSet::Intervals(numbers.into_iter().map(point).collect())
            }
        }
    }

    fn complement(&self, set: ValueSet, value_type: Type) -> ValueSet {
        match (set, value_type) {
            (ValueSet::Words(words), Type::Choice(id) | Type::Scale(id)) => {
                let all = self.program.vocabularies[id].values();
                ValueSet::Words(
                    all.into_iter()
                        .filter(|word| !words.contains(word))
                        .collect(),
                )
            }
            (ValueSet::Flags(flags), _) => ValueSet::Flags(
                [false, true]
                    .into_iter()
                    .filter(|flag| !flags.contains(flag))
                    .collect(),
            ),
            (ValueSet::Intervals(points), _) => {
                let mut intervals = Vec::new();
                let mut low = None;
                for point in points {
                    let open = point.low.map(|bound| Bound {
                        is_included: false,
                        ..bound
                    });
                    intervals.push(Interval { low, high: open });
                    low = open;
                }
                intervals.push(Interval { low, high: None });
                ValueSet::Intervals(intervals)
            }
            (other, _) => other,
        }
    }

    fn row_result(
        &mut self,
        result: &tree::RowResult,
        scope: &Scope,
        value_type: Type,
        may: RowsMay,
    ) -> Option<RowResult> {
        let changes = !matches!(
            result.kind,
            RowResultKind::Gives(_) | RowResultKind::CannotHappen
        );
        if changes && may == RowsMay::Give {
            let text = self.text(result.span);
            let message = format!("`{text}` changes a value, and this table has none to change");
            let finding = Diagnostic::error(Code::WrongKind, result.span, message);
            return self.report(match (scope.previous, &result.kind) {
                (Some(_), RowResultKind::Keeps) => finding.with_help("write `gives previous`"),
                (Some(_), _) => finding.with_help("write `gives previous …`"),
                (None, _) => finding.with_help("write `gives …`; `then by` rows change it"),
            });
        }
        match &result.kind {
            RowResultKind::Gives(value) => self
                .expression_of(value, scope, value_type)
                .map(RowResult::Gives),
            RowResultKind::Moves {
                direction,
                half_steps,
            } => {
                let signed = if *direction == Direction::Up {
                    *half_steps
                } else {
                    -half_steps
                };
                self.check_steps(value_type, signed, result.span)?;
                Some(RowResult::Moves(signed))
            }
            RowResultKind::Keeps => Some(RowResult::Keeps),
            RowResultKind::Adds(value) => self.added(value, scope, value_type).map(RowResult::Adds),
            RowResultKind::TakesOff(value) => self
                .added(value, scope, value_type)
                .map(RowResult::TakesOff),
            RowResultKind::CannotHappen => Some(RowResult::CannotHappen),
        }
    }

    fn added(
        &mut self,
        value: &tree::Expression,
        scope: &Scope,
        value_type: Type,
    ) -> Option<crate::program::Expression> {
        let difference = match value_type {
            Type::Count => Type::Count,
            other => match other.dimension() {
                Some(dimension) if other != Type::Date => Type::Quantity(dimension),
                _ => {
                    let name = self.type_name(value_type);
                    let message = format!("nothing can be added to a {name}");
                    return self.error(Code::TypeMismatch, value.span, message);
                }
            },
        };
        self.expression_of(value, scope, difference)
    }
}

/// Whether the row's condition on a column lists such a value, to take it or to leave it out.
fn names_in(row: &tree::Row, column: usize, what: fn(&ListedValue) -> bool) -> bool {
    let RowConditions::Each(conditions) = &row.conditions else {
        return false;
    };
    match conditions.get(column).map(|condition| &condition.kind) {
        Some(ConditionKind::OneOf(listed) | ConditionKind::NotOneOf(listed)) => {
            listed.iter().any(what)
        }
        _ => false,
    }
}

fn is_none(listed: &ListedValue) -> bool {
    matches!(
        listed,
        ListedValue::Value(Literal {
            kind: LiteralKind::None,
            ..
        })
    )
}
