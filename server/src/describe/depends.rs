//! Which inputs a decision rests on, directly or through others.
//!
//! Each node of the program's graph names the nodes that its expressions mention; since the
//! program's order puts every node after what it depends on, one pass gathers the inputs.

use std::collections::{BTreeMap, BTreeSet};

use loftwright_dsl::program::{
    Aggregate, Body, Choose, Decision, Expression, ExpressionKind, ForEach, Gives, InputId,
    Members, Needs, NextStep, Node, Over, Preference, Program, Progression, RowResult, RungKind,
    Step, Table,
};

/// The inputs that each node rests on.
#[derive(Clone, Debug, Default)]
pub struct Dependencies {
    inputs: BTreeMap<Node, BTreeSet<InputId>>,
}

impl Dependencies {
    /// Those of a program.
    pub fn of(program: &Program) -> Self {
        let mut dependencies = Dependencies::default();
        for node in &program.order {
            let mut mentioned = Mentioned::default();
            mentioned.node(program, *node);
            let mut inputs = BTreeSet::new();
            if let Node::Input(input) = node {
                inputs.insert(*input);
            }
            for below in &mentioned.nodes {
                inputs.extend(dependencies.inputs_of(*below));
            }
            dependencies.inputs.insert(*node, inputs);
        }
        dependencies
    }

    /// The inputs that a node rests on, directly or through others.
    pub fn inputs_of(&self, node: Node) -> impl Iterator<Item = InputId> + '_ {
        self.inputs.get(&node).into_iter().flatten().copied()
    }
}

/// The nodes that a node's declaration mentions.
#[derive(Default)]
struct Mentioned {
    nodes: BTreeSet<Node>,
}

impl Mentioned {
    fn node(&mut self, program: &Program, node: Node) {
        match node {
            Node::Input(id) => self.optional(program.inputs[id].only_when.as_ref()),
            Node::Let(id) => {
                let declared = &program.lets[id];
                self.group(declared.for_each);
                self.expression(&declared.value);
            }
            Node::Group(id) => match &program.groups[id].members {
                Members::GivenWithThePlayer => {}
                Members::AsManyAs(count) => self.expression(count),
                Members::MadeBy { from, .. } => self.nodes.extend(from),
                Members::Where { of, condition } => {
                    self.group(Some(*of));
                    self.expression(condition);
                }
            },
            Node::Decision(id) => self.decision(&program.decisions[id]),
            Node::Choose(id) => self.choose(&program.chooses[id]),
            Node::Limit(id) => {
                let limit = &program.limits[id];
                self.group(limit.for_each);
                self.expression(&limit.condition);
                self.optional(limit.only_when.as_ref());
            }
            Node::Caution(id) => {
                let caution = &program.cautions[id];
                self.group(caution.for_each);
                self.expression(&caution.condition);
                self.optional(caution.only_when.as_ref());
            }
        }
    }

    fn group(&mut self, group: Option<loftwright_dsl::program::GroupId>) {
        self.nodes.extend(group.map(Node::Group));
    }

    fn optional(&mut self, expression: Option<&Expression>) {
        if let Some(expression) = expression {
            self.expression(expression);
        }
    }

    fn for_each(&mut self, for_each: Option<&ForEach>) {
        if let Some(for_each) = for_each {
            self.group(Some(for_each.group));
            self.optional(for_each.order.as_ref().map(|order| &order.key));
        }
    }

    fn decision(&mut self, decision: &Decision) {
        self.for_each(decision.for_each.as_ref());
        self.optional(decision.only_when.as_ref());
        match &decision.body {
            Body::Table(table) => self.table(table),
            Body::Gives(gives) => self.gives(gives),
            Body::Progression(progression) => self.progression(progression),
        }
        for step in &decision.steps {
            match step {
                Step::Table(table) => self.table(table),
                Step::KeptWithin { low, high, .. } => {
                    self.expression(low);
                    self.expression(high);
                }
                Step::Rounded { to, .. } => self.expression(to),
                Step::OrIfUnknown { instead, .. } => self.expression(instead),
            }
        }
    }

    fn gives(&mut self, gives: &Gives) {
        self.expression(&gives.value);
    }

    fn progression(&mut self, progression: &Progression) {
        self.gives(&progression.first);
        for gives in progression.kept.iter().chain(&progression.last) {
            self.gives(gives);
        }
        match &progression.next {
            Some(NextStep::Gives(gives)) => self.gives(gives),
            Some(NextStep::Table(table)) => self.table(table),
            None => {}
        }
    }

    fn table(&mut self, table: &Table) {
        for column in &table.columns {
            self.expression(&column.value);
        }
        let results = table.rows.iter().map(|row| &row.result);
        for result in results.chain(&table.if_unknown) {
            match result {
                RowResult::Gives(value) | RowResult::Adds(value) | RowResult::TakesOff(value) => {
                    self.expression(value);
                }
                RowResult::Moves(_) | RowResult::Keeps | RowResult::CannotHappen => {}
            }
        }
    }

    /// A choice rests on what its own lines mention; that an earlier choice may have taken the
    /// piece is the stock's doing, not a reading's.
    fn choose(&mut self, choose: &Choose) {
        self.for_each(choose.for_each.as_ref());
        self.optional(choose.only_when.as_ref());
        for candidate in &choose.lets {
            self.expression(&candidate.value);
        }
        for needs in &choose.needs {
            self.needs(needs);
        }
        for prefers in &choose.prefers {
            self.optional(prefers.when.as_ref());
            match &prefers.what {
                Preference::Near {
                    value,
                    near,
                    within,
                } => {
                    for expression in [value, near, within] {
                        self.expression(expression);
                    }
                }
                Preference::Holds(condition) => self.expression(condition),
            }
        }
        for rung in &choose.rungs {
            if let RungKind::Needs { needs, .. } = &rung.kind {
                self.needs(needs);
            }
        }
        for agrees in &choose.agrees_on {
            self.optional(agrees.when.as_ref());
        }
    }

    fn needs(&mut self, needs: &Needs) {
        self.expression(&needs.condition);
        self.optional(needs.when.as_ref());
    }

    fn expression(&mut self, expression: &Expression) {
        match &expression.kind {
            ExpressionKind::Constant(_)
            | ExpressionKind::None
            | ExpressionKind::Candidate(_)
            | ExpressionKind::PreviousValue => {}
            ExpressionKind::Input(id) => self.mention(Node::Input(*id)),
            ExpressionKind::Let(id, _) => self.mention(Node::Let(*id)),
            ExpressionKind::Decision(id, _) => self.mention(Node::Decision(*id)),
            ExpressionKind::Field { group, .. } => self.mention(Node::Group(*group)),
            ExpressionKind::Chosen { choose, .. } => self.mention(Node::Choose(*choose)),
            ExpressionKind::Negative(one)
            | ExpressionKind::Not(one)
            | ExpressionKind::SizeOf(one)
            | ExpressionKind::Moved(one, _)
            | ExpressionKind::IsNone { value: one, .. }
            | ExpressionKind::IsKnown { value: one, .. }
            | ExpressionKind::IsOneOf { value: one, .. } => self.expression(one),
            ExpressionKind::Arithmetic(_, left, right)
            | ExpressionKind::And(left, right)
            | ExpressionKind::Or(left, right)
            | ExpressionKind::Extreme(_, left, right)
            | ExpressionKind::Is { left, right, .. }
            | ExpressionKind::Includes {
                list: left,
                value: right,
            }
            | ExpressionKind::Order { left, right, .. }
            | ExpressionKind::Rounded {
                value: left,
                to: right,
                ..
            }
            | ExpressionKind::OrIfUnknown {
                value: left,
                instead: right,
            } => self.all([left, right]),
            ExpressionKind::Within {
                subject: first,
                tolerance: second,
                of: third,
            }
            | ExpressionKind::If {
                condition: first,
                then: second,
                otherwise: third,
            }
            | ExpressionKind::KeptWithin {
                value: first,
                low: second,
                high: third,
            } => self.all([first, second, third]),
            ExpressionKind::Model(_, arguments) => self.all(arguments),
            ExpressionKind::Aggregate(aggregate) => self.aggregate(aggregate),
        }
    }

    fn aggregate(&mut self, aggregate: &Aggregate) {
        let (over, inner) = match aggregate {
            Aggregate::NumberOf(over, condition) => (over, condition.as_ref()),
            Aggregate::ExtremeOf(_, over, value)
            | Aggregate::TotalOf(over, value)
            | Aggregate::AnyWhere(over, value) => (over, Some(value)),
        };
        if let Over::Group(group) = over {
            self.mention(Node::Group(*group));
        }
        self.optional(inner);
    }

    fn all<'a, E>(&mut self, expressions: impl IntoIterator<Item = &'a E>)
    where
        E: std::borrow::Borrow<Expression> + 'a,
    {
        for expression in expressions {
            self.expression(expression.borrow());
        }
    }

    fn mention(&mut self, node: Node) {
        self.nodes.insert(node);
    }
}
