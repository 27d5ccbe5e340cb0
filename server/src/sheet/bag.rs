//! The two tables of the bag: what to pull, and what to build of it.

use loftwright_dsl::quantity::Rational;
use loftwright_proto::v1 as pb;

use super::cells::{
    NOT_APPLICABLE, Notes, field, settled_part, settled_value, value_cell, without_unit,
};
use super::text::{Writer, root_cause};

/// What to pull from the drawers.
pub(super) fn pull(writer: &mut Writer, clubs: &[pb::ClubBuild]) {
    writer.section("Pull");
    if clubs.is_empty() {
        writer.line("  The set itself is not decided yet: see what is missing.");
        return;
    }
    let mut notes = Notes::default();
    let rows: Vec<Vec<String>> = clubs
        .iter()
        .map(|club| {
            if club.is_kept {
                return vec![club.name.clone(), "the player's own".to_owned()];
            }
            vec![
                club.name.clone(),
                part_cell(&mut notes, &club.name, club.head.as_ref()),
                head_field(club, "stamped_loft"),
                head_field(club, "measured_loft"),
                part_cell(&mut notes, &club.name, club.shaft.as_ref()),
                part_cell(&mut notes, &club.name, club.grip.as_ref()),
                value_cell(&mut notes, club.grip_wraps.as_ref(), ""),
            ]
        })
        .collect();
    writer.table(
        &[
            "club", "head", "stamped", "measured", "shaft", "grip", "wraps",
        ],
        &rows,
    );
    notes.write(writer);
}

fn part_cell(notes: &mut Notes, club: &str, settled: Option<&pb::SettledPart>) -> String {
    use pb::settled_part::State;
    let part = match settled.and_then(|settled| settled.state.as_ref()) {
        Some(State::Part(part)) => part,
        Some(State::NotSettled(open)) => {
            return notes.mark(root_cause(&open.explanation));
        }
        Some(State::DoesNotApply(_)) | None => return NOT_APPLICABLE.to_owned(),
    };
    let mut cell = match &part.piece_id {
        Some(piece) => format!("{} #{piece}", part.part_id),
        None => part.part_id.clone(),
    };
    if part.is_ordered {
        cell = format!("ORDER {cell}");
        if let Some(days) = part.lead_time_days {
            cell = format!("{cell} ({days} days)");
        }
    }
    match &part.says {
        Some(says) => format!("{cell} {}", notes.mark(&format!("{club}: {says}"))),
        None => cell,
    }
}

/// A loft of the chosen head.
fn head_field(club: &pb::ClubBuild, name: &str) -> String {
    settled_part(club.head.as_ref())
        .and_then(|head| field(head, name))
        .map_or(NOT_APPLICABLE.to_owned(), |text| without_unit(text, "deg"))
}

/// What to build.
pub(super) fn build(writer: &mut Writer, clubs: &[pb::ClubBuild]) {
    if clubs.is_empty() {
        return;
    }
    writer.section("Build");
    let mut notes = Notes::default();
    let rows: Vec<Vec<String>> = clubs
        .iter()
        .map(|club| build_row(&mut notes, club))
        .collect();
    writer.table(
        &[
            "club",
            "inches",
            "lie",
            "plan",
            "measured",
            "sleeve or bend",
            "built",
            "swings",
            "wanted",
            "add",
        ],
        &rows,
    );
    notes.write(writer);
    writer.paragraph(
        "  ",
        "Lies, lofts and bends in degrees: planned, measured on the piece, as built. Swingweight as \
         the pieces are, and wanted; add: mass at the head that brings it there (below zero, by how \
         much the head is too heavy).",
    );
}

/// How the shafts are cut, and what the bench adds to reach the target.
pub(super) fn cut(writer: &mut Writer, clubs: &[pb::ClubBuild]) {
    let built = || clubs.iter().filter(|club| !club.is_kept);
    if built().next().is_none() {
        return;
    }
    writer.section("Cut and weigh");
    let mut notes = Notes::default();
    let row = |club: &pb::ClubBuild| {
        let mut cell =
            |value: &Option<pb::SettledValue>, unit| value_cell(&mut notes, value.as_ref(), unit);
        vec![
            club.name.clone(),
            cell(&club.tip_cut, "in"),
            cell(&club.butt_cut, "in"),
            cell(&club.shaft_length, "in"),
            cell(&club.mass, "g"),
            cell(&club.moment_of_inertia, "kg*cm2"),
            cell(&club.target_moment_of_inertia, "kg*cm2"),
            cell(&club.tip_weight, "g"),
            cell(&club.lead, "g"),
        ]
    };
    let rows: Vec<Vec<String>> = built().map(row).collect();
    writer.table(
        &[
            "club", "tip", "butt", "shaft", "grams", "kg*cm2", "wanted", "in tip", "on head",
        ],
        &rows,
    );
    notes.write(writer);
    writer.paragraph(
        "  ",
        "Inches to cut off the shaft at either end, the tip first, and what is left of it; dry-fit \
         and measure before the butt is cut. Mass and moment about the butt as the pieces are; a \
         moment wanted goes before the swingweight. Grams to add: in the tip of the shaft, then as \
         tape on the head.",
    );
}

fn build_row(notes: &mut Notes, club: &pb::ClubBuild) -> Vec<String> {
    let head = settled_part(club.head.as_ref());
    let set_or_bend = if club.is_kept {
        "kept as it is".to_owned()
    } else {
        setting_cell(club, head, notes)
    };
    vec![
        club.name.clone(),
        value_cell(notes, club.length.as_ref(), "in"),
        value_cell(notes, club.lie.as_ref(), "deg"),
        plan_cell(notes, club),
        head_field(club, "measured_loft"),
        set_or_bend,
        value_cell(notes, club.delivered_loft.as_ref(), "deg"),
        value_cell(notes, club.swingweight.as_ref(), ""),
        value_cell(notes, club.target_swingweight.as_ref(), ""),
        with_sign(value_cell(notes, club.head_mass_change.as_ref(), "")),
    ]
}

/// The loft of the plan; a putter's is its head's, the plan has none.
fn plan_cell(notes: &mut Notes, club: &pb::ClubBuild) -> String {
    if club.kind == "putter" && settled_value(club.loft.as_ref()).is_none() {
        return NOT_APPLICABLE.to_owned();
    }
    value_cell(notes, club.loft.as_ref(), "deg")
}

/// The sleeve's position, or which way and how far to bend.
fn setting_cell(club: &pb::ClubBuild, head: Option<&pb::PartBuild>, notes: &mut Notes) -> String {
    if let Some(setting) = head
        .map(|head| &head.setting)
        .filter(|setting| !setting.is_empty())
    {
        return match setting.iter().find(|field| field.name == "position") {
            Some(position) => position.text.clone(),
            None => {
                let texts: Vec<&str> = setting.iter().map(|field| field.text.as_str()).collect();
                texts.join(", ")
            }
        };
    }
    let Some(bend) = settled_value(club.bend.as_ref()) else {
        return value_cell(notes, club.bend.as_ref(), "deg");
    };
    match bend.exact.parse::<Rational>() {
        Ok(angle) if angle.is_zero() => "as it is".to_owned(),
        Ok(_) => {
            let size = without_unit(&bend.text, "deg");
            match size.strip_prefix('-') {
                Some(size) => format!("{size} strong"),
                None => format!("{size} weak"),
            }
        }
        Err(_) => bend.text.clone(),
    }
}

fn with_sign(cell: String) -> String {
    match cell.chars().next() {
        Some(first) if first.is_ascii_digit() && cell != "0 g" => format!("+{cell}"),
        _ => cell,
    }
}
