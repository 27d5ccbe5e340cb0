//! Which declaration each name in the text stands for, noted where a pass resolves it.
//!
//! An editor lives on these notes. They cost a push a name and change nothing that is decided.

use super::checker::{Checker, Symbol};
use crate::program::{ChooseId, GroupId, PartId, VocabularyId};
use crate::syntax::Span;
use crate::syntax::tree::Name;

/// What a name in the text stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Target {
    /// A declaration, by its own name.
    Symbol(Symbol),
    /// A part or group, by its plural.
    Plural(Symbol),
    /// A value of a vocabulary: which of its words.
    Word(VocabularyId, usize),
    /// A field of a part.
    PartField(PartId, usize),
    /// A field of the group that owns it.
    GroupField(GroupId, usize),
    /// A `let` of a choice.
    CandidateLet(ChooseId, usize),
}

impl Target {
    /// A declaration, by its own name or by its plural.
    pub(super) fn named(symbol: Symbol, is_singular: bool) -> Self {
        if is_singular {
            Target::Symbol(symbol)
        } else {
            Target::Plural(symbol)
        }
    }
}

impl Checker<'_> {
    /// Notes what the name at a place stands for.
    pub(super) fn note_use(&mut self, span: Span, target: Target) {
        self.uses.push((span, target));
    }

    /// The declaration that a name stands for, noted.
    pub(super) fn symbol(&mut self, name: &Name) -> Option<Symbol> {
        let symbol = self.symbols.get(name.text.as_str()).copied()?;
        self.note_use(name.span, Target::Symbol(symbol));
        Some(symbol)
    }

    /// Notes a value of a vocabulary.
    pub(super) fn note_word(&mut self, name: &Name, id: VocabularyId) {
        let words = &self.program.vocabularies[id].words;
        if let Some(index) = words.iter().position(|word| *word == name.text) {
            self.note_use(name.span, Target::Word(id, index));
        }
    }
}
