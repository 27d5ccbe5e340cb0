//! Files of catalogue and stock as they are sent: their form looked at, nothing read yet.

use std::collections::BTreeSet;

use loftwright_engine::intake::quoted;
use loftwright_proto::v1 as pb;

use super::refusal::FieldFault;
use super::request::fault_of_reason;
use crate::files::TextFile;
use crate::files::limits::{LARGEST_PARTS_FILE_BYTES, MOST_FILES};

/// The most characters of a stock's name.
const LONGEST_NAME_CHARACTERS: usize = 64;

/// The files of a side, `catalogue` or `stock`, as they stand in a parts folder. Faults go to
/// `field`.
pub(super) fn files(
    field: &str,
    side: &str,
    sent: &pb::PartsFiles,
    faults: &mut Vec<FieldFault>,
) -> Vec<TextFile> {
    if sent.files.len() > MOST_FILES {
        let sentence = format!(
            "{} files were sent; at most {MOST_FILES} are read",
            sent.files.len()
        );
        faults.push(fault(field, sentence));
        return Vec::new();
    }
    let mut names = BTreeSet::new();
    let mut read = Vec::new();
    for (place, file) in sent.files.iter().enumerate() {
        let field = format!("{field}.files[{place}]");
        let bytes = u64::try_from(file.text.len()).unwrap_or(u64::MAX);
        if bytes > LARGEST_PARTS_FILE_BYTES {
            let sentence = format!(
                "{bytes} bytes were sent; at most {LARGEST_PARTS_FILE_BYTES} are read of a file"
            );
            faults.push(fault(&format!("{field}.text"), sentence));
        }
        if !is_plain(&file.name) {
            let sentence = format!(
                "{} was sent; a file of parts has a plain name that ends in `.toml` or `.csv`",
                quoted(&file.name)
            );
            faults.push(fault(&format!("{field}.name"), sentence));
        } else if !names.insert(&file.name) {
            let sentence = format!("the file {} was sent twice", quoted(&file.name));
            faults.push(fault(&format!("{field}.name"), sentence));
        }
        let path = format!("{side}/{}", file.name);
        read.push(TextFile {
            shown: path.clone(),
            path,
            text: file.text.clone(),
        });
    }
    read.sort();
    read
}

fn is_plain(name: &str) -> bool {
    let stem = name
        .strip_suffix(".toml")
        .or_else(|| name.strip_suffix(".csv"));
    stem.is_some_and(|stem| {
        !stem.is_empty()
            && !stem.starts_with('.')
            && stem
                .chars()
                .all(|one| one.is_alphanumeric() || "._- ".contains(one))
    })
}

/// The faults of a reason.
pub(super) fn check_reason(field: &str, reason: &str, faults: &mut Vec<FieldFault>) {
    faults.extend(fault_of_reason(reason).map(|sentence| fault(field, sentence)));
}

/// The faults of a stock's name.
pub(super) fn check_stock_name(name: &str, faults: &mut Vec<FieldFault>) {
    let characters = name.chars().count();
    if characters > LONGEST_NAME_CHARACTERS || name.chars().any(char::is_control) {
        let sentence = format!(
            "{} was sent; a stock's name is one line of at most {LONGEST_NAME_CHARACTERS} \
             characters",
            quoted(name)
        );
        faults.push(fault("stock_name", sentence));
    }
}

/// The fault of an expected digest that is not sent.
pub(super) fn check_expected(digest: &str, faults: &mut Vec<FieldFault>) {
    if digest.is_empty() {
        let sentence = "nothing was sent; send the digest of the snapshot that is in force, as \
                        ListStock gives it";
        faults.push(fault("expected_digest", sentence.to_owned()));
    }
}

pub(super) fn fault(field: &str, sentence: String) -> FieldFault {
    FieldFault {
        field: field.to_owned(),
        sentence,
    }
}
