//! A file laid out.

use loftwright_dsl::format::{NotFormatted, format_file};
use lsp_types::TextEdit;

use super::session::Place;

/// The edits that lay out the file: none where it is, else one over the lines that change, so that
/// the cursor stays where it can.
///
/// # Errors
/// Why the file is left as it is.
pub(super) fn format(place: &Place<'_>) -> Result<Vec<TextEdit>, NotFormatted> {
    let source = &place.checked.index.folder[place.file];
    let text = source.text.as_str();
    let laid_out = format_file(place.file, source)?;
    if laid_out == text {
        return Ok(Vec::new());
    }
    let head = same_lines(text.split_inclusive('\n'), laid_out.split_inclusive('\n'));
    let (old, new) = (
        text.get(head..).unwrap_or_default(),
        laid_out.get(head..).unwrap_or_default(),
    );
    let tail = same_lines(
        old.split_inclusive('\n').rev(),
        new.split_inclusive('\n').rev(),
    );
    let new = new.get(..new.len() - tail).unwrap_or_default();
    let lines = place.checked.lines(place.file);
    let range = lines.range(head, text.len() - tail);
    Ok(vec![TextEdit::new(range, new.to_owned())])
}

/// How many bytes of lines two texts share from where they are read.
fn same_lines<'a>(
    one: impl Iterator<Item = &'a str>,
    other: impl Iterator<Item = &'a str>,
) -> usize {
    one.zip(other)
        .take_while(|(one, other)| one == other)
        .map(|(line, _)| line.len())
        .sum()
}
