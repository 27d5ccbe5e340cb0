//! What a declaration that cannot be read would have declared.
//!
//! The slip is reported where it stands. What uses these names is then right as far as anybody can
//! tell, so nothing is said of it: one slip is one finding.

use std::collections::BTreeSet;

use crate::syntax::keyword::{RESERVED_WORDS, is_name};
use crate::syntax::reader::{Cut, tokens};
use crate::syntax::tree::Declaration;

/// The word by which a lost `ruleset` line is known among the names.
pub(crate) const RULESET: &str = "ruleset";

/// Adds the names that are lost with a declaration: none where it was read whole.
pub(super) fn note_lost(
    masked: &str,
    cut: &Cut,
    declaration: Option<&Declaration>,
    lost: &mut BTreeSet<String>,
) {
    if declaration.is_some_and(|declaration| !declaration.is_damaged) {
        return;
    }
    let Some((header, body)) = cut.lines.split_first() else {
        return;
    };
    let words = |start, end| tokens(masked, start, end).map(|(_, word)| word);
    if declaration.is_none() {
        let mut header = words(header.start, header.end).skip_while(|word| *word == "replace");
        let kind = header.next().unwrap_or("");
        let mut names = header.filter(|word| is_name(word) && !RESERVED_WORDS.contains(word));
        match kind {
            RULESET => {
                lost.insert(RULESET.to_owned());
            }
            // Their values are names too.
            "scale" | "choice" => lost.extend(names.map(str::to_owned)),
            "part" => {
                let all: Vec<&str> = names.collect();
                lost.extend(all.first().map(|name| format!("{name}s")));
                lost.extend(all.into_iter().map(str::to_owned));
            }
            _ => lost.extend(names.next().map(str::to_owned)),
        }
    }
    for line in body {
        let mut line = words(line.start, line.end);
        if matches!(line.next(), Some("let" | "has")) {
            lost.extend(line.next().map(str::to_owned));
        }
    }
}
