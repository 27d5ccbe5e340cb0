//! The build sheet: a recommendation as a person at the bench reads it.
//!
//! A pure function of the answer. First the bag, in two tables of the same clubs: what to pull from
//! the drawers and what to build of it. Then the steps in carry, why, what is missing, what is
//! close to turning, how sure each decision is, what to measure next, limits and cautions. What is
//! not settled gets a mark in its cell and its sentence below the table.

mod bag;
pub(crate) mod cells;
mod rest;
mod steps;
mod sure;
pub(crate) mod text;
mod why;

use loftwright_proto::v1 as pb;

use text::Writer;

/// How the sheet is wanted.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SheetOptions {
    /// The player's pseudonym.
    pub player: String,
    /// Whether every step of every decision is wanted, not their gist.
    pub is_full: bool,
    /// Whether headings are set off with ANSI codes.
    pub is_coloured: bool,
}

/// The sheet as text, within 100 columns.
pub fn build_sheet(recommendation: &pb::Recommendation, options: &SheetOptions) -> String {
    let mut writer = Writer::new(options.is_coloured);
    header(&mut writer, recommendation, options);
    bag::pull(&mut writer, &recommendation.clubs);
    bag::build(&mut writer, &recommendation.clubs);
    bag::cut(&mut writer, &recommendation.clubs);
    steps::steps(
        &mut writer,
        &recommendation.clubs,
        recommendation.plan.as_ref(),
    );
    why::why(&mut writer, &recommendation.decisions, options.is_full);
    let bag = names_of_clubs(recommendation);
    rest::missing(&mut writer, recommendation);
    rest::borderlines(&mut writer, &recommendation.borderlines, &bag);
    if options.is_full {
        sure::how_sure(&mut writer, &recommendation.decisions, &bag);
    }
    sure::next_reading(&mut writer, recommendation.next_reading.as_ref());
    rest::limits(&mut writer, &recommendation.limits, &bag);
    rest::cautions(&mut writer, &recommendation.cautions, &bag);
    writer.into_text()
}

fn header(writer: &mut Writer, recommendation: &pb::Recommendation, options: &SheetOptions) {
    let title = recommendation
        .ruleset
        .as_ref()
        .map_or("", |ruleset| ruleset.title.as_str());
    writer.heading(&format!("Build sheet: {title}"));
    if recommendation.preview {
        writer.line("  A preview: nothing is recorded, no piece is set aside.");
    }
    writer.line("");
    let made_on = &recommendation.made_on;
    writer.line(&format!("  player  {}, {made_on}", options.player));
    if let Some(ruleset) = &recommendation.ruleset {
        writer.line(&format!(
            "  rules   {} {}, texts {}, contract {}, semantics {}",
            ruleset.name,
            short(&ruleset.meaning_digest),
            short(&ruleset.text_digest),
            ruleset.contract_version,
            ruleset.semantics_version
        ));
    }
    if let Some(parts) = &recommendation.parts {
        let as_of = parts
            .stock_as_of
            .as_ref()
            .map(|instant| format!(", stock as of {instant}"))
            .unwrap_or_default();
        writer.line(&format!(
            "  parts   {} {}{as_of}",
            parts.name,
            short(&parts.digest)
        ));
    }
}

/// Enough of a digest to compare by eye.
fn short(digest: &str) -> &str {
    digest.get(..12).unwrap_or(digest)
}

/// The clubs of a bag by name, in its order.
pub(crate) fn names_of_clubs(recommendation: &pb::Recommendation) -> Vec<String> {
    let clubs = recommendation.clubs.iter();
    clubs.map(|club| club.name.clone()).collect()
}
