//! The ticket for the bench: the answer in the order of the work.
//!
//! A pure function of a [`Recommendation`]: nothing is decided here, and nothing is left out. Every
//! work of the bench has its tasks, club by club, with what is wanted, what it begins from and how
//! far it may be off; and the cautions that stand at it. What is to be ordered and what is left
//! open is among the tasks, so that nobody builds around it unseen. A club that the player keeps is
//! named and not worked on.
//!
//! | work | tasks |
//! | --- | --- |
//! | pulling | head, shaft and grip: the bin, the piece, what it measures, or the order |
//! | cutting | the tip first, then the butt after a dry fit, and what is left of the shaft |
//! | setting | the head on the shaft, the weight in its tip, the sleeve's position |
//! | heating | none: only where something must come off again |
//! | bending | loft and lie, from what is measured to what is wanted |
//! | weighing | what goes onto the head |
//! | taping, gripping | wraps, and the grip |
//! | checking | length, loft, lie, swingweight or moment: the target and its tolerance |

mod tasks;

use crate::recommendation::{CautionReport, Recommendation, ShownValue};

/// The works of the bench in their order: the words of the contract's `bench_work`.
pub const BENCH_WORKS: [&str; 9] = [
    "pulling", "cutting", "setting", "heating", "bending", "weighing", "taping", "gripping",
    "checking",
];

/// What the bench does for one player.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ticket {
    /// The player's hand, where it is known.
    pub hand: Option<String>,
    /// The cautions that stand before all work.
    pub cautions: Vec<CautionReport>,
    /// The clubs that the player keeps, by name: nothing is done to them.
    pub kept_clubs: Vec<String>,
    /// Every work, in the order of the bench, also those without a task.
    pub works: Vec<Work>,
}

/// One work of the bench.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Work {
    /// A word of [`BENCH_WORKS`].
    pub name: &'static str,
    /// The cautions that stand at it.
    pub cautions: Vec<CautionReport>,
    /// Its tasks, club by club in the order of the bag.
    pub tasks: Vec<Task>,
}

/// One thing to do to one club.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Task {
    /// The club by its name.
    pub club: String,
    /// What it is about.
    pub item: Item,
    /// What it comes to.
    pub wanted: Wanted,
    /// What it begins from: the loft that is measured, before the bend.
    pub from: Option<ShownValue>,
    /// How far it may be off, either way.
    pub tolerance: Option<ShownValue>,
    /// What is to be known besides, in a sentence.
    pub note: Option<String>,
}

/// What a task comes to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Wanted {
    /// A part to pull, set or put on.
    Part(TicketPart),
    /// A measure.
    Value(ShownValue),
    /// A position of the sleeve.
    Position(String),
    /// Not settled, or left open: why.
    Open(String),
}

/// A part as the drawer knows it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TicketPart {
    /// The part's code.
    pub part_id: String,
    /// The piece's code, where single pieces are measured.
    pub piece_id: Option<String>,
    /// The loft stamped on a head.
    pub stamped_loft: Option<ShownValue>,
    /// The loft that the piece measures.
    pub measured_loft: Option<ShownValue>,
    /// Whether it is to be ordered.
    pub is_ordered: bool,
    /// How long an order takes, in days, where that is known.
    pub lead_time_days: Option<i64>,
}

/// What a task is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Item {
    /// The head: to pull, and to set.
    Head,
    /// The shaft.
    Shaft,
    /// The grip: to pull, and to put on.
    Grip,
    /// What is cut off the tip.
    TipCut,
    /// What is cut off the butt, after a dry fit.
    ButtCut,
    /// What is left of the shaft.
    ShaftLength,
    /// The weight in the tip of the shaft.
    TipWeight,
    /// The position of the sleeve.
    Sleeve,
    /// The loft that a head is bent to.
    LoftBend,
    /// The lie that a head is bent to.
    LieBend,
    /// The weight on the head.
    HeadWeight,
    /// Wraps of tape under the grip.
    Wraps,
    /// The finished club's length.
    Length,
    /// Its loft.
    Loft,
    /// Its lie.
    Lie,
    /// Its swingweight.
    Swingweight,
    /// Its moment of inertia about the butt.
    Moment,
}

/// The ticket of an answer; `None` where the set itself is not decided.
pub fn ticket(recommendation: &Recommendation) -> Option<Ticket> {
    if recommendation.clubs.is_empty() {
        return None;
    }
    let cautions = &recommendation.cautions;
    let work = |name: &'static str| Work {
        name,
        cautions: cautions
            .iter()
            .filter(|caution| caution.at.iter().any(|work| work == name))
            .cloned()
            .collect(),
        tasks: recommendation
            .clubs
            .iter()
            .filter(|club| !club.is_kept)
            .flat_map(|club| tasks::tasks(club, name))
            .collect(),
    };
    let before_all = cautions.iter().filter(|caution| caution.at.is_empty());
    let kept = recommendation.clubs.iter().filter(|club| club.is_kept);
    Some(Ticket {
        hand: recommendation.hand.clone(),
        cautions: before_all.cloned().collect(),
        kept_clubs: kept.map(|club| club.name.clone()).collect(),
        works: BENCH_WORKS.map(work).into(),
    })
}
