//! A stock of any size, grown from the demo's without chance: the same pieces and shafts again,
//! under codes of their own, each time round a little more loft or mass.

use loftwright_tests::workshop::{PartsFolder, Record};

/// The demo's parts, with so many single heads and so many kinds of shafts.
pub fn grown(demo: &PartsFolder, heads: usize, shafts: usize) -> PartsFolder {
    let mut grown = demo.clone();
    let pieces = list(&demo.stock, "head");
    let piece = |(round, record): (usize, &Record)| Record {
        texts: shifted(record, round, &["id"], "measured_loft", "deg"),
        ..record.clone()
    };
    grown.stock.insert(
        "head".to_owned(),
        rounds(pieces, heads).map(piece).collect(),
    );

    let kinds = list(&demo.catalogue, "shaft");
    let kind = |(round, record): (usize, &Record)| Record {
        texts: shifted(record, round, &["id", "family"], "mass", "g"),
        ..record.clone()
    };
    let counts = list(&demo.stock, "shaft");
    let count = |(round, record): (usize, &Record)| Record {
        texts: shifted(record, round, &["part"], "", ""),
        ..record.clone()
    };
    let (kinds, counts) = (
        rounds(kinds, shafts).map(kind).collect(),
        rounds(counts, shafts).map(count).collect(),
    );
    grown.catalogue.insert("shaft".to_owned(), kinds);
    grown.stock.insert("shaft".to_owned(), counts);
    grown
}

fn list<'r>(
    records: &'r std::collections::BTreeMap<String, Vec<Record>>,
    kind: &str,
) -> &'r [Record] {
    records.get(kind).map_or(&[], Vec::as_slice)
}

/// The records again and again, each with the number of its round, up to so many.
fn rounds(records: &[Record], count: usize) -> impl Iterator<Item = (usize, &Record)> {
    let all = records.iter().enumerate().cycle().take(count).enumerate();
    all.map(|(number, (_, record))| (number / records.len(), record))
}

/// The record's texts in a later round: its codes told apart, one reading moved by a tenth of a
/// degree or a gram each time.
fn shifted(
    record: &Record,
    round: usize,
    codes: &[&str],
    reading: &str,
    unit: &str,
) -> std::collections::BTreeMap<String, String> {
    let mut texts = record.texts.clone();
    if round == 0 {
        return texts;
    }
    for code in codes {
        if let Some(text) = texts.get_mut(*code) {
            text.push_str(&format!("-{round}"));
        }
    }
    if let Some(text) = texts.get_mut(reading) {
        let number: f64 = text
            .split_once(' ')
            .and_then(|(number, _)| number.parse().ok())
            .expect("a number with its unit");
        let step = if unit == "deg" { 0.1 } else { 1.0 };
        let moved = number + step * round as f64;
        *text = format!("{} {unit}", (moved * 10.0).round() / 10.0);
    }
    texts
}
