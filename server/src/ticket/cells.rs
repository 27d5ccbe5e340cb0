//! What stands in a cell of the ticket, whichever way it is drawn.

use loftwright_dsl::quantity::Rational;
use loftwright_proto::v1 as pb;
use pb::TicketItem as Item;
use pb::ticket_task::Wanted;

use crate::sheet::cells::{NOT_APPLICABLE, Notes, without_unit};
use crate::sheet::text::{clubs_in_short, root_cause};

/// What stands in a cell.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Cell {
    /// Its words.
    pub(super) text: String,
    /// Whether there is something to do, and so a box to tick.
    pub(super) is_task: bool,
}

impl Cell {
    /// Whether there is neither anything to do nor anything to say.
    pub(super) fn is_nothing(&self) -> bool {
        !self.is_task && self.text == NOT_APPLICABLE
    }
}

/// The tasks of a ticket by work, club and item, and the notes that they make.
pub(super) struct Cells<'a> {
    ticket: &'a pb::Ticket,
    pub(super) notes: Notes,
}

impl<'a> Cells<'a> {
    pub(super) fn new(ticket: &'a pb::Ticket) -> Self {
        Cells {
            ticket,
            notes: Notes::default(),
        }
    }

    /// The clubs that are worked on, in the order of the bag.
    pub(super) fn clubs(&self) -> Vec<&'a str> {
        let mut clubs: Vec<&str> = Vec::new();
        for task in self.ticket.works.iter().flat_map(|work| &work.tasks) {
            if !clubs.contains(&task.club.as_str()) {
                clubs.push(&task.club);
            }
        }
        clubs
    }

    /// The clubs that have a task at a work.
    pub(super) fn clubs_at(&self, work: &str) -> Vec<&'a str> {
        let has_task = |club: &&str| self.tasks(work).any(|task| task.club == *club);
        self.clubs().into_iter().filter(has_task).collect()
    }

    fn tasks(&self, work: &str) -> impl Iterator<Item = &'a pb::TicketTask> + use<'a> {
        let works = self.ticket.works.iter();
        let named = works.filter({
            let work = work.to_owned();
            move |known| known.work == work
        });
        named.flat_map(|work| &work.tasks)
    }

    fn task(&self, work: &str, club: &str, item: Item) -> Option<&'a pb::TicketTask> {
        self.tasks(work)
            .find(|task| task.club == club && task.item() == item)
    }

    /// The cell of a task; what does not apply, or comes to nothing, is no task.
    pub(super) fn cell(&mut self, work: &str, club: &str, item: Item) -> Cell {
        let Some(task) = self.task(work, club, item) else {
            return nothing();
        };
        let cell = match &task.wanted {
            Some(Wanted::Part(part)) if work == "pulling" => done(order_text(part)),
            Some(Wanted::Part(part)) => done(code_text(part)),
            Some(Wanted::Position(position)) => done(position.clone()),
            Some(Wanted::Value(value)) if is_nothing_to_do(item, value) => nothing(),
            Some(Wanted::Value(value)) => {
                let wanted = bare(item, value);
                done(match &task.from {
                    Some(from) => format!("{} → {wanted}", bare(item, from)),
                    None => wanted,
                })
            }
            Some(Wanted::Open(why)) => Cell {
                text: format!("open {}", self.notes.mark(root_cause(why))),
                is_task: false,
            },
            None => nothing(),
        };
        match &task.note {
            Some(note) if cell.text == NOT_APPLICABLE => Cell {
                text: self.notes.mark(note),
                ..cell
            },
            Some(note) => Cell {
                text: format!("{} {}", cell.text, self.notes.mark(note)),
                ..cell
            },
            None => cell,
        }
    }

    /// A target with its tolerance, such as `43 1/2 ± 1/16`.
    pub(super) fn target(&mut self, club: &str, item: Item) -> Cell {
        let cell = self.cell("checking", club, item);
        let tolerance = self
            .task("checking", club, item)
            .and_then(|task| task.tolerance.as_ref());
        match tolerance {
            Some(tolerance) if cell.is_task => Cell {
                text: format!("{} ± {}", cell.text, bare(item, tolerance)),
                ..cell
            },
            _ => cell,
        }
    }

    /// The stamped and the measured loft of the head that a club is built with.
    pub(super) fn lofts(&self, club: &str) -> [String; 2] {
        let part = self.task("pulling", club, Item::Head).and_then(|task| {
            let Some(Wanted::Part(part)) = &task.wanted else {
                return None;
            };
            Some(part)
        });
        let text = |loft: Option<&pb::Value>| {
            loft.map_or(NOT_APPLICABLE.to_owned(), |loft| bare(Item::Loft, loft))
        };
        [
            text(part.and_then(|part| part.stamped_loft.as_ref())),
            text(part.and_then(|part| part.measured_loft.as_ref())),
        ]
    }

    /// What clubs are checked for, in this order, each with its title: what no club is checked for
    /// is left out.
    pub(super) fn checked(&self, titles: [&'static str; 5]) -> Vec<(&'static str, Item)> {
        let items = [
            Item::Length,
            Item::Loft,
            Item::Lie,
            Item::Swingweight,
            Item::MomentOfInertia,
        ];
        let is_checked = |item: Item| self.tasks("checking").any(|task| task.item() == item);
        let all = titles.into_iter().zip(items);
        all.filter(|(_, item)| is_checked(*item)).collect()
    }

    /// Whether anything is not settled, or left open.
    pub(super) fn is_open(&self) -> bool {
        let mut tasks = self.ticket.works.iter().flat_map(|work| &work.tasks);
        tasks.any(|task| matches!(task.wanted, Some(Wanted::Open(_))))
    }
}

fn done(text: String) -> Cell {
    Cell {
        text,
        is_task: true,
    }
}

fn nothing() -> Cell {
    Cell {
        text: NOT_APPLICABLE.to_owned(),
        is_task: false,
    }
}

/// Whether a cut or a weight comes to nothing.
fn is_nothing_to_do(item: Item, value: &pb::Value) -> bool {
    let can_be_nothing = matches!(
        item,
        Item::TipCut | Item::ButtCut | Item::TipWeight | Item::HeadWeight | Item::Wraps
    );
    can_be_nothing && value.exact.parse::<Rational>().is_ok_and(Rational::is_zero)
}

/// The codes of a part and piece.
fn code_text(part: &pb::TicketPart) -> String {
    match &part.piece_id {
        Some(piece) => format!("{} #{piece}", part.part_id),
        None => part.part_id.clone(),
    }
}

/// The codes of what is pulled, or what is to be ordered and how long that takes.
fn order_text(part: &pb::TicketPart) -> String {
    let code = code_text(part);
    match (part.is_ordered, part.lead_time_days) {
        (false, _) => code,
        (true, None) => format!("ORDER {code}"),
        (true, Some(days)) => format!("ORDER {code} ({days} days)"),
    }
}

/// The text without the unit that the column's title has.
fn bare(item: Item, value: &pb::Value) -> String {
    let units: &[&str] = match item {
        Item::TipCut | Item::ButtCut | Item::ShaftLength | Item::Length => &["in"],
        Item::TipWeight | Item::HeadWeight => &["g"],
        Item::LoftBend | Item::LieBend | Item::Loft | Item::Lie => &["deg"],
        Item::Swingweight => &["points", "point"],
        Item::MomentOfInertia => &["kg*cm2"],
        _ => &[],
    };
    let mut units = units.iter();
    let shown = units.find(|unit| value.text.ends_with(**unit));
    shown.map_or(value.text.clone(), |unit| without_unit(&value.text, unit))
}

/// A caution with the clubs it is raised for and its source.
pub(super) struct CautionText {
    pub(super) text: String,
    pub(super) clubs: String,
    pub(super) source: String,
}

/// What a caution says on the ticket; `all` are the clubs of the bag.
pub(super) fn caution_text(caution: &pb::CautionReport, all: &[String]) -> CautionText {
    let clubs = match caution.clubs.len() {
        0 => String::new(),
        count if count == all.len() => "every club".to_owned(),
        _ => clubs_in_short(&caution.clubs, all),
    };
    CautionText {
        text: caution.text.clone(),
        clubs,
        source: caution.source.clone().unwrap_or_default(),
    }
}

/// Who the ticket is for: the subject, the hand, the day.
pub(super) fn player_line(recommendation: &pb::Recommendation, ticket: &pb::Ticket) -> String {
    let subject = match ticket.subject.as_str() {
        "" => "(no subject)",
        subject => subject,
    };
    let hand = ticket
        .hand
        .as_ref()
        .map(|hand| format!(", {hand}-handed"))
        .unwrap_or_default();
    format!("{subject}{hand}, {}", recommendation.made_on)
}

/// By what it was decided and from which stock: names with what stands behind them.
pub(super) fn identity(recommendation: &pb::Recommendation) -> Vec<(&'static str, String)> {
    let mut lines = Vec::new();
    if let Some(ruleset) = &recommendation.ruleset {
        lines.push(("rules", ruleset.name.clone()));
        lines.push(("meaning", short(&ruleset.meaning_digest)));
        lines.push(("texts", short(&ruleset.text_digest)));
        lines.push(("contract", ruleset.contract_version.to_string()));
        lines.push(("semantics", ruleset.semantics_version.to_string()));
    }
    if let Some(parts) = &recommendation.parts {
        lines.push(("parts", format!("{} {}", parts.name, short(&parts.digest))));
        let as_of = parts.stock_as_of.as_ref();
        let as_of = as_of.map_or("not known".to_owned(), ToString::to_string);
        lines.push(("stock as of", as_of));
    }
    lines
}

/// Enough of a digest to compare by eye.
fn short(digest: &str) -> String {
    digest.get(..16).unwrap_or(digest).to_owned()
}
