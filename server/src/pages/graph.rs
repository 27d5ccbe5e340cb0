//! The graphs of a record and of a decision, before they have places.

use std::collections::{BTreeMap, BTreeSet};

use loftwright_dsl::outline::{NodeKind, Outline};
use loftwright_proto::v1 as pb;

use crate::explain::text::kind_word;
use crate::explain::{came_to, display_name};
use crate::rpc::explaining::Explainable;

/// A graph to be drawn. What is looked at stands before what looks at it.
#[derive(Clone, Debug, Default)]
pub(super) struct Graph {
    pub(super) title: String,
    pub(super) nodes: Vec<Node>,
    /// From what is looked at to what looks at it.
    pub(super) edges: BTreeSet<(usize, usize)>,
}

/// A box of it.
#[derive(Clone, Debug)]
pub(super) struct Node {
    pub(super) name: String,
    pub(super) under: String,
    pub(super) shape: Shape,
}

/// How a box is drawn: each kind by a shape of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Shape {
    Reading,
    Assumed,
    Missing,
    Computed,
    Decision,
    Choice,
    Group,
    /// What the page is about.
    Asked,
}

/// What one decision rested on.
pub(super) fn of_decision(explained: &pb::ExplainedDecision) -> Graph {
    let report = explained.report.clone().unwrap_or_default();
    let mut graph = Graph {
        title: format!(
            "What {} rested on",
            display_name(&report.name, report.club.as_deref())
        ),
        ..Graph::default()
    };
    let mut places = BTreeMap::new();
    for node in &explained.rests_on {
        places.insert(node.name.as_str(), graph.nodes.len());
        graph.nodes.push(Node {
            name: node.name.clone(),
            under: under(node),
            shape: shape(node.kind()),
        });
    }
    for (index, node) in explained.rests_on.iter().enumerate() {
        let looked = node.looks_at.iter();
        let from = looked.filter_map(|name| places.get(name.as_str()));
        graph.edges.extend(from.map(|from| (*from, index)));
    }
    let asked = graph.nodes.len();
    graph.nodes.push(Node {
        name: report.name.clone(),
        under: came_to(&report),
        shape: Shape::Asked,
    });
    let looked = explained.looks_at.iter();
    let from = looked.filter_map(|name| places.get(name.as_str()));
    graph.edges.extend(from.map(|from| (*from, asked)));
    graph
}

fn under(node: &pb::ExplainedNode) -> String {
    match &node.value {
        // The spread and the shots stand in the table.
        Some(value) => value.split(", ").next().unwrap_or(value).to_owned(),
        None => kind_word(node.kind()).to_owned(),
    }
}

fn shape(kind: pb::ExplainedKind) -> Shape {
    match kind {
        pb::ExplainedKind::Reading => Shape::Reading,
        pb::ExplainedKind::Assumed => Shape::Assumed,
        pb::ExplainedKind::Missing => Shape::Missing,
        pb::ExplainedKind::Decision => Shape::Decision,
        pb::ExplainedKind::Choice => Shape::Choice,
        pb::ExplainedKind::Group => Shape::Group,
        pb::ExplainedKind::Computed | pb::ExplainedKind::Unspecified => Shape::Computed,
    }
}

/// The decisions and choices of a record, and which looked at which. Where one follows from others
/// anyway its line is left out.
pub(super) fn of_record(explainable: &Explainable) -> Graph {
    let recommendation = &explainable.body.recommendation;
    let mut graph = Graph {
        title: "The decisions of the record".to_owned(),
        ..Graph::default()
    };
    let mut places: BTreeMap<&str, usize> = BTreeMap::new();
    for report in &recommendation.decisions {
        if places.contains_key(report.name.as_str()) {
            continue;
        }
        places.insert(&report.name, graph.nodes.len());
        let count = recommendation.decisions.iter();
        let count = count.filter(|other| other.name == report.name).count();
        let is_choice = matches!(
            report.ending(),
            pb::Ending::Chosen
                | pb::Ending::Ordered
                | pb::Ending::NoneOnHand
                | pb::Ending::LeftOpen
        );
        graph.nodes.push(Node {
            name: report.name.clone(),
            under: match count {
                1 => came_to(report),
                count => format!("{count} clubs"),
            },
            shape: if is_choice {
                Shape::Choice
            } else {
                Shape::Decision
            },
        });
    }
    if let Ok(rules) = &explainable.rules {
        let edges = edges(&rules.outline, &places);
        graph.edges = without_detours(&edges, graph.nodes.len());
    }
    graph
}

/// Which decisions look at which, through computed values and groups' sizes too.
fn edges(outline: &Outline, places: &BTreeMap<&str, usize>) -> BTreeSet<(usize, usize)> {
    // The decisions that a name leads to; what is looked at stands before.
    let mut leads: BTreeMap<&str, BTreeSet<usize>> = BTreeMap::new();
    let mut edges = BTreeSet::new();
    for node in &outline.nodes {
        let reads = node
            .reads
            .iter()
            .filter(|name| Some(*name) != node.for_each.as_ref());
        let from: BTreeSet<usize> = reads
            .filter_map(|name| leads.get(name.as_str()))
            .flatten()
            .copied()
            .collect();
        let own = match (places.get(node.name.as_str()), node.kind) {
            (Some(place), _) => {
                edges.extend(
                    from.iter()
                        .map(|from| (*from, *place))
                        .filter(|(from, to)| from < to),
                );
                BTreeSet::from([*place])
            }
            (None, NodeKind::Let) => from,
            (None, _) => BTreeSet::new(),
        };
        leads.insert(&node.name, own);
    }
    edges
}

/// The edges without those that a longer way replaces.
fn without_detours(edges: &BTreeSet<(usize, usize)>, count: usize) -> BTreeSet<(usize, usize)> {
    // Whatever leads to a node, directly or not; edges lead from a lower number to a higher.
    let mut before: Vec<BTreeSet<usize>> = vec![BTreeSet::new(); count];
    let mut by_target: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (from, to) in edges {
        by_target.entry(*to).or_default().push(*from);
    }
    let mut kept = BTreeSet::new();
    for (to, sources) in &by_target {
        let mut all: BTreeSet<usize> = sources.iter().copied().collect();
        for from in sources {
            let is_detoured = sources
                .iter()
                .any(|other| before.get(*other).is_some_and(|known| known.contains(from)));
            if !is_detoured {
                kept.insert((*from, *to));
            }
            all.extend(before.get(*from).into_iter().flatten());
        }
        if let Some(known) = before.get_mut(*to) {
            *known = all;
        }
    }
    kept
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::without_detours;

    #[test]
    fn an_edge_that_a_longer_way_replaces_is_left_out() {
        let edges = BTreeSet::from([(0, 1), (1, 2), (0, 2), (2, 3), (0, 3), (1, 4)]);
        let kept = without_detours(&edges, 5);
        assert_eq!(kept, BTreeSet::from([(0, 1), (1, 2), (2, 3), (1, 4)]));
    }
}
