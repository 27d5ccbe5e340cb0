//! Results on standard output, with colour where a person looks at it.

use std::io::{ErrorKind, IsTerminal, Write};

use serde::Serialize;

use crate::ending::CommandError;

/// Whether standard output is a terminal whose reader has not asked for no colour (`NO_COLOR`, see
/// no-color.org: set and not empty).
pub(super) fn is_coloured() -> bool {
    let no_colour = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty());
    std::io::stdout().is_terminal() && !no_colour
}

/// Writes a result as one JSON document, indented.
pub(super) fn print_json(value: &impl Serialize) -> Result<(), CommandError> {
    let text = serde_json::to_string_pretty(value).map_err(CommandError::own)?;
    print(&format!("{text}\n"))
}

/// Writes a result.
pub(super) fn print(text: &str) -> Result<(), CommandError> {
    let mut output = std::io::stdout().lock();
    output
        .write_all(text.as_bytes())
        .and_then(|()| output.flush())
        .map_err(|why| match why.kind() {
            ErrorKind::BrokenPipe => CommandError::OutputClosed,
            _ => CommandError::own(format!("cannot write to standard output: {why}")),
        })
}
