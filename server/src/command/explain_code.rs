//! `explain-code`: the page of a finding's code, or the list of all codes.

use clap::Args;
use loftwright_dsl::diagnostic::Code;
use loftwright_engine::intake::quoted;
use serde_json::{Value, json};

use super::output::{print, print_json};
use crate::ending::{CommandError, Ended};

/// What `explain-code` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    /// The code, such as L0301
    #[arg(value_name = "CODE")]
    code: Option<String>,
    /// The page, or the list, as JSON
    #[arg(long)]
    json: bool,
}

/// Prints the page of a code, or the list of all codes with their titles.
///
/// # Errors
/// [`CommandError::BadInput`] where there is no such code.
pub fn run(arguments: &Arguments) -> Result<Ended, CommandError> {
    let code = arguments.code.as_deref().map(known).transpose()?;
    match (code, arguments.json) {
        (Some(code), false) => print(code.page())?,
        (Some(code), true) => print_json(&with_page(code))?,
        (None, false) => print(&list())?,
        (None, true) => {
            let codes: Vec<Value> = sorted().into_iter().map(with_title).collect();
            print_json(&json!({ "codes": codes }))?;
        }
    }
    Ok(Ended::Answered)
}

/// The code that is meant.
fn known(text: &str) -> Result<Code, CommandError> {
    Code::of_text(text).ok_or_else(|| {
        let near: Vec<String> = Code::nearest(text)
            .into_iter()
            .map(|code| format!("\n  {code}  {}", code.title()))
            .collect();
        let help = if near.is_empty() {
            "; `loftwright explain-code` lists them all".to_owned()
        } else {
            format!("; the nearest are:{}", near.concat())
        };
        CommandError::bad(format!("no finding has the code {}{help}", quoted(text)))
    })
}

fn sorted() -> Vec<Code> {
    let mut codes = Code::ALL.to_vec();
    codes.sort_by_key(|code| code.text());
    codes
}

fn list() -> String {
    let line = |code: Code| format!("{code}  {}\n", code.title());
    sorted().into_iter().map(line).collect()
}

fn with_title(code: Code) -> Value {
    json!({ "code": code.text(), "title": code.title() })
}

fn with_page(code: Code) -> Value {
    json!({ "code": code.text(), "title": code.title(), "page": code.page() })
}
