//! The checker: from layers of rules to a program, or to every finding at once.
//!
//! It goes in passes, each over all layers. `merge` puts the layers on top of each other and knows
//! what replaces what. `declare` gives every name its place, so that order and file never matter.
//! `expression`, `rows`, `decide`, `choose` and the others resolve and type the bodies. `prove`
//! hands tables to the analysis, `graph` finds cycles and the order of evaluation, `contract` sees
//! that the engine finds what it reads. A slip in one declaration never hides another's: what
//! cannot be checked is left out, and the program is handed on only when there is no error at all.

mod aggregate;
mod arithmetic;
mod case;
mod checker;
mod choose;
mod comparison;
mod condition;
mod contract;
mod decide;
mod declare;
mod dependencies;
mod expression;
mod fields;
mod foreign;
mod graph;
mod literal;
mod members;
mod merge;
mod promises;
mod prove;
mod reference;
mod replacement;
mod rows;
mod scope;
mod types;
mod unused;
mod uses;

pub(crate) use checker::Symbol;
pub use dependencies::{Reads, children, dependencies, reads};
pub(crate) use fields::field_owner;
pub(crate) use types::PLAIN;
pub(crate) use uses::Target;

use std::collections::BTreeSet;

use crate::arena::Arena;
use crate::diagnostic::{Code, Diagnostic, Severity};
use crate::program::Program;
use crate::syntax::tree::{Declaration, DeclarationKind};
use crate::syntax::{Folder, SourceFile, Span, over_the_limit, parse_file};

/// The most clubs that a group `as many as …` can have: the bag holds 14, and nobody plans more.
pub const MOST_CLUBS_OF_A_KIND: i64 = 14;

/// The files of one layer.
#[derive(Clone, Debug, Default)]
pub struct LayerSource {
    /// `contract`, or the ruleset's name.
    pub name: String,
    /// The files: the name a person is shown, and the text.
    pub files: Vec<(String, String)>,
}

/// What a check comes to.
#[derive(Debug)]
pub struct CheckOutput {
    /// The files that the findings point into.
    pub folder: Folder,
    /// The findings, in the order of layers, files and places.
    pub diagnostics: Vec<Diagnostic>,
    /// The program; absent where there is an error.
    pub program: Option<Program>,
    /// The program where all that is wrong is what was proved of its tables: gaps, overlaps, broken
    /// promises. It serves to run the witnesses of those findings, and nothing else.
    pub draft: Option<Program>,
}

impl CheckOutput {
    /// Whether an error was found.
    pub fn has_errors(&self) -> bool {
        self.diagnostics
            .iter()
            .any(|finding| finding.severity == Severity::Error)
    }
}

/// Everything that a check knows; an editor asks for it.
pub(crate) struct Checked {
    pub(crate) folder: Folder,
    pub(crate) diagnostics: Vec<Diagnostic>,
    /// The program as far as it came: not to be run where there is an error.
    pub(crate) program: Program,
    /// The declarations of every layer as they were read, lowest layer first.
    pub(crate) layers: Vec<Vec<Declaration>>,
    /// What each name stands for, as far as it was resolved.
    pub(crate) uses: Vec<(Span, Target)>,
}

/// Checks layers put on top of each other: the contract first, the house last.
pub fn check(layers: &[LayerSource], contract_version: u32) -> CheckOutput {
    let checked = check_whole(layers, contract_version);
    let is_error = |finding: &&Diagnostic| finding.severity == Severity::Error;
    let mut errors = checked.diagnostics.iter().filter(is_error).peekable();
    let is_clean = errors.peek().is_none();
    let (program, draft) = if is_clean {
        (Some(checked.program), None)
    } else if errors.all(|finding| finding.code.is_of_a_proof()) {
        (None, Some(checked.program))
    } else {
        (None, None)
    };
    CheckOutput {
        folder: checked.folder,
        diagnostics: checked.diagnostics,
        program,
        draft,
    }
}

/// As [`check`], with what was found on the way.
pub(crate) fn check_whole(layers: &[LayerSource], contract_version: u32) -> Checked {
    let mut folder: Folder = Arena::new();
    let mut layers_of_files = Vec::new();
    let mut diagnostics = Vec::new();
    let mut parsed_layers = Vec::new();
    for (place, layer) in layers.iter().enumerate() {
        for (name, text) in &layer.files {
            folder.push(SourceFile {
                layer: layer.name.clone(),
                name: name.clone(),
                text: text.clone(),
            });
            layers_of_files.push(place);
        }
        parsed_layers.push(merge::ParsedLayer {
            name: layer.name.clone(),
            declarations: Vec::new(),
            lost: BTreeSet::new(),
        });
    }
    // A folder over the limit is not read at all.
    let over_the_limit = over_the_limit(&folder);
    if over_the_limit.is_none() {
        for ((file, source), place) in folder.entries().zip(&layers_of_files) {
            let parsed = parse_file(file, source);
            diagnostics.extend(parsed.diagnostics);
            if let Some(layer) = parsed_layers.get_mut(*place) {
                layer.declarations.extend(parsed.declarations);
                layer.lost.extend(parsed.lost);
            }
        }
    }
    let merged = merge::merge(&folder, &parsed_layers, &mut diagnostics);
    let mut checker = checker::Checker::new(&folder, &merged, contract_version);
    checker.run();
    let (program, found, uses) = checker.finish();
    diagnostics.extend(found);
    let is_error = |finding: &Diagnostic| finding.severity == Severity::Error;
    if diagnostics.iter().any(is_error) {
        // The row that is wrong may be the one that gives the word.
        diagnostics.retain(|finding| finding.code != Code::NeverGiven);
    }
    let below = replacement::Below {
        folder: &folder,
        layers: &parsed_layers,
        merged: &merged,
        layers_of_files: &layers_of_files,
        contract_version,
    };
    below.point_at_replacements(&mut diagnostics);
    below.note_what_has_changed(&mut diagnostics);
    diagnostics.sort_by_key(|finding| finding.primary.span);
    diagnostics.dedup();
    if let Some(finding) = over_the_limit {
        diagnostics = vec![finding];
    }
    let declarations = parsed_layers.into_iter().map(|layer| layer.declarations);
    Checked {
        layers: declarations.collect(),
        folder,
        diagnostics,
        program,
        uses,
    }
}

/// The ruleset that a layer builds on, where it says so; errors are left to [`check`].
pub fn builds_on(layer: &LayerSource) -> Option<String> {
    let mut folder: Folder = Arena::new();
    for (name, text) in &layer.files {
        folder.push(SourceFile {
            layer: layer.name.clone(),
            name: name.clone(),
            text: text.clone(),
        });
    }
    if over_the_limit(&folder).is_some() {
        return None;
    }
    for (file, source) in folder.entries() {
        for declaration in parse_file(file, source).declarations {
            if let DeclarationKind::Ruleset(ruleset) = declaration.kind {
                return ruleset.builds_on.map(|name| name.text);
            }
        }
    }
    None
}
