//! What is done to one club at one work of the bench.

use loftwright_dsl::quantity::Rational;

use super::{Item, Task, TicketPart, Wanted};
use crate::recommendation::{ClubBuild, PartBuild, Settled, ShownValue};

/// The tasks of a club at a work, a word of [`super::BENCH_WORKS`].
pub(super) fn tasks(club: &ClubBuild, work: &str) -> Vec<Task> {
    let tasks = match work {
        "pulling" => vec![
            part(club, Item::Head, &club.head),
            part(club, Item::Shaft, &club.shaft),
            part(club, Item::Grip, &club.grip),
        ],
        "cutting" => vec![
            value(club, Item::TipCut, &club.tip_cut),
            value(club, Item::ButtCut, &club.butt_cut),
            value(club, Item::ShaftLength, &club.shaft_length),
        ],
        "setting" => vec![
            part(club, Item::Head, &club.head),
            value(club, Item::TipWeight, &club.tip_weight),
            sleeve(club),
        ],
        "bending" => vec![loft_bend(club), lie_bend(club)],
        "weighing" => vec![head_weight(club)],
        "taping" => vec![value(club, Item::Wraps, &club.grip_wraps)],
        "gripping" => vec![part(club, Item::Grip, &club.grip)],
        "checking" => checks(club),
        _ => Vec::new(),
    };
    tasks.into_iter().flatten().collect()
}

fn task(club: &ClubBuild, item: Item, wanted: Wanted) -> Task {
    Task {
        club: club.name.clone(),
        item,
        wanted,
        from: None,
        tolerance: None,
        note: None,
    }
}

/// Nothing where it does not apply.
fn value(club: &ClubBuild, item: Item, settled: &Settled) -> Option<Task> {
    let wanted = match settled {
        Settled::Value(value) => Wanted::Value(value.clone()),
        Settled::Open(why) => Wanted::Open(why.clone()),
        Settled::None => return None,
    };
    Some(task(club, item, wanted))
}

fn part(club: &ClubBuild, item: Item, settled: &Settled<PartBuild>) -> Option<Task> {
    match settled {
        Settled::Value(build) => Some(Task {
            note: build.says.clone(),
            ..task(club, item, Wanted::Part(ticket_part(build)))
        }),
        Settled::Open(why) => Some(task(club, item, Wanted::Open(why.clone()))),
        Settled::None => None,
    }
}

fn ticket_part(build: &PartBuild) -> TicketPart {
    TicketPart {
        part_id: build.part_id.clone(),
        piece_id: build.piece_id.clone(),
        stamped_loft: build.field("stamped_loft").cloned(),
        measured_loft: build.field("measured_loft").cloned(),
        is_ordered: build.is_ordered,
        lead_time_days: build.lead_time_days,
    }
}

fn head(club: &ClubBuild) -> Option<&PartBuild> {
    match &club.head {
        Settled::Value(head) => Some(head),
        Settled::None | Settled::Open(_) => None,
    }
}

/// The sleeve's position: its name, or all that its setting says.
fn sleeve(club: &ClubBuild) -> Option<Task> {
    let setting = &head(club)?.setting;
    let named = setting.iter().find(|(name, _)| name == "position");
    let position = match named {
        Some((_, position)) => position.clone(),
        None if setting.is_empty() => return None,
        None => {
            let texts: Vec<&str> = setting.iter().map(|(_, text)| text.as_str()).collect();
            texts.join(", ")
        }
    };
    Some(task(club, Item::Sleeve, Wanted::Position(position)))
}

/// From what the piece measures to what the bend makes of it; nothing where it is not bent.
fn loft_bend(club: &ClubBuild) -> Option<Task> {
    let bend = match &club.bend {
        Settled::Value(bend) => bend,
        Settled::Open(why) => return Some(task(club, Item::LoftBend, Wanted::Open(why.clone()))),
        Settled::None => return None,
    };
    let angle: Rational = bend.exact.parse().ok()?;
    if angle.is_zero() {
        return None;
    }
    let head = head(club)?;
    let measured = head.field("measured_loft");
    Some(Task {
        from: measured.or_else(|| head.field("stamped_loft")).cloned(),
        note: measured.is_none().then(|| {
            "The loft is the one stamped: measure the piece before it is bent.".to_owned()
        }),
        ..value(club, Item::LoftBend, &club.delivered_loft)?
    })
}

/// From the lie that the catalogue gives the head, where it does, to the club's; nothing where
/// they are the same, or where a sleeve sets it.
fn lie_bend(club: &ClubBuild) -> Option<Task> {
    let head = head(club)?;
    let from = head.field("lie");
    let is_there = match (from, &club.lie) {
        (Some(from), Settled::Value(lie)) => from.exact == lie.exact,
        _ => false,
    };
    if is_there || !head.setting.is_empty() {
        return None;
    }
    Some(Task {
        from: from.cloned(),
        ..value(club, Item::LieBend, &club.lie)?
    })
}

/// What goes onto the head; a head that is too heavy for the target, by more than is let pass when
/// the club is checked, gets a note.
fn head_weight(club: &ClubBuild) -> Option<Task> {
    let note = match &club.head_mass_change {
        Settled::Value(change) if is_off(club) => change
            .text
            .strip_prefix('-')
            .map(|size| format!("The head is {size} too heavy for the target.")),
        _ => None,
    };
    Some(Task {
        note,
        ..value(club, Item::HeadWeight, &club.lead)?
    })
}

/// Whether the pieces as they are miss what the club is matched by, by more than its tolerance.
fn is_off(club: &ClubBuild) -> bool {
    let tolerances = &club.tolerances;
    let (is, target, tolerance) = match &club.target_moment {
        Settled::None => (
            &club.swingweight,
            &club.target_swingweight,
            &tolerances.swingweight,
        ),
        moment => (&club.moment, moment, &tolerances.moment),
    };
    let exact = |settled: &Settled| match settled {
        Settled::Value(value) => value.exact.parse::<Rational>().ok(),
        Settled::None | Settled::Open(_) => None,
    };
    let beyond = || {
        let miss = exact(is)?.minus(exact(target)?).ok()?;
        Some(miss.size() > exact(tolerance)?)
    };
    beyond().unwrap_or(true)
}

/// The finished club against its targets; by its moment, where it is matched by that.
fn checks(club: &ClubBuild) -> Vec<Option<Task>> {
    let tolerances = &club.tolerances;
    let check = |item, target: &Settled, tolerance: &Settled| {
        let within = |tolerance: &Settled| match tolerance {
            Settled::Value(tolerance) => Some(tolerance.clone()),
            Settled::None | Settled::Open(_) => None::<ShownValue>,
        };
        Some(Task {
            tolerance: within(tolerance),
            ..value(club, item, target)?
        })
    };
    let weight = match &club.target_moment {
        Settled::None => check(
            Item::Swingweight,
            &club.target_swingweight,
            &tolerances.swingweight,
        ),
        moment => check(Item::Moment, moment, &tolerances.moment),
    };
    vec![
        check(Item::Length, &club.length, &tolerances.length),
        check(Item::Loft, &club.delivered_loft, &tolerances.loft),
        check(Item::Lie, &club.lie, &tolerances.lie),
        weight,
    ]
}
