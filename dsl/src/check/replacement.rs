//! What a replacement does to the rulesets below it.
//!
//! A ruleset that checks by itself may not check any more with a replacement above it. The finding
//! then belongs to the replacement, which is what its writer can change; what it breaks is pointed
//! at as well. And a replacement may say which meaning of the replaced declaration it was written
//! for: where that has changed below, it is worth reading again.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use super::checker::Checker;
use super::merge::{Entry, Merged, ParsedLayer, declared_name, merge};
use crate::diagnostic::{Code, Diagnostic, Label, Severity};
use crate::digest::{declaration_digests, stands_on_digits};
use crate::syntax::tree::{Declaration, DeclarationKind};
use crate::syntax::{Folder, Span};

/// The most places that one finding points at.
const MOST_PLACES: usize = 8;

/// The layers, to be looked at with and without what stands above them.
pub(super) struct Below<'a> {
    pub(super) folder: &'a Folder,
    pub(super) layers: &'a [ParsedLayer],
    pub(super) merged: &'a Merged<'a>,
    /// The layer of each file, by the file's place in the folder.
    pub(super) layers_of_files: &'a [usize],
    pub(super) contract_version: u32,
}

impl<'a> Below<'a> {
    /// Turns the errors that a replacement causes below into findings of the replacement.
    pub(super) fn point_at_replacements(&self, diagnostics: &mut Vec<Diagnostic>) {
        let replaces = |entry: &&Entry<'_>| entry.replaces.is_some();
        if !self.merged.entries.iter().any(|entry| replaces(&entry)) {
            return;
        }
        let mut alone: BTreeMap<usize, Vec<Diagnostic>> = BTreeMap::new();
        let mut broken: BTreeMap<(Span, Span), (&Entry<'a>, &Declaration, Vec<Diagnostic>)> =
            BTreeMap::new();
        let mut kept = Vec::with_capacity(diagnostics.len());
        for finding in diagnostics.drain(..) {
            let culprit = self
                .layer_below(&finding)
                .filter(|layer| {
                    let known = alone
                        .entry(*layer)
                        .or_insert_with(|| self.findings_without(*layer));
                    !known.contains(&finding)
                })
                .and_then(|layer| self.culprit(layer, finding.primary.span));
            match culprit {
                Some((entry, neighbour)) => {
                    let key = (name_span(entry.declaration), neighbour.span);
                    let known = broken.entry(key).or_insert((entry, neighbour, Vec::new()));
                    known.2.push(finding);
                }
                None => kept.push(finding),
            }
        }
        *diagnostics = kept;
        for (entry, neighbour, findings) in broken.into_values() {
            self.report(entry, neighbour, findings, diagnostics);
        }
    }

    /// The layer of an error that stands below the uppermost ruleset.
    fn layer_below(&self, finding: &Diagnostic) -> Option<usize> {
        let layer = *self
            .layers_of_files
            .get(finding.primary.span.file.index())?;
        let is_below = finding.severity == Severity::Error && layer + 1 < self.layers.len();
        is_below.then_some(layer)
    }

    /// What is found in the layers up to this one when nothing stands above them.
    fn findings_without(&self, layer: usize) -> Vec<Diagnostic> {
        let mut findings = Vec::new();
        let layers = self.layers.get(..=layer).unwrap_or_default();
        let merged = merge(self.folder, layers, &mut findings);
        let mut checker = Checker::new(self.folder, &merged, self.contract_version);
        checker.run();
        findings.extend(checker.finish().1);
        findings
    }

    /// The replacement above this layer that what stands at a place rests on, the nearest first,
    /// and the declaration there.
    fn culprit(&self, layer: usize, span: Span) -> Option<(&'a Entry<'a>, &'a Declaration)> {
        let declarations = &self.layers.get(layer)?.declarations;
        let neighbour = declarations.iter().find(|declaration| {
            let whole = declaration.span;
            whole.file == span.file && whole.start <= span.start && span.end <= whole.end
        })?;
        let mut waiting: VecDeque<Span> = VecDeque::from([span, neighbour.span]);
        let mut seen: BTreeSet<&str> = BTreeSet::new();
        let named = self.named();
        while let Some(place) = waiting.pop_front() {
            for word in words(self.folder, place) {
                let Some(entry) = named.get(word).filter(|_| seen.insert(word)) else {
                    continue;
                };
                if entry.replaces.is_some() && entry.layer > layer {
                    return Some((entry, neighbour));
                }
                waiting.push_back(entry.declaration.span);
            }
        }
        None
    }

    /// Every declaration by its name, parts by their plural too.
    fn named(&self) -> BTreeMap<String, &'a Entry<'a>> {
        let mut named = BTreeMap::new();
        for entry in &self.merged.entries {
            if let DeclarationKind::Part(part) = &entry.declaration.kind {
                named.insert(part.plural_text(), entry);
            }
        }
        for entry in &self.merged.entries {
            named.insert(entry.name.to_owned(), entry);
        }
        named
    }

    fn report(
        &self,
        entry: &Entry<'_>,
        neighbour: &Declaration,
        findings: Vec<Diagnostic>,
        diagnostics: &mut Vec<Diagnostic>,
    ) {
        let span = name_span(entry.declaration);
        let mut places = findings.iter().map(|finding| Label {
            span: finding.primary.span,
            text: finding.message.clone(),
        });
        // That it is of another type is said: what follows from it is shown there.
        let said = diagnostics.iter_mut().find(|finding| {
            finding.code == Code::BrokenReplacement && finding.primary.span == span
        });
        if let Some(said) = said {
            let room = MOST_PLACES.saturating_sub(said.secondary.len());
            said.secondary.extend(places.take(room));
            return;
        }
        let what = declared_name(&neighbour.kind).map_or("what stands", |name| &name.text);
        let name = entry.name;
        let layer = &self.folder[neighbour.span.file].layer;
        let message = format!("the replacement of `{name}` does not go with `{what}` of `{layer}`");
        let mut finding = Diagnostic::error(Code::BrokenReplacement, span, message);
        finding.secondary.extend(places.by_ref().take(MOST_PLACES));
        if let Some(first) = findings.into_iter().next() {
            finding.operands = first.operands;
            finding.help = first.help;
        }
        finding.help.push(format!(
            "let `{name}` stay what `{what}` needs, or replace `{what}` too"
        ));
        diagnostics.push(finding);
    }

    /// Warns of every replacement whose `stands on` is not what it replaces now.
    pub(super) fn note_what_has_changed(&self, diagnostics: &mut Vec<Diagnostic>) {
        let mut digests: BTreeMap<usize, BTreeMap<String, String>> = BTreeMap::new();
        for entry in &self.merged.entries {
            let (Some(layer), Some(stands_on)) = (entry.replaces, &entry.declaration.stands_on)
            else {
                continue;
            };
            let of_layer = digests
                .entry(layer)
                .or_insert_with(|| self.digests_without(layer));
            let Some(now) = of_layer.get(entry.name) else {
                continue;
            };
            let now = stands_on_digits(now);
            if stands_on.text == now {
                continue;
            }
            let message = format!("what `{}` replaces has another meaning now", entry.name);
            let mut finding =
                Diagnostic::warning(Code::ReplacedHasChanged, stands_on.span, message);
            if let Some(below) = self.declared_in(layer, entry.name) {
                finding = finding.also_at(name_span(below), "what is replaced");
            }
            diagnostics.push(finding.with_help(format!(
                "read what changed; where the replacement is still right, write \
                 `stands on \"{now}\"`"
            )));
        }
    }

    /// The meaning of every declaration of the layers up to this one.
    fn digests_without(&self, layer: usize) -> BTreeMap<String, String> {
        let layers = self.layers.get(..=layer).unwrap_or_default();
        let merged = merge(self.folder, layers, &mut Vec::new());
        let checker = Checker::new(self.folder, &merged, self.contract_version);
        declaration_digests(&checker.read())
    }

    fn declared_in(&self, layer: usize, name: &str) -> Option<&'a Declaration> {
        let declarations = &self.layers.get(layer)?.declarations;
        let is_it = |declaration: &&Declaration| {
            declared_name(&declaration.kind).is_some_and(|declared| declared.text == name)
        };
        declarations.iter().find(is_it)
    }
}

fn name_span(declaration: &Declaration) -> Span {
    declared_name(&declaration.kind).map_or(declaration.span, |name| name.span)
}

/// The words at a place that could be names.
fn words(folder: &Folder, span: Span) -> impl Iterator<Item = &str> {
    let text = &folder[span.file].text;
    let at_place = text.get(span.start..span.end).unwrap_or_default();
    at_place
        .split(|character: char| !character.is_ascii_alphanumeric() && character != '_')
        .filter(|word| !word.is_empty())
}
