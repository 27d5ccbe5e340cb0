//! What a decision rested on: readings, computed values, other decisions, back to the readings.
//!
//! Which declarations look at which others is what the kept rules say; the values are those of the
//! record. Without the rules the steps still name what each looked at, and the graph has only that.
//! Groups of clubs end it: what a set is made from would bring in all there is.

use std::collections::{BTreeMap, BTreeSet};

use loftwright_dsl::outline::{Detail, NodeFact, NodeKind, Outline};
use loftwright_proto::v1 as pb;

use super::facts::{Facts, came_to};

/// All that a decision rested on, in the order of evaluation.
pub(super) fn rests_on(
    facts: &Facts<'_>,
    outline: Option<&Outline>,
    report: &pb::DecisionReport,
) -> Vec<pb::ExplainedNode> {
    let graph = Graph::of(facts, outline);
    let mut found: BTreeSet<&str> = BTreeSet::new();
    let mut open: Vec<&str> = graph.looks_at(&report.name, report.club.as_deref());
    while let Some(name) = open.pop() {
        if found.insert(name) && !graph.is_group(name) {
            open.extend(graph.looks_at(name, report.club.as_deref()));
        }
    }
    found.remove(report.name.as_str());
    let mut names: Vec<&str> = found.into_iter().collect();
    names.sort_by_key(|name| graph.place(name));
    let club = report.club.as_deref();
    names
        .into_iter()
        .filter_map(|name| graph.node(name, club))
        .collect()
}

/// What a decision looks at itself, by name.
pub(super) fn looks_at(
    facts: &Facts<'_>,
    outline: Option<&Outline>,
    report: &pb::DecisionReport,
) -> Vec<String> {
    let graph = Graph::of(facts, outline);
    let names = graph.looks_at(&report.name, report.club.as_deref());
    names.into_iter().map(str::to_owned).collect()
}

/// The decisions and choices that rest on a reading, directly or through others, by name.
pub(super) fn rest_on_it(facts: &Facts<'_>, outline: Option<&Outline>, input: &str) -> Vec<String> {
    let graph = Graph::of(facts, outline);
    let mut resting: BTreeSet<&str> = BTreeSet::from([input]);
    let mut named: Vec<String> = Vec::new();
    // Whatever is looked at stands before what looks at it.
    let names: Vec<(&str, bool)> = match outline {
        Some(outline) => {
            let is_told = |kind| matches!(kind, NodeKind::Decision | NodeKind::Choice);
            let nodes = outline.nodes.iter();
            nodes
                .map(|node| (node.name.as_str(), is_told(node.kind)))
                .collect()
        }
        None => {
            let decisions = facts.recommendation.decisions.iter();
            decisions.map(|one| (one.name.as_str(), true)).collect()
        }
    };
    for (name, is_told) in names {
        let looks = graph.looks_at(name, None);
        if graph.is_group(name) || !looks.iter().any(|looked| resting.contains(looked)) {
            continue;
        }
        resting.insert(name);
        let is_recorded = graph.recorded.contains(name);
        if is_told && is_recorded && !named.iter().any(|known| known == name) {
            named.push(name.to_owned());
        }
    }
    named
}

/// The question of a reading.
pub(super) fn question(outline: &Outline, input: &str) -> Option<String> {
    let node = outline.nodes.iter().find(|node| node.name == input)?;
    match &node.detail {
        Detail::Input(detail) => detail.ask.clone(),
        _ => None,
    }
}

/// A name with the club that it is of: `club_length of the 7 iron`.
pub(crate) fn display_name(name: &str, club: Option<&str>) -> String {
    match club {
        Some(club) => format!("{name} of the {club}"),
        None => name.to_owned(),
    }
}

struct Graph<'a> {
    facts: &'a Facts<'a>,
    nodes: BTreeMap<&'a str, (usize, &'a NodeFact)>,
    /// The names of what was decided.
    recorded: BTreeSet<&'a str>,
}

impl<'a> Graph<'a> {
    fn of(facts: &'a Facts<'a>, outline: Option<&'a Outline>) -> Self {
        let nodes = outline.into_iter().flat_map(|outline| &outline.nodes);
        let decisions = facts.recommendation.decisions.iter();
        Graph {
            facts,
            nodes: nodes
                .enumerate()
                .map(|(place, node)| (node.name.as_str(), (place, node)))
                .collect(),
            recorded: decisions.map(|report| report.name.as_str()).collect(),
        }
    }

    fn is_group(&self, name: &str) -> bool {
        let node = self.nodes.get(name);
        node.is_some_and(|(_, node)| node.kind == NodeKind::Group)
    }

    /// Where a name stands in the order of evaluation; readings first.
    fn place(&self, name: &str) -> (bool, usize) {
        match self.nodes.get(name) {
            Some((place, node)) => (node.kind != NodeKind::Input, *place),
            None => {
                let decisions = self.facts.recommendation.decisions.iter();
                let mut places = decisions.enumerate();
                let found = places.find(|(_, report)| report.name == name);
                found.map_or((false, 0), |(place, _)| (true, place + 1))
            }
        }
    }

    /// What a declaration looks at; not the group that it is evaluated for, where there is more.
    fn looks_at(&self, name: &str, club: Option<&str>) -> Vec<&'a str> {
        if let Some((_, node)) = self.nodes.get(name) {
            let own_group = node.for_each.as_deref();
            let reads: Vec<&str> = node.reads.iter().map(String::as_str).collect();
            // What looks at nothing else looks at its own club.
            let others = reads
                .iter()
                .copied()
                .filter(|name| Some(*name) != own_group);
            let others: Vec<&str> = others.collect();
            return if others.is_empty() { reads } else { others };
        }
        let report = self.facts.report(name, club);
        let report = report.or_else(|| self.facts.report(name, None));
        let steps = report.into_iter().flat_map(|report| &report.steps);
        let readings = steps.flat_map(|step| &step.readings);
        let mut names: Vec<&str> = Vec::new();
        for reading in readings {
            let bare = bare_name(&reading.name);
            if is_a_name(bare) && bare != name && !names.contains(&bare) {
                names.push(bare);
            }
        }
        names
    }

    fn node(&self, name: &str, club: Option<&str>) -> Option<pb::ExplainedNode> {
        use pb::ExplainedKind as Kind;
        let known = self.nodes.get(name).map(|(_, node)| *node);
        let of_club = club.filter(|club| self.facts.report(name, Some(club)).is_some());
        let report = self.facts.report(name, of_club);
        let given = self.given(name, known);
        let (kind, value) = match (known.map(|node| node.kind), report, given) {
            (_, Some(report), _) => (choice_or_decision(report), Some(came_to(report))),
            (Some(NodeKind::Input) | None, None, Some(given)) => given,
            (Some(NodeKind::Input), None, None) => (Kind::Missing, None),
            (Some(NodeKind::Group), _, _) => (Kind::Group, None),
            (Some(NodeKind::Decision), None, _) => (Kind::Decision, None),
            (Some(NodeKind::Choice), None, _) => (Kind::Choice, None),
            (Some(NodeKind::Let) | None, None, _) => (Kind::Computed, self.seen(name, club)),
            // Limits and cautions are looked at by nothing.
            (Some(NodeKind::Limit | NodeKind::Caution), None, _) => return None,
        };
        let words = known.and_then(|node| match &node.detail {
            Detail::Input(detail) => detail.ask.clone(),
            Detail::Let { value } => Some(value.clone()),
            Detail::Group { made, .. } => Some(made.clone()),
            _ => node.about.clone(),
        });
        let is_of_the_club = of_club.is_some()
            || (kind == Kind::Computed && known.is_some_and(|node| node.for_each.is_some()));
        Some(pb::ExplainedNode {
            name: name.to_owned(),
            club: club.filter(|_| is_of_the_club).map(str::to_owned),
            kind: kind.into(),
            value,
            words: words.filter(|words| !words.is_empty()),
            looks_at: self
                .looks_at(name, club)
                .into_iter()
                .map(str::to_owned)
                .collect(),
            source: known.and_then(|node| node.source.clone()),
        })
    }

    /// A reading that was given or assumed; that of the engine is the day.
    fn given(
        &self,
        name: &str,
        known: Option<&NodeFact>,
    ) -> Option<(pb::ExplainedKind, Option<String>)> {
        let mut assumed = self.facts.recommendation.assumed_readings.iter();
        if let Some(assumed) = assumed.find(|reading| reading.name == name) {
            return Some((pb::ExplainedKind::Assumed, Some(assumed.text.clone())));
        }
        let of_engine = |node: &NodeFact| match &node.detail {
            Detail::Input(detail) if detail.filled_by_the_engine => {
                Some(self.facts.recommendation.made_on.clone())
            }
            Detail::Input(detail) => {
                let mut former = detail.formerly.iter();
                former.find_map(|name| self.facts.reading(name))
            }
            _ => None,
        };
        let value = self
            .facts
            .reading(name)
            .or_else(|| known.and_then(of_engine))?;
        Some((pb::ExplainedKind::Reading, Some(value)))
    }

    /// The value of a name that a step of the club, or of the bag, looked at.
    fn seen(&self, name: &str, club: Option<&str>) -> Option<String> {
        let decisions = self.facts.recommendation.decisions.iter();
        let of_club =
            decisions.filter(|report| report.club.is_none() || report.club.as_deref() == club);
        let mut readings = of_club
            .flat_map(|report| &report.steps)
            .flat_map(|step| &step.readings);
        let found = readings.find(|reading| reading.name == name)?;
        Some(found.text.clone())
    }
}

fn choice_or_decision(report: &pb::DecisionReport) -> pb::ExplainedKind {
    match report.ending() {
        pb::Ending::Chosen
        | pb::Ending::Ordered
        | pb::Ending::LeftOpen
        | pb::Ending::NoneOnHand => pb::ExplainedKind::Choice,
        _ => pb::ExplainedKind::Decision,
    }
}

/// Of `club_length of the last iron` and `iron_head.loft` the declaration's name.
fn bare_name(looked_at: &str) -> &str {
    let name = looked_at.split(" of ").next().unwrap_or(looked_at);
    name.split('.').next().unwrap_or(name)
}

fn is_a_name(text: &str) -> bool {
    !text.is_empty()
        && text != "previous"
        && text.chars().all(|character| {
            character.is_ascii_lowercase() || character.is_ascii_digit() || character == '_'
        })
}
