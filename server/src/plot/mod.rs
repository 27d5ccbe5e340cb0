//! Pictures of an answer, as SVG: `fit --plot DIR`.
//!
//! Three kinds of file: `ladder.svg`, how far each club carries, one below the other;
//! `flights.svg`, the flights that those carries rest on, from the side; and one file for each
//! borderline decision, with the rows on both sides, the reading and its spread. Drawn in black and
//! greys, and told apart by dashes and by names beside the lines, so that a photocopy says as much.
//! What cannot be drawn (no carry is known, no flight was asked for, nothing is borderline) is left
//! out.

mod bands;
mod flights;
mod ladder;
mod style;

use loftwright_engine::picture::Pictures;

pub(crate) use bands::figure;
pub(crate) use style::ticks;

/// A file to be written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Picture {
    /// The file's name.
    pub file: String,
    /// Its text.
    pub svg: String,
}

/// A picture that could not be drawn; it never leaves this program but as a fault of its own.
#[derive(Debug, thiserror::Error)]
#[error("the picture `{file}` cannot be drawn: {reason}")]
pub struct PlotError {
    file: String,
    reason: String,
}

/// Every picture that can be drawn of an answer, by file name.
///
/// # Errors
/// [`PlotError`], where the drawing itself fails; no answer should make it.
pub fn pictures(drawn: &Pictures, subject: &str) -> Result<Vec<Picture>, PlotError> {
    let mut found = Vec::new();
    let mut add = |file: String, svg: Result<String, String>| match svg {
        Ok(svg) => {
            found.push(Picture { file, svg });
            Ok(())
        }
        Err(reason) => Err(PlotError { file, reason }),
    };
    if !drawn.ladder.is_empty() {
        add(
            "ladder.svg".to_owned(),
            ladder::draw(&drawn.ladder, subject),
        )?;
    }
    if !drawn.flights.is_empty() {
        add(
            "flights.svg".to_owned(),
            flights::draw(&drawn.flights, subject),
        )?;
    }
    for (index, bands) in drawn.bands.iter().enumerate() {
        let club = bands.club.as_deref().unwrap_or("bag").replace(' ', "-");
        let file = format!("borderline-{:02}-{}-{club}.svg", index + 1, bands.decision);
        add(file, bands::draw(bands, subject))?;
    }
    Ok(found)
}
