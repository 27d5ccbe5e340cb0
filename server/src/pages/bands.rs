//! A reading with its spread on the bands of a decision: a picture, and a table of its numbers.

use loftwright_engine::picture::{Band, Bands};
use maud::{Markup, html};

use super::layout::table;
use crate::plot::{figure, ticks};

const WIDTH: f64 = 720.0;
const LEFT: f64 = 12.0;
const TOP: f64 = 8.0;
const BAND_HEIGHT: f64 = 46.0;
const HEIGHT: f64 = 150.0;
/// How many spreads of the reading are shown on either side.
const SPREADS_SHOWN: f64 = 6.0;
/// About how wide a letter is: a band too narrow for its words goes without.
const LETTER: f64 = 8.4;

/// The bands of a decision; nothing where none of its columns is moved by a reading with a spread.
pub(super) fn section(bands: &[Bands]) -> Markup {
    if bands.is_empty() {
        return html! {};
    }
    html! {
        section aria-labelledby="bands" {
            h2 id="bands" { "Where the reading lies" }
            @for bands in bands { (one(bands)) }
        }
    }
}

fn one(bands: &Bands) -> Markup {
    let rows = html! {
        @for band in &bands.bands {
            tr class=[band.is_taken.then_some("taken")] {
                th scope="row" { (band.result) @if band.is_taken { " (decided)" } }
                td { (end(band.low, &bands.unit)) }
                td { (end(band.high, &bands.unit)) }
            }
        }
    };
    let spread = figure(bands.spread);
    html! {
        p {
            code { (bands.column) } " was " b { (figure(bands.value)) " " (bands.unit) }
            ", with " code { (bands.input) } " as it was read; its spread comes to "
            (spread) " " (bands.unit) " here. The thick bar is one spread either way, the thin line two."
        }
        (drawing(bands))
        (table(
            &format!("The bands of {}", bands.column),
            &["Gives", "From", "To"],
            &rows,
        ))
    }
}

fn end(end: Option<f64>, unit: &str) -> String {
    end.map_or("open".to_owned(), |end| format!("{} {unit}", figure(end)))
}

/// The part of the scale that is shown, and where a value stands on it.
struct Scale {
    low: f64,
    high: f64,
}

impl Scale {
    fn of(bands: &Bands) -> Self {
        // So far out that the nearest bound is there too.
        let ends = bands.bands.iter().flat_map(|band| [band.low, band.high]);
        let nearest = ends
            .flatten()
            .map(|end| (end - bands.value).abs() * 1.2)
            .fold(f64::INFINITY, f64::min);
        let most = bands.spread * SPREADS_SHOWN;
        let half = if nearest.is_finite() {
            most.max(nearest)
        } else {
            most
        };
        let half = half.max(f64::MIN_POSITIVE);
        Scale {
            low: bands.value - half,
            high: bands.value + half,
        }
    }

    fn across(&self, value: f64) -> f64 {
        let share = ((value - self.low) / (self.high - self.low)).clamp(0.0, 1.0);
        LEFT + share * (WIDTH - 2.0 * LEFT)
    }
}

fn drawing(bands: &Bands) -> Markup {
    let scale = Scale::of(bands);
    let at = |spreads: f64| place(scale.across(bands.value + spreads * bands.spread));
    let bar = TOP + BAND_HEIGHT + 24.0;
    let axis = bar + 28.0;
    let label = format!(
        "{} of {} {} on the bands of the decision: the table says the same in words",
        bands.column,
        figure(bands.value),
        bands.unit
    );
    html! {
        figure.bands {
            div.scroll role="region" tabindex="0" aria-label=(format!("Bands of {}: picture", bands.column)) {
                svg role="img" aria-label=(label) width=(WIDTH) height=(HEIGHT)
                    viewBox=(format!("0 0 {WIDTH} {HEIGHT}")) {
                    @for band in &bands.bands { (one_band(band, &scale)) }
                    path.spread-2 d=(format!("M{} {bar}H{}", at(-2.0), at(2.0))) {}
                    path.spread-1 d=(format!("M{} {bar}H{}", at(-1.0), at(1.0))) {}
                    path.reading d=(format!("M{} {}V{bar}", at(0.0), TOP - 4.0)) {}
                    circle.reading cx=(at(0.0)) cy=(bar) r="6" {}
                    path.axis d=(format!("M{LEFT} {axis}H{}", WIDTH - LEFT)) {}
                    @for tick in ticks(scale.low, scale.high, 8.0) {
                        path.axis d=(format!("M{} {axis}v6", place(scale.across(tick)))) {}
                        text.tick x=(place(scale.across(tick))) y=(axis + 20.0) { (figure(tick)) }
                    }
                }
            }
            figcaption { (bands.column) @if !bands.unit.is_empty() { ", " (bands.unit) } }
        }
    }
}

fn one_band(band: &Band, scale: &Scale) -> Markup {
    let (from, to) = (
        band.low.unwrap_or(scale.low),
        band.high.unwrap_or(scale.high),
    );
    if to <= scale.low || from >= scale.high {
        return html! {};
    }
    let (left, right) = (scale.across(from), scale.across(to));
    let letters = u32::try_from(band.result.chars().count()).unwrap_or(u32::MAX);
    let has_room = right - left > f64::from(letters) * LETTER;
    html! {
        g class=(if band.is_taken { "band taken" } else { "band" }) {
            rect x=(place(left)) y=(TOP) width=(place(right - left)) height=(BAND_HEIGHT) {}
            @if has_room {
                text x=(place((left + right) / 2.0)) y=(TOP + BAND_HEIGHT / 2.0 + 5.0) {
                    (band.result)
                }
            }
        }
    }
}

/// A place on the picture, to a tenth of a pixel.
fn place(pixels: f64) -> String {
    format!("{pixels:.1}")
}
