//! The strike, and what the clubs of a bag carry, as rules call them.

use super::{Answer, Called, Model};
use crate::model::club_carry::{self, Anchor};
use crate::model::impact::{self, Delivery, Strike};
use crate::model::outside_range::OutsideRange;

/// One revolution a minute, in the language's base unit of spin.
const DEG_PER_S_OF_1_RPM: f64 = 6.0;

const STRIKE_SOURCE: &str = "rigid bodies with restitution, rolling ball: Penner 2001";
const CHANGE_SOURCE: &str =
    "the measured strike, changed as by rigid bodies with restitution: Penner 2001";
const CLUB_SOURCE: &str =
    "strike as Penner 2001 with an estimated share of spin, then the ball's flight";

const SLIDING_SOURCE: &str =
    "rigid bodies with restitution, ball that rolls or slides by Coulomb's friction";

const SLIDING: &[&str] = &[
    "head_speed",
    "attack_angle",
    "delivered_loft",
    "head_mass",
    "restitution",
    "friction",
];
const SLIDING_EXAMPLE: &[f64] = &[34.0, -5.0, 50.0, 0.3, 0.78, 0.15];

const CLUB: &[&str] = &[
    "head_speed",
    "attack_angle",
    "delivered_loft",
    "head_mass",
    "restitution",
    "air_density",
];
const CLUB_EXAMPLE: &[f64] = &[38.0, -4.0, 28.0, 0.26, 0.78, 1.2];

pub(super) const MODELS: &[Model] = &[
    Model {
        name: "impact_ball_speed",
        arguments: &[
            "head_speed",
            "attack_angle",
            "delivered_loft",
            "head_mass",
            "restitution",
        ],
        source: STRIKE_SOURCE,
        example: &[44.7, 0.0, 12.0, 0.2, 0.83],
        call: |arguments| {
            let &[speed, attack, loft, mass, restitution] = arguments else {
                return None;
            };
            let ball = impact::ball_speed_m_s(speed, attack, loft, mass, restitution);
            Some(ball.map(Answer::covered))
        },
    },
    Model {
        name: "impact_launch",
        arguments: &["attack_angle", "delivered_loft", "head_mass", "restitution"],
        source: STRIKE_SOURCE,
        example: &[0.0, 12.0, 0.2, 0.83],
        call: |arguments| {
            let &[attack, loft, mass, restitution] = arguments else {
                return None;
            };
            Some(impact::launch_deg(attack, loft, mass, restitution).map(Answer::covered))
        },
    },
    Model {
        name: "impact_spin",
        arguments: &["head_speed", "attack_angle", "delivered_loft", "head_mass"],
        source: STRIKE_SOURCE,
        example: &[44.7, 0.0, 12.0, 0.2],
        call: |arguments| {
            let &[speed, attack, loft, mass] = arguments else {
                return None;
            };
            Some(impact::rolling_spin_rpm(speed, attack, loft, mass).map(spin))
        },
    },
    Model {
        name: "impact_launch_with_friction",
        arguments: SLIDING,
        source: SLIDING_SOURCE,
        example: SLIDING_EXAMPLE,
        call: |arguments| of_friction(arguments, |strike| Answer::covered(strike.launch_deg)),
    },
    Model {
        name: "impact_spin_with_friction",
        arguments: SLIDING,
        source: SLIDING_SOURCE,
        example: SLIDING_EXAMPLE,
        call: |arguments| of_friction(arguments, |strike| spin(strike.spin_rpm)),
    },
    Model {
        name: "impact_loft",
        arguments: &["launch", "attack_angle", "head_mass", "restitution"],
        source: STRIKE_SOURCE,
        example: &[9.8, 0.0, 0.2, 0.83],
        call: |arguments| {
            let &[launch, attack, mass, restitution] = arguments else {
                return None;
            };
            let loft = impact::loft_from_launch_deg(launch, attack, mass, restitution);
            Some(loft.map(Answer::covered))
        },
    },
    Model {
        name: "ball_speed_at_loft",
        arguments: &[
            "measured_ball_speed",
            "attack_angle",
            "measured_loft",
            "new_loft",
            "head_mass",
            "restitution",
        ],
        source: CHANGE_SOURCE,
        example: &[65.0, 0.0, 12.0, 10.5, 0.2, 0.83],
        call: |arguments| of_change(arguments, impact::ball_speed_after_loft_change_m_s),
    },
    Model {
        name: "launch_at_loft",
        arguments: &[
            "measured_launch",
            "attack_angle",
            "measured_loft",
            "new_loft",
            "head_mass",
            "restitution",
        ],
        source: CHANGE_SOURCE,
        example: &[11.0, 0.0, 12.0, 10.5, 0.2, 0.83],
        call: |arguments| of_change(arguments, impact::launch_after_loft_change_deg),
    },
    Model {
        name: "spin_at_loft",
        arguments: &["measured_spin", "attack_angle", "measured_loft", "new_loft"],
        source: CHANGE_SOURCE,
        example: &[15_000.0, 0.0, 12.0, 10.5],
        call: |arguments| {
            let &[measured, attack, loft, new_loft] = arguments else {
                return None;
            };
            let measured_rpm = measured / DEG_PER_S_OF_1_RPM;
            let changed = impact::spin_after_loft_change_rpm(measured_rpm, attack, loft, new_loft);
            Some(changed.map(spin))
        },
    },
    Model {
        name: "club_carry",
        arguments: CLUB,
        source: CLUB_SOURCE,
        example: CLUB_EXAMPLE,
        call: |arguments| of_club(arguments, club_carry::club_carry_m),
    },
    Model {
        name: "club_landing_angle",
        arguments: CLUB,
        source: CLUB_SOURCE,
        example: CLUB_EXAMPLE,
        call: |arguments| of_club(arguments, club_carry::club_landing_angle_deg),
    },
    Model {
        name: "club_spin",
        arguments: &[
            "head_speed",
            "attack_angle",
            "delivered_loft",
            "head_mass",
            "restitution",
        ],
        source: CLUB_SOURCE,
        example: &[38.0, -4.0, 28.0, 0.26, 0.78],
        call: |arguments| {
            let &[speed, attack, loft, mass, restitution] = arguments else {
                return None;
            };
            let strike = club_carry::club_strike(speed, attack, loft, mass, restitution);
            Some(strike.map(|strike| spin(strike.spin_rpm)))
        },
    },
    Model {
        name: "calibrated_carry",
        arguments: &[
            "modelled_carry",
            "loft",
            "first_loft",
            "first_modelled",
            "first_measured",
            "second_loft",
            "second_modelled",
            "second_measured",
        ],
        source: "interpolation between two measured carries, no source",
        example: &[120.0, 40.0, 32.0, 150.0, 141.0, 46.0, 110.0, 110.0],
        call: |arguments| {
            let (&[carry, loft], anchors) = arguments.split_first_chunk()?;
            let (first, second) = anchors.split_first_chunk::<3>()?;
            let second = second.as_array::<3>()?;
            let (first, second) = (anchor(*first), anchor(*second));
            let carry = club_carry::calibrated_carry_m(carry, loft, first, second);
            Some(carry.map(Answer::covered))
        },
    },
];

/// A spin as it leaves for the rules.
fn spin(rpm: f64) -> Answer {
    Answer::covered(rpm * DEG_PER_S_OF_1_RPM)
}

fn anchor([loft_deg, modelled_m, measured_m]: [f64; 3]) -> Anchor {
    Anchor {
        loft_deg,
        modelled_m,
        measured_m,
    }
}

fn of_change(
    arguments: &[f64],
    of: fn(f64, f64, f64, f64, f64, f64) -> Result<f64, OutsideRange>,
) -> Called {
    let &[measured, attack, loft, new_loft, mass, restitution] = arguments else {
        return None;
    };
    Some(of(measured, attack, loft, new_loft, mass, restitution).map(Answer::covered))
}

fn of_friction(arguments: &[f64], of: fn(&Strike) -> Answer) -> Called {
    let &[speed, attack, loft, mass, restitution, friction] = arguments else {
        return None;
    };
    let strike = impact::strike(Delivery {
        head_speed_m_s: speed,
        attack_deg: attack,
        delivered_loft_deg: loft,
        head_mass_kg: mass,
        restitution,
        friction,
    });
    Some(strike.map(|strike| of(&strike)))
}

fn of_club(
    arguments: &[f64],
    of: fn(f64, f64, f64, f64, f64, f64) -> Result<Answer, OutsideRange>,
) -> Called {
    let &[speed, attack, loft, mass, restitution, air] = arguments else {
        return None;
    };
    Some(of(speed, attack, loft, mass, restitution, air))
}
