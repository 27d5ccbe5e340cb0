//! The ticket for the bench.

use loftwright_engine::recommendation::Recommendation;
use loftwright_engine::ticket::{self, Item, Task, TicketPart, Wanted, Work};
use loftwright_proto::v1 as pb;

use super::reason::cautions;
use super::value::value;

/// The ticket of a recommendation, where there is one.
pub(super) fn ticket(recommendation: &Recommendation, subject: &str) -> Option<pb::Ticket> {
    let ticket = ticket::ticket(recommendation)?;
    Some(pb::Ticket {
        subject: subject.to_owned(),
        hand: ticket.hand,
        cautions: cautions(&ticket.cautions),
        kept_clubs: ticket.kept_clubs,
        works: ticket.works.iter().map(work).collect(),
    })
}

fn work(work: &Work) -> pb::TicketWork {
    pb::TicketWork {
        work: work.name.to_owned(),
        cautions: cautions(&work.cautions),
        tasks: work.tasks.iter().map(task).collect(),
    }
}

fn task(task: &Task) -> pb::TicketTask {
    use pb::ticket_task::Wanted as Message;
    pb::TicketTask {
        club: task.club.clone(),
        item: item(task.item).into(),
        wanted: Some(match &task.wanted {
            Wanted::Part(wanted) => Message::Part(part(wanted)),
            Wanted::Value(wanted) => Message::Value(value(wanted)),
            Wanted::Position(position) => Message::Position(position.clone()),
            Wanted::Open(why) => Message::Open(why.clone()),
        }),
        from: task.from.as_ref().map(value),
        tolerance: task.tolerance.as_ref().map(value),
        note: task.note.clone(),
    }
}

fn part(part: &TicketPart) -> pb::TicketPart {
    pb::TicketPart {
        part_id: part.part_id.clone(),
        piece_id: part.piece_id.clone(),
        stamped_loft: part.stamped_loft.as_ref().map(value),
        measured_loft: part.measured_loft.as_ref().map(value),
        is_ordered: part.is_ordered,
        lead_time_days: part.lead_time_days,
    }
}

fn item(item: Item) -> pb::TicketItem {
    match item {
        Item::Head => pb::TicketItem::Head,
        Item::Shaft => pb::TicketItem::Shaft,
        Item::Grip => pb::TicketItem::Grip,
        Item::TipCut => pb::TicketItem::TipCut,
        Item::ButtCut => pb::TicketItem::ButtCut,
        Item::ShaftLength => pb::TicketItem::ShaftLength,
        Item::TipWeight => pb::TicketItem::TipWeight,
        Item::Sleeve => pb::TicketItem::Sleeve,
        Item::LoftBend => pb::TicketItem::LoftBend,
        Item::LieBend => pb::TicketItem::LieBend,
        Item::HeadWeight => pb::TicketItem::HeadWeight,
        Item::Wraps => pb::TicketItem::Wraps,
        Item::Length => pb::TicketItem::Length,
        Item::Loft => pb::TicketItem::Loft,
        Item::Lie => pb::TicketItem::Lie,
        Item::Swingweight => pb::TicketItem::Swingweight,
        Item::Moment => pb::TicketItem::MomentOfInertia,
    }
}
