//! The air and the flight of the ball, as rules call them.

use super::{Answer, Called, Model};
use crate::model::air;
use crate::model::club_carry::club_strike;
use crate::model::flight::{Conditions, Flight, Launch, fly};

/// One revolution a minute, in the language's base unit of spin.
const DEG_PER_S_OF_1_RPM: f64 = 6.0;

const STANDARD_SOURCE: &str = "U.S. Standard Atmosphere, 1976";
const FLIGHT_SOURCE: &str =
    "Bearman & Harvey, Aeronautical Quarterly 27 (1976) 112-122; spin decay: Smits & Smith 1994";

const STILL: &[&str] = &["ball_speed", "launch", "spin", "air_density"];
const STILL_EXAMPLE: &[f64] = &[67.0, 12.0, 15_600.0, 1.2];
const WINDY: &[&str] = &[
    "ball_speed",
    "launch",
    "start_direction",
    "spin",
    "axis_tilt",
    "air_density",
    "head_wind",
    "cross_wind",
];
const WINDY_EXAMPLE: &[f64] = &[67.0, 12.0, -1.0, 15_600.0, 5.0, 1.2, 3.0, -2.0];

pub(super) const MODELS: &[Model] = &[
    Model {
        name: "density_of_air",
        arguments: &["temperature", "pressure", "humidity"],
        source: "CIPM-2007: Picard et al., Metrologia 45 (2008) 149-155",
        example: &[293.15, 101_325.0, 0.5],
        call: |arguments| {
            let &[temperature, pressure, humidity] = arguments else {
                return None;
            };
            Some(air::density_kg_m3(temperature, pressure, humidity))
        },
    },
    Model {
        name: "standard_pressure",
        arguments: &["altitude"],
        source: STANDARD_SOURCE,
        example: &[250.0],
        call: |arguments| {
            let &[altitude] = arguments else {
                return None;
            };
            Some(air::standard_pressure_pa(altitude).map(Answer::covered))
        },
    },
    Model {
        name: "standard_temperature",
        arguments: &["altitude"],
        source: STANDARD_SOURCE,
        example: &[250.0],
        call: |arguments| {
            let &[altitude] = arguments else {
                return None;
            };
            Some(air::standard_temperature_k(altitude).map(Answer::covered))
        },
    },
    still("flight_carry", |arguments| {
        in_still_air(arguments, |flight| flight.carry_m)
    }),
    still("flight_apex", |arguments| {
        in_still_air(arguments, |flight| flight.apex_m)
    }),
    still("flight_time", |arguments| {
        in_still_air(arguments, |flight| flight.time_s)
    }),
    still("flight_landing_angle", |arguments| {
        in_still_air(arguments, |flight| flight.landing_angle_deg)
    }),
    still("flight_landing_speed", |arguments| {
        in_still_air(arguments, |flight| flight.landing_speed_m_s)
    }),
    windy("flight_carry_in_wind", |arguments| {
        in_wind(arguments, |flight| flight.carry_m)
    }),
    windy("flight_lateral", |arguments| {
        in_wind(arguments, |flight| flight.lateral_m)
    }),
];

const fn still(name: &'static str, call: fn(&[f64]) -> Called) -> Model {
    Model {
        name,
        arguments: STILL,
        source: FLIGHT_SOURCE,
        example: STILL_EXAMPLE,
        call,
    }
}

const fn windy(name: &'static str, call: fn(&[f64]) -> Called) -> Model {
    Model {
        name,
        arguments: WINDY,
        source: FLIGHT_SOURCE,
        example: WINDY_EXAMPLE,
        call,
    }
}

fn in_still_air(arguments: &[f64], figure: fn(&Flight) -> f64) -> Called {
    let (launch, conditions) = still_launch(arguments)?;
    of_flight(&launch, &conditions, figure)
}

fn still_launch(arguments: &[f64]) -> Option<(Launch, Conditions)> {
    let &[ball_speed, launch, spin, air_density] = arguments else {
        return None;
    };
    let launch = Launch::straight(ball_speed, launch, spin / DEG_PER_S_OF_1_RPM);
    Some((launch, Conditions::still(air_density)))
}

fn in_wind(arguments: &[f64], figure: fn(&Flight) -> f64) -> Called {
    let (launch, conditions) = windy_launch(arguments)?;
    of_flight(&launch, &conditions, figure)
}

fn windy_launch(arguments: &[f64]) -> Option<(Launch, Conditions)> {
    let &[
        ball_speed,
        launch,
        direction,
        spin,
        tilt,
        air_density,
        head_wind,
        cross_wind,
    ] = arguments
    else {
        return None;
    };
    let launch = Launch {
        ball_speed_m_s: ball_speed,
        launch_deg: launch,
        start_direction_deg: direction,
        spin_rpm: spin / DEG_PER_S_OF_1_RPM,
        axis_tilt_deg: tilt,
    };
    let conditions = Conditions {
        air_density_kg_m3: air_density,
        head_wind_m_s: head_wind,
        cross_wind_m_s: cross_wind,
    };
    Some((launch, conditions))
}

fn of_flight(launch: &Launch, conditions: &Conditions, figure: fn(&Flight) -> f64) -> Called {
    Some(fly(launch, conditions).map(|flight| Answer {
        value: figure(&flight),
        beyond: flight.beyond,
    }))
}

/// What a call of a model of flight launched, and into what air; `None` for any other model.
#[must_use]
pub fn launched(name: &str, arguments: &[f64]) -> Option<(Launch, Conditions)> {
    match (name, arguments) {
        ("club_carry", &[speed, attack, loft, mass, restitution, air_density]) => {
            let strike = club_strike(speed, attack, loft, mass, restitution).ok()?;
            let rises = strike.launch_deg > 0.0 && strike.spin_rpm >= 0.0;
            rises.then(|| {
                (
                    Launch::straight(strike.ball_speed_m_s, strike.launch_deg, strike.spin_rpm),
                    Conditions::still(air_density),
                )
            })
        }
        ("flight_carry", arguments) => still_launch(arguments),
        ("flight_carry_in_wind", arguments) => windy_launch(arguments),
        _ => None,
    }
}
