//! What was published and what was put in force, in the order in which it was done.
//!
//! Of a revision only what identifies it stands here; its source is read back where it is needed.

use std::collections::BTreeMap;

/// A revision that was published.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Revision {
    /// The ruleset's name.
    pub ruleset: String,
    /// What identifies it: SHA-256 of its exact source, in lower-case hexadecimal.
    pub revision: String,
    /// The ruleset's title.
    pub title: String,
    /// The digest of what it means, in hexadecimal.
    pub meaning_digest: String,
    /// The digest of what people read of it, in hexadecimal.
    pub text_digest: String,
    /// The version of the contract that it was written for.
    pub contract_version: u32,
    /// The warnings that its check found, where they were counted.
    pub warnings: Option<u32>,
    /// The cases that passed, where they were run.
    pub cases: Option<u32>,
    /// Who published it.
    pub by: String,
    /// When, in milliseconds since 1970.
    pub instant_ms: i64,
    /// The place of its leaf; absent where nothing is recorded.
    pub position: Option<u64>,
    /// Why it cannot be read back, where that was found.
    pub fault: Option<String>,
}

/// A revision that was put in force.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Activation {
    /// The revision that decides from then on.
    pub revision: String,
    /// The one that decided until then.
    pub previous: Option<String>,
    /// Who put it in force.
    pub by: String,
    /// When, in milliseconds since 1970.
    pub instant_ms: i64,
    /// Why.
    pub reason: String,
    /// The place of its leaf; absent where nothing is recorded.
    pub position: Option<u64>,
}

/// Revisions and activations, by ruleset.
#[derive(Clone, Debug, Default)]
pub struct Ledger {
    rulesets: BTreeMap<String, OfRuleset>,
}

#[derive(Clone, Debug, Default)]
struct OfRuleset {
    revisions: Vec<Revision>,
    activations: Vec<Activation>,
}

impl Ledger {
    /// Takes in a revision. One that is there already stays as it is.
    pub fn publish(&mut self, revision: Revision) {
        if self
            .revision(&revision.ruleset, &revision.revision)
            .is_none()
        {
            let of = self.rulesets.entry(revision.ruleset.clone()).or_default();
            of.revisions.push(revision);
        }
    }

    /// Takes in an activation.
    pub fn activate(&mut self, ruleset: &str, activation: Activation) {
        let of = self.rulesets.entry(ruleset.to_owned()).or_default();
        of.activations.push(activation);
    }

    /// Notes why a revision cannot be read back, or that it can.
    pub fn note_fault(&mut self, ruleset: &str, revision: &str, fault: Option<String>) {
        let of = self.rulesets.get_mut(ruleset);
        let mut revisions = of.into_iter().flat_map(|of| &mut of.revisions);
        if let Some(found) = revisions.find(|one| one.revision == revision) {
            found.fault = fault;
        }
    }

    /// The names of the rulesets, sorted.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.rulesets.keys().map(String::as_str)
    }

    /// The revisions of a ruleset, in the order in which they were published.
    pub fn revisions(&self, ruleset: &str) -> &[Revision] {
        let of = self.rulesets.get(ruleset);
        of.map_or(&[], |of| of.revisions.as_slice())
    }

    /// All revisions, in the order of their rulesets' names.
    pub fn all(&self) -> impl Iterator<Item = &Revision> {
        self.rulesets.values().flat_map(|of| &of.revisions)
    }

    /// A revision.
    pub fn revision(&self, ruleset: &str, revision: &str) -> Option<&Revision> {
        let mut revisions = self.revisions(ruleset).iter();
        revisions.find(|one| one.revision == revision)
    }

    /// The last activation of a ruleset.
    pub fn in_force(&self, ruleset: &str) -> Option<&Activation> {
        self.rulesets.get(ruleset)?.activations.last()
    }

    /// The activation that held at an instant: the last one, in the order of the log, that was not
    /// made later.
    pub fn at(&self, ruleset: &str, instant_ms: i64) -> Option<&Activation> {
        let activations = self.rulesets.get(ruleset)?.activations.iter();
        activations
            .rev()
            .find(|activation| activation.instant_ms <= instant_ms)
    }

    /// The first activation of a ruleset.
    pub fn first(&self, ruleset: &str) -> Option<&Activation> {
        self.rulesets.get(ruleset)?.activations.first()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn activation(revision: &str, instant_ms: i64) -> Activation {
        Activation {
            revision: revision.to_owned(),
            previous: None,
            by: "ines".to_owned(),
            instant_ms,
            reason: "a meeting".to_owned(),
            position: None,
        }
    }

    #[test]
    fn the_instant_of_an_act_is_the_first_at_which_it_holds() {
        let mut ledger = Ledger::default();
        ledger.activate("skerry", activation("a", 100));
        ledger.activate("skerry", activation("b", 200));
        let at = |instant| {
            let found = ledger.at("skerry", instant);
            found.map(|activation| activation.revision.as_str())
        };
        assert_eq!(at(99), None);
        assert_eq!((at(100), at(199)), (Some("a"), Some("a")));
        assert_eq!((at(200), at(i64::MAX)), (Some("b"), Some("b")));
        assert_eq!(ledger.at("common", 200), None);
    }

    /// A clock that was set back: what was done last holds, whatever its instant.
    #[test]
    fn the_order_of_the_log_goes_before_the_clock() {
        let mut ledger = Ledger::default();
        ledger.activate("skerry", activation("a", 200));
        ledger.activate("skerry", activation("b", 150));
        let now = ledger.in_force("skerry").map(|one| one.revision.as_str());
        assert_eq!(now, Some("b"));
        let then = ledger.at("skerry", 300).map(|one| one.revision.as_str());
        assert_eq!(then, Some("b"));
    }
}
