//! Limits, cautions, the conditions of inputs, and texts with `{values}`.

use std::collections::BTreeMap;

use super::checker::{Checker, Symbol};
use super::scope::Scope;
use crate::diagnostic::{Code, Diagnostic};
use crate::program::{BENCH_WORK, GroupId, TextPiece, Type, Value};
use crate::syntax::Span;
use crate::syntax::tree::{self, DeclarationKind, Literal, LiteralKind, Name, Reference, Text};

impl Checker<'_> {
    /// The `only when` of every input.
    pub(super) fn check_inputs(&mut self) {
        let merged = self.merged;
        for entry in &merged.entries {
            if let (DeclarationKind::Input(input), Some(Symbol::Input(id))) = (
                &entry.declaration.kind,
                self.symbols.get(entry.name).copied(),
            ) && let Some(only_when) = &input.only_when
            {
                self.program.inputs[id].only_when = self.condition(only_when, &Scope::bag());
            }
        }
    }

    /// The bodies of all limits and cautions.
    pub(super) fn check_limits_and_cautions(&mut self) {
        let merged = self.merged;
        for entry in &merged.entries {
            match (
                &entry.declaration.kind,
                self.symbols.get(entry.name).copied(),
            ) {
                (DeclarationKind::Limit(limit), Some(Symbol::Limit(id))) => {
                    let group = self.program.limits[id].for_each;
                    let scope = Scope::of_group(group);
                    if let Some(condition) = self.condition(&limit.condition, &scope) {
                        self.program.limits[id].condition = condition;
                    }
                    if let Some(only_when) = &limit.only_when {
                        self.program.limits[id].only_when = self.condition(only_when, &scope);
                    }
                    self.program.limits[id].says = self.says(limit.says.as_ref(), group);
                }
                (DeclarationKind::Caution(caution), Some(Symbol::Caution(id))) => {
                    let group = self.program.cautions[id].for_each;
                    let scope = Scope::of_group(group);
                    if let Some(condition) = self.condition(&caution.condition, &scope) {
                        self.program.cautions[id].condition = condition;
                    }
                    if let Some(only_when) = &caution.only_when {
                        self.program.cautions[id].only_when = self.condition(only_when, &scope);
                    }
                    self.program.cautions[id].says = self.says(caution.says.as_ref(), group);
                    self.program.cautions[id].at = self.bench_works(&caution.at);
                }
                _ => {}
            }
        }
    }

    /// The works that an `at` names, in the order of the work.
    fn bench_works(&mut self, names: &[Name]) -> Vec<i32> {
        let Some(first) = names.first() else {
            return Vec::new();
        };
        let Some(Symbol::Vocabulary(id)) = self.symbols.get(BENCH_WORK).copied() else {
            let message = format!("there is no choice `{BENCH_WORK}` for `at` to name a word of");
            let _: Option<()> = self.error(Code::UnknownName, first.span, message);
            return Vec::new();
        };
        let mut found: BTreeMap<i32, Span> = BTreeMap::new();
        for name in names {
            let literal = Literal {
                kind: LiteralKind::Named {
                    name: name.clone(),
                    plus_half_steps: 0,
                },
                span: name.span,
            };
            let Some(Value::Word(word)) = self.literal(&literal, Type::Choice(id)) else {
                continue;
            };
            if let Some(before) = found.get(&word) {
                let message = format!("`{}` stands twice in this `at`", name.text);
                let finding = Diagnostic::error(Code::DeclaredTwice, name.span, message)
                    .also_at(*before, "the first is here");
                let _: Option<()> = self.report(finding);
            } else {
                found.insert(word, name.span);
            }
        }
        found.into_keys().collect()
    }

    /// A text cut into words and values: `{bend}`, `{built.gap}`.
    fn says(&mut self, text: Option<&Text>, group: Option<GroupId>) -> Vec<TextPiece> {
        let Some(text) = text else { return Vec::new() };
        let scope = Scope::of_group(group);
        let mut pieces = Vec::new();
        let mut rest = text.text.as_str();
        let mut braces = 0..;
        while let Some((words, after)) = rest.split_once('{') {
            let Some((inside, after)) = after.split_once('}') else {
                let finding = Diagnostic::error(
                    Code::Syntax,
                    text.span,
                    "a `{` in this text is not closed by a `}`",
                );
                let _: Option<()> = self.report(finding);
                return pieces;
            };
            if !words.is_empty() {
                pieces.push(TextPiece::Words(words.to_owned()));
            }
            let place = self.place_in_braces(text, braces.next().unwrap_or_default(), inside);
            let reference = reference_in(inside.trim(), place);
            if let Some(value) = self.reference(&reference, place, &scope, None) {
                let shown = self.shown_of(&value);
                pieces.push(TextPiece::Value(value, shown));
            }
            rest = after;
        }
        if !rest.is_empty() {
            pieces.push(TextPiece::Words(rest.to_owned()));
        }
        pieces
    }

    /// Where what stands in the braces of this index stands in the file; the place of the whole
    /// text where an escape or a comment between joined texts hides it.
    fn place_in_braces(&self, text: &Text, index: usize, inside: &str) -> Span {
        let raw = self.folder[text.span.file].text.as_str();
        let raw = raw.get(text.span.start..text.span.end).unwrap_or_default();
        let is_blank = |character: char| character.is_whitespace();
        let before = inside.len() - inside.trim_start_matches(is_blank).len();
        let inside = inside.trim();
        raw.match_indices('{')
            .nth(index)
            .map(|(brace, _)| brace + 1 + before)
            .filter(|start| raw.get(*start..start + inside.len()) == Some(inside))
            .map_or(text.span, |start| Span {
                file: text.span.file,
                start: text.span.start + start,
                end: text.span.start + start + inside.len(),
            })
    }
}

/// A name or `name.field` inside braces, which stands at `place`.
fn reference_in(inside: &str, place: Span) -> Reference {
    let has_own_place = place.end - place.start == inside.len();
    let name = |text: &str, start: usize| Name {
        text: text.to_owned(),
        span: if has_own_place {
            Span {
                file: place.file,
                start: place.start + start,
                end: place.start + start + text.len(),
            }
        } else {
            place
        },
    };
    let (before, field) = match inside.split_once('.') {
        Some((before, field)) => (before, Some(name(field, before.len() + 1))),
        None => (inside, None),
    };
    tree::Reference {
        previous: false,
        name: Some(name(before, 0)),
        field,
        plus_half_steps: 0,
    }
}
