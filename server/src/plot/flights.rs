//! The flights from the side: height over distance, to one scale, so that an angle is an angle.

use loftwright_engine::picture::ClubFlight;
use plotters::element::DashedPathElement;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, VPos};

use super::style::{GREY, INK, WIDTH, drawn, letters, letters_at, say, text_of};

const YARD_M: f64 = 0.9144;
/// Solid, dashed, dotted: three in turn, told apart without colour.
const DASHES: [Option<(u32, u32)>; 3] = [None, Some((9, 5)), Some((2, 4))];

/// The flights of these clubs.
pub(super) fn draw(flights: &[ClubFlight], subject: &str) -> Result<String, String> {
    let points = || flights.iter().flat_map(|flight| &flight.points);
    let farthest_yd = points()
        .map(|point| point.along_m / YARD_M)
        .fold(50.0, f64::max);
    let highest_yd = points()
        .map(|point| point.height_m / YARD_M)
        .fold(10.0, f64::max);
    let (wide, tall) = (farthest_yd * 1.05, highest_yd * 1.25);
    // Half as high again as to scale: a drive is ten times as long as it is high.
    let plot_height = f64::from(WIDTH - 110) * tall / wide * 1.5;
    let rows = flights.len().div_ceil(4);
    let legend_height = u32::try_from(rows).map_err(text_of)? * 22 + 16;
    let height = 68 + whole(plot_height) + 60 + legend_height;
    let title = "The balls' flights from the side, as the model has them";
    let below = format!(
        "{subject}. Before they are set against measured carries; heights drawn half as large again."
    );
    drawn(height, title, &below, |sheet| {
        let (chart_sheet, legend) = sheet.split_vertically(whole(plot_height) + 60);
        let mut chart = ChartBuilder::on(&chart_sheet)
            .margin_left(14)
            .margin_right(30)
            .margin_top(6)
            .x_label_area_size(44)
            .y_label_area_size(60)
            .build_cartesian_2d(0.0..wide, 0.0..tall)
            .map_err(text_of)?;
        chart
            .configure_mesh()
            .disable_x_mesh()
            .light_line_style(TRANSPARENT)
            .bold_line_style(super::style::PALE)
            .axis_style(INK)
            .x_desc("distance along the target line (yd)")
            .y_desc("height (yd)")
            .x_labels(12)
            .y_labels(5)
            .x_label_formatter(&|yards| format!("{yards:.0}"))
            .y_label_formatter(&|yards| format!("{yards:.0}"))
            .label_style(letters(13, GREY))
            .axis_desc_style(letters(14, INK))
            .draw()
            .map_err(text_of)?;
        for (index, flight) in flights.iter().enumerate() {
            let line = in_yards(flight);
            let ink = INK.stroke_width(1 + u32::from(index % 6 >= 3));
            match dash_of(index) {
                None => chart.draw_series(LineSeries::new(line, ink)).map(|_| ()),
                Some((on, off)) => chart
                    .draw_series(DashedLineSeries::new(line, on, off, ink))
                    .map(|_| ()),
            }
            .map_err(text_of)?;
        }
        for (index, flight) in flights.iter().enumerate() {
            let above = |one: &&(f64, f64), other: &&(f64, f64)| one.1.total_cmp(&other.1);
            let line = in_yards(flight);
            if let Some((along, height)) = line.iter().max_by(above) {
                let style = letters_at(12, INK, HPos::Center, VPos::Bottom);
                let number = Text::new(format!("{}", index + 1), (*along, *height), style);
                chart.draw_series([number]).map_err(text_of)?;
            }
            key(&legend, index, flight)?;
        }
        Ok(())
    })
}

fn in_yards(flight: &ClubFlight) -> Vec<(f64, f64)> {
    let points = flight.points.iter();
    points
        .map(|point| (point.along_m / YARD_M, point.height_m / YARD_M))
        .collect()
}

/// The number and name of a club beside a piece of its line, and how far it flies.
fn key(legend: &super::style::Sheet<'_>, index: usize, flight: &ClubFlight) -> Result<(), String> {
    let column = i32::try_from(index % 4).map_err(text_of)?;
    let row = i32::try_from(index / 4).map_err(text_of)?;
    let (x, y) = (60 + column * 220, 14 + row * 22);
    let ink = INK.stroke_width(1 + u32::from(index % 6 >= 3));
    let piece = [(x, y), (x + 44, y)];
    match dash_of(index) {
        None => legend.draw(&PathElement::new(piece.to_vec(), ink)),
        Some((on, off)) => legend.draw(&DashedPathElement::new(piece, on, off, ink)),
    }
    .map_err(text_of)?;
    let last = flight
        .points
        .last()
        .map_or(0.0, |point| point.along_m / YARD_M);
    let words = format!("{}: {}, {last:.0} yd", index + 1, flight.club);
    say(
        legend,
        &words,
        (x + 52, y),
        letters_at(14, INK, HPos::Left, VPos::Center),
    )
}

fn dash_of(index: usize) -> Option<(u32, u32)> {
    DASHES.get(index % DASHES.len()).copied().flatten()
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the height of a picture, kept within bounds"
)]
fn whole(pixels: f64) -> u32 {
    pixels.clamp(120.0, 2_000.0).round() as u32
}
