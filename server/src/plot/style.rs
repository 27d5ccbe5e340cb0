//! What the pictures share: size, greys, letters, and a way to begin one.

use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};

pub(super) const WIDTH: u32 = 960;

pub(super) const INK: RGBColor = RGBColor(20, 20, 20);
pub(super) const GREY: RGBColor = RGBColor(110, 110, 110);
pub(super) const PALE: RGBColor = RGBColor(205, 205, 205);

pub(super) type Sheet<'a> = DrawingArea<SVGBackend<'a>, plotters::coord::Shift>;

/// The drawing as text; an error says what failed.
pub(super) fn drawn(
    height: u32,
    title: &str,
    below: &str,
    draw: impl FnOnce(&Sheet<'_>) -> Result<(), String>,
) -> Result<String, String> {
    let mut svg = String::new();
    {
        let sheet = SVGBackend::with_string(&mut svg, (WIDTH, height)).into_drawing_area();
        sheet.fill(&WHITE).map_err(text_of)?;
        say(&sheet, title, (24, 16), letters(22, INK))?;
        say(&sheet, below, (24, 44), letters(14, GREY))?;
        let (_, rest) = sheet.split_vertically(68);
        draw(&rest)?;
        sheet.present().map_err(text_of)?;
    }
    Ok(svg)
}

/// Letters of a size and colour, beginning at their place.
pub(super) fn letters(size: i32, colour: RGBColor) -> TextStyle<'static> {
    ("sans-serif", size).into_font().color(&colour)
}

/// Letters that stand with this point of theirs at their place.
pub(super) fn letters_at(
    size: i32,
    colour: RGBColor,
    across: HPos,
    up: VPos,
) -> TextStyle<'static> {
    letters(size, colour).pos(Pos::new(across, up))
}

/// Words at a place of the sheet, in pixels.
pub(super) fn say(
    sheet: &Sheet<'_>,
    words: &str,
    place: (i32, i32),
    style: TextStyle<'static>,
) -> Result<(), String> {
    sheet
        .draw(&Text::new(words.to_owned(), place, style))
        .map_err(text_of)
}

/// What went wrong, in words.
pub(super) fn text_of(error: impl std::fmt::Display) -> String {
    error.to_string()
}

/// Round figures about `count` apart over a range: steps of 1, 2 or 5 times a power of ten.
pub(crate) fn ticks(low: f64, high: f64, count: f64) -> Vec<f64> {
    let rough = (high - low) / count;
    if !rough.is_finite() || rough <= 0.0 {
        return vec![low];
    }
    let power = 10_f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|times| times * power)
        .find(|step| *step >= rough)
        .unwrap_or(rough);
    let mut found = Vec::new();
    let mut at = (low / step).ceil();
    while at * step <= high + step * 1e-9 {
        found.push(at * step);
        at += 1.0;
    }
    found
}
