//! The layout of a rules file: text in, text out.
//!
//! A file keeps its words; what changes is the spaces between them and where lines end. `gather`
//! takes the lines as the reader read them, with the comments that stand between them; `token` cuts
//! a line into words and says which stand close together; `columns` finds where the columns of a
//! line begin; `align` gives the columns of a table, of a block of clauses and of a run of short
//! declarations their widths; `render` writes the lines down.
//!
//! The layout, in a few words:
//!
//! * clauses stand two spaces in, and what follows a clause's word begins in one column;
//! * rows stand four spaces in, or under the header's columns where it has several; conditions,
//!   verbs and reasons each begin in one column;
//! * a line that would be wider than [`WIDTH`] is broken before `because`; adjacent texts stand
//!   below each other; inside parentheses a wide line keeps the line ends it has;
//! * a comment stays where it is: behind its line, or above the line that follows it;
//! * at most one blank line in a row, one around a declaration of several lines, none at the ends.
//!
//! A file with errors is not laid out. The result is read again before it is handed out: the same
//! words in the same lines, and the same comments. So meaning and texts, and both digests, stay.

mod align;
mod columns;
mod gather;
mod line;
mod render;
mod token;

use self::gather::gather;
use crate::arena::Arena;
use crate::diagnostic::{Code, Diagnostic};
use crate::syntax::{FileId, ReadLines, SourceFile, read_lines};

/// The widest line, in characters, where the reader lets a line go on: a row of a table with its
/// reason is read across, and is easier to read in one piece.
pub const WIDTH: usize = 120;

/// Why a file is left as it is.
#[derive(Clone, Debug, thiserror::Error)]
pub enum NotFormatted {
    /// It cannot be read: its findings.
    #[error("it has {} findings", .0.len())]
    Findings(Vec<Diagnostic>),
    /// Laid out, it would pass a limit of the reader, which is named.
    #[error("{0}")]
    Limit(String),
    /// Laid out, it would read differently: a fault of this program.
    #[error("laid out, it would read differently")]
    Differs,
}

/// The text of a file, laid out.
///
/// # Errors
/// [`NotFormatted`]; the file is to be left as it is then.
pub fn format_file(file: FileId, source: &SourceFile) -> Result<String, NotFormatted> {
    let read = read_lines(file, source);
    if !read.diagnostics.is_empty() {
        return Err(NotFormatted::Findings(read.diagnostics));
    }
    let mut items = gather(&source.text, &read).ok_or(NotFormatted::Differs)?;
    align::align(&mut items);
    let text = render::render(&items);
    drop(items);
    same_words(source, &read, &text)?;
    Ok(text)
}

/// The text of a file that belongs to no folder, laid out.
///
/// # Errors
/// As [`format_file`]; the places of the findings are those of the text.
pub fn format_text(text: &str) -> Result<String, NotFormatted> {
    let source = SourceFile {
        layer: String::new(),
        name: String::new(),
        text: text.to_owned(),
    };
    let mut folder = Arena::new();
    let file = folder.push(source.clone());
    format_file(file, &source)
}

/// Whether the text reads as the source does: word by word, line by line, comment by comment.
fn same_words(source: &SourceFile, before: &ReadLines, text: &str) -> Result<(), NotFormatted> {
    let written = SourceFile {
        text: text.to_owned(),
        ..source.clone()
    };
    let mut folder = Arena::new();
    let after = read_lines(folder.push(written.clone()), &written);
    if let Some(finding) = after.diagnostics.first() {
        let help = finding.help.first().map_or("", String::as_str);
        return Err(if finding.code == Code::LimitExceeded {
            NotFormatted::Limit(format!(
                "laid out, it would have {}; {help}",
                finding.message
            ))
        } else {
            NotFormatted::Differs
        });
    }
    let comments = before.comments.iter().zip(&after.comments);
    let mut comments = comments.map(|(one, other)| (one.text(&source.text), other.text(text)));
    let same_comments = before.comments.len() == after.comments.len()
        && comments.all(|(one, other)| one.trim_end() == other.trim_end());
    if words(before) == words(&after) && same_comments {
        Ok(())
    } else {
        Err(NotFormatted::Differs)
    }
}

fn words(read: &ReadLines) -> Option<Vec<Vec<String>>> {
    let of_line = |line| {
        let tokens = token::tokens(&read.masked, line)?;
        Some(tokens.into_iter().map(|token| token.text).collect())
    };
    read.lines.iter().map(of_line).collect()
}
