//! A value in columns: what the canonical encoding says, in a third of the bytes once deflated.
//!
//! A recommendation says the same fields of hundreds of decisions. Here all values of one field
//! stand together, and each text stands once: most are names and texts of the rules, which are kept
//! by themselves ([`KnownTexts`]) and are only referred to. What is written can be read with the
//! exact source of the rules beside it, and with nothing else: no checker and no engine.
//!
//! The texts that are not known come first: how many, then each with its length. Then comes the
//! *site* of the value. A site is a place in it, whatever the number in a list, and has an entry
//! for every value that stands there. A site without entries has no bytes. Any other has
//!
//! - the tag that all its entries have, or 9 and then the tag of each (the tags of
//!   [`encoding`](super::encoding));
//! - for each tag that some have, in ascending order, what those entries are, one after the other:
//!   whole numbers, fractions and bytes as they are encoded, without tags; texts as references;
//! - lists: how many elements each has; then the site of all elements of all of them;
//! - maps: how many forms there are, and each form: how many keys, and the keys as references,
//!   ascending by their bytes. Where there are several forms the number of each entry's form, from
//!   0. Then for every key, ascending, the site of what stands under it.
//!
//! A reference is 0 for the next text of those at the beginning that was not referred to yet,
//! 2n + 1 for the known text n and 2n + 2 for the text n at the beginning, both from 0. Counts,
//! numbers and references are LEB128.

mod read;
mod texts;
mod write;

pub use read::of_columns;
pub use texts::KnownTexts;
pub use write::to_columns;

/// What stands in the place of the tag where entries have several.
const SEVERAL: u8 = 9;

#[cfg(test)]
mod tests;
