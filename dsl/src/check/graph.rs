//! The graph: what each node depends on, circles, and the order of evaluation.

use std::collections::{BTreeMap, BTreeSet};

use super::checker::Checker;
use crate::diagnostic::{Code, Diagnostic};
use crate::program::{
    Aggregate, Body, ChooseId, Expression, ExpressionKind, GroupId, Members, NextStep, Node, Over,
    Preference, Program, RowResult, RungKind, Step, Table, TextPiece,
};
use crate::syntax::Span;

/// The expressions directly inside an expression.
pub(crate) fn children(expression: &Expression) -> Vec<&Expression> {
    match &expression.kind {
        ExpressionKind::Constant(_)
        | ExpressionKind::None
        | ExpressionKind::Input(_)
        | ExpressionKind::Let(..)
        | ExpressionKind::Decision(..)
        | ExpressionKind::Field { .. }
        | ExpressionKind::Chosen { .. }
        | ExpressionKind::Candidate(_)
        | ExpressionKind::PreviousValue => Vec::new(),
        ExpressionKind::Negative(value)
        | ExpressionKind::Not(value)
        | ExpressionKind::SizeOf(value)
        | ExpressionKind::Moved(value, _)
        | ExpressionKind::IsNone { value, .. }
        | ExpressionKind::IsKnown { value, .. }
        | ExpressionKind::IsOneOf { value, .. } => vec![value],
        ExpressionKind::Arithmetic(_, left, right)
        | ExpressionKind::And(left, right)
        | ExpressionKind::Or(left, right)
        | ExpressionKind::Extreme(_, left, right)
        | ExpressionKind::Is { left, right, .. }
        | ExpressionKind::Order { left, right, .. } => vec![left, right],
        ExpressionKind::Within {
            subject,
            tolerance,
            of,
        } => vec![subject, tolerance, of],
        ExpressionKind::If {
            condition,
            then,
            otherwise,
        } => vec![condition, then, otherwise],
        ExpressionKind::Model(_, arguments) => arguments.iter().collect(),
        ExpressionKind::Aggregate(aggregate) => match &**aggregate {
            Aggregate::NumberOf(_, condition) => condition.iter().collect(),
            Aggregate::ExtremeOf(_, _, value)
            | Aggregate::TotalOf(_, value)
            | Aggregate::AnyWhere(_, value) => vec![value],
        },
        ExpressionKind::Rounded { value, to, .. } => vec![value, to],
        ExpressionKind::KeptWithin { value, low, high } => vec![value, low, high],
        ExpressionKind::OrIfUnknown { value, instead } => vec![value, instead],
    }
}

/// What a program's nodes depend on.
pub(crate) fn dependencies(program: &Program) -> BTreeMap<Node, BTreeSet<Node>> {
    let mut graph = BTreeMap::new();
    for (id, input) in program.inputs.entries() {
        let mut found = Collector::new(program);
        found.maybe(input.only_when.as_ref());
        graph.insert(Node::Input(id), found.nodes);
    }
    for (id, let_) in program.lets.entries() {
        let mut found = Collector::new(program);
        found.group(let_.for_each);
        found.expression(&let_.value);
        graph.insert(Node::Let(id), found.nodes);
    }
    for (id, group) in program.groups.entries() {
        let mut found = Collector::new(program);
        match &group.members {
            Members::GivenWithThePlayer => {}
            Members::AsManyAs(count) => found.expression(count),
            Members::MadeBy { from, .. } => found.nodes.extend(from.iter().copied()),
            Members::Where { of, condition } => {
                found.group(Some(*of));
                found.expression(condition);
            }
        }
        graph.insert(Node::Group(id), found.nodes);
    }
    for (id, decision) in program.decisions.entries() {
        let mut found = Collector::new(program);
        found.for_each(decision.for_each.as_ref());
        found.maybe(decision.only_when.as_ref());
        found.body(&decision.body);
        for step in &decision.steps {
            found.step(step);
        }
        graph.insert(Node::Decision(id), found.nodes);
    }
    for id in program.chooses.ids() {
        let mut found = Collector::new(program);
        found.choose(id);
        graph.insert(Node::Choose(id), found.nodes);
    }
    for (id, limit) in program.limits.entries() {
        let mut found = Collector::new(program);
        found.condition(
            limit.for_each,
            &limit.condition,
            limit.only_when.as_ref(),
            &limit.says,
        );
        graph.insert(Node::Limit(id), found.nodes);
    }
    for (id, caution) in program.cautions.entries() {
        let mut found = Collector::new(program);
        found.condition(
            caution.for_each,
            &caution.condition,
            caution.only_when.as_ref(),
            &caution.says,
        );
        graph.insert(Node::Caution(id), found.nodes);
    }
    graph
}

struct Collector<'p> {
    program: &'p Program,
    nodes: BTreeSet<Node>,
}

impl<'p> Collector<'p> {
    fn new(program: &'p Program) -> Self {
        Collector {
            program,
            nodes: BTreeSet::new(),
        }
    }

    fn maybe(&mut self, expression: Option<&Expression>) {
        if let Some(expression) = expression {
            self.expression(expression);
        }
    }

    fn group(&mut self, group: Option<GroupId>) {
        self.nodes.extend(group.map(Node::Group));
    }

    fn for_each(&mut self, for_each: Option<&crate::program::ForEach>) {
        if let Some(for_each) = for_each {
            self.group(Some(for_each.group));
            self.maybe(for_each.order.as_ref().map(|order| &order.key));
        }
    }

    fn expression(&mut self, expression: &Expression) {
        match &expression.kind {
            ExpressionKind::Input(id) => {
                self.nodes.insert(Node::Input(*id));
            }
            ExpressionKind::Let(id, _) => {
                self.nodes.insert(Node::Let(*id));
            }
            ExpressionKind::Decision(id, _) => {
                self.nodes.insert(Node::Decision(*id));
            }
            ExpressionKind::Field { group, .. } => self.group(Some(*group)),
            ExpressionKind::Chosen { choose, .. } => {
                self.nodes.insert(Node::Choose(*choose));
            }
            ExpressionKind::Aggregate(aggregate) => {
                let over = match &**aggregate {
                    Aggregate::NumberOf(over, _)
                    | Aggregate::ExtremeOf(_, over, _)
                    | Aggregate::TotalOf(over, _)
                    | Aggregate::AnyWhere(over, _) => *over,
                };
                if let Over::Group(group) = over {
                    self.group(Some(group));
                }
            }
            _ => {}
        }
        for child in children(expression) {
            self.expression(child);
        }
    }

    fn table(&mut self, table: &Table) {
        for column in &table.columns {
            self.expression(&column.value);
        }
        for row in &table.rows {
            self.result(&row.result);
        }
        if let Some(result) = &table.if_unknown {
            self.result(result);
        }
    }

    fn result(&mut self, result: &RowResult) {
        if let RowResult::Gives(value) | RowResult::Adds(value) | RowResult::TakesOff(value) =
            result
        {
            self.expression(value);
        }
    }

    fn body(&mut self, body: &Body) {
        match body {
            Body::Table(table) => self.table(table),
            Body::Gives(gives) => self.expression(&gives.value),
            Body::Progression(progression) => {
                self.maybe(progression.kept.as_ref().map(|gives| &gives.value));
                self.expression(&progression.first.value);
                match &progression.next {
                    Some(NextStep::Gives(gives)) => self.expression(&gives.value),
                    Some(NextStep::Table(table)) => self.table(table),
                    None => {}
                }
                self.maybe(progression.last.as_ref().map(|gives| &gives.value));
                if progression.kept.is_some() {
                    // Which clubs are kept is the club group's to say.
                    let club = self.program.groups.entries().find(|(_, group)| {
                        group.field_index("is_kept").is_some()
                            && matches!(&group.members, Members::MadeBy { maker, .. } if maker == "standard_set")
                    });
                    self.group(club.map(|(id, _)| id));
                }
            }
        }
    }

    fn step(&mut self, step: &Step) {
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

    fn choose(&mut self, id: ChooseId) {
        let program = self.program;
        let choose = &program.chooses[id];
        self.for_each(choose.for_each.as_ref());
        self.maybe(choose.only_when.as_ref());
        self.nodes
            .extend(choose.after.iter().map(|other| Node::Choose(*other)));
        for let_ in &choose.lets {
            self.expression(&let_.value);
        }
        let rungs = choose.rungs.iter().filter_map(|rung| match &rung.kind {
            RungKind::Needs { needs, .. } => Some(&**needs),
            _ => None,
        });
        for needs in choose.needs.iter().chain(rungs) {
            self.expression(&needs.condition);
            self.maybe(needs.when.as_ref());
        }
        for prefers in &choose.prefers {
            match &prefers.what {
                Preference::Holds(condition) => self.expression(condition),
                Preference::Near {
                    value,
                    near,
                    within,
                } => {
                    self.expression(value);
                    self.expression(near);
                    self.expression(within);
                }
            }
            self.maybe(prefers.when.as_ref());
        }
    }

    fn condition(
        &mut self,
        group: Option<GroupId>,
        condition: &Expression,
        only_when: Option<&Expression>,
        says: &[TextPiece],
    ) {
        self.group(group);
        self.expression(condition);
        self.maybe(only_when);
        for piece in says {
            if let TextPiece::Value(value, _) = piece {
                self.expression(value);
            }
        }
    }
}

/// A node's name: what breaks ties of the order.
pub(crate) fn node_name(program: &Program, node: Node) -> &str {
    match node {
        Node::Input(id) => &program.inputs[id].name,
        Node::Let(id) => &program.lets[id].name,
        Node::Group(id) => &program.groups[id].name,
        Node::Decision(id) => &program.decisions[id].name,
        Node::Choose(id) => &program.chooses[id].name,
        Node::Limit(id) => &program.limits[id].name,
        Node::Caution(id) => &program.cautions[id].name,
    }
}

fn node_span(program: &Program, node: Node) -> Span {
    match node {
        Node::Input(id) => program.inputs[id].origin.span,
        Node::Let(id) => program.lets[id].origin.span,
        Node::Group(id) => program.groups[id].origin.span,
        Node::Decision(id) => program.decisions[id].origin.span,
        Node::Choose(id) => program.chooses[id].origin.span,
        Node::Limit(id) => program.limits[id].origin.span,
        Node::Caution(id) => program.cautions[id].origin.span,
    }
}

impl Checker<'_> {
    /// The order of evaluation, or the circles that leave none.
    ///
    /// Choices that take from one part must follow each other: where neither depends on the other,
    /// the one whose name is first takes first.
    pub(super) fn order_graph(&mut self) {
        let mut graph = dependencies(&self.program);
        if !self.take_order(&mut graph) {
            return;
        }
        let chains: Vec<ChooseId> = self.program.chooses.ids().collect();
        for (place, later) in chains.iter().enumerate() {
            for earlier in chains.iter().take(place) {
                let (one, other) = (
                    &self.program.chooses[*earlier],
                    &self.program.chooses[*later],
                );
                if one.part != other.part || one.takes.is_none() || other.takes.is_none() {
                    continue;
                }
                let (earlier, later) = (Node::Choose(*earlier), Node::Choose(*later));
                let (before, after) = if reaches(&graph, earlier, later) {
                    (later, earlier)
                } else {
                    (earlier, later)
                };
                if let (Node::Choose(after), Node::Choose(before)) = (after, before)
                    && !self.program.chooses[after].after.contains(&before)
                {
                    self.program.chooses[after].after.push(before);
                }
                if let Some(needed) = graph.get_mut(&after) {
                    needed.insert(before);
                }
            }
        }
        self.take_order(&mut graph);
    }

    fn take_order(&mut self, graph: &mut BTreeMap<Node, BTreeSet<Node>>) -> bool {
        let program = &self.program;
        let mut waiting: BTreeMap<Node, usize> = graph
            .iter()
            .map(|(node, needed)| (*node, needed.len()))
            .collect();
        let mut users: BTreeMap<Node, Vec<Node>> = BTreeMap::new();
        for (node, needed) in graph.iter() {
            for need in needed {
                users.entry(*need).or_default().push(*node);
            }
        }
        let mut ready: BTreeSet<(&str, Node)> = waiting
            .iter()
            .filter(|(_, count)| **count == 0)
            .map(|(node, _)| (node_name(program, *node), *node))
            .collect();
        let mut order = Vec::with_capacity(graph.len());
        while let Some((_, node)) = ready.pop_first() {
            order.push(node);
            for user in users.get(&node).into_iter().flatten() {
                if let Some(count) = waiting.get_mut(user) {
                    *count = count.saturating_sub(1);
                    if *count == 0 {
                        ready.insert((node_name(program, *user), *user));
                    }
                }
            }
        }
        if order.len() == graph.len() {
            self.program.order = order;
            return true;
        }
        let done: BTreeSet<Node> = order.into_iter().collect();
        self.report_circle(graph, &done);
        false
    }

    fn report_circle(&mut self, graph: &BTreeMap<Node, BTreeSet<Node>>, done: &BTreeSet<Node>) {
        // From any node that is left, going along what is left leads into a circle.
        let next = |node: Node| {
            graph
                .get(&node)
                .and_then(|needed| needed.iter().find(|need| !done.contains(need)))
                .copied()
        };
        let Some(start) = graph.keys().find(|node| !done.contains(node)).copied() else {
            return;
        };
        let mut path = vec![start];
        let mut at = start;
        while let Some(following) = next(at) {
            if let Some(place) = path.iter().position(|node| *node == following) {
                path.drain(..place);
                break;
            }
            path.push(following);
            at = following;
        }
        let names: Vec<&str> = path
            .iter()
            .map(|node| node_name(&self.program, *node))
            .collect();
        let first = names.first().copied().unwrap_or_default();
        let message = format!("these rest on each other: {} → {first}", names.join(" → "));
        let spans: Vec<Span> = path
            .iter()
            .map(|node| node_span(&self.program, *node))
            .collect();
        let Some((head, rest)) = spans.split_first() else {
            return;
        };
        let mut finding = Diagnostic::error(Code::Cycle, *head, message);
        for span in rest {
            finding = finding.also_at(*span, "and this");
        }
        let _: Option<()> = self.report(finding);
    }
}

/// Whether `from` depends on `to`, directly or through others.
fn reaches(graph: &BTreeMap<Node, BTreeSet<Node>>, from: Node, to: Node) -> bool {
    let mut seen = BTreeSet::new();
    let mut stack = vec![from];
    while let Some(node) = stack.pop() {
        if node == to {
            return true;
        }
        if seen.insert(node) {
            stack.extend(graph.get(&node).into_iter().flatten().copied());
        }
    }
    false
}
