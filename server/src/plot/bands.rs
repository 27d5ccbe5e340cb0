//! A borderline decision: the rows as bands along the column, the reading in them, and how far it
//! scatters.

use loftwright_engine::picture::{Band, Bands};
use plotters::element::DashedPathElement;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, VPos};

use super::style::{GREY, INK, PALE, Sheet, WIDTH, drawn, letters_at, say, text_of, ticks};

const LEFT: i32 = 60;
/// How many spreads of the reading are shown on either side.
const SPREADS_SHOWN: f64 = 6.0;
const TOP: i32 = 30;
const BAND_HEIGHT: i32 = 64;
const HEIGHT: u32 = 330;
/// About how wide a letter is, in pixels: a band too narrow for its words goes without.
const LETTER: i32 = 9;

/// The picture of one decision.
pub(super) fn draw(bands: &Bands, subject: &str) -> Result<String, String> {
    let club = bands
        .club
        .as_deref()
        .map_or_else(String::new, |club| format!(", {club}"));
    let title = format!("{}{club}: near a bound", bands.decision);
    let below = format!(
        "{subject}. The bar is one standard deviation of {} either way, the thin line two.",
        bands.input
    );
    let right = i32::try_from(WIDTH).map_err(text_of)? - 40;
    let half = (bands.spread * SPREADS_SHOWN).max(f64::MIN_POSITIVE);
    let (low, high) = (bands.value - half, bands.value + half);
    let across = |value: f64| {
        let share = ((value - low) / (high - low)).clamp(0.0, 1.0);
        LEFT + whole(share * f64::from(right - LEFT))
    };
    drawn(HEIGHT, &title, &below, |sheet| {
        for band in &bands.bands {
            let (from, to) = (band.low.unwrap_or(low), band.high.unwrap_or(high));
            if to > low && from < high {
                one_band(sheet, band, (across(from), across(to)))?;
            }
        }
        reading(sheet, bands, &across)?;
        let bottom = TOP + BAND_HEIGHT + 84;
        let axis = PathElement::new(vec![(LEFT, bottom), (right, bottom)], INK);
        sheet.draw(&axis).map_err(text_of)?;
        for tick in ticks(low, high, 9.0) {
            let x = across(tick);
            let mark = PathElement::new(vec![(x, bottom), (x, bottom + 6)], INK);
            sheet.draw(&mark).map_err(text_of)?;
            let style = letters_at(13, GREY, HPos::Center, VPos::Top);
            say(sheet, &figure(tick), (x, bottom + 10), style)?;
        }
        let words = match bands.unit.as_str() {
            "" => bands.column.clone(),
            unit => format!("{} ({unit})", bands.column),
        };
        let style = letters_at(14, INK, HPos::Center, VPos::Top);
        say(
            sheet,
            &words,
            (i32::midpoint(LEFT, right), bottom + 34),
            style,
        )
    })
}

/// A band with what it comes to; the one that decided is hatched by a thick edge.
fn one_band(sheet: &Sheet<'_>, band: &Band, (from, to): (i32, i32)) -> Result<(), String> {
    let corners = [(from, TOP), (to, TOP + BAND_HEIGHT)];
    if band.is_taken {
        sheet
            .draw(&Rectangle::new(corners, PALE.filled()))
            .map_err(text_of)?;
    }
    let edge = INK.stroke_width(1 + u32::from(band.is_taken));
    sheet
        .draw(&Rectangle::new(corners, edge))
        .map_err(text_of)?;
    let letters = i32::try_from(band.result.chars().count()).unwrap_or(i32::MAX);
    if to - from < letters.saturating_mul(LETTER) {
        return Ok(());
    }
    let middle = (i32::midpoint(from, to), TOP + BAND_HEIGHT / 2);
    let style = letters_at(15, INK, HPos::Center, VPos::Center);
    say(sheet, &band.result, middle, style)
}

/// The reading with its scatter, below the bands, and a line up through them.
fn reading(sheet: &Sheet<'_>, bands: &Bands, across: &impl Fn(f64) -> i32) -> Result<(), String> {
    let y = TOP + BAND_HEIGHT + 40;
    let around = |spreads: f64| {
        let (from, to) = (
            across(bands.value - spreads * bands.spread),
            across(bands.value + spreads * bands.spread),
        );
        vec![(from, y), (to, y)]
    };
    for (spreads, thick) in [(2.0, 1), (1.0, 7)] {
        let bar = PathElement::new(around(spreads), INK.stroke_width(thick));
        sheet.draw(&bar).map_err(text_of)?;
    }
    let x = across(bands.value);
    let line = DashedPathElement::new([(x, TOP - 8), (x, y)], 5, 4, INK);
    sheet.draw(&line).map_err(text_of)?;
    sheet
        .draw(&Circle::new((x, y), 6, WHITE.filled()))
        .map_err(text_of)?;
    sheet
        .draw(&Circle::new((x, y), 6, INK.stroke_width(2)))
        .map_err(text_of)?;
    let words = format!("{} {}", figure(bands.value), bands.unit);
    let style = letters_at(14, INK, HPos::Center, VPos::Top);
    say(sheet, words.trim_end(), (x, y + 14), style)
}

/// A figure with as many places as it needs, up to three.
pub(crate) fn figure(value: f64) -> String {
    let text = format!("{value:.3}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0" } else { text }.to_owned()
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "a place on the sheet, a few hundred pixels"
)]
fn whole(pixels: f64) -> i32 {
    pixels.round() as i32
}
