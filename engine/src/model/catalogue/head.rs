//! Head geometry, lie and grip, as rules call them.

use super::{Answer, Called, Model};
use crate::model::{grip, head, lie_for_length, outside_range::OutsideRange, sleeve};

const SLEEVE: &[&str] = &["loft", "lie", "tilt", "turn"];
const SLEEVE_SOURCE: &str = "geometry: exact rotation of the head on a tilted sleeve";
const SLEEVE_EXAMPLE: &[f64] = &[10.5, 58.0, 1.0, 45.0];

pub(super) const MODELS: &[Model] = &[
    Model {
        name: "sleeve_loft",
        arguments: SLEEVE,
        source: SLEEVE_SOURCE,
        example: SLEEVE_EXAMPLE,
        call: |arguments| of_sleeve(arguments, sleeve::sleeve_loft_deg),
    },
    Model {
        name: "sleeve_face",
        arguments: SLEEVE,
        source: SLEEVE_SOURCE,
        example: SLEEVE_EXAMPLE,
        call: |arguments| of_sleeve(arguments, sleeve::sleeve_face_deg),
    },
    Model {
        name: "sleeve_lie",
        arguments: SLEEVE,
        source: SLEEVE_SOURCE,
        example: SLEEVE_EXAMPLE,
        call: |arguments| of_sleeve(arguments, sleeve::sleeve_lie_deg),
    },
    Model {
        name: "lie_error_face",
        arguments: &["loft", "lie_error"],
        source: "geometry: exact rotation of the head about the target line",
        example: &[46.0, 1.0],
        call: |arguments| {
            let &[loft, lie_error] = arguments else {
                return None;
            };
            Some(head::lie_error_face_deg(loft, lie_error).map(Answer::covered))
        },
    },
    Model {
        name: "lie_for_length",
        arguments: &["lie", "length", "new_length"],
        source: "geometry: hands at one height, sin(lie) = height / length",
        example: &[60.0, 0.9652, 0.9779],
        call: |arguments| {
            let &[lie, length, new_length] = arguments else {
                return None;
            };
            let new_lie = lie_for_length::lie_for_length_deg(lie, length, new_length);
            Some(new_lie.map(Answer::covered))
        },
    },
    Model {
        name: "wraps_for_diameter",
        arguments: &[
            "target_diameter",
            "butt_diameter",
            "core_diameter",
            "nominal_diameter",
            "tape_thickness",
        ],
        source: "common practice: the grip's rubber keeps its thickness",
        example: &[0.0243, 0.0157, 0.0152, 0.0234, 0.000_1],
        call: |arguments| {
            let &[target, butt, core, nominal, tape] = arguments else {
                return None;
            };
            let wraps = grip::wraps_for_diameter(target, butt, core, nominal, tape);
            Some(wraps.map(Answer::covered))
        },
    },
];

fn of_sleeve(arguments: &[f64], of: fn(f64, f64, f64, f64) -> Result<f64, OutsideRange>) -> Called {
    let &[loft, lie, tilt, turn] = arguments else {
        return None;
    };
    Some(of(loft, lie, tilt, turn).map(Answer::covered))
}
