//! The stock: single pieces, or counts where nothing is measured on the single one.

use std::collections::BTreeMap;

use loftwright_dsl::program::{Part, PartId, Program, Record};

use super::catalogue::{Catalogue, KnownPart, read_count};
use super::fault::{FaultKind, Faults};
use super::names::{did_you_mean, nearest};
use super::part_fields::{Side, refused_field};
use super::parts::{ID, ON_HAND, PART, path_of, read_id};
use super::quote::quoted;
use super::record::{Sent, has_few_fields, read_field};
use super::{MOST_ON_HAND, MOST_STOCK_RECORDS, RecordText};
use crate::parts::{OnHand, Piece};

/// What the stock has of one part, with the place of the first record of each sort.
#[derive(Default)]
struct Drawer {
    count: Option<(i64, String)>,
    pieces: BTreeMap<String, Piece>,
    first_piece_at: Option<String>,
}

/// Reads the stock of one kind into the catalogue.
pub(super) fn read_stock(
    program: &Program,
    kind: PartId,
    records: &[&RecordText],
    catalogue: &mut Catalogue,
    faults: &mut Faults,
) {
    let part = &program.parts[kind];
    if part.field_index(ON_HAND).is_none() {
        let message = format!(
            "{} is not kept in stock: it declares no `on_hand`",
            quoted(&part.name)
        );
        let path = format!("stock.{}", part.name);
        faults.add(FaultKind::Misplaced, path, &part.name, message);
        return;
    }
    if records.len() > MOST_STOCK_RECORDS {
        let count = records.len();
        let message =
            format!("{count} records were sent; at most {MOST_STOCK_RECORDS} of a kind are read");
        let path = format!("stock.{}", part.name);
        faults.add(FaultKind::TooMany, path, "", message);
    }
    let known = catalogue.kinds.entry(kind).or_default();
    let mut reader = StockReader {
        program,
        part,
        drawers: BTreeMap::new(),
        piece_places: BTreeMap::new(),
    };
    for record in records.iter().take(MOST_STOCK_RECORDS) {
        if has_few_fields(record.fields.len(), &record.place, faults) {
            reader.read(record, known, faults);
        }
    }
    for (id, drawer) in reader.drawers {
        if let Some(known) = known.get_mut(&id) {
            known.part.on_hand = match drawer.count {
                Some((count, _)) => OnHand::Counted(count),
                None => OnHand::Pieces(drawer.pieces.into_values().collect()),
            };
        }
    }
}

struct StockReader<'a> {
    program: &'a Program,
    part: &'a Part,
    /// What is read so far, by the part's code.
    drawers: BTreeMap<String, Drawer>,
    /// Where each piece's record stands: a code is one piece's alone, whatever its part.
    piece_places: BTreeMap<String, String>,
}

impl StockReader<'_> {
    fn read(
        &mut self,
        record: &RecordText,
        known: &BTreeMap<String, KnownPart>,
        faults: &mut Faults,
    ) {
        self.refuse_unknown_fields(record, faults);
        let part_id = self.read_part(record, known, faults);
        let has = |field: &str| record.fields.contains_key(field);
        match (has(ID), has(ON_HAND)) {
            (true, true) => {
                let message = "a record has `id`, of a single piece, or `on_hand`, a count; \
                               both were sent";
                faults.add(
                    FaultKind::PieceOrCount,
                    path_of(record, ON_HAND),
                    "",
                    message,
                );
            }
            (false, false) => {
                let message = "`id` of a single piece, or `on_hand`, a count, is missing";
                faults.add(FaultKind::PieceOrCount, path_of(record, ID), "", message);
            }
            (false, true) => self.read_counted(record, part_id, faults),
            (true, false) => self.read_piece(record, part_id, faults),
        }
    }

    fn refuse_unknown_fields(&self, record: &RecordText, faults: &mut Faults) {
        for (name, sent) in &record.fields {
            if let Some((kind, message)) = refused_field(self.part, Side::Stock, name) {
                faults.add(
                    kind,
                    path_of(record, name),
                    Sent::from(sent).text(),
                    message,
                );
            }
        }
    }

    /// The code of the part, where the catalogue has it.
    fn read_part(
        &self,
        record: &RecordText,
        known: &BTreeMap<String, KnownPart>,
        faults: &mut Faults,
    ) -> Option<String> {
        let id = read_id(record, PART, faults)?;
        if known.contains_key(&id) {
            return Some(id);
        }
        let near = nearest(&id, known.keys().map(String::as_str));
        let message = format!(
            "the catalogue has no {} {}{}",
            self.part.name,
            quoted(&id),
            did_you_mean(near)
        );
        faults.add(FaultKind::UnknownPart, path_of(record, PART), &id, message);
        None
    }

    fn read_counted(&mut self, record: &RecordText, part_id: Option<String>, faults: &mut Faults) {
        let piece_fields = || self.part.fields.iter().filter(|field| field.of_each_piece);
        for field in piece_fields().filter(|field| record.fields.contains_key(&field.name)) {
            let message = format!(
                "{} is measured on a single piece: give its `id` in place of `on_hand`",
                quoted(&field.name)
            );
            let path = path_of(record, &field.name);
            faults.add(FaultKind::PieceOrCount, path, "", message);
        }
        if let Some(field) = piece_fields().find(|field| !field.may_be_unknown) {
            let message = format!(
                "each {} has its own {}: give pieces, with `id`, in place of `on_hand`",
                self.part.name,
                quoted(&field.name)
            );
            faults.add(
                FaultKind::PieceOrCount,
                path_of(record, ON_HAND),
                "",
                message,
            );
        }
        let count = read_count(self.program, record, ON_HAND, MOST_ON_HAND, faults);
        let (Some(part_id), Some(count)) = (part_id, count) else {
            return;
        };
        let drawer = self.drawers.entry(part_id.clone()).or_default();
        if let Some((_, first)) = &drawer.count {
            let message = format!("{} is counted twice (first: {first})", quoted(&part_id));
            let first = format!("{first}: {PART}");
            faults.add_twice(path_of(record, PART), &part_id, message, first);
        } else if let Some(first) = &drawer.first_piece_at {
            let message = counted_and_in_pieces(&part_id, first);
            let first = format!("{first}: {ID}");
            faults.add_twice(path_of(record, ON_HAND), &part_id, message, first);
        } else {
            drawer.count = Some((count, record.place.clone()));
        }
    }

    fn read_piece(&mut self, record: &RecordText, part_id: Option<String>, faults: &mut Faults) {
        let id = read_id(record, ID, faults);
        let fields: Record = self
            .part
            .fields
            .iter()
            .map(|field| {
                if !field.of_each_piece {
                    return None;
                }
                let sent = record.fields.get(&field.name).map(Sent::from);
                let path = path_of(record, &field.name);
                read_field(self.program, field, sent, &path, faults)
            })
            .collect();
        let Some(id) = id else { return };
        if let Some(first) = self.piece_places.get(&id) {
            let message = format!(
                "{} is the code of another piece too ({first}); each has its own",
                quoted(&id)
            );
            let first = format!("{first}: {ID}");
            faults.add_twice(path_of(record, ID), &id, message, first);
            return;
        }
        self.piece_places.insert(id.clone(), record.place.clone());
        let Some(part_id) = part_id else { return };
        let drawer = self.drawers.entry(part_id.clone()).or_default();
        if let (Some((_, first)), None) = (&drawer.count, &drawer.first_piece_at) {
            let message = counted_and_in_pieces(&part_id, first);
            let first = format!("{first}: {ON_HAND}");
            faults.add_twice(path_of(record, ID), &id, message, first);
        }
        drawer
            .first_piece_at
            .get_or_insert_with(|| record.place.clone());
        drawer.pieces.insert(id.clone(), Piece { id, fields });
    }
}

fn counted_and_in_pieces(part_id: &str, first: &str) -> String {
    let part_id = quoted(part_id);
    format!("{part_id} has a count and single pieces too ({first}); it has one or the other")
}
