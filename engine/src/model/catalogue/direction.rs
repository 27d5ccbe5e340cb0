//! Start and curve, and the sole in play, as rules call them.

use super::{Answer, Model};
use crate::model::{bounce, direction, head};

const PLANE_SOURCE: &str = "rigid bodies in the plane of face and path";

pub(super) const MODELS: &[Model] = &[
    Model {
        name: "ball_start_direction",
        arguments: &["face", "path", "face_share"],
        source: "path + share × (face − path)",
        example: &[2.0, -1.0, 0.8],
        call: |arguments| {
            let &[face, path, share] = arguments else {
                return None;
            };
            Some(direction::start_direction_deg(face, path, share).map(Answer::covered))
        },
    },
    Model {
        name: "face_share_of_start",
        arguments: &["attack_angle", "delivered_loft", "head_mass", "restitution"],
        source: PLANE_SOURCE,
        example: &[-4.0, 28.0, 0.26, 0.78],
        call: |arguments| {
            let &[attack, loft, mass, restitution] = arguments else {
                return None;
            };
            let share = direction::face_share(attack, loft, mass, restitution);
            Some(share.map(Answer::covered))
        },
    },
    Model {
        name: "start_miss",
        arguments: &["face", "carry"],
        source: "a straight line at the angle of the start",
        example: &[1.0, 137.16],
        call: |arguments| {
            let &[face, carry] = arguments else {
                return None;
            };
            Some(head::offline_m(face, carry).map(Answer::covered))
        },
    },
    Model {
        name: "lie_miss",
        arguments: &["loft", "lie_error", "carry", "face_share"],
        source: "geometry: head turned about the target line; straight line at the start's angle",
        example: &[46.0, 1.0, 137.16, 0.7],
        call: |arguments| {
            let &[loft, lie_error, carry, share] = arguments else {
                return None;
            };
            Some(direction::lie_miss_m(loft, lie_error, carry, share).map(Answer::covered))
        },
    },
    Model {
        name: "lie_miss_in_flight",
        arguments: &[
            "head_speed",
            "attack_angle",
            "delivered_loft",
            "lie_error",
            "head_mass",
            "restitution",
            "air_density",
        ],
        source: PLANE_SOURCE,
        example: &[36.0, -4.0, 40.0, 1.0, 0.28, 0.78, 1.2],
        call: |arguments| {
            let &[speed, attack, loft, lie_error, mass, restitution, air] = arguments else {
                return None;
            };
            Some(direction::lie_miss_in_flight_m(
                speed,
                attack,
                loft,
                lie_error,
                mass,
                restitution,
                air,
            ))
        },
    },
    Model {
        name: "effective_bounce",
        arguments: &["bounce", "shaft_lean", "face_opening", "lie"],
        source: "geometry: exact rotation of the sole",
        example: &[10.0, 3.0, 10.0, 64.0],
        call: |arguments| {
            let &[bounce, lean, opening, lie] = arguments else {
                return None;
            };
            let found = bounce::effective_bounce_deg(bounce, lean, opening, lie);
            Some(found.map(Answer::covered))
        },
    },
    Model {
        name: "opened_loft",
        arguments: &["loft", "face_opening", "lie"],
        source: "geometry: exact rotation of the face normal about the shaft",
        example: &[56.0, 20.0, 64.0],
        call: |arguments| {
            let &[loft, opening, lie] = arguments else {
                return None;
            };
            Some(bounce::opened_loft_deg(loft, opening, lie).map(Answer::covered))
        },
    },
    Model {
        name: "leading_edge_height",
        arguments: &["bounce", "sole_width", "sole_radius"],
        source: "geometry: a sole that is a circular arc, on hard level ground",
        example: &[8.0, 0.022, 0.040],
        call: |arguments| {
            let &[bounce, width, radius] = arguments else {
                return None;
            };
            let height = bounce::leading_edge_height_m(bounce, width, radius);
            Some(height.map(Answer::covered))
        },
    },
    Model {
        name: "bounce_after_bend",
        arguments: &["bounce", "bend"],
        source: "geometry: sole and face turn together",
        example: &[10.0, -2.0],
        call: |arguments| {
            let &[bounce, bend] = arguments else {
                return None;
            };
            Some(bounce::bounce_after_bend_deg(bounce, bend).map(Answer::covered))
        },
    },
];
