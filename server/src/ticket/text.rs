//! The ticket as plain text, within 100 columns.

use loftwright_proto::v1 as pb;
use pb::TicketItem as Item;

use super::cells::{Cell, Cells, caution_text, identity, player_line};
use super::{LAST_WORD, OPEN, advice, heading};
use crate::sheet::names_of_clubs;
use crate::sheet::text::{Writer, listed};

/// The ticket of an answer.
pub(super) fn text(recommendation: &pb::Recommendation, ticket: &pb::Ticket) -> String {
    let mut writer = Writer::new(false);
    let mut cells = Cells::new(ticket);
    let bag = names_of_clubs(recommendation);
    head(&mut writer, recommendation, ticket);
    cautions(&mut writer, &ticket.cautions, &bag);
    if !ticket.kept_clubs.is_empty() {
        let kept = listed(&ticket.kept_clubs);
        writer.paragraph("  ", &format!("Kept by the player, not worked on: {kept}."));
    }
    if cells.is_open() {
        writer.paragraph("  ", OPEN);
    }
    for work in &ticket.works {
        let table = table(&mut cells, &work.work);
        if table.rows.is_empty() && work.cautions.is_empty() {
            continue;
        }
        writer.section(heading(&work.work));
        if let Some(advice) = advice(&work.work) {
            writer.paragraph("  ", advice);
        }
        cautions(&mut writer, &work.cautions, &bag);
        if !table.rows.is_empty() {
            writer.table(&table.titles, &table.rows);
        }
    }
    if !cells.notes.sentences().is_empty() {
        writer.section("Notes");
        cells.notes.write(&mut writer);
    }
    writer.line("");
    writer.line("  Built by ____________  Checked by ____________  Day ____________");
    writer.line("");
    writer.paragraph("  ", LAST_WORD);
    writer.into_text()
}

fn head(writer: &mut Writer, recommendation: &pb::Recommendation, ticket: &pb::Ticket) {
    let title = recommendation
        .ruleset
        .as_ref()
        .map_or("", |ruleset| ruleset.title.as_str());
    writer.heading(&format!("Ticket for the bench: {title}"));
    if recommendation.preview {
        writer.line("  A preview: nothing is recorded, no piece is set aside.");
    }
    writer.line("");
    let player = player_line(recommendation, ticket);
    writer.indented("  player       ", 15, &player);
    for (name, text) in identity(recommendation) {
        writer.indented(&format!("  {name:<11}  "), 15, &text);
    }
    writer.line("");
}

fn cautions(writer: &mut Writer, cautions: &[pb::CautionReport], bag: &[String]) {
    for caution in cautions {
        let shown = caution_text(caution, bag);
        let mut text = shown.text;
        if !shown.clubs.is_empty() {
            text.push_str(&format!(" ({})", shown.clubs));
        }
        if !shown.source.is_empty() {
            text.push_str(&format!(" [{}]", shown.source));
        }
        writer.indented("  ! ", 4, &text);
    }
}

/// A table of one work; the titles of columns that only hold a box are empty.
struct Table {
    titles: Vec<&'static str>,
    rows: Vec<Vec<String>>,
}

fn table(cells: &mut Cells<'_>, work: &str) -> Table {
    let columns: &[(&'static str, Item)] = match work {
        "pulling" => return pull(cells),
        "checking" => return check(cells),
        "cutting" => &[
            ("tip", Item::TipCut),
            ("butt", Item::ButtCut),
            ("leaves", Item::ShaftLength),
        ],
        "setting" => &[
            ("head", Item::Head),
            ("grams in tip", Item::TipWeight),
            ("sleeve to", Item::Sleeve),
        ],
        "bending" => &[("loft", Item::LoftBend), ("lie", Item::LieBend)],
        "weighing" => &[("on head", Item::HeadWeight)],
        "taping" => &[("wraps", Item::Wraps)],
        "gripping" => &[("grip", Item::Grip)],
        _ => &[],
    };
    let mut titles = vec!["club"];
    titles.extend(columns.iter().map(|(title, _)| *title));
    let mut rows = Vec::new();
    for club in cells.clubs_at(work) {
        let mut row = vec![club.to_owned()];
        let found: Vec<Cell> = columns
            .iter()
            .map(|(_, item)| cells.cell(work, club, *item))
            .collect();
        if found.iter().all(Cell::is_nothing) {
            continue;
        }
        for ((_, item), cell) in columns.iter().zip(found) {
            row.push(match item {
                Item::ShaftLength => cell.text,
                _ => with_box(&cell),
            });
        }
        rows.push(row);
    }
    Table { titles, rows }
}

fn with_box(cell: &Cell) -> String {
    if cell.is_task {
        format!("[ ] {}", cell.text)
    } else {
        format!("    {}", cell.text)
    }
}

fn pull(cells: &mut Cells<'_>) -> Table {
    let titles = vec!["club", "head", "stamped", "measured", "shaft", "grip"];
    let mut rows = Vec::new();
    for club in cells.clubs_at("pulling") {
        let [stamped, measured] = cells.lofts(club);
        rows.push(vec![
            club.to_owned(),
            with_box(&cells.cell("pulling", club, Item::Head)),
            stamped,
            measured,
            with_box(&cells.cell("pulling", club, Item::Shaft)),
            with_box(&cells.cell("pulling", club, Item::Grip)),
        ]);
    }
    Table { titles, rows }
}

/// Every target with its tolerance and a line for what was measured.
fn check(cells: &mut Cells<'_>) -> Table {
    let columns = cells.checked(["inches", "loft deg", "lie deg", "swings", "kg*cm2"]);
    let mut titles = vec!["club"];
    for (title, _) in &columns {
        titles.extend([*title, ""]);
    }
    titles.push("who");
    let mut rows = Vec::new();
    for club in cells.clubs_at("checking") {
        let mut row = vec![club.to_owned()];
        for (_, item) in &columns {
            let cell = cells.target(club, *item);
            row.push(cell.text);
            row.push(if cell.is_task { "_____" } else { "" }.to_owned());
        }
        row.push("___".to_owned());
        rows.push(row);
    }
    Table { titles, rows }
}
