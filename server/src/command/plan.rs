//! `plan`: what a roster of players draws from the drawers, what runs short, what to order by when.

use std::path::PathBuf;

use clap::Args;
use loftwright_dsl::quantity::{Date, Dimension, ParsedLiteral, Rational, parse_literal};
use loftwright_engine::stocking::{Terms, plan};

use super::fit::date;
use super::output::{print, print_json};
use crate::ending::{CommandError, Ended};
use crate::files::RosterFile;
use crate::load::{self, file_faults};
use crate::planning::{About, document, plan_text};
use crate::rpc::fitting::today;

/// What `plan` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    /// The roster: who comes, when, how likely, for what
    #[arg(value_name = "ROSTER.toml")]
    roster: PathBuf,
    /// The folder of rules [default: the built-in ruleset that the roster names]
    #[arg(long, value_name = "DIR")]
    rules: Option<PathBuf>,
    /// The folder of parts and stock [default: the built-in demo stock]
    #[arg(long, value_name = "DIR")]
    parts: Option<PathBuf>,
    /// The day the plan is made, such as 2026-05-01 [default: today]
    #[arg(long, value_name = "DATE", value_parser = date)]
    on: Option<Date>,
    /// How likely what is loaded is to suffice, for each part by itself
    #[arg(long, value_name = "PERCENT", default_value = "95 percent", value_parser = confidence)]
    confidence: Rational,
    /// The plan as JSON, chances as exact fractions
    #[arg(long)]
    json: bool,
}

/// `95 percent`, `95%`, `95`, `0.95`.
fn confidence(text: &str) -> Result<Rational, String> {
    let wrong =
        || format!("`{text}` is not above 0 percent and at most 100 percent, such as `95 percent`");
    let number = text.trim().trim_end_matches('%').trim_end();
    let Ok(ParsedLiteral::Quantity {
        value,
        dimension: Dimension::NUMBER,
        unit,
    }) = parse_literal(number)
    else {
        return Err(wrong());
    };
    let is_percent = unit.is_empty() && (text.contains('%') || value > Rational::ONE);
    let value = match is_percent {
        true => value.over(Rational::whole(100)).map_err(|_| wrong())?,
        false => value,
    };
    let is_allowed = value > Rational::ZERO && value <= Rational::ONE;
    is_allowed.then_some(value).ok_or_else(wrong)
}

/// Plans the stock for a roster and prints the tables.
///
/// # Errors
/// [`CommandError`].
pub fn run(arguments: &Arguments) -> Result<Ended, CommandError> {
    let file = RosterFile::of_disk(&arguments.roster).map_err(|faults| file_faults(&faults))?;
    let revision = load::revision(arguments.rules.as_deref(), file.ruleset.as_deref())?;
    let ruleset = load::stock(arguments.parts.as_deref())?
        .ruleset(revision.program, revision.source)
        .map_err(|faults| file_faults(&faults))?;
    let today = match arguments.on {
        Some(day) => day,
        None => {
            today().ok_or_else(|| CommandError::own("this machine's clock stands before 1970"))?
        }
    };
    let roster = file
        .roster(&ruleset.program, today)
        .map_err(|faults| file_faults(&faults))?;
    let terms = Terms {
        today,
        horizon_s: roster.horizon_s,
        confidence: arguments.confidence,
    };
    let plan = plan(&ruleset.program, &ruleset.parts, &roster.visits, &terms);
    let about = About {
        program: &ruleset.program,
        parts: &ruleset.parts,
        digest: &ruleset.stock.digest,
        title: file.title.as_deref().unwrap_or("Roster"),
        terms: &terms,
    };
    let document = document(&about, &plan);
    if arguments.json {
        print_json(&document)?;
    } else {
        print(&plan_text(&document))?;
    }
    Ok(Ended::Answered)
}
