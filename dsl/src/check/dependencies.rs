//! What each node depends on.

use std::collections::{BTreeMap, BTreeSet};

use super::fields::field_owner;
use crate::program::{
    Aggregate, Body, ChooseId, Expression, ExpressionKind, Group, GroupId, Member, Members,
    NextStep, Node, Over, Preference, Program, RowResult, RungKind, Step, Table, TextPiece,
};

/// The expressions directly inside an expression.
pub fn children(expression: &Expression) -> Vec<&Expression> {
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
        ExpressionKind::Includes { list, value } => vec![list, value],
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

/// What a node's expressions look at.
#[derive(Clone, Debug, Default)]
pub struct Reads {
    /// The nodes; a group stands for that it is made, and of which clubs.
    pub nodes: BTreeSet<Node>,
    /// The fields of clubs, each by the group that has it. What a maker looks at it knows itself.
    pub fields: BTreeSet<(GroupId, usize)>,
    /// The groups in which a club at hand is looked for.
    pub clubs_of: BTreeSet<GroupId>,
}

/// What a program's nodes depend on.
pub fn dependencies(program: &Program) -> BTreeMap<Node, BTreeSet<Node>> {
    let of_nodes = |(node, reads): (Node, Reads)| (node, reads.nodes);
    reads(program).into_iter().map(of_nodes).collect()
}

/// What a program's nodes look at.
pub fn reads(program: &Program) -> BTreeMap<Node, Reads> {
    let mut graph = BTreeMap::new();
    for (id, input) in program.inputs.entries() {
        let mut found = Collector::of(program, None);
        found.maybe(input.only_when.as_ref());
        graph.insert(Node::Input(id), found.reads);
    }
    for (id, let_) in program.lets.entries() {
        let mut found = Collector::of(program, let_.for_each);
        found.group(let_.for_each);
        found.expression(&let_.value);
        graph.insert(Node::Let(id), found.reads);
    }
    for (id, group) in program.groups.entries() {
        let at_hand = match &group.members {
            Members::Where { of, .. } => Some(*of),
            _ => None,
        };
        let mut found = Collector::of(program, at_hand);
        match &group.members {
            Members::GivenWithThePlayer => {}
            Members::AsManyAs(count) => found.expression(count),
            Members::MadeBy { from, .. } => found.reads.nodes.extend(from.iter().copied()),
            Members::Where { of, condition } => {
                found.group(Some(*of));
                found.expression(condition);
            }
        }
        graph.insert(Node::Group(id), found.reads);
    }
    for (id, decision) in program.decisions.entries() {
        let group = decision.for_each.as_ref().map(|for_each| for_each.group);
        let mut found = Collector::of(program, group);
        found.for_each(decision.for_each.as_ref());
        found.maybe(decision.only_when.as_ref());
        found.body(&decision.body);
        for step in &decision.steps {
            found.step(step);
        }
        graph.insert(Node::Decision(id), found.reads);
    }
    for id in program.chooses.ids() {
        let for_each = program.chooses[id].for_each.as_ref();
        let mut found = Collector::of(program, for_each.map(|for_each| for_each.group));
        found.choose(id);
        graph.insert(Node::Choose(id), found.reads);
    }
    for (id, limit) in program.limits.entries() {
        let mut found = Collector::of(program, limit.for_each);
        found.condition(
            limit.for_each,
            &limit.condition,
            limit.only_when.as_ref(),
            &limit.says,
        );
        graph.insert(Node::Limit(id), found.reads);
    }
    for (id, caution) in program.cautions.entries() {
        let mut found = Collector::of(program, caution.for_each);
        found.condition(
            caution.for_each,
            &caution.condition,
            caution.only_when.as_ref(),
            &caution.says,
        );
        graph.insert(Node::Caution(id), found.reads);
    }
    graph
}

struct Collector<'p> {
    program: &'p Program,
    /// The group whose member is the club at hand.
    at_hand: Option<GroupId>,
    reads: Reads,
}

impl<'p> Collector<'p> {
    fn of(program: &'p Program, at_hand: Option<GroupId>) -> Self {
        Collector {
            program,
            at_hand,
            reads: Reads::default(),
        }
    }

    fn maybe(&mut self, expression: Option<&Expression>) {
        if let Some(expression) = expression {
            self.expression(expression);
        }
    }

    fn group(&mut self, group: Option<GroupId>) {
        self.reads.nodes.extend(group.map(Node::Group));
    }

    fn for_each(&mut self, for_each: Option<&crate::program::ForEach>) {
        if let Some(for_each) = for_each {
            self.group(Some(for_each.group));
            self.maybe(for_each.order.as_ref().map(|order| &order.key));
        }
    }

    /// Which planned club a club that the player brings is, only the group made of both says: what
    /// looks from one at the other waits for it.
    fn same_club(&mut self, target: Option<GroupId>, member: Member) {
        self.reads.clubs_of.extend(target);
        let (Some(at_hand), Some(target)) = (self.at_hand, target) else {
            return;
        };
        if matches!(member, Member::First | Member::Last) {
            return;
        }
        let program = self.program;
        let given = |group| {
            let owner = field_owner(program, group);
            let members = &program.groups[owner].members;
            matches!(members, Members::GivenWithThePlayer).then_some(Node::Group(owner))
        };
        let brought = match (given(at_hand), given(target)) {
            (Some(brought), None) | (None, Some(brought)) => brought,
            _ => return,
        };
        let joins = |group: &Group| match &group.members {
            Members::MadeBy { from, .. } => from.contains(&brought),
            _ => false,
        };
        let joined = program.groups.entries().filter(|(_, group)| joins(group));
        self.reads
            .nodes
            .extend(joined.map(|(id, _)| Node::Group(id)));
    }

    fn expression(&mut self, expression: &Expression) {
        let program = self.program;
        match &expression.kind {
            ExpressionKind::Input(id) => {
                self.reads.nodes.insert(Node::Input(*id));
            }
            ExpressionKind::Let(id, member) => {
                self.reads.nodes.insert(Node::Let(*id));
                self.same_club(program.lets[*id].for_each, *member);
            }
            ExpressionKind::Decision(id, member) => {
                self.reads.nodes.insert(Node::Decision(*id));
                let for_each = program.decisions[*id].for_each.as_ref();
                self.same_club(for_each.map(|for_each| for_each.group), *member);
            }
            ExpressionKind::Field {
                group,
                field,
                member,
            } => {
                self.group(Some(*group));
                let owner = field_owner(program, *group);
                self.reads.fields.insert((owner, *field));
                self.same_club(Some(*group), *member);
            }
            ExpressionKind::Chosen { choose, member, .. } => {
                self.reads.nodes.insert(Node::Choose(*choose));
                let for_each = program.chooses[*choose].for_each.as_ref();
                self.same_club(for_each.map(|for_each| for_each.group), *member);
            }
            ExpressionKind::Aggregate(aggregate) => return self.aggregate(expression, aggregate),
            _ => {}
        }
        self.inside(expression);
    }

    fn inside(&mut self, expression: &Expression) {
        for child in children(expression) {
            self.expression(child);
        }
    }

    /// Inside an aggregate over a group, its member is the club at hand.
    fn aggregate(&mut self, expression: &Expression, aggregate: &Aggregate) {
        let over = match aggregate {
            Aggregate::NumberOf(over, _)
            | Aggregate::ExtremeOf(_, over, _)
            | Aggregate::TotalOf(over, _)
            | Aggregate::AnyWhere(over, _) => *over,
        };
        let inner = match over {
            Over::Group(group) => Some(group),
            Over::PartsOnHand(_) => None,
        };
        self.group(inner);
        let outer = std::mem::replace(&mut self.at_hand, inner);
        self.inside(expression);
        self.at_hand = outer;
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
        self.reads
            .nodes
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
        for agrees in &choose.agrees_on {
            self.maybe(agrees.when.as_ref());
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
