//! Where every name is declared and used: what an editor asks of a folder.
//!
//! The checker notes what each name stands for while it resolves it, so the index follows the
//! language to the letter. It works on folders with errors as far as the names in them could be
//! resolved; what stands in a declaration that a higher layer replaces is not resolved at all.

mod collect;
mod declaration;
mod describe;
mod rename;
mod resolve;
mod types;

pub use declaration::{Declaration, DeclarationId, Kind, Use};
pub use describe::Description;
pub use rename::{Edit, RenameRefusal};

use std::collections::{BTreeMap, BTreeSet};

use crate::arena::Arena;
use crate::check::{LayerSource, Symbol, check_whole};
use crate::diagnostic::{Diagnostic, Severity};
use crate::program::Program;
use crate::syntax::{FileId, Folder, Span};

/// Every name of a folder with the layers below it, and the findings of its check.
#[derive(Debug)]
pub struct Index {
    /// The files of all layers.
    pub folder: Folder,
    /// The findings, in the order of layers, files and places.
    pub diagnostics: Vec<Diagnostic>,
    /// The declared names, lowest layer first.
    pub declarations: Arena<Declaration>,
    program: Program,
    named: BTreeMap<String, DeclarationId>,
    members: BTreeMap<(DeclarationId, String), DeclarationId>,
    symbols: BTreeMap<DeclarationId, Symbol>,
    /// In the order of their places.
    uses: Vec<Use>,
    /// What begins in column 1, in the order of places.
    tops: Vec<DeclarationId>,
}

/// A name at a place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NameAt {
    /// Where it stands.
    pub span: Span,
    /// The declaration it stands for.
    pub target: DeclarationId,
    /// Whether it is declared here.
    pub is_declaration: bool,
    /// Whether it is the plural of that name.
    pub is_plural: bool,
}

/// Checks layers and indexes their names: the contract first, the house last.
pub fn index(layers: &[LayerSource], contract_version: u32) -> Index {
    let checked = check_whole(layers, contract_version);
    let collected = collect::collect(&checked.layers);
    let mut tops: Vec<DeclarationId> = collected
        .declarations
        .entries()
        .filter(|(_, declaration)| declaration.owner.is_none())
        .map(|(id, _)| id)
        .collect();
    tops.sort_by_key(|id| collected.declarations[*id].whole);
    let mut index = Index {
        folder: checked.folder,
        diagnostics: checked.diagnostics,
        declarations: collected.declarations,
        program: checked.program,
        named: collected.named,
        members: collected.members,
        symbols: BTreeMap::new(),
        uses: Vec::new(),
        tops,
    };
    index.tie_symbols();
    let ids = index.ids();
    let resolved = checked.uses.iter();
    let mut uses: Vec<Use> = resolved
        .filter_map(|(span, target)| index.resolve(*span, *target, &ids))
        .collect();
    uses.extend(index.written_plurals());
    uses.sort();
    uses.dedup();
    index.uses = uses;
    index
}

impl Index {
    /// Whether an error was found.
    pub fn has_errors(&self) -> bool {
        let is_error = |finding: &Diagnostic| finding.severity == Severity::Error;
        self.diagnostics.iter().any(is_error)
    }

    /// The program; absent where there is an error.
    pub fn program(&self) -> Option<&Program> {
        (!self.has_errors()).then_some(&self.program)
    }

    /// The declaration that a plain name stands for.
    pub fn named(&self, name: &str) -> Option<DeclarationId> {
        self.named.get(name).copied()
    }

    /// The value, field, let or argument of that name which belongs to a declaration.
    pub fn member(&self, owner: DeclarationId, name: &str) -> Option<DeclarationId> {
        self.members.get(&(owner, name.to_owned())).copied()
    }

    /// What belongs to a declaration, in its own order.
    pub fn members(&self, owner: DeclarationId) -> Vec<DeclarationId> {
        let from_owner = self.members.range((owner, String::new())..);
        let of_owner = from_owner.take_while(|((other, _), _)| *other == owner);
        let mut members: Vec<DeclarationId> = of_owner.map(|(_, id)| *id).collect();
        members.sort();
        members
    }

    /// The name at a place, or the one that ends there.
    pub fn name_at(&self, file: FileId, offset: usize) -> Option<NameAt> {
        let is_there = |span: Span| span.file == file && (span.start..=span.end).contains(&offset);
        let declared = self.declarations.entries();
        let declared = declared
            .filter(|(_, declaration)| is_there(declaration.span))
            .map(|(target, declaration)| NameAt {
                span: declaration.span,
                target,
                is_declaration: true,
                is_plural: false,
            });
        let used = self.uses.iter().filter(|found| is_there(found.span));
        let used = used.map(|found| NameAt {
            span: found.span,
            target: found.target,
            is_declaration: false,
            is_plural: found.is_plural,
        });
        // Of two that touch, the one that begins here is meant; of two that overlap, the shorter.
        used.chain(declared)
            .min_by_key(|found| (found.span.end == offset, found.span.end - found.span.start))
    }

    /// Where a declaration is used, in the order of places.
    pub fn uses_of(&self, target: DeclarationId) -> impl Iterator<Item = &Use> {
        self.uses.iter().filter(move |found| found.target == target)
    }

    /// A declaration with those that it replaces and that replace it, lowest layer first.
    pub fn family(&self, id: DeclarationId) -> Vec<DeclarationId> {
        let mut family = BTreeSet::from([id]);
        loop {
            let before = family.len();
            for (other, declaration) in self.declarations.entries() {
                match declaration.replaces {
                    Some(below) if family.contains(&other) => family.insert(below),
                    Some(below) if family.contains(&below) => family.insert(other),
                    _ => false,
                };
            }
            if family.len() == before {
                return family.into_iter().collect();
            }
        }
    }

    /// The declaration in column 1 that a place belongs to.
    pub fn enclosing(&self, file: FileId, offset: usize) -> Option<DeclarationId> {
        let key = |id: &DeclarationId| {
            let whole = self.declarations[*id].whole;
            (whole.file, whole.start)
        };
        let after = self.tops.partition_point(|id| key(id) <= (file, offset));
        let found = self.tops.get(after.checked_sub(1)?).copied()?;
        let whole = self.declarations[found].whole;
        (whole.file == file).then_some(found)
    }

    /// The declarations that speak of one, in the order of their names.
    pub fn users(&self, target: DeclarationId) -> Vec<DeclarationId> {
        let places = self.uses_of(target).map(|found| found.span);
        let users: BTreeSet<DeclarationId> = places
            .filter_map(|span| self.enclosing(span.file, span.start))
            .filter(|user| *user != target)
            .collect();
        let mut users: Vec<DeclarationId> = users.into_iter().collect();
        users.sort_by_key(|id| &self.declarations[*id].name);
        users
    }
}
