//! A name changed wherever it stands, or the reason why it cannot be.
//!
//! The change is tried before it is handed out: the folder with the change in it must check as it
//! did, and every name must stand for what it stood for.

use std::collections::{BTreeMap, BTreeSet};

use super::{DeclarationId, Index, Kind, index};
use crate::arena::Arena;
use crate::check::LayerSource;
use crate::syntax::{FileId, Folder, SourceFile, Span, is_name, is_reserved};

/// A piece of text to be replaced; an empty place is where to insert.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Edit {
    /// What is replaced.
    pub span: Span,
    /// What takes its place.
    pub text: String,
}

/// Why a name cannot be changed.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum RenameRefusal {
    /// It is not a name that rules give.
    #[error("the name of this {0} is not changed here")]
    NotAName(&'static str),
    /// The plural of a name.
    #[error("this is the plural of `{0}`: rename `{0}` where it stands alone")]
    Plural(String),
    /// It belongs to a layer below.
    #[error("`{name}` belongs to `{layer}`, a layer below: rename it there")]
    LayerBelow {
        /// The name.
        name: String,
        /// The layer that declares it.
        layer: String,
    },
    /// A layer below speaks of it.
    #[error("`{layer}`, a layer below, speaks of `{name}`: it keeps its name")]
    UsedBelow {
        /// The name.
        name: String,
        /// The layer that speaks of it.
        layer: String,
    },
    /// Not every place where it stands is known.
    #[error("the rules have errors: mend them first, else not every `{0}` would be found")]
    Errors(String),
    /// The new name is not one.
    #[error("`{0}` is no name: a name is a small letter, then letters, digits and `_`")]
    NotValid(String),
    /// The new name is a word of the language.
    #[error("`{0}` is a word of the language: choose another name")]
    Reserved(String),
    /// The new name is taken.
    #[error("`{name}` is the name of another {kind}")]
    Taken {
        /// The new name.
        name: String,
        /// What it is.
        kind: &'static str,
    },
    /// With the new name something would mean something else.
    #[error("with the name `{0}` the rules would no longer say the same: {1}")]
    Changes(String, String),
}

impl Index {
    /// Whether the name at hand can be changed at all.
    ///
    /// # Errors
    /// The reason why not.
    pub fn may_rename(&self, id: DeclarationId) -> Result<(), RenameRefusal> {
        let declaration = &self.declarations[id];
        let name = declaration.name.clone();
        let is_renamed = declaration.kind.is_named()
            || matches!(
                declaration.kind,
                Kind::Word | Kind::Field | Kind::CandidateLet
            );
        if !is_renamed {
            return Err(RenameRefusal::NotAName(declaration.kind.word()));
        }
        let top = self.program.layers.len().saturating_sub(1);
        let family = self.family(id);
        let below = family.iter().map(|id| self.declarations[*id].layer).min();
        if let Some(below) = below.filter(|below| *below < top) {
            let layer = self.layer_name(below);
            return Err(RenameRefusal::LayerBelow { name, layer });
        }
        let own_files = self.files_of_top();
        let is_below = |span: &Span| !own_files.contains(&span.file);
        if let Some(span) = self.uses_of(id).map(|found| found.span).find(is_below) {
            let layer = self.folder[span.file].layer.clone();
            return Err(RenameRefusal::UsedBelow { name, layer });
        }
        if self.has_errors() {
            return Err(RenameRefusal::Errors(name));
        }
        Ok(())
    }

    /// The edits that give a declaration a new name in all files of the ruleset. An input is given
    /// `formerly` with its old name, since callers go on sending that.
    ///
    /// # Errors
    /// The reason why it cannot have that name.
    pub fn rename(&self, id: DeclarationId, new: &str) -> Result<Vec<Edit>, RenameRefusal> {
        self.may_rename(id)?;
        self.may_be_called(id, new)?;
        let declaration = &self.declarations[id];
        let mut edits = vec![Edit {
            span: declaration.span,
            text: new.to_owned(),
        }];
        for found in self.uses_of(id) {
            let text = match (found.is_plural, &declaration.plural) {
                (false, _) => new.to_owned(),
                (true, None) => format!("{new}s"),
                // A plural that is written stays as it is written.
                (true, Some(_)) => continue,
            };
            edits.push(Edit {
                span: found.span,
                text,
            });
        }
        edits.extend(self.formerly(id, new));
        edits.sort();
        self.try_edits(new, &edits)?;
        Ok(edits)
    }

    fn may_be_called(&self, id: DeclarationId, new: &str) -> Result<(), RenameRefusal> {
        if is_reserved(new) {
            return Err(RenameRefusal::Reserved(new.to_owned()));
        }
        if !is_name(new) {
            return Err(RenameRefusal::NotValid(new.to_owned()));
        }
        let declaration = &self.declarations[id];
        let taken = match declaration.owner {
            Some(owner) => self.member(owner, new),
            None => self.named(new).or_else(|| self.part_with_plural(new)),
        };
        match taken {
            Some(other) => Err(RenameRefusal::Taken {
                name: new.to_owned(),
                kind: self.declarations[other].kind.word(),
            }),
            None => Ok(()),
        }
    }

    fn part_with_plural(&self, name: &str) -> Option<DeclarationId> {
        let mut parts = self.declarations.entries();
        parts
            .find(|(id, part)| part.kind == Kind::Part && self.plural_of(*id) == name)
            .map(|(id, _)| id)
    }

    /// `formerly OLD` on a line of its own below the input's other lines; where the new name was
    /// its name before, the two change places.
    fn formerly(&self, id: DeclarationId, new: &str) -> Option<Edit> {
        let declaration = &self.declarations[id];
        if declaration.kind != Kind::Input {
            return None;
        }
        let old = &declaration.name;
        let mut known = declaration.formerly.iter();
        if let Some(again) = known.find(|name| name.text == new) {
            return Some(Edit {
                span: again.span,
                text: old.clone(),
            });
        }
        let whole = declaration.whole;
        let text = self.folder[whole.file].text.as_str();
        let rest = text.get(whole.end..).unwrap_or_default();
        let line_rest = rest.split('\n').next().unwrap_or_default();
        let (line_rest, line_end) = match line_rest.strip_suffix('\r') {
            Some(line_rest) => (line_rest, "\r\n"),
            None => (line_rest, "\n"),
        };
        let lines = text.get(whole.start..whole.end).unwrap_or_default().lines();
        let indent = lines
            .skip(1)
            .map(|line| line.len() - line.trim_start().len())
            .find(|indent| *indent > 0)
            .unwrap_or(2);
        let place = whole.end + line_rest.len();
        Some(Edit {
            span: Span {
                file: whole.file,
                start: place,
                end: place,
            },
            text: format!("{line_end}{:indent$}formerly {old}", ""),
        })
    }

    fn files_of_top(&self) -> BTreeSet<FileId> {
        let mut layers = self.folder.iter().map(|file| file.layer.as_str());
        let top = layers.next_back().unwrap_or_default();
        let files = self.folder.entries().filter(|(_, file)| file.layer == top);
        files.map(|(id, _)| id).collect()
    }

    /// Checks the rules with the edits in them, and compares what every name stands for.
    fn try_edits(&self, new: &str, edits: &[Edit]) -> Result<(), RenameRefusal> {
        let changes = |why: String| Err(RenameRefusal::Changes(new.to_owned(), why));
        let edited = edited(&self.folder, edits);
        let after = index(&layers_of(&edited), self.program.contract_version);
        let codes = |index: &Index| {
            let found = index.diagnostics.iter().map(|finding| finding.code);
            let mut codes: Vec<_> = found.collect();
            codes.sort();
            codes
        };
        if codes(self) != codes(&after) {
            let first = after.diagnostics.first();
            let said = first.map_or_else(String::new, |finding| finding.message.clone());
            return changes(said);
        }
        let moved = |span: Span| (span.file, moved(edits, span));
        let before: BTreeSet<_> = self
            .uses
            .iter()
            .map(|found| {
                (
                    moved(found.span),
                    moved(self.declarations[found.target].span),
                )
            })
            .collect();
        let now: BTreeSet<_> = after
            .uses
            .iter()
            .map(|found| {
                let target = after.declarations[found.target].span;
                (
                    (found.span.file, found.span.start),
                    (target.file, target.start),
                )
            })
            .collect();
        match now.symmetric_difference(&before).next() {
            None => Ok(()),
            Some(((file, start), _)) => {
                let text = edited[*file].text.get(..*start).unwrap_or_default();
                let line = text.matches('\n').count() + 1;
                let name = &edited[*file].name;
                changes(format!("{name}, line {line}, would mean something else"))
            }
        }
    }
}

/// Where the start of a place lies once the edits before it are made.
fn moved(edits: &[Edit], span: Span) -> usize {
    let before = edits
        .iter()
        .filter(|edit| edit.span.file == span.file && edit.span.start < span.start);
    before.fold(span.start, |start, edit| {
        start + edit.text.len() - (edit.span.end - edit.span.start)
    })
}

/// The files with the edits made, which are in the order of their places.
fn edited(folder: &Folder, edits: &[Edit]) -> Folder {
    let mut by_file: BTreeMap<FileId, Vec<&Edit>> = BTreeMap::new();
    for edit in edits {
        by_file.entry(edit.span.file).or_default().push(edit);
    }
    let mut edited: Folder = Arena::new();
    for (id, file) in folder.entries() {
        let mut text = file.text.clone();
        for edit in by_file.get(&id).into_iter().flatten().rev() {
            let range = edit.span.start..edit.span.end;
            if text.get(range.clone()).is_some() {
                text.replace_range(range, &edit.text);
            }
        }
        edited.push(SourceFile {
            text,
            ..file.clone()
        });
    }
    edited
}

/// The layers that the files are of, in their order.
fn layers_of(folder: &Folder) -> Vec<LayerSource> {
    let mut layers: Vec<LayerSource> = Vec::new();
    for file in folder.iter() {
        let entry = (file.name.clone(), file.text.clone());
        match layers.last_mut() {
            Some(layer) if layer.name == file.layer => layer.files.push(entry),
            _ => layers.push(LayerSource {
                name: file.layer.clone(),
                files: vec![entry],
            }),
        }
    }
    layers
}
