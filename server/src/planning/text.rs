//! The plan as tables: what to order, every drawer, every player.

use std::collections::BTreeMap;
use std::fmt::Write;

use super::{DrawerLine, Open, PlanDocument, PlayerLine, Taking};

/// The most names that a line of a table lists.
const MOST_NAMES: usize = 4;

/// The plan for a terminal.
pub fn plan_text(plan: &PlanDocument) -> String {
    let mut text = String::new();
    let horizon = plan
        .horizon_days
        .as_ref()
        .map_or_else(String::new, |days| format!(", wedges over {days} days"));
    let players = plan.players.len();
    let _ = writeln!(
        text,
        "{}: {players} players by the rules of {}, made on {}{horizon}",
        plan.title, plan.ruleset, plan.made_on
    );
    let _ = writeln!(
        text,
        "parts {}",
        plan.parts.get(..12).unwrap_or(&plan.parts)
    );
    to_order(&mut text, plan);
    all_drawers(&mut text, plan);
    let _ = writeln!(text, "\nPlayers, in order of arrival");
    for (place, player) in plan.players.iter().enumerate() {
        one_player(&mut text, place + 1, player);
    }
    let _ = writeln!(text, "\nHow to read it");
    for note in &plan.notes {
        let _ = writeln!(text, "  {note}");
    }
    text
}

fn to_order(text: &mut String, plan: &PlanDocument) {
    let lines: Vec<&DrawerLine> = plan.drawers.iter().filter(|line| line.order > 0).collect();
    let percent = &plan.confidence.percent;
    if lines.is_empty() {
        let _ = writeln!(
            text,
            "\nNothing to order: what is on hand suffices with {percent} percent, part by part"
        );
        return;
    }
    let _ = writeln!(
        text,
        "\nOrder, so that it suffices with {percent} percent, part by part"
    );
    let mut rows = vec![row([
        "part",
        "order",
        "by",
        "needed",
        "on hand",
        "runs short",
        "wanted by",
    ])];
    for line in lines {
        rows.push(row([
            &line.part,
            &line.order.to_string(),
            &by(line),
            line.needed_on.as_deref().unwrap_or(""),
            &line.on_hand.to_string(),
            &format!("{} %", line.runs_short.percent),
            &wanted_by(line),
        ]));
    }
    table(text, &rows);
}

fn by(line: &DrawerLine) -> String {
    match (&line.order_by, line.is_late) {
        (Some(day), true) => format!("{day}, past"),
        (Some(day), false) => day.clone(),
        (None, _) => "lead time not known".to_owned(),
    }
}

fn all_drawers(text: &mut String, plan: &PlanDocument) {
    let mut kind = "";
    let mut rows: Vec<Vec<String>> = Vec::new();
    for line in &plan.drawers {
        if line.kind != kind {
            table(text, &rows);
            kind = &line.kind;
            let _ = writeln!(text, "\nDrawers of {kind}");
            rows = vec![row([
                "part",
                "on hand",
                "drawn",
                "asked for",
                "runs short",
                "load",
                "wanted by",
            ])];
        }
        rows.push(row([
            &line.part,
            &line.on_hand.to_string(),
            &line.drawn.to_string(),
            &line.asked_for,
            &format!("{} %", line.runs_short.percent),
            &line.load.to_string(),
            &wanted_by(line),
        ]));
    }
    table(text, &rows);
}

fn wanted_by(line: &DrawerLine) -> String {
    let names = line.wanted_by.iter().take(MOST_NAMES);
    let names: Vec<String> = names
        .map(|one| match one.asked_for.as_str() {
            "1" => one.player.clone(),
            count => format!("{} ({count})", one.player),
        })
        .collect();
    let rest = line.wanted_by.len().saturating_sub(MOST_NAMES);
    match rest {
        0 => names.join(", "),
        _ => format!("{} and {rest} more", names.join(", ")),
    }
}

fn one_player(text: &mut String, place: usize, player: &PlayerLine) {
    let chance = match player.chance.exact.as_str() {
        "1" => "certain".to_owned(),
        _ => format!("{} percent", player.chance.percent),
    };
    let _ = writeln!(
        text,
        "  {place:>2}  {}, {}, {chance}",
        player.player, player.on
    );
    let on_hand = player
        .takes
        .iter()
        .filter(|taking| !taking.is_ordered)
        .count();
    let is_taken = match player.chance.exact.as_str() {
        "1" => "takes",
        _ => "would take",
    };
    let _ = writeln!(text, "      {is_taken} {on_hand} pieces from the drawers");
    let ordered = player.takes.iter().filter(|taking| taking.is_ordered);
    said(text, "to be ordered", ordered.map(what));
    let instead = player.takes.iter().filter(|taking| !taking.is_ordered);
    let instead = instead.filter_map(|taking| {
        let first = taking.in_place_of.as_ref()?;
        Some(format!("{} in place of {first}", what(taking)))
    });
    said(text, "next best", instead);
    said(text, "left open", together(&player.left_open));
    said(text, "waits for readings", together(&player.waits));
    let wedges = player.replacements.iter();
    said(
        text,
        "wedges replaced",
        wedges.map(|wedge| format!("{} {} times", wedge.club, wedge.times)),
    );
}

fn what(taking: &Taking) -> String {
    match taking.club.as_str() {
        "" => format!("{} {}", taking.choice, taking.part),
        club => format!("{} of the {club} {}", taking.choice, taking.part),
    }
}

/// Each choice once, with its club or with how many clubs it is open for.
fn together(open: &[Open]) -> impl Iterator<Item = String> {
    let mut clubs: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for one in open {
        clubs.entry(&one.choice).or_default().push(&one.club);
    }
    clubs
        .into_iter()
        .map(|(choice, clubs)| match clubs.as_slice() {
            [""] => choice.to_owned(),
            [club] => format!("{choice} of the {club}"),
            clubs => format!("{choice} of {} clubs", clubs.len()),
        })
}

fn said(text: &mut String, title: &str, lines: impl Iterator<Item = String>) {
    let lines: Vec<String> = lines.collect();
    if !lines.is_empty() {
        let _ = writeln!(text, "      {title}: {}", lines.join("; "));
    }
}

fn row<const N: usize>(cells: [&str; N]) -> Vec<String> {
    cells.into_iter().map(str::to_owned).collect()
}

/// Cells under each other; numbers and the like stand at the right of their columns.
fn table(text: &mut String, rows: &[Vec<String>]) {
    let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
    let width = |column: usize| {
        let cells = rows.iter().filter_map(|row| row.get(column));
        cells.map(|cell| cell.chars().count()).max().unwrap_or(0)
    };
    let widths: Vec<usize> = (0..columns).map(width).collect();
    for row in rows {
        let mut line = String::from(" ");
        for (place, (cell, width)) in row.iter().zip(&widths).enumerate() {
            let width = *width;
            let is_text = place == 0 || place + 1 == columns;
            let _ = match is_text {
                true => write!(line, " {cell:<width$} "),
                false => write!(line, " {cell:>width$} "),
            };
        }
        let _ = writeln!(text, "{}", line.trim_end());
    }
}
