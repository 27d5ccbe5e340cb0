//! The ticket for the bench, drawn: as a page to print and as plain text.
//!
//! A pure function of the answer. Both forms say the same in the order of the work: what to pull,
//! what to cut, set, bend, weigh, tape and grip, and what to check each club against, with boxes to
//! tick and room for what was measured. Cautions stand at their work, the others before all work.
//! `cells` says what stands in a cell, `text` and `page` where it stands. The page is for A4 and
//! for Letter, black on white, and carries no script.

mod cells;
mod page;
mod text;

use std::path::Path;

use loftwright_proto::v1 as pb;

/// The form of a ticket.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TicketForm {
    /// A page of HTML to print.
    Page,
    /// Plain text, within 100 columns.
    Text,
}

impl TicketForm {
    /// The form that the end of a file's name asks for: `.html` or `.txt`.
    ///
    /// # Errors
    /// A sentence where it is neither.
    pub fn of_path(path: &Path) -> Result<Self, String> {
        match path.extension().and_then(|end| end.to_str()) {
            Some("html") => Ok(TicketForm::Page),
            Some("txt") => Ok(TicketForm::Text),
            _ => Err(format!(
                "`{}` is no file for a ticket: its name ends in `.html` or `.txt`",
                path.display()
            )),
        }
    }
}

/// The ticket of an answer; `None` where it carries none.
pub fn draw(recommendation: &pb::Recommendation, form: TicketForm) -> Option<String> {
    let ticket = recommendation.ticket.as_ref()?;
    Some(match form {
        TicketForm::Page => page::page(recommendation, ticket),
        TicketForm::Text => text::text(recommendation, ticket),
    })
}

/// How the bench calls a work.
pub(crate) fn heading(work: &str) -> &str {
    match work {
        "pulling" => "Pull",
        "cutting" => "Cut",
        "setting" => "Set",
        "heating" => "Heat",
        "bending" => "Bend",
        "weighing" => "Weigh",
        "taping" => "Tape",
        "gripping" => "Grip",
        "checking" => "Check",
        other => other,
    }
}

/// What is said below the heading of a work.
fn advice(work: &str) -> Option<&'static str> {
    Some(match work {
        "cutting" => "Inches. The tip first; then a dry fit; then the butt.",
        "setting" => {
            "Grams in the tip go in with the head. Nothing is bent before the epoxy has cured."
        }
        "heating" => "Only where a head or a sleeve must come off again.",
        "bending" => "Degrees, from what the piece is to what it becomes.",
        "weighing" => "Grams onto the head.",
        "checking" => "What is off goes back to its work.",
        _ => return None,
    })
}

/// What is said where something is not settled.
const OPEN: &str = "Not all is settled: what reads `open` waits for what its note says.";

/// What every ticket says.
const LAST_WORD: &str = "Local codes, makers' instructions, licensed practice come first.";
