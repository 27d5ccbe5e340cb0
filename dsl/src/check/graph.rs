//! The graph: circles, and the order of evaluation.

use std::collections::{BTreeMap, BTreeSet};

use super::checker::Checker;
use super::dependencies::dependencies;
use crate::diagnostic::{Code, Diagnostic};
use crate::program::{ChooseId, Node, Program};
use crate::syntax::Span;

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
            .map(|(node, _)| (program.name_of(*node), *node))
            .collect();
        let mut order = Vec::with_capacity(graph.len());
        while let Some((_, node)) = ready.pop_first() {
            order.push(node);
            for user in users.get(&node).into_iter().flatten() {
                if let Some(count) = waiting.get_mut(user) {
                    *count = count.saturating_sub(1);
                    if *count == 0 {
                        ready.insert((program.name_of(*user), *user));
                    }
                }
            }
        }
        // What no circle touches keeps its order, so that its tables are proved all the same.
        let done: BTreeSet<Node> = order.iter().copied().collect();
        self.program.order = order;
        if done.len() == graph.len() {
            return true;
        }
        for circle in circles(graph, done) {
            self.report_circle(&circle);
        }
        false
    }

    /// Reports a circle: each of its nodes needs the next one, the last one the first.
    pub(super) fn report_circle(&mut self, circle: &[Node]) {
        let program = &self.program;
        let place = |node: &Node| (program.name_of(*node), node_span(program, *node));
        let places: Vec<(&str, Span)> = circle.iter().map(place).collect();
        let names: Vec<&str> = places.iter().map(|(name, _)| *name).collect();
        let Some(((first, head), rest)) = places.split_first() else {
            return;
        };
        let Some((second, _)) = rest.first() else {
            let message = format!("`{first}` rests on itself");
            let _: Option<()> = self.error(Code::Cycle, *head, message);
            return;
        };
        let message = format!("these rest on each other: {} → {first}", names.join(" → "));
        let mut finding =
            Diagnostic::error(Code::Cycle, *head, message).labelled(format!("needs `{second}`"));
        let following = names.iter().skip(2).chain([first]);
        for ((_, span), needed) in rest.iter().zip(following) {
            finding = finding.also_at(*span, format!("needs `{needed}`"));
        }
        let _: Option<()> = self.report(finding);
    }
}

/// The circles among the nodes that are not done: none of them shares a node with another, so that
/// each is a slip of its own.
fn circles(graph: &BTreeMap<Node, BTreeSet<Node>>, mut done: BTreeSet<Node>) -> Vec<Vec<Node>> {
    let mut circles = Vec::new();
    let mut in_a_circle: BTreeSet<Node> = BTreeSet::new();
    for start in graph.keys() {
        // The way to the node that is looked at, each with what it needs and was not looked at.
        let mut way: Vec<(Node, Vec<Node>)> = Vec::new();
        let mut following = Some(*start);
        while let Some(node) = following {
            if done.insert(node) {
                let needed = graph.get(&node).into_iter().flatten();
                way.push((node, needed.rev().copied().collect()));
            } else if let Some(place) = way.iter().position(|(on_the_way, _)| *on_the_way == node) {
                let nodes = way.iter().skip(place).map(|(node, _)| *node);
                let circle: Vec<Node> = nodes.collect();
                if circle.iter().all(|node| !in_a_circle.contains(node)) {
                    in_a_circle.extend(&circle);
                    circles.push(circle);
                }
            }
            following = None;
            while let Some((_, needed)) = way.last_mut() {
                following = needed.pop();
                if following.is_some() {
                    break;
                }
                way.pop();
            }
        }
    }
    circles
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
