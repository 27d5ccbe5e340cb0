//! What is on hand, to be changed: pieces come and go, counts rise and fall.
//!
//! It knows what the rules' declarations and the catalogue say of a part. What is measured of a
//! piece is text here; it is read with the files that are written of it.

use std::collections::{BTreeMap, BTreeSet};

use loftwright_dsl::program::{Part, PartId, Program};
use loftwright_engine::intake::{nearest, quoted};
use loftwright_engine::parts::Parts;

use super::taken::PieceName;
use crate::audit::act::{Piece, StockChange, WhatChanged};
use crate::files::{PartsFiles, TextFile, stock_file, stock_records};

const ID: &str = "id";
const PART: &str = "part";
const ON_HAND: &str = "on_hand";

/// The most codes that a sentence lists.
const MOST_LISTED: usize = 8;

/// The stock of one workshop while it is changed.
pub(crate) struct Book<'a> {
    program: &'a Program,
    parts: &'a Parts,
    kinds: BTreeMap<String, OfKind>,
    changes: Vec<StockChange>,
}

/// What is on hand of a kind.
struct OfKind {
    kind: PartId,
    pieces: BTreeMap<String, Held>,
    counts: BTreeMap<String, i64>,
}

/// A piece on hand.
#[derive(Clone)]
struct Held {
    part: String,
    fields: BTreeMap<String, String>,
}

/// A stock after its changes.
pub(crate) struct Changed {
    /// All files of it.
    pub(crate) files: PartsFiles,
    /// What changed, in the order in which it was done.
    pub(crate) changes: Vec<StockChange>,
    /// Where the pieces stand in the files: by file and line, kind and code.
    pub(crate) lines: BTreeMap<(String, usize), (String, String)>,
}

impl<'a> Book<'a> {
    /// The book of what these parts have on hand.
    pub(crate) fn new(program: &'a Program, parts: &'a Parts) -> Self {
        Book {
            program,
            parts,
            kinds: BTreeMap::new(),
            changes: Vec::new(),
        }
    }

    /// Takes in a piece.
    ///
    /// # Errors
    /// One sentence: the kind or part is not known, the code is taken, the part is counted.
    pub(crate) fn add(&mut self, kind: &str, part: &str, piece: Piece) -> Result<(), String> {
        self.check_part(kind, part)?;
        let of = self.of(kind)?;
        if let Some(held) = of.pieces.get(&piece.id) {
            let (id, other) = (quoted(&piece.id), quoted(&held.part));
            return Err(format!("{id} is on hand already, as a piece of {other}"));
        }
        if let Some(count) = of.counts.get(part).filter(|count| **count > 0) {
            let part = quoted(part);
            return Err(format!(
                "{part} is counted, and {count} are on hand; a part has a count or single pieces"
            ));
        }
        of.counts.remove(part);
        let held = Held {
            part: part.to_owned(),
            fields: piece.fields.clone(),
        };
        of.pieces.insert(piece.id.clone(), held);
        self.note(kind, part, WhatChanged::Added(piece));
        Ok(())
    }

    /// Takes out a piece, and says of which part it was.
    ///
    /// # Errors
    /// One sentence: the kind is not known, or the piece is not on hand.
    pub(crate) fn remove(&mut self, kind: &str, id: &str) -> Result<String, String> {
        let of = self.of(kind)?;
        let Some(held) = of.pieces.remove(id) else {
            let near = nearest(id, of.pieces.keys().map(String::as_str));
            let near = did_you_mean(near);
            let (kind, id) = (quoted(kind), quoted(id));
            return Err(format!("no piece {id} of the kind {kind} is on hand{near}"));
        };
        let part = held.part.clone();
        let piece = Piece {
            id: id.to_owned(),
            fields: held.fields,
        };
        self.note(kind, &part, WhatChanged::Removed(piece));
        Ok(part)
    }

    /// Sets a count.
    ///
    /// # Errors
    /// One sentence: the kind or part is not known, it is kept piece by piece, or the count is less
    /// than none.
    pub(crate) fn set_count(&mut self, kind: &str, part: &str, after: i64) -> Result<(), String> {
        self.check_part(kind, part)?;
        let of = self.of(kind)?;
        if of.pieces.values().any(|held| held.part == part) {
            let part = quoted(part);
            return Err(format!(
                "{part} is kept piece by piece; add or remove pieces"
            ));
        }
        if after < 0 {
            return Err(format!("{after} was sent; a count is 0 or more"));
        }
        let before = of.counts.insert(part.to_owned(), after);
        self.note(kind, part, WhatChanged::Counted { before, after });
        Ok(())
    }

    /// Raises a count, or lowers it.
    ///
    /// # Errors
    /// As [`Book::set_count`], and where less than none would be left.
    pub(crate) fn change_count(&mut self, kind: &str, part: &str, by: i64) -> Result<(), String> {
        self.check_part(kind, part)?;
        let before = self.of(kind)?.counts.get(part).copied().unwrap_or(0);
        match before.checked_add(by) {
            Some(after) if after >= 0 => self.set_count(kind, part, after),
            _ => Err(format!(
                "{before} of {} are on hand; {by} would leave less than none",
                quoted(part)
            )),
        }
    }

    /// Every single piece on hand by its kind and code, as if it came now.
    ///
    /// # Errors
    /// One sentence: what is on hand cannot be written.
    pub(crate) fn pieces(&mut self) -> Result<BTreeMap<PieceName, StockChange>, String> {
        let mut pieces = BTreeMap::new();
        let program = self.program;
        let kinds = program.parts.iter();
        for kind in kinds.filter(|part| part.field_index(ON_HAND).is_some()) {
            for (id, held) in &self.of(&kind.name)?.pieces {
                let piece = Piece {
                    id: id.clone(),
                    fields: held.fields.clone(),
                };
                let came = StockChange {
                    kind: kind.name.clone(),
                    part: held.part.clone(),
                    what: WhatChanged::Added(piece),
                };
                pieces.insert((kind.name.clone(), id.clone()), came);
            }
        }
        Ok(pieces)
    }

    /// How many changes were made so far.
    pub(crate) fn changes(&self) -> usize {
        self.changes.len()
    }

    /// Whether pieces of the part stand in the book, by their codes.
    pub(crate) fn is_in_pieces(&mut self, kind: &str, part: &str) -> bool {
        let of = self.of(kind);
        of.is_ok_and(|of| of.pieces.values().any(|held| held.part == part))
    }

    /// The part of a piece on hand.
    pub(crate) fn part_of(&mut self, kind: &str, id: &str) -> Option<String> {
        let of = self.of(kind).ok()?;
        of.pieces.get(id).map(|held| held.part.clone())
    }

    /// What is on hand of a part, for people: ``of it there are `W0114` and `W0115` ``.
    pub(crate) fn on_hand_text(&mut self, kind: &str, part: &str) -> String {
        let Ok(of) = self.of(kind) else {
            return "nothing is on hand of it".to_owned();
        };
        let held = of.pieces.iter().filter(|(_, held)| held.part == part);
        let codes: Vec<&str> = held.map(|(id, _)| id.as_str()).collect();
        match (codes.as_slice(), of.counts.get(part)) {
            ([], None | Some(0)) => "nothing is on hand of it".to_owned(),
            ([], Some(count)) => format!("{count} of it are on hand"),
            (codes, _) => {
                let first = codes.iter().take(MOST_LISTED).map(|code| quoted(code));
                let list = first.collect::<Vec<_>>().join(", ");
                match codes.len().saturating_sub(MOST_LISTED) {
                    0 => format!("on hand of it: {list}"),
                    more => format!("on hand of it: {list} and {more} more"),
                }
            }
        }
    }

    /// The files of the stock after the changes, `before` being those of before.
    pub(crate) fn finish(self, before: &PartsFiles) -> Changed {
        let changed: BTreeSet<&str> = self.changes.iter().map(|one| one.kind.as_str()).collect();
        let mut files = before.files().to_vec();
        for file in &mut files {
            file.shown.clone_from(&file.path);
        }
        let mut lines = BTreeMap::new();
        for (name, of) in self
            .kinds
            .iter()
            .filter(|(name, _)| changed.contains(name.as_str()))
        {
            let part = &self.program.parts[of.kind];
            let (records, codes) = of.records();
            let written = stock_file(part, &records);
            for (place, code) in codes.into_iter().enumerate() {
                // The names of the columns stand in the first line.
                let key = (written.path.clone(), place + 2);
                lines.insert(key, (name.clone(), code));
            }
            files.retain(|file| !file.is_stock_of(&part.name, &part.plural));
            files.push(TextFile {
                shown: written.path.clone(),
                path: written.path,
                text: written.text,
            });
        }
        files.sort();
        Changed {
            files: PartsFiles::of(files),
            changes: self.changes,
            lines,
        }
    }

    fn note(&mut self, kind: &str, part: &str, what: WhatChanged) {
        self.changes.push(StockChange {
            kind: kind.to_owned(),
            part: part.to_owned(),
            what,
        });
    }

    fn part_named(&self, kind: &str) -> Result<(PartId, &'a Part), String> {
        let kept = || {
            let parts = self.program.parts.entries();
            parts.filter(|(_, part)| part.field_index(ON_HAND).is_some())
        };
        kept().find(|(_, part)| part.name == kind).ok_or_else(|| {
            let names: Vec<&str> = kept().map(|(_, part)| part.name.as_str()).collect();
            let list: Vec<String> = names.iter().map(|name| quoted(name)).collect();
            format!(
                "{} is no kind of part that is kept in stock; the kinds are {}{}",
                quoted(kind),
                list.join(", "),
                did_you_mean(nearest(kind, names))
            )
        })
    }

    /// Whether the catalogue has the part.
    fn check_part(&self, kind: &str, part: &str) -> Result<(), String> {
        let (id, _) = self.part_named(kind)?;
        let known = || self.parts.of(id).iter().map(|known| known.id.as_str());
        if known().any(|known| known == part) {
            return Ok(());
        }
        let near = did_you_mean(nearest(part, known()));
        Err(format!(
            "the catalogue has no {kind} {}{near}",
            quoted(part)
        ))
    }

    fn of(&mut self, kind: &str) -> Result<&mut OfKind, String> {
        let (id, part) = self.part_named(kind)?;
        if !self.kinds.contains_key(kind) {
            let records = stock_records(self.program, self.parts, id);
            let records = records.map_err(|faults| faults.join("; "))?;
            self.kinds.insert(kind.to_owned(), OfKind::new(id, records));
        }
        let of = self.kinds.get_mut(kind);
        of.ok_or_else(|| format!("{} cannot be looked at", quoted(&part.name)))
    }
}

impl OfKind {
    fn new(kind: PartId, records: Vec<BTreeMap<String, String>>) -> Self {
        let mut of = OfKind {
            kind,
            pieces: BTreeMap::new(),
            counts: BTreeMap::new(),
        };
        for mut record in records {
            let part = record.remove(PART).unwrap_or_default();
            if let Some(id) = record.remove(ID) {
                let fields = record;
                of.pieces.insert(id, Held { part, fields });
            } else if let Some(count) = record.get(ON_HAND).and_then(|count| count.parse().ok()) {
                of.counts.insert(part, count);
            }
        }
        of
    }

    /// The records of a file, and the codes of those that are pieces, in the same order: pieces go
    /// first.
    fn records(&self) -> (Vec<BTreeMap<String, String>>, Vec<String>) {
        let piece = |(id, held): (&String, &Held)| {
            let mut record = held.fields.clone();
            record.insert(ID.to_owned(), id.clone());
            record.insert(PART.to_owned(), held.part.clone());
            record
        };
        let counted = |(part, count): (&String, &i64)| {
            BTreeMap::from([
                (PART.to_owned(), part.clone()),
                (ON_HAND.to_owned(), count.to_string()),
            ])
        };
        let pieces = self.pieces.iter().map(piece);
        let records = pieces.chain(self.counts.iter().map(counted)).collect();
        (records, self.pieces.keys().cloned().collect())
    }
}

fn did_you_mean(near: Option<&str>) -> String {
    near.map_or_else(String::new, |near| {
        format!("; did you mean {}?", quoted(near))
    })
}
