//! `editor`: the language server over standard input and output, and the grammar for colours.

use clap::Args;
use loftwright_dsl::syntax::text_mate_grammar;

use super::cases::NamedFolder;
use super::output::print;
use crate::editor::serve;
use crate::ending::{CommandError, Ended};

/// What `editor` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    /// Print the TextMate grammar that colours rules, and end
    #[arg(long)]
    grammar: bool,
    /// A folder of parts for the cases that name it `with stock`; `demo` and `thin` are built in
    #[arg(long, value_name = "NAME=DIR")]
    parts: Vec<NamedFolder>,
}

/// Serves until the editor leaves. The protocol wants exit code 1 of a server that is told to exit
/// without `shutdown`.
///
/// # Errors
/// [`CommandError::OutputClosed`] where nobody reads the grammar.
pub fn run(arguments: Arguments) -> Result<Ended, CommandError> {
    if arguments.grammar {
        print(&text_mate_grammar())?;
        return Ok(Ended::Answered);
    }
    let was_asked = serve(std::io::stdin(), std::io::stdout(), arguments.parts);
    Ok(if was_asked {
        Ended::Answered
    } else {
        Ended::WithFindings
    })
}
