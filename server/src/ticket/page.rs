//! The ticket as a page of HTML, to be printed on A4 or Letter.
//!
//! Three tables: what to pull, what to do to each club from left to right, what to check. Every
//! text comes from the answer and is escaped by the macro. The boxes are real ones.

use loftwright_proto::v1 as pb;
use maud::{DOCTYPE, Markup, PreEscaped, html};
use pb::TicketItem as Item;

use super::cells::{Cell, Cells, caution_text, identity, player_line};
use super::{LAST_WORD, OPEN, advice, heading};
use crate::sheet::names_of_clubs;
use crate::sheet::text::listed;

const STYLE: &str = include_str!("page.css");

/// Up to so many clubs the page has room for higher rows to write in.
const MOST_IN_ROOMY_ROWS: usize = 10;

/// The works that the second table has columns for, in their order.
const BUILDING: [&str; 7] = [
    "cutting", "setting", "heating", "bending", "weighing", "taping", "gripping",
];

/// The columns of the second table: the work, the title, the item, whether there is a box.
const COLUMNS: [(&str, &str, Item, bool); 11] = [
    ("cutting", "tip", Item::TipCut, true),
    ("cutting", "butt", Item::ButtCut, true),
    ("cutting", "leaves", Item::ShaftLength, false),
    ("setting", "in tip", Item::TipWeight, true),
    ("setting", "head", Item::Head, true),
    ("setting", "sleeve", Item::Sleeve, true),
    ("bending", "loft", Item::LoftBend, true),
    ("bending", "lie", Item::LieBend, true),
    ("weighing", "on head", Item::HeadWeight, true),
    ("taping", "wraps", Item::Wraps, true),
    ("gripping", "on", Item::Grip, true),
];

/// The ticket of an answer.
pub(super) fn page(recommendation: &pb::Recommendation, ticket: &pb::Ticket) -> String {
    let mut cells = Cells::new(ticket);
    let bag = names_of_clubs(recommendation);
    let player = player_line(recommendation, ticket);
    let title = recommendation
        .ruleset
        .as_ref()
        .map_or("", |ruleset| ruleset.title.as_str());
    let pull = pull(&mut cells);
    let build = build(&mut cells);
    let check = check(&mut cells);
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width";
                title { "Ticket for the bench: " (player) }
                style { (PreEscaped(STYLE)) }
            }
            body.roomy[cells.clubs().len() <= MOST_IN_ROOMY_ROWS] {
                header {
                    h1 { "Ticket for the bench: " (player) }
                    p {
                        (title) "."
                        @if recommendation.preview {
                            " A preview: nothing is recorded or set aside."
                        }
                        " " (LAST_WORD)
                    }
                    (cautions_before(&ticket.cautions, &bag))
                    @if cells.is_open() { p { b { (OPEN) } } }
                }
                section {
                    h2 { "Pull" small { "lofts in degrees, as stamped and as measured on the piece" } }
                    div.beside {
                        (pull)
                        aside { (aside(recommendation, ticket, &cells, &bag)) }
                    }
                }
                section {
                    h2 { "Build, from left to right" small { "inches, degrees, grams" } }
                    (cautions_of(ticket, &BUILDING, &bag))
                    (build)
                }
                section {
                    h2 {
                        "Check"
                        @if let Some(advice) = advice("checking") { small { (advice) } }
                        small.signed { "Built by " span {} " Checked by " span {} " Day " span {} }
                    }
                    (cautions_of(ticket, &["checking"], &bag))
                    (check)
                }
            }
        }
    };
    page.into_string()
}

/// What stands beside the first table: kept clubs, its cautions, the notes, and by what it was
/// decided from which stock.
fn aside(
    recommendation: &pb::Recommendation,
    ticket: &pb::Ticket,
    cells: &Cells<'_>,
    bag: &[String],
) -> Markup {
    html! {
        @if !ticket.kept_clubs.is_empty() {
            p { b { "Kept by the player, not worked on: " } (listed(&ticket.kept_clubs)) "." }
        }
        (cautions_of(ticket, &["pulling"], bag))
        @if !cells.notes.sentences().is_empty() {
            ol.notes aria-label="Notes" {
                @for (place, note) in cells.notes.sentences().iter().enumerate() {
                    li { "[" (place + 1) "] " (note) }
                }
            }
        }
        dl {
            @for (name, text) in identity(recommendation) {
                div { dt { (name) } " " dd { (text) } }
            }
        }
    }
}

fn cautions_before(cautions: &[pb::CautionReport], bag: &[String]) -> Markup {
    html! {
        @if !cautions.is_empty() {
            ul.cautions.first aria-label="Cautions before all work" {
                @for caution in cautions { li { (one_caution(caution, bag)) } }
            }
        }
    }
}

/// The cautions of some works, each once, gathered by the works that they stand at.
fn cautions_of(ticket: &pb::Ticket, works: &[&str], bag: &[String]) -> Markup {
    let mut gathered: Vec<(String, Vec<&pb::CautionReport>)> = Vec::new();
    let here = ticket.works.iter();
    for work in here.filter(|work| works.contains(&work.work.as_str())) {
        for caution in &work.cautions {
            let at = caution
                .at
                .iter()
                .filter(|work| works.contains(&work.as_str()));
            let words: Vec<String> = at.map(|work| heading(work).to_owned()).collect();
            let words = listed(&words);
            match gathered.iter_mut().find(|(known, _)| *known == words) {
                Some((_, cautions)) if cautions.contains(&caution) => {}
                Some((_, cautions)) => cautions.push(caution),
                None => gathered.push((words, vec![caution])),
            }
        }
    }
    html! {
        @if !gathered.is_empty() {
            ul.cautions aria-label="Cautions" {
                @for (words, cautions) in gathered {
                    li {
                        @if works.len() > 1 { b { (words) ":" } " " }
                        @for caution in cautions { span { (one_caution(caution, bag)) } " " }
                    }
                }
            }
        }
    }
}

fn one_caution(caution: &pb::CautionReport, bag: &[String]) -> Markup {
    let shown = caution_text(caution, bag);
    html! {
        (shown.text)
        @if !shown.clubs.is_empty() { " (" (shown.clubs) ")" }
        @if !shown.source.is_empty() { " " cite { "[" (shown.source) "]" } }
    }
}

/// A cell with a box to tick where there is something to do.
fn boxed(cell: &Cell, what: &str) -> Markup {
    html! {
        td {
            @if cell.is_task { input type="checkbox" aria-label=(what); }
            (cell.text)
        }
    }
}

fn pull(cells: &mut Cells<'_>) -> Markup {
    html! {
        table {
            caption { "Pieces to pull" }
            thead {
                tr {
                    @for title in ["club", "head", "stamped", "measured", "shaft", "grip"] {
                        th scope="col" { (title) }
                    }
                }
            }
            tbody {
                @for club in cells.clubs_at("pulling") {
                    @let [stamped, measured] = cells.lofts(club);
                    tr {
                        th scope="row" { (club) }
                        (boxed(&cells.cell("pulling", club, Item::Head), &format!("{club}: head pulled")))
                        td { (stamped) }
                        td { (measured) }
                        (boxed(&cells.cell("pulling", club, Item::Shaft), &format!("{club}: shaft pulled")))
                        (boxed(&cells.cell("pulling", club, Item::Grip), &format!("{club}: grip pulled")))
                    }
                }
            }
        }
    }
}

fn build(cells: &mut Cells<'_>) -> Markup {
    let groups = BUILDING.map(|work| {
        let columns = COLUMNS.iter().filter(|column| column.0 == work);
        (work, columns.count())
    });
    html! {
        table.build {
            caption { "What is done to each club, in the order of the work" }
            thead {
                tr {
                    th rowspan="2" scope="col" { "club" }
                    @for (work, columns) in groups {
                        @if columns > 0 { th colspan=(columns) scope="colgroup" { (heading(work)) (order(work)) } }
                    }
                }
                tr {
                    @for (_, title, _, _) in COLUMNS { th scope="col" { (title) } }
                }
            }
            tbody {
                @for club in cells.clubs() {
                    tr {
                        th scope="row" { (club) }
                        @for (work, title, item, has_box) in COLUMNS {
                            (build_cell(cells, club, (work, title, item, has_box)))
                        }
                    }
                }
            }
        }
    }
}

/// What is said of the order within a work.
fn order(work: &str) -> &'static str {
    match work {
        "cutting" => ": tip, dry fit, butt",
        "setting" => ", then let it cure",
        _ => "",
    }
}

fn build_cell(
    cells: &mut Cells<'_>,
    club: &str,
    (work, title, item, has_box): (&str, &str, Item, bool),
) -> Markup {
    let mut cell = cells.cell(work, club, item);
    cell.is_task = cell.is_task && has_box;
    // Which head and which grip the first table says: here they are set and put on.
    if matches!(item, Item::Head | Item::Grip) && cell.is_task {
        cell.text = String::new();
    }
    boxed(
        &cell,
        &format!("{club}: {} {title}", heading(work).to_lowercase()),
    )
}

/// Every target with its tolerance, and an empty cell for what was measured.
fn check(cells: &mut Cells<'_>) -> Markup {
    let columns = cells.checked([
        "length, in",
        "loft, deg",
        "lie, deg",
        "swingweight",
        "moment, kg*cm2",
    ]);
    html! {
        table.check {
            caption { "Each club against its targets" }
            thead {
                tr {
                    th scope="col" { "club" }
                    @for (title, _) in &columns {
                        th scope="col" { (title) }
                        th scope="col" { "measured" }
                    }
                    th scope="col" { "initials" }
                }
            }
            tbody {
                @for club in cells.clubs_at("checking") {
                    tr {
                        th scope="row" { (club) }
                        @for (_, item) in &columns {
                            @let cell = cells.target(club, *item);
                            td { (cell.text) }
                            td.measured.none[!cell.is_task] {}
                        }
                        td.measured {}
                    }
                }
            }
        }
    }
}
