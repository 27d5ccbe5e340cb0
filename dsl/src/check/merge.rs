//! Layers on top of each other: what is declared, what replaces what, what is dropped.

use std::collections::{BTreeMap, BTreeSet};

use crate::diagnostic::{Code, Diagnostic};
use crate::program::Layer;
use crate::syntax::tree::{
    Declaration, DeclarationKind, GroupOrigin, Name, Ruleset, Text, TypeReference,
};
use crate::syntax::{Folder, RULESET, Span};

/// The declarations of one layer as they were read.
pub(super) struct ParsedLayer {
    pub(super) name: String,
    pub(super) declarations: Vec<Declaration>,
    /// The names that are lost with what could not be read.
    pub(super) lost: BTreeSet<String>,
}

/// A declaration that counts.
pub(super) struct Entry<'a> {
    pub(super) name: &'a str,
    pub(super) layer: usize,
    pub(super) replaces: Option<usize>,
    pub(super) declaration: &'a Declaration,
}

/// All layers merged into one.
pub(super) struct Merged<'a> {
    pub(super) layers: Vec<Layer>,
    /// By name, so that files and their order leave no trace.
    pub(super) entries: Vec<Entry<'a>>,
    /// The contract's `reads`.
    pub(super) reads: Vec<&'a Declaration>,
    /// Cases by title.
    pub(super) cases: Vec<Entry<'a>>,
    /// The names that are lost with what could not be read, of all layers.
    pub(super) lost: BTreeSet<&'a str>,
}

/// The word a declaration begins with.
pub(super) fn kind_word(kind: &DeclarationKind) -> &'static str {
    match kind {
        DeclarationKind::Ruleset(_) => "ruleset",
        DeclarationKind::Scale(_) => "scale",
        DeclarationKind::Choice(_) => "choice",
        DeclarationKind::Input(_) => "input",
        DeclarationKind::Let(_) => "let",
        DeclarationKind::Part(_) => "part",
        DeclarationKind::Group(_) => "group",
        DeclarationKind::Model(_) => "model",
        DeclarationKind::Reads(_) => "reads",
        DeclarationKind::Decide(_) => "decide",
        DeclarationKind::Choose(_) => "choose",
        DeclarationKind::Limit(_) => "limit",
        DeclarationKind::Caution(_) => "caution",
        DeclarationKind::Case(_) => "case",
        DeclarationKind::DropCase(_) => "drop case",
    }
}

/// Whether only the engine can make or fill what is declared.
fn is_the_engines(kind: &DeclarationKind) -> bool {
    match kind {
        DeclarationKind::Model(_) => true,
        DeclarationKind::Input(input) => input.filled_by_the_engine,
        DeclarationKind::Group(group) => matches!(group.origin, Some(GroupOrigin::MadeBy { .. })),
        _ => false,
    }
}

pub(super) fn declared_name(kind: &DeclarationKind) -> Option<&Name> {
    Some(match kind {
        DeclarationKind::Scale(scale) => &scale.name,
        DeclarationKind::Choice(choice) => &choice.name,
        DeclarationKind::Input(input) => &input.name,
        DeclarationKind::Let(let_) => &let_.name,
        DeclarationKind::Part(part) => &part.name,
        DeclarationKind::Group(group) => &group.name,
        DeclarationKind::Model(model) => &model.name,
        DeclarationKind::Decide(decide) => &decide.name,
        DeclarationKind::Choose(choose) => &choose.name,
        DeclarationKind::Limit(limit) => &limit.name,
        DeclarationKind::Caution(caution) => &caution.name,
        DeclarationKind::Ruleset(_)
        | DeclarationKind::Reads(_)
        | DeclarationKind::Case(_)
        | DeclarationKind::DropCase(_) => return None,
    })
}

/// The group for whose clubs something is declared.
pub(super) fn group_of(kind: &DeclarationKind) -> Option<&Name> {
    let for_each = match kind {
        DeclarationKind::Let(let_) => let_.for_each.as_ref(),
        DeclarationKind::Decide(decide) => decide.for_each.as_ref(),
        DeclarationKind::Choose(choose) => choose.for_each.as_ref(),
        DeclarationKind::Limit(limit) => limit.for_each.as_ref(),
        DeclarationKind::Caution(caution) => caution.for_each.as_ref(),
        _ => None,
    };
    for_each.map(|for_each| &for_each.group)
}

/// What others see of a declaration: its type, and for which clubs.
fn signature(kind: &DeclarationKind) -> String {
    let name = match kind {
        DeclarationKind::Input(input) => type_text(&input.type_reference),
        DeclarationKind::Decide(decide) => type_text(&decide.type_reference),
        DeclarationKind::Choose(choose) => choose.from.text.clone(),
        _ => return String::new(),
    };
    match group_of(kind) {
        Some(group) => format!("{name}, for each {}", group.text),
        None => name,
    }
}

fn type_text(reference: &TypeReference) -> String {
    let list = if reference.is_list { "list of " } else { "" };
    format!("{list}{}", reference.name.text)
}

/// Merges the layers; every clash is a finding.
pub(super) fn merge<'a>(
    folder: &Folder,
    layers: &'a [ParsedLayer],
    diagnostics: &mut Vec<Diagnostic>,
) -> Merged<'a> {
    let mut merger = Merger {
        diagnostics,
        named: BTreeMap::new(),
        cases: BTreeMap::new(),
    };
    let mut merged = Merged {
        layers: Vec::new(),
        entries: Vec::new(),
        reads: Vec::new(),
        cases: Vec::new(),
        lost: BTreeSet::new(),
    };
    for (index, layer) in layers.iter().enumerate() {
        merged.layers.push(merger.head(folder, layer));
        merged.lost.extend(layer.lost.iter().map(String::as_str));
        // What is dropped or replaced stands below; drops first, so that a case may be dropped and
        // another of its title be written.
        for declaration in &layer.declarations {
            merger.add(index, declaration, &mut merged.reads);
        }
    }
    merged.entries = merger.named.into_values().collect();
    merged.cases = merger.cases.into_values().collect();
    merged
}

struct Merger<'a, 'd> {
    diagnostics: &'d mut Vec<Diagnostic>,
    named: BTreeMap<&'a str, Entry<'a>>,
    cases: BTreeMap<&'a str, Entry<'a>>,
}

impl<'a> Merger<'a, '_> {
    fn head(&mut self, folder: &Folder, layer: &ParsedLayer) -> Layer {
        let heads: Vec<(&Ruleset, Span)> = layer
            .declarations
            .iter()
            .filter_map(|declaration| match &declaration.kind {
                DeclarationKind::Ruleset(ruleset) => Some((ruleset, declaration.span)),
                _ => None,
            })
            .collect();
        let (first, rest) = match heads.split_first() {
            Some((first, rest)) => (first, rest),
            None => {
                if !layer.lost.contains(RULESET) {
                    self.missing_head(folder, layer);
                }
                return Layer {
                    name: layer.name.clone(),
                    title: String::new(),
                };
            }
        };
        for (_, span) in rest {
            self.diagnostics.push(
                Diagnostic::error(
                    Code::RulesetLine,
                    *span,
                    format!("a second `ruleset` line in `{}`", layer.name),
                )
                .also_at(first.0.name.span, "the first is here")
                .with_help("keep one of them"),
            );
        }
        if let Some(language) = &first.0.language
            && language.value != crate::quantity::Rational::ONE
        {
            self.diagnostics.push(
                Diagnostic::error(
                    Code::RulesetLine,
                    language.span,
                    format!("language version `{}` is not known", language.value),
                )
                .with_help("this program reads version 1: write `language 1`"),
            );
        }
        Layer {
            name: first.0.name.text.clone(),
            title: first
                .0
                .title
                .as_ref()
                .map(|title| title.text.clone())
                .unwrap_or_default(),
        }
    }

    fn missing_head(&mut self, folder: &Folder, layer: &ParsedLayer) {
        let place = folder.entries().find(|(_, file)| file.layer == layer.name);
        if let Some((file, _)) = place {
            let span = Span {
                file,
                start: 0,
                end: 0,
            };
            self.diagnostics.push(
                Diagnostic::error(
                    Code::RulesetLine,
                    span,
                    format!("the folder `{}` has no `ruleset` line", layer.name),
                )
                .with_help(format!(
                    "begin one of its files with `ruleset {}`",
                    layer.name
                )),
            );
        }
    }

    fn add(
        &mut self,
        layer: usize,
        declaration: &'a Declaration,
        reads: &mut Vec<&'a Declaration>,
    ) {
        match &declaration.kind {
            DeclarationKind::Ruleset(_) => {}
            DeclarationKind::Reads(_) if layer == 0 => reads.push(declaration),
            DeclarationKind::Reads(_) => self.diagnostics.push(Diagnostic::error(
                Code::Contract,
                declaration.span,
                "`reads` belongs to the engine's contract; a ruleset does not write it",
            )),
            DeclarationKind::Case(case) => self.add_case(layer, declaration, &case.title),
            DeclarationKind::DropCase(drop) => self.drop_case(layer, &drop.title),
            kind => {
                if let Some(name) = declared_name(kind) {
                    self.engines_own(layer, kind, name);
                    self.add_named(layer, declaration, name);
                }
            }
        }
    }

    /// Reports what only the engine can make or fill. It is known all the same, so that what uses
    /// it is not at fault too.
    fn engines_own(&mut self, layer: usize, kind: &DeclarationKind, name: &Name) {
        let is_of_the_contract = |entry: &Entry<'_>| entry.layer == 0;
        let is_declared_there = self.named.get(name.text.as_str());
        if layer == 0 || !is_the_engines(kind) || is_declared_there.is_some_and(is_of_the_contract)
        {
            return;
        }
        let word = kind_word(kind);
        let message = format!("this {word} is the engine's to declare, in its contract");
        let finding = Diagnostic::error(Code::Contract, name.span, message)
            .with_help("a ruleset uses what the contract offers");
        self.diagnostics.push(finding);
    }

    // Long because every way in which two names can meet has its sentence.
    fn add_named(&mut self, layer: usize, declaration: &'a Declaration, name: &'a Name) {
        let text = name.text.as_str();
        let word = kind_word(&declaration.kind);
        let entry = Entry {
            name: text,
            layer,
            replaces: None,
            declaration,
        };
        let Some(below) = self.named.get(text) else {
            if declaration.replaces {
                self.diagnostics.push(
                    Diagnostic::error(
                        Code::NothingToReplace,
                        name.span,
                        format!("no layer below declares `{text}`"),
                    )
                    .with_help(format!(
                        "to declare it here, write `{word} {text}` without `replace`"
                    )),
                );
            }
            self.named.insert(text, entry);
            return;
        };
        let below_word = kind_word(&below.declaration.kind);
        let below_span =
            declared_name(&below.declaration.kind).map_or(below.declaration.span, |name| name.span);
        if below.layer == layer {
            self.diagnostics.push(
                Diagnostic::error(
                    Code::DeclaredTwice,
                    name.span,
                    format!("`{text}` is declared twice"),
                )
                .also_at(below_span, "first here")
                .with_help("two declarations may not share a name"),
            );
        } else if below.layer == 0 {
            self.diagnostics.push(
                Diagnostic::error(
                    Code::Contract,
                    name.span,
                    format!("`{text}` is declared by the engine's contract"),
                )
                .also_at(below_span, "here")
                .with_help("a ruleset uses it and does not declare it again"),
            );
        } else if !declaration.replaces {
            self.diagnostics.push(
                Diagnostic::error(
                    Code::DeclaredTwice,
                    name.span,
                    format!("`{text}` is declared by the ruleset below"),
                )
                .also_at(below_span, "here")
                .with_help(if word == below_word {
                    format!("to replace it, write `replace {word} {text}`")
                } else {
                    format!("it is `{below_word} {text}` there: choose another name")
                }),
            );
        } else if word != below_word {
            self.diagnostics.push(
                Diagnostic::error(
                    Code::NothingToReplace,
                    name.span,
                    format!("`{text}` is a {below_word} below; a {word} cannot replace it"),
                )
                .also_at(below_span, "declared here"),
            );
        } else {
            let replaces = Some(below.layer);
            let (was, is) = (
                signature(&below.declaration.kind),
                signature(&declaration.kind),
            );
            if was != is {
                self.diagnostics.push(
                    Diagnostic::error(
                        Code::BrokenReplacement,
                        name.span,
                        format!("`{text}` is `{was}` below, and its replacement is `{is}`"),
                    )
                    .also_at(below_span, "what is replaced")
                    .with_help("what rests on it below needs the same type for the same clubs"),
                );
            }
            self.named.insert(text, Entry { replaces, ..entry });
        }
    }

    fn add_case(&mut self, layer: usize, declaration: &'a Declaration, title: &'a Text) {
        let text = title.text.as_str();
        let below = self.cases.get(text);
        let message = match (below, declaration.replaces) {
            (None, true) => Some((
                Code::NothingToReplace,
                format!("no case `{text}` below to replace"),
            )),
            (Some(below), false) if below.layer == layer => Some((
                Code::DeclaredTwice,
                format!("the case `{text}` stands twice"),
            )),
            (Some(_), false) => Some((
                Code::DeclaredTwice,
                format!("the case `{text}` stands in the ruleset below; write `replace case`"),
            )),
            _ => None,
        };
        let replaces = below.map(|below| below.layer);
        if let Some((code, message)) = message {
            self.diagnostics
                .push(Diagnostic::error(code, title.span, message));
        }
        self.cases.insert(
            text,
            Entry {
                name: text,
                layer,
                replaces,
                declaration,
            },
        );
    }

    fn drop_case(&mut self, layer: usize, title: &'a Text) {
        let text = title.text.as_str();
        if self
            .cases
            .get(text)
            .is_some_and(|below| below.layer < layer)
        {
            self.cases.remove(text);
        } else {
            self.diagnostics.push(Diagnostic::error(
                Code::NothingToReplace,
                title.span,
                format!("no case `{text}` below to drop"),
            ));
        }
    }
}
