//! Choices: a part for a club, from what lies in the drawers.
//!
//! A line `needs SUBJECT … VALUE` has two sides. What is not known of the candidate fails the line;
//! what is not decided on the ruleset's side blocks the choice before any candidate is looked at,
//! so that neither the stock nor the order of the lines decides whether a choice is blocked. Where
//! the ruleset's side does not apply, the choice does not apply either. A model or a division that
//! has no answer for one candidate leaves that value of that candidate unknown: one odd part in a
//! drawer does not end the choice.
//!
//! | module | what it does |
//! | --- | --- |
//! | `candidate`, `offers`, `stock` | what can be taken, and what earlier clubs took |
//! | `lets`, `own_lets` | what is computed of a candidate; what of it is the same for all |
//! | `on_shelf` | how both stand on a shelf |
//! | `sides`, `settled` | the ruleset's side of a line, worked out once for the club |
//! | `needs`, `sieve`, `sift` | the lines; what whole shelves say of them; what meets them |
//! | `questions` | what a club asks, worked out once however often the choice is made |
//! | `prefers`, `first` | the scores, and the best |
//! | `ladder` | what happens when nothing on hand meets the needs |
//! | `losers` | what the trace keeps of the others |
//! | `families`, `family` | all clubs of a group, each in its turn or together; parts that agree |
//! | `inquiry` | candidates that somebody asks for by name, after the fact |
//! | `together`, `assignment` | one stock shared by all clubs at the lowest cost |

mod assignment;
mod candidate;
mod families;
mod family;
mod first;
pub(crate) mod inquiry;
mod ladder;
mod lets;
mod losers;
mod needs;
mod offers;
mod on_shelf;
mod own_lets;
mod prefers;
mod questions;
mod settled;
mod sides;
mod sieve;
mod sift;
mod stock;
mod together;

pub(super) use candidate::Candidate;
pub(crate) use lets::fields_looked_at;
pub(crate) use own_lets::OwnLets;
pub(super) use stock::Stock;
