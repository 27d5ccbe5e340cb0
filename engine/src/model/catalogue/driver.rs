//! The driver's loft and what it costs, as rules call them.

use super::{Answer, Called, Model};
use crate::model::driver_loft::{self, Driving};

const SOURCE: &str = "strike as Penner 2001 with the share of spin given, then the ball's flight";

pub(super) const MODELS: &[Model] = &[
    Model {
        name: "best_driver_loft",
        arguments: &[
            "head_speed",
            "attack_angle",
            "head_mass",
            "restitution",
            "spin_share",
            "air_density",
            "given_up",
        ],
        source: SOURCE,
        example: &[42.5, 0.0, 0.2, 0.83, 0.74, 1.2, 0.01],
        call: |arguments| {
            let (&given_up, arguments) = arguments.split_last()?;
            let best = driver_loft::best_driver_loft(driving(arguments)?, given_up);
            Some(best.map(|best| Answer {
                value: best.delivered_loft_deg,
                beyond: best.beyond,
            }))
        },
    },
    Model {
        name: "driver_lost_by_a_degree",
        arguments: &[
            "head_speed",
            "attack_angle",
            "head_mass",
            "restitution",
            "spin_share",
            "air_density",
        ],
        source: SOURCE,
        example: &[42.5, 0.0, 0.2, 0.83, 0.74, 1.2],
        call: |arguments| {
            let best = driver_loft::best_driver_loft(driving(arguments)?, 0.0);
            Some(best.map(|best| Answer {
                value: best.lost_by_a_degree_m,
                beyond: best.beyond,
            }))
        },
    },
    Model {
        name: "driver_carry_at_loft",
        arguments: &[
            "head_speed",
            "attack_angle",
            "head_mass",
            "restitution",
            "spin_share",
            "air_density",
            "delivered_loft",
        ],
        source: SOURCE,
        example: &[42.5, 0.0, 0.2, 0.83, 0.74, 1.2, 14.0],
        call: of_loft,
    },
];

fn of_loft(arguments: &[f64]) -> Called {
    let (&loft, arguments) = arguments.split_last()?;
    Some(driver_loft::driver_carry_m(driving(arguments)?, loft))
}

fn driving(arguments: &[f64]) -> Option<Driving> {
    let &[
        head_speed_m_s,
        attack_deg,
        head_mass_kg,
        restitution,
        spin_share,
        air_density_kg_m3,
    ] = arguments
    else {
        return None;
    };
    Some(Driving {
        head_speed_m_s,
        attack_deg,
        head_mass_kg,
        restitution,
        spin_share,
        air_density_kg_m3,
    })
}
