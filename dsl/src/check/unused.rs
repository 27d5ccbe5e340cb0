//! Readings and lets that nothing asks for. Of the ruleset itself alone: what a layer below offers
//! may be there for another house. A note, since a house above may mean to use them.

use std::collections::BTreeSet;

use super::checker::Checker;
use super::dependencies::dependencies;
use crate::diagnostic::{Code, Diagnostic, Severity};
use crate::program::{Input, Node};

impl Checker<'_> {
    /// Notes every input and let of the top layer that no other declaration depends on.
    pub(super) fn note_unused(&mut self) {
        // A declaration that is at fault may be what uses them.
        let has_errors = self
            .diagnostics
            .iter()
            .any(|finding| finding.severity == Severity::Error);
        if has_errors {
            return;
        }
        let used: BTreeSet<Node> = dependencies(&self.program)
            .into_values()
            .flatten()
            .collect();
        let top = self.program.layers.len().saturating_sub(1);
        let inputs = self.program.inputs.entries().map(|(id, input)| {
            let node = Node::Input(id);
            (node, "the input", &input.name, &input.origin)
        });
        let lets = self.program.lets.entries().map(|(id, let_)| {
            let node = Node::Let(id);
            (node, "the let", &let_.name, &let_.origin)
        });
        let notes: Vec<Diagnostic> = inputs
            .chain(lets)
            .filter(|(node, _, _, origin)| origin.layer == top && !used.contains(node))
            .map(|(_, kind, name, origin)| {
                Diagnostic::note(
                    Code::Unused,
                    origin.span,
                    format!("nothing uses {kind} `{name}`"),
                )
            })
            .collect();
        self.diagnostics.extend(notes);
        self.note_lone_strikes(top);
    }

    /// A strike of one reading has nothing to share: its name is likely misspelt.
    fn note_lone_strikes(&mut self, top: usize) {
        let strike = |input: &Input| input.strike.clone();
        let strikes: Vec<String> = self.program.inputs.iter().filter_map(strike).collect();
        let is_alone = |name: &String| strikes.iter().filter(|other| *other == name).count() == 1;
        let inputs = self.program.inputs.iter();
        let lone = inputs.filter(|input| input.origin.layer == top);
        let notes: Vec<Diagnostic> = lone
            .filter_map(|input| Some((input, input.strike.as_ref().filter(|name| is_alone(name))?)))
            .map(|(input, strike)| {
                let message = format!("no other reading is of the strike `{strike}`");
                Diagnostic::note(Code::Unused, input.origin.span, message)
            })
            .collect();
        self.diagnostics.extend(notes);
    }
}
