//! Lets and decisions.

use super::checker::{Checker, Progress, Symbol};
use super::rows::RowsMay;
use super::scope::Scope;
use crate::diagnostic::{Code, Diagnostic};
use crate::program::{
    Body, DecisionId, Expression, ExpressionKind, Gives, LetId, NextStep, Node, Order, Progression,
    Shown, Step, Type,
};
use crate::quantity::{Dimension, ParsedLiteral};
use crate::syntax::tree::{
    self, DecideBody, DeclarationKind, ExpressionKind as Tree, LiteralKind, Post, RowResultKind,
};

impl<'a> Checker<'a> {
    /// Every let, those that others need first.
    pub(super) fn check_lets(&mut self) {
        let ids: Vec<LetId> = self.program.lets.ids().collect();
        for id in ids {
            self.ensure_let(id);
        }
    }

    /// Sees that a let has its type, and says how far it is.
    pub(super) fn ensure_let(&mut self, id: LetId) -> Progress {
        let Some((let_, progress)) = self.let_trees.get(id.index()).copied() else {
            return Progress::Failed;
        };
        match progress {
            Progress::Waiting => {}
            Progress::UnderWay if let_.type_reference.is_some() => return Progress::Done,
            Progress::UnderWay => {
                let way = self.lets_under_way.iter().copied();
                let circle: Vec<Node> = way
                    .skip_while(|other| *other != id)
                    .map(Node::Let)
                    .collect();
                self.report_circle(&circle);
                return Progress::Failed;
            }
            Progress::Done | Progress::Failed => return progress,
        }
        self.set_progress(id, Progress::UnderWay);
        self.lets_under_way.push(id);
        let scope = Scope::of_group(self.program.lets[id].for_each);
        let value = if let_.type_reference.is_some() {
            let declared = self.program.lets[id].value_type;
            self.expression_of(&let_.value, &scope, declared)
        } else {
            self.expression(&let_.value, &scope, None)
        };
        let progress = match value {
            Some(value) => {
                let shown = self.shown_of(&value);
                let constant = value.constant(&self.program);
                let declared = &mut self.program.lets[id];
                if let_.type_reference.is_none() {
                    declared.value_type = value.value_type;
                }
                declared.shown = shown;
                declared.constant = constant;
                declared.value = value;
                Progress::Done
            }
            None => Progress::Failed,
        };
        self.set_progress(id, progress);
        self.lets_under_way.pop();
        progress
    }

    fn set_progress(&mut self, id: LetId, progress: Progress) {
        if let Some(entry) = self.let_trees.get_mut(id.index()) {
            entry.1 = progress;
        }
    }

    /// How a value is shown: as the first of what it is computed from that measures the same.
    pub(super) fn shown_of(&self, value: &Expression) -> Shown {
        let dimension = value.value_type.dimension();
        self.shown_within(value, dimension).unwrap_or_default()
    }

    fn shown_within(&self, value: &Expression, dimension: Option<Dimension>) -> Option<Shown> {
        let own = match &value.kind {
            ExpressionKind::Input(id) => Some(&self.program.inputs[*id].shown),
            ExpressionKind::Let(id, _) => Some(&self.program.lets[*id].shown),
            ExpressionKind::Decision(id, _) => Some(&self.program.decisions[*id].shown),
            _ => None,
        };
        if value.value_type.dimension() == dimension
            && let Some(shown) = own
        {
            return Some(shown.clone());
        }
        super::dependencies::children(value)
            .into_iter()
            .find_map(|child| self.shown_within(child, dimension))
    }

    /// The bodies of all decisions.
    pub(super) fn check_decisions(&mut self) {
        let merged = self.merged;
        for entry in &merged.entries {
            if let (DeclarationKind::Decide(decide), Some(Symbol::Decision(id))) = (
                &entry.declaration.kind,
                self.symbols.get(entry.name).copied(),
            ) {
                self.check_decision(id, decide);
            }
        }
    }

    fn check_decision(&mut self, id: DecisionId, decide: &'a tree::Decide) {
        let group = self.program.decisions[id]
            .for_each
            .as_ref()
            .map(|for_each| for_each.group);
        let scope = Scope::of_group(group);
        let value_type = self.program.decisions[id].value_type;
        if let Some(for_each) = &decide.for_each
            && let Some(order) = self.order(for_each, &scope)
            && let Some(shell) = &mut self.program.decisions[id].for_each
        {
            shell.order = Some(order);
        }
        if let Some(only_when) = &decide.only_when {
            let only_when = self.condition(only_when, &scope);
            self.program.decisions[id].only_when = only_when;
        }
        // A count may be given as a number where a later step rounds it to whole ones.
        let rounds = decide
            .steps
            .iter()
            .any(|step| matches!(step, tree::Step::Post(Post::Rounded { .. }, _)));
        let given_type = if value_type == Type::Count && rounds {
            Type::Quantity(Dimension::NUMBER)
        } else {
            value_type
        };
        if let Some(body) = self.body(decide, &scope, given_type) {
            self.program.decisions[id].body = body;
        }
        for step in &decide.steps {
            if let Some(step) = self.step(step, &scope, given_type) {
                self.program.decisions[id].steps.push(step);
            }
        }
        for promise in &decide.promises {
            if let Some(promise) = self.promise(promise, decide, &scope, value_type) {
                self.program.decisions[id].promises.push(promise);
            }
        }
    }

    /// `in order of F`.
    pub(super) fn order(&mut self, for_each: &tree::ForEach, scope: &Scope) -> Option<Order> {
        let order = for_each.order.as_ref()?;
        let key = self.plain_name(&order.by, scope, None)?;
        if !key.value_type.is_ordered() {
            let name = self.type_name(key.value_type);
            let message = format!(
                "`{}` is of type {name}, whose values have no order",
                order.by.text
            );
            return self.error(Code::TypeMismatch, order.by.span, message);
        }
        Some(Order {
            key,
            text: order.by.text.clone(),
            largest_first: order.largest_first,
        })
    }

    fn body(&mut self, decide: &tree::Decide, scope: &Scope, value_type: Type) -> Option<Body> {
        match &decide.body {
            DecideBody::Table(table) => self
                .table(table, scope, value_type, RowsMay::Give)
                .map(Body::Table),
            DecideBody::Gives(gives) => self.gives(gives, scope, value_type).map(Body::Gives),
            DecideBody::Progression(progression) => {
                if decide.for_each.is_none() {
                    let message = format!(
                        "`{}` goes along the bag, and no group is named",
                        decide.name.text
                    );
                    let finding =
                        Diagnostic::error(Code::ClauseCount, progression.first.span, message)
                            .with_help("write `, for each GROUP in order of FIELD` in the header");
                    return self.report(finding);
                }
                self.progression(progression, scope, value_type)
            }
        }
    }

    fn gives(&mut self, gives: &tree::Gives, scope: &Scope, value_type: Type) -> Option<Gives> {
        let value = self.expression_of(&gives.value, scope, value_type)?;
        Some(Gives {
            value,
            text: self.text(gives.value.span),
            because: gives.because.as_ref().map(|text| text.text.clone()),
        })
    }

    fn progression(
        &mut self,
        progression: &tree::Progression,
        scope: &Scope,
        value_type: Type,
    ) -> Option<Body> {
        let later = Scope {
            previous: Some(value_type),
            ..scope.clone()
        };
        let kept = progression
            .kept
            .as_ref()
            .map(|kept| self.gives(kept, scope, value_type));
        let first = self.gives(&progression.first, scope, value_type);
        let next = progression.next.as_ref().map(|next| match next {
            tree::NextStep::Gives(gives) => {
                self.gives(gives, &later, value_type).map(NextStep::Gives)
            }
            tree::NextStep::Table(table) => self
                .table(table, &later, value_type, RowsMay::Give)
                .map(NextStep::Table),
        });
        let last = progression
            .last
            .as_ref()
            .map(|last| self.gives(last, &later, value_type));
        Some(Body::Progression(Box::new(Progression {
            kept: transpose(kept)?,
            first: first?,
            next: transpose(next)?,
            last: transpose(last)?,
        })))
    }

    fn step(&mut self, step: &tree::Step, scope: &Scope, value_type: Type) -> Option<Step> {
        match step {
            tree::Step::Table(table) => self
                .table(table, scope, value_type, RowsMay::Change)
                .map(Step::Table),
            tree::Step::Post(post, span) => {
                let text = self.text(*span);
                match post {
                    Post::KeptWithin { low, high } => {
                        let low = self.expression_of(low, scope, value_type);
                        let high = self.expression_of(high, scope, value_type);
                        Some(Step::KeptWithin {
                            low: low?,
                            high: high?,
                            text,
                        })
                    }
                    Post::Rounded { rounding, to } => {
                        let to = self.rounding_unit(to, scope, value_type)?;
                        Some(Step::Rounded {
                            rounding: *rounding,
                            to,
                            text,
                        })
                    }
                    Post::OrIfUnknown(instead) => {
                        let instead = self.expression_of(instead, scope, value_type)?;
                        Some(Step::OrIfUnknown { instead, text })
                    }
                }
            }
        }
    }
}

fn transpose<T>(value: Option<Option<T>>) -> Option<Option<T>> {
    match value {
        Some(Some(value)) => Some(Some(value)),
        Some(None) => None,
        None => Some(None),
    }
}

/// The unit in which a decision's values are first written: how it is shown where nothing says so.
pub(super) fn first_unit(decide: &tree::Decide, value_type: Type) -> Option<Shown> {
    let dimension = value_type.dimension()?;
    let mut values: Vec<&tree::Expression> = Vec::new();
    let of_table = |table: &'_ tree::Table| -> Vec<tree::Expression> {
        table
            .rows
            .iter()
            .filter_map(|row| match &row.result.kind {
                RowResultKind::Gives(value) | RowResultKind::Adds(value) => Some(value.clone()),
                _ => None,
            })
            .collect()
    };
    let table_values: Vec<tree::Expression> = match &decide.body {
        DecideBody::Table(table) => of_table(table),
        DecideBody::Gives(gives) => {
            values.push(&gives.value);
            Vec::new()
        }
        DecideBody::Progression(progression) => {
            values.push(&progression.first.value);
            if let Some(tree::NextStep::Gives(gives)) = &progression.next {
                values.push(&gives.value);
            }
            Vec::new()
        }
    };
    values.extend(table_values.iter());
    values
        .into_iter()
        .find_map(|value| unit_in(value, dimension))
}

fn unit_in(value: &tree::Expression, wanted: Dimension) -> Option<Shown> {
    match &value.kind {
        Tree::Literal(literal) => match &literal.kind {
            LiteralKind::Exact(ParsedLiteral::Quantity { dimension, .. })
                if *dimension == wanted =>
            {
                Checker::shown_by(literal)
            }
            _ => None,
        },
        Tree::Negative(inner) | Tree::SizeOf(inner) => unit_in(inner, wanted),
        Tree::Binary { left, right, .. } => {
            unit_in(left, wanted).or_else(|| unit_in(right, wanted))
        }
        Tree::Rate { amount, .. } => Checker::shown_by(amount),
        Tree::If {
            then, otherwise, ..
        } => unit_in(then, wanted).or_else(|| unit_in(otherwise, wanted)),
        Tree::Post { value, post } => unit_in(value, wanted).or_else(|| match &**post {
            Post::Rounded { to, .. } => unit_in(to, wanted),
            Post::KeptWithin { low, .. } => unit_in(low, wanted),
            Post::OrIfUnknown(instead) => unit_in(instead, wanted),
        }),
        _ => None,
    }
}
