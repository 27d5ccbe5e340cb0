//! Single changes of the stock, as they are sent: applied one after the other, every fault said of
//! the change that it is of.

use std::collections::BTreeMap;

use loftwright_engine::intake::quoted;
use loftwright_proto::v1 as pb;
use loftwright_proto::v1::count_change::Change;

use super::parts_source::fault;
use super::refusal::{FieldFault, Refusal};
use crate::audit::act::Piece;
use crate::files::{FileFault, PartsFiles};
use crate::registry::Ruleset;
use crate::stock::{Book, Changed};

/// The most changes of one request.
const MOST_CHANGES: usize = 10_000;

/// The faults of form.
pub(super) fn check(changes: &pb::StockChanges, faults: &mut Vec<FieldFault>) {
    let count = changes.add_pieces.len() + changes.remove_pieces.len() + changes.counts.len();
    if count == 0 || count > MOST_CHANGES {
        let sentence = format!("{count} changes were sent; 1 through {MOST_CHANGES} are allowed");
        faults.push(fault("changes", sentence));
    }
}

/// The stock after the changes.
///
/// # Errors
/// [`Refusal::Faults`] with all of them.
pub(super) fn apply(
    ruleset: &Ruleset,
    files: &PartsFiles,
    changes: &pb::StockChanges,
) -> Result<Changed, Refusal> {
    let mut book = Book::new(&ruleset.program, &ruleset.parts);
    let mut faults = Vec::new();
    let mut note = |field: String, outcome: Result<(), String>| {
        if let Err(sentence) = outcome {
            faults.push(fault(&field, sentence));
        }
    };
    for (place, piece) in changes.remove_pieces.iter().enumerate() {
        let outcome = book.remove(&piece.kind, &piece.id).map(drop);
        note(format!("changes.remove_pieces[{place}]"), outcome);
    }
    for (place, piece) in changes.add_pieces.iter().enumerate() {
        let added = Piece {
            id: piece.id.clone(),
            fields: piece.fields.clone(),
        };
        let outcome = book.add(&piece.kind, &piece.part, added);
        note(format!("changes.add_pieces[{place}]"), outcome);
    }
    for (place, count) in changes.counts.iter().enumerate() {
        let outcome = match count.change {
            Some(Change::Set(after)) => book.set_count(&count.kind, &count.part, after),
            Some(Change::ChangeBy(by)) => book.change_count(&count.kind, &count.part, by),
            None => Err("nothing was sent; send `set` or `change_by`".to_owned()),
        };
        note(format!("changes.counts[{place}]"), outcome);
    }
    match faults.is_empty() {
        true => Ok(book.finish(files)),
        false => Err(Refusal::Faults(faults)),
    }
}

/// What the rules cannot read of the changed stock, said of the changes.
pub(super) fn refused(
    lines: &BTreeMap<(String, usize), (String, String)>,
    changes: &pb::StockChanges,
    faults: Vec<FileFault>,
) -> Refusal {
    let added = |kind: &str, is_it: &dyn Fn(&pb::AddedPiece) -> bool| {
        let mut pieces = changes.add_pieces.iter();
        pieces.position(|piece| piece.kind == kind && is_it(piece))
    };
    let place = |found: &FileFault| {
        let key = (found.file.clone(), found.line?);
        if let Some((kind, code)) = lines.get(&key) {
            return added(kind, &|piece| piece.id == *code);
        }
        // A column that is not known is said of the names above it.
        let mut kinds = lines.iter().filter(|((file, _), _)| *file == found.file);
        let (_, (kind, _)) = kinds.next()?;
        added(kind, &|piece| piece.fields.contains_key(&found.key))
    };
    let said = |found: FileFault| match place(&found) {
        Some(place) if found.key.is_empty() => {
            fault(&format!("changes.add_pieces[{place}]"), found.message)
        }
        Some(place) => {
            let field = format!("changes.add_pieces[{place}].fields.{}", found.key);
            fault(&field, found.message)
        }
        None => fault("changes", format!("{}: {found}", quoted(&found.file))),
    };
    Refusal::Faults(faults.into_iter().map(said).collect())
}
