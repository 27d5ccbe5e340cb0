//! The models: what is computed about a club rather than looked up in a rule.
//!
//! Rules say what a fitter prefers; models say what the club does. Each is a pure function of plain
//! numbers whose names carry their units, with its source and the range of its arguments in its
//! docstring. Arguments are checked first ([`OutsideRange`]); an answer is always finite, and says
//! where it rests on more than has been measured ([`BeyondLiterature`]).
//!
//! **Reproducible by construction**: IEEE + − × ÷ √ in a fixed order, `libm` behind the one module
//! `math` for the rest. Golden bit patterns in the tests guard it; each stands beside an
//! independent formula.
//!
//! **Signs, the same for either hand**: face + closed, lie + upright, loft + more. Left and right
//! appear only in words for people.
//!
//! | module | what it computes |
//! | --- | --- |
//! | [`head`] | what a lie error does to face and loft |
//! | [`sleeve`] | loft, lie and face of a head on a tilted sleeve |
//! | [`lie_for_length`] | the lie that keeps the hands at their height |
//! | [`swingweight`] | the scale |
//! | [`shaft`] | a shaft before and after cutting |
//! | [`club`] | mass, balance point, moment of inertia, the pendulum |
//! | [`reverse`] | the mass that reaches a swingweight or a moment |
//! | [`grip`] | diameter over tape, and the wraps for a diameter |
//! | [`air`] | density, pressure and temperature of the air |
//! | [`flight`] | a launch's carry, height, time and landing |
//! | [`impact`] | how the ball leaves the face: speed, launch, spin |
//! | [`driver_loft`] | the loft that carries furthest, and what another one costs |
//! | [`direction`] | start and curve of the ball, what a lie error misses by |
//! | [`bounce`] | the sole in play: bounce, leading edge |
//! | [`club_carry`] | the carry of each club of the bag, and its calibration |
//! | [`catalogue`] | those that rules may call by name |

pub mod air;
pub mod bounce;
pub mod catalogue;
pub mod club;
pub mod club_carry;
pub mod direction;
pub mod driver_loft;
pub mod flight;
pub mod grip;
pub mod head;
pub mod impact;
pub mod lie_for_length;
pub mod reverse;
pub mod shaft;
pub mod sleeve;
pub mod swingweight;

mod answer;
mod math;
mod outside_range;
mod rotation;

#[cfg(test)]
pub(crate) mod checking;

pub use answer::{Answer, BeyondLiterature};
pub use catalogue::ModelId;
pub use outside_range::OutsideRange;
pub(crate) use outside_range::Range;
