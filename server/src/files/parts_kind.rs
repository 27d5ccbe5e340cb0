//! Which kind of part a file is about: `heads.toml` and `head.csv` are both about the part `head`.

use loftwright_dsl::program::{Field, Part, Program, Type};
use loftwright_engine::intake::{nearest, quoted};

use super::fault::{FileFault, FileFaultKind};

/// The part whose name or plural is the stem of a file's name.
pub(super) fn part_of_stem<'a>(
    program: &'a Program,
    stem: &str,
    shown: &str,
) -> Result<&'a Part, FileFault> {
    let part = program.parts.iter().find(|part| is_its_name(part, stem));
    part.ok_or_else(|| {
        let plurals = || {
            program
                .parts
                .iter()
                .filter(|part| is_kept(part))
                .map(|part| &part.plural)
        };
        let near = nearest(stem, plurals().map(String::as_str));
        let near = near.map_or_else(String::new, |near| {
            format!("; did you mean {}?", quoted(near))
        });
        let known: Vec<_> = plurals().map(|plural| quoted(plural)).collect();
        let message = format!(
            "{} is not a kind of part; a file is named after one: {}{near}",
            quoted(stem),
            known.join(", ")
        );
        FileFault::of_file(FileFaultKind::FileName, shown, message).at(0..0)
    })
}

/// Whether a word is the part's name or plural.
pub(super) fn is_its_name(part: &Part, word: &str) -> bool {
    part.name == word || part.plural == word
}

/// Whether parts of the kind are kept in stock.
fn is_kept(part: &Part) -> bool {
    part.field_index("on_hand").is_some()
}

/// The type of a field as a file may hold it: declared, or one of those that every record has.
pub(super) fn type_of_field(part: &Part, name: &str) -> Option<Type> {
    match name {
        "lead_time_days" | "on_hand" => Some(Type::Count),
        "id" | "part" => Some(Type::Text),
        _ => field_named(part, name).map(|field| field.value_type),
    }
}

/// The declared field.
pub(super) fn field_named<'a>(part: &'a Part, name: &str) -> Option<&'a Field> {
    part.fields.iter().find(|field| field.name == name)
}
