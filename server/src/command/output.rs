//! Results on standard output, with colour where a person looks at it.

use std::io::{ErrorKind, IsTerminal, Write};

use loftwright_dsl::diagnostic::Layout;
use serde::Serialize;
use terminal_size::{Width, terminal_size_of};

use crate::ending::CommandError;

/// Whether standard output shows colours: it is a terminal, and its reader has not asked for none
/// (`NO_COLOR`, see no-color.org: set and not empty), or he asks for them wherever it leads
/// (`CLICOLOR_FORCE`, see bixense.com/clicolors: set and not `0`).
pub(super) fn is_coloured() -> bool {
    let is_set = |name: &str| std::env::var_os(name).filter(|value| !value.is_empty());
    if is_set("NO_COLOR").is_some() {
        return false;
    }
    let is_forced = is_set("CLICOLOR_FORCE").is_some_and(|value| value != "0");
    is_forced || std::io::stdout().is_terminal()
}

/// How findings are laid out on standard output: as wide as the terminal, if it is one.
pub(super) fn layout() -> Layout {
    // Below this nothing can be read, and what says so is mostly no terminal.
    const LEAST_COLUMNS: usize = 40;
    let columns = terminal_size_of(std::io::stdout());
    Layout {
        is_coloured: is_coloured(),
        width: columns.map_or(Layout::PLAIN.width, |(Width(columns), _)| {
            usize::from(columns).max(LEAST_COLUMNS)
        }),
    }
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
