//! How a command ends: the exit codes and the errors that lead to them.

use std::process::ExitCode;

/// How a command ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ended {
    /// It answered; missing readings and broken limits are answers.
    Answered,
    /// There are findings, failing cases or differences.
    WithFindings,
}

/// Why a command gave no answer.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum CommandError {
    /// What was given is wrong: every fault a line.
    #[error("{}", .0.join("\n"))]
    BadInput(Vec<String>),
    /// A fault of this program or of the machine it runs on.
    #[error("{0}")]
    OwnFault(String),
    /// Nobody reads our output any more.
    #[error("the output is closed")]
    OutputClosed,
}

impl CommandError {
    /// One fault of what was given.
    pub fn bad(fault: impl std::fmt::Display) -> Self {
        CommandError::BadInput(vec![fault.to_string()])
    }

    /// A fault of our own.
    pub fn own(fault: impl std::fmt::Display) -> Self {
        CommandError::OwnFault(fault.to_string())
    }
}

/// The exit code of an outcome: 0 answered, 1 findings, 2 bad input or usage, 70 our own fault.
pub fn exit_code(outcome: &Result<Ended, CommandError>) -> ExitCode {
    ExitCode::from(match outcome {
        Ok(Ended::Answered) | Err(CommandError::OutputClosed) => 0,
        Ok(Ended::WithFindings) => 1,
        Err(CommandError::BadInput(_)) => 2,
        Err(CommandError::OwnFault(_)) => 70,
    })
}
