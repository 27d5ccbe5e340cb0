//! The club as a body, as rules call it.

use super::{Answer, Model};
use crate::model::swingweight;

const SOURCE: &str = "definition of swingweight: weight times distance from 14 in";

pub(super) const MODELS: &[Model] = &[
    Model {
        name: "swingweight_of_mass",
        arguments: &["mass_change", "from_butt"],
        source: SOURCE,
        example: &[0.002, 1.1],
        call: |arguments| {
            let &[mass_change, from_butt] = arguments else {
                return None;
            };
            let points = swingweight::points_of_mass(mass_change, from_butt);
            Some(points.map(Answer::covered))
        },
    },
    Model {
        name: "swingweight_of_length",
        arguments: &["length_change", "mass_without_grip", "shaft_mass_change"],
        source: SOURCE,
        example: &[0.0127, 0.27, 0.0007],
        call: |arguments| {
            let &[length_change, mass_without_grip, shaft_mass_change] = arguments else {
                return None;
            };
            let points =
                swingweight::points_of_length(length_change, mass_without_grip, shaft_mass_change);
            Some(points.map(Answer::covered))
        },
    },
];
