//! Which choice takes first from a drawer that several draw on.
//!
//! A choice comes after those that it names with `after` and those that it rests on through
//! whatever lies between; else the names decide.

use std::collections::{BTreeMap, BTreeSet};

use super::{Node, Rules};

impl Rules {
    /// The choices from a kind of part, in the order in which they take.
    pub(super) fn choices_in_order(&self, from: &str) -> Vec<String> {
        self.choice_order.get(from).cloned().unwrap_or_default()
    }

    /// Fills in who takes first.
    pub(super) fn order_choices(&mut self) {
        let mut by_part: BTreeMap<String, Vec<String>> = BTreeMap::new();
        for (name, choose) in &self.chooses {
            let part = by_part.entry(choose.from.text.clone()).or_default();
            part.push(name.clone());
        }
        let mut order = BTreeMap::new();
        for (from, names) in by_part {
            let mut placed = Vec::new();
            for name in &names {
                self.place(name, &names, &mut BTreeSet::new(), &mut placed);
            }
            order.insert(from, placed);
        }
        self.choice_order = order;
    }

    fn place(
        &self,
        name: &str,
        names: &[String],
        waiting: &mut BTreeSet<String>,
        placed: &mut Vec<String>,
    ) {
        if placed.iter().any(|known| known == name) || !waiting.insert(name.to_owned()) {
            return;
        }
        let rests_on = self.rests_on(name);
        for before in names.iter().filter(|other| rests_on.contains(*other)) {
            self.place(before, names, waiting, placed);
        }
        placed.push(name.to_owned());
    }

    /// Everything that is declared and that a declaration rests on, through others too.
    fn rests_on(&self, name: &str) -> BTreeSet<String> {
        let mut found = BTreeSet::new();
        let mut left = vec![name.to_owned()];
        while let Some(next) = left.pop() {
            for other in self.names_in(&next) {
                if other != name && found.insert(other.clone()) {
                    left.push(other);
                }
            }
        }
        found
    }

    /// The declared names that stand anywhere in a declaration, read off its tree as it prints.
    fn names_in(&self, name: &str) -> BTreeSet<String> {
        let tree = match (self.node(name), self.groups.get(name)) {
            (Some(Node::Input(tree)), _) => format!("{tree:?}"),
            (Some(Node::Let(tree)), _) => format!("{tree:?}"),
            (Some(Node::Decide(tree)), _) => format!("{tree:?}"),
            (Some(Node::Choose(tree)), _) => format!("{tree:?}"),
            (Some(Node::Limit(tree)), _) => format!("{tree:?}"),
            (Some(Node::Caution(tree)), _) => format!("{tree:?}"),
            (None, Some(tree)) => format!("{tree:?}"),
            (None, None) => return BTreeSet::new(),
        };
        let names = tree.split("text: \"").skip(1);
        let names = names.filter_map(|rest| rest.split('"').next());
        names
            .filter(|found| self.node(found).is_some() || self.groups.contains_key(*found))
            .map(str::to_owned)
            .collect()
    }
}
