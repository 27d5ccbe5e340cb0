//! The pieces that a build takes off the stock, and those of an earlier confirmation that go back.

use std::collections::BTreeMap;

use loftwright_engine::intake::quoted;

use super::compare::BuiltPart;
use crate::audit::act::{StockChange, WhatChanged};
use crate::rpc::refusal::FieldFault;
use crate::stock::Book;

/// What is taken, part by part, with the clubs that it goes into.
#[derive(Default)]
pub(super) struct Taking {
    pieces: Vec<(Place, String, String)>,
    /// By kind and part.
    counts: BTreeMap<(String, String), (i64, Place)>,
}

/// Where a part goes.
#[derive(Clone)]
struct Place {
    /// The path of what is said of it.
    field: String,
    kind: String,
    club: String,
}

impl Taking {
    /// Takes in the parts of a club.
    pub(super) fn club(&mut self, club: &str, parts: &BTreeMap<&'static str, BuiltPart>) {
        for (kind, part) in parts.iter().filter(|(_, part)| !part.is_ordered) {
            let place = Place {
                field: part.field.clone().unwrap_or_else(|| "record_id".to_owned()),
                kind: (*kind).to_owned(),
                club: club.to_owned(),
            };
            match &part.piece {
                Some(piece) => self.pieces.push((place, part.part.clone(), piece.clone())),
                None => {
                    let key = ((*kind).to_owned(), part.part.clone());
                    self.counts.entry(key).or_insert((0, place)).0 += 1;
                }
            }
        }
    }

    /// Takes everything out of the book.
    ///
    /// # Errors
    /// Everything that is not on hand, or is of another part.
    pub(super) fn take(self, book: &mut Book<'_>) -> Result<(), Vec<FieldFault>> {
        let mut faults = Vec::new();
        for (place, part, piece) in self.pieces {
            let (kind, club) = (&place.kind, &place.club);
            let sentence = match book.part_of(kind, &piece) {
                Some(of) if of == part => match book.remove(kind, &piece) {
                    Ok(_) => continue,
                    Err(sentence) => sentence,
                },
                Some(of) => format!(
                    "{} is a piece of {}; for the {club} {} was named",
                    quoted(&piece),
                    quoted(&of),
                    quoted(&part)
                ),
                None => format!(
                    "the {kind} {} of {}, for the {club}, is not on hand any more; {}",
                    quoted(&piece),
                    quoted(&part),
                    book.on_hand_text(kind, &part)
                ),
            };
            let field = place.field;
            faults.push(FieldFault { field, sentence });
        }
        for ((kind, part), (count, place)) in self.counts {
            let sentence = if book.is_in_pieces(&kind, &part) {
                format!(
                    "{} is kept piece by piece: say which one goes into the {}, as `{kind}_piece`; \
                     {}",
                    quoted(&part),
                    place.club,
                    book.on_hand_text(&kind, &part)
                )
            } else {
                match book.change_count(&kind, &part, -count) {
                    Ok(()) => continue,
                    Err(_) => format!(
                        "{count} of the {kind} {} are taken; {}",
                        quoted(&part),
                        book.on_hand_text(&kind, &part)
                    ),
                }
            };
            let field = place.field;
            faults.push(FieldFault { field, sentence });
        }
        match faults.is_empty() {
            true => Ok(()),
            false => Err(faults),
        }
    }
}

/// Puts back what an earlier confirmation took.
///
/// # Errors
/// What cannot go back.
pub(super) fn put_back(book: &mut Book<'_>, taken: &[StockChange]) -> Result<(), Vec<FieldFault>> {
    let mut faults = Vec::new();
    for change in taken {
        let (kind, part) = (&change.kind, &change.part);
        let outcome = match &change.what {
            WhatChanged::Removed(piece) => book.add(kind, part, piece.clone()),
            WhatChanged::Added(piece) => book.remove(kind, &piece.id).map(drop),
            WhatChanged::Counted { before, after } => {
                let taken = before.unwrap_or(0).saturating_sub(*after);
                book.change_count(kind, part, taken)
            }
        };
        if let Err(why) = outcome {
            faults.push(FieldFault {
                field: "supersedes".to_owned(),
                sentence: format!("what it took cannot go back on the stock: {why}"),
            });
        }
    }
    match faults.is_empty() {
        true => Ok(()),
        false => Err(faults),
    }
}
