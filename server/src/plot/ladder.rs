//! The gapping ladder: a rung for each club, as long as it carries, and the gaps between.

use loftwright_engine::picture::Rung;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, VPos};

use super::style::{GREY, INK, PALE, WIDTH, drawn, letters_at, say, text_of, ticks};

/// The height of a club's row, in pixels.
const ROW: i32 = 34;
/// Where the axis begins and ends, in pixels from the left.
const LEFT: i32 = 150;
const RIGHT_MARGIN: i32 = 110;

/// The ladder of these clubs, the longest on top.
pub(super) fn draw(rungs: &[Rung], subject: &str) -> Result<String, String> {
    let mut rungs: Vec<&Rung> = rungs.iter().collect();
    rungs.sort_by(|one, other| other.carry_yd.total_cmp(&one.carry_yd));
    let count = i32::try_from(rungs.len()).map_err(text_of)?;
    let height = u32::try_from(68 + count * ROW + 70).map_err(text_of)?;
    let title = "How far each club carries, and the gaps between";
    let below =
        format!("{subject}. Carry in yards; a hollow mark is a club that the player keeps.");
    let widest = rungs.windows(2).map(gap).fold(0.0, f64::max);
    let (low, high) = range(&rungs);
    drawn(height, title, &below, |sheet| {
        let right = i32::try_from(WIDTH).map_err(text_of)? - RIGHT_MARGIN;
        let across = |carry_yd: f64| place(LEFT, right, (carry_yd - low) / (high - low));
        let bottom = count * ROW + 6;
        for tick in ticks(low, high, 10.0) {
            let x = across(tick);
            let line = PathElement::new(vec![(x, 4), (x, bottom)], PALE);
            sheet.draw(&line).map_err(text_of)?;
            let style = letters_at(13, GREY, HPos::Center, VPos::Top);
            say(sheet, &format!("{tick:.0}"), (x, bottom + 6), style)?;
        }
        let style = letters_at(14, INK, HPos::Center, VPos::Top);
        say(
            sheet,
            "carry (yd)",
            (i32::midpoint(LEFT, right), bottom + 26),
            style,
        )?;
        for (row, rung) in (0..count).zip(&rungs) {
            let y = ROW / 2 + row * ROW;
            let x = across(rung.carry_yd);
            let line = PathElement::new(vec![(LEFT, y), (x, y)], GREY);
            sheet.draw(&line).map_err(text_of)?;
            let ink = if rung.is_kept {
                INK.stroke_width(2)
            } else {
                INK.filled()
            };
            let mark = Circle::new((x, y), 5, ink);
            sheet.draw(&mark).map_err(text_of)?;
            let style = letters_at(15, INK, HPos::Right, VPos::Center);
            say(sheet, &rung.club, (LEFT - 12, y), style)?;
            let style = letters_at(14, INK, HPos::Left, VPos::Center);
            say(sheet, &format!("{:.0}", rung.carry_yd), (x + 12, y), style)?;
        }
        for (row, pair) in (0..count).zip(rungs.windows(2)) {
            let [longer, shorter] = pair else { continue };
            let y = ROW + row * ROW;
            let (from, to) = (across(shorter.carry_yd), across(longer.carry_yd));
            let is_widest = gap(pair) >= widest;
            let ink = INK.stroke_width(if is_widest { 4 } else { 1 });
            let bar = PathElement::new(vec![(from, y), (to, y)], ink);
            sheet.draw(&bar).map_err(text_of)?;
            let words = if is_widest {
                format!("{:.0}, the widest", gap(pair))
            } else {
                format!("{:.0}", gap(pair))
            };
            let style = letters_at(12, GREY, HPos::Right, VPos::Center);
            say(sheet, &words, (from - 8, y), style)?;
        }
        Ok(())
    })
}

fn gap(pair: &[&Rung]) -> f64 {
    match pair {
        [longer, shorter] => longer.carry_yd - shorter.carry_yd,
        _ => 0.0,
    }
}

/// Round figures around every carry.
fn range(rungs: &[&Rung]) -> (f64, f64) {
    let carries = || rungs.iter().map(|rung| rung.carry_yd);
    let (low, high) = (
        carries().fold(f64::MAX, f64::min),
        carries().fold(0.0, f64::max),
    );
    let low = ((low - 30.0) / 20.0).floor() * 20.0;
    (low.max(0.0), (high / 20.0).ceil() * 20.0 + 10.0)
}

/// The pixel at a share of the way from one to another.
#[expect(
    clippy::cast_possible_truncation,
    reason = "a place on the sheet, a few hundred pixels"
)]
fn place(from: i32, to: i32, share: f64) -> i32 {
    from + (share * f64::from(to - from)).round() as i32
}
