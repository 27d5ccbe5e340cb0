//! What can be drawn of an answer: figures for pictures, rendered by nobody here.
//!
//! Everything is read from an evaluation and its trace, as the answer itself is; nothing is decided
//! and nothing evaluated again. The figures are floats, since they end as places on paper: nothing
//! exact goes by them.
//!
//! | module | what is drawn |
//! | --- | --- |
//! | `ladder` | how far each club carries, one below the other |
//! | `flights` | the flights that the carries rest on, from the side |
//! | `bands` | a borderline decision: the reading, its spread, the rows on both sides |

mod bands;
mod flights;
mod ladder;

use crate::explain::View;
use crate::model::flight::PathPoint;
use crate::recommendation::Borderline;

/// All that can be drawn of an answer.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Pictures {
    /// The clubs whose carry is known, in the order of the bag.
    pub ladder: Vec<Rung>,
    /// The flights that the carries of the clubs rest on, in the order of the bag.
    pub flights: Vec<ClubFlight>,
    /// One for each borderline decision of a club.
    pub bands: Vec<Bands>,
}

/// A club and its carry.
#[derive(Clone, Debug, PartialEq)]
pub struct Rung {
    /// What the bench calls the club.
    pub club: String,
    /// How far it carries, in yards.
    pub carry_yd: f64,
    /// Whether the player keeps it.
    pub is_kept: bool,
}

/// The flight that a model has of a club's ball.
#[derive(Clone, Debug, PartialEq)]
pub struct ClubFlight {
    /// What the bench calls the club.
    pub club: String,
    /// From the launch to the landing.
    pub points: Vec<PathPoint>,
}

/// A reading near a bound, and what the rows on both sides say.
#[derive(Clone, Debug, PartialEq)]
pub struct Bands {
    /// The decision.
    pub decision: String,
    /// The club, where it is decided for each.
    pub club: Option<String>,
    /// The reading.
    pub input: String,
    /// The column that it moves, as it is written.
    pub column: String,
    /// The unit of every figure here.
    pub unit: String,
    /// What the column is with the reading as it was taken.
    pub value: f64,
    /// How far the column scatters with the mean of the reading's shots: one standard deviation.
    pub spread: f64,
    /// The rows that the other columns allow, in the order of the table.
    pub bands: Vec<Band>,
}

/// A row along the column.
#[derive(Clone, Debug, PartialEq)]
pub struct Band {
    /// Where it begins; open where it has no lower end.
    pub low: Option<f64>,
    /// Where it ends; open where it has no upper end.
    pub high: Option<f64>,
    /// What it comes to.
    pub result: String,
    /// Whether it decided.
    pub is_taken: bool,
}

/// What can be drawn of an evaluation and its borderline decisions.
pub(crate) fn pictures(view: &View<'_>, borderlines: &[Borderline]) -> Pictures {
    Pictures {
        ladder: ladder::rungs(view),
        flights: flights::flights(view),
        bands: bands::bands(view, borderlines),
    }
}

/// The bands of decisions along the readings that are named beside them.
pub(crate) fn bands_of(view: &View<'_>, wanted: &[Borderline]) -> Vec<Bands> {
    bands::bands(view, wanted)
}
