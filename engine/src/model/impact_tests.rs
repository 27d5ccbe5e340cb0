//! Checks of the strike: closed forms, conservation laws, the governing bodies' own figures.

use super::super::checking::{assert_bits, assert_close, combinations};
use super::*;

const MPH: f64 = 0.447_04;

/// A driver of 200 g at 100 mph, 12° over its path.
const DRIVER: Delivery = Delivery {
    head_speed_m_s: 100.0 * MPH,
    attack_deg: 0.0,
    delivered_loft_deg: 12.0,
    head_mass_kg: 0.2,
    restitution: 0.83,
    friction: DRY_FRICTION,
};

/// A lob wedge of 300 g at 75 mph, hit down on.
const WEDGE: Delivery = Delivery {
    head_speed_m_s: 75.0 * MPH,
    attack_deg: -6.0,
    delivered_loft_deg: 52.0,
    head_mass_kg: 0.3,
    restitution: 0.78,
    friction: DRY_FRICTION,
};

#[test]
fn a_hundred_miles_an_hour_at_twelve_degrees() {
    // Worked by hand with a table of sines: v_n 65.078 m/s, v_t 2.4921 m/s.
    let strike = strike(DRIVER).unwrap();
    assert_close(strike.ball_speed_m_s / MPH, 145.68, 0.005);
    assert_close(strike.launch_deg, 9.81, 0.005);
    assert_close(strike.spin_rpm, 2789.0, 0.5);
    assert!(!strike.is_sliding);
}

/// Everything that moves after the strike, from the strike alone: normal and tangential speeds of
/// the ball, and of the head by conservation of momentum.
struct After {
    ball: (f64, f64),
    head: (f64, f64),
    spin_rad_per_s: f64,
}

fn after(delivery: Delivery) -> After {
    let strike = strike(delivery).unwrap();
    let below_normal = (delivery.delivered_loft_deg - strike.launch_deg).to_radians();
    let theta = (delivery.delivered_loft_deg - delivery.attack_deg).to_radians();
    let ball = (
        strike.ball_speed_m_s * libm::cos(below_normal),
        strike.ball_speed_m_s * libm::sin(below_normal),
    );
    let masses = BALL_MASS_KG / delivery.head_mass_kg;
    After {
        ball,
        head: (
            delivery.head_speed_m_s * libm::cos(theta) - masses * ball.0,
            delivery.head_speed_m_s * libm::sin(theta) - masses * ball.1,
        ),
        spin_rad_per_s: strike.spin_rpm * std::f64::consts::PI / 30.0,
    }
}

fn energy_after_j(delivery: Delivery) -> f64 {
    let after = after(delivery);
    let of = |mass_kg: f64, (normal, along): (f64, f64)| {
        0.5 * mass_kg * (normal * normal + along * along)
    };
    let inertia = 0.4 * BALL_MASS_KG * BALL_RADIUS_M * BALL_RADIUS_M;
    of(BALL_MASS_KG, after.ball)
        + of(delivery.head_mass_kg, after.head)
        + 0.5 * inertia * after.spin_rad_per_s * after.spin_rad_per_s
}

#[test]
fn the_drivers_energy_before_and_after() {
    // ½ M V² = 199.845 J; after it, ½ (1 − e²) of the normal motion of the reduced mass and the
    // tangential motion of the reduced mass that friction stops are gone: 188.204 J, by hand.
    let before_j = 0.5 * 0.2 * (100.0 * MPH) * (100.0 * MPH);
    assert_close(before_j, 199.845, 0.000_5);
    assert_close(energy_after_j(DRIVER), 188.204, 0.001);
}

#[test]
fn energy_is_never_made_and_the_laws_hold_over_a_grid() {
    for attack_deg in [-8.0, 0.0, 5.0] {
        for loft_deg in [5.0, 12.0, 30.0, 48.0, 60.0] {
            for restitution in [0.5, 0.7, 0.83, 1.0] {
                let delivery = Delivery {
                    attack_deg,
                    delivered_loft_deg: loft_deg,
                    restitution,
                    friction: 2.0,
                    ..WEDGE
                };
                let after = after(delivery);
                let speed = delivery.head_speed_m_s;
                let normal = speed * libm::cos((loft_deg - attack_deg).to_radians());
                // Newton's law of restitution, and rolling: nothing slides at the contact any more.
                assert_close((after.ball.0 - after.head.0) / normal, restitution, 1e-12);
                let surface = after.ball.1 + BALL_RADIUS_M * after.spin_rad_per_s;
                assert_close(surface, after.head.1, 1e-11);
                let before_j = 0.5 * delivery.head_mass_kg * speed * speed;
                assert!(energy_after_j(delivery) <= before_j);
            }
        }
    }
}

#[test]
fn no_strike_is_faster_than_the_one_without_spin_loft() {
    let most = (1.0 + 0.83) / (1.0 + BALL_MASS_KG / 0.2);
    for step in 0..=80 {
        let spin_loft_deg = f64::from(step);
        let speed = ball_speed_m_s(1.0, 0.0, spin_loft_deg, 0.2, 0.83).unwrap();
        assert!(speed <= most);
        assert_eq!(speed == most, step == 0);
    }
}

#[test]
fn the_governing_bodies_own_figures() {
    // R&A/USGA Overall Distance Standard (TPX3006): 120 mph head, 10° launch, 176 mph, 2520 rpm.
    let loft_deg = loft_from_launch_deg(10.0, 0.0, 0.2, 0.83).unwrap();
    let speed = ball_speed_m_s(120.0 * MPH, 0.0, loft_deg, 0.2, 0.83).unwrap();
    assert_close(speed / MPH / 176.0, 1.0, 0.02);
    let rolling = rolling_spin_rpm(120.0 * MPH, 0.0, loft_deg, 0.2).unwrap();
    assert_close(rolling, 3412.0, 10.0);
    assert_close(2520.0 / rolling, DRIVER_SPIN_SHARE, 0.01);
    // R&A/USGA 2015 Distance Report, tour averages: 113.2 mph, 167.7 mph, 10.8°, 2599 rpm.
    let loft_deg = loft_from_launch_deg(10.8, 0.0, 0.2, 0.83).unwrap();
    let speed = ball_speed_m_s(113.2 * MPH, 0.0, loft_deg, 0.2, 0.83).unwrap();
    // Of many players, whose attack and heads are not said: a wider band.
    assert_close(speed / MPH / 167.7, 1.0, 0.03);
    let rolling = rolling_spin_rpm(113.2 * MPH, 0.0, loft_deg, 0.2).unwrap();
    assert_close(
        2599.0 / rolling,
        DRIVER_SPIN_SHARE,
        0.15 * DRIVER_SPIN_SHARE,
    );
}

#[test]
fn a_strike_from_above_mirrors_the_one_from_below() {
    for spin_loft_deg in [0.0, 3.0, 9.5, 14.0] {
        let up = Delivery {
            delivered_loft_deg: spin_loft_deg,
            ..DRIVER
        };
        let down = Delivery {
            delivered_loft_deg: -spin_loft_deg,
            ..DRIVER
        };
        let (up, down) = (strike(up).unwrap(), strike(down).unwrap());
        assert_eq!(up.ball_speed_m_s, down.ball_speed_m_s);
        assert_eq!(up.launch_deg, -down.launch_deg);
        assert_eq!(up.spin_rpm, -down.spin_rpm);
    }
}

#[test]
fn turning_attack_and_loft_together_turns_the_launch() {
    // The strike knows nothing of the ground: a frame turned by 4° gives the launch turned by 4°.
    let level = strike(DRIVER).unwrap();
    let upward = strike(Delivery {
        attack_deg: 4.0,
        delivered_loft_deg: 16.0,
        ..DRIVER
    })
    .unwrap();
    assert_close(upward.launch_deg, level.launch_deg + 4.0, 1e-12);
    assert_close(upward.spin_rpm, level.spin_rpm, 1e-9);
}

#[test]
fn the_short_ways_agree_with_the_whole_strike() {
    for delivery in [DRIVER, WEDGE] {
        let Delivery {
            head_speed_m_s: speed,
            attack_deg: attack,
            delivered_loft_deg: loft,
            head_mass_kg: mass,
            restitution: e,
            ..
        } = delivery;
        let whole = strike(delivery).unwrap();
        let ball = ball_speed_m_s(speed, attack, loft, mass, e).unwrap();
        assert_close(ball, whole.ball_speed_m_s, 1e-12);
        assert_close(
            launch_deg(attack, loft, mass, e).unwrap(),
            whole.launch_deg,
            1e-12,
        );
        let spin = rolling_spin_rpm(speed, attack, loft, mass).unwrap();
        assert_close(spin, whole.spin_rpm, 1e-9);
    }
}

#[test]
fn the_loft_that_makes_a_launch_makes_it() {
    for (mass_kg, restitution) in [(0.15, 0.5), (0.2, 0.83), (0.3, 0.78), (0.6, 1.0)] {
        for attack_deg in [-8.0, -2.5, 0.0, 5.0] {
            for above in [-5.0, -3.0, 0.0, 1.0, 9.8, 20.0, 30.0, 38.0] {
                let launch = attack_deg + above;
                let loft = loft_from_launch_deg(launch, attack_deg, mass_kg, restitution).unwrap();
                let again = launch_deg(attack_deg, loft, mass_kg, restitution).unwrap();
                assert_close(again, launch, 1e-11);
            }
        }
    }
}

#[test]
fn a_wet_face_slides_launches_higher_and_spins_less() {
    let dry = strike(WEDGE).unwrap();
    assert!(!dry.is_sliding);
    let wet = strike(Delivery {
        friction: 0.12,
        ..WEDGE
    })
    .unwrap();
    assert!(wet.is_sliding);
    assert!(wet.spin_rpm < dry.spin_rpm);
    assert!(wet.launch_deg > dry.launch_deg);
    // Coulomb: the tangential over the normal speed is the coefficient of friction itself.
    let below_normal = (WEDGE.delivered_loft_deg - wet.launch_deg).to_radians();
    assert_close(libm::tan(below_normal), 0.12, 1e-12);
    // Without friction the ball goes where the face looks, and does not spin.
    let ice = strike(Delivery {
        friction: 0.0,
        ..WEDGE
    })
    .unwrap();
    assert_close(ice.launch_deg, WEDGE.delivered_loft_deg, 1e-12);
    assert_eq!(ice.spin_rpm, 0.0);
}

#[test]
fn a_measured_strike_carried_nowhere_stays_as_measured_and_carried_on_follows_the_model() {
    let measured = Measured {
        ball_speed_m_s: 61.0,
        launch_deg: 13.0,
        spin_rpm: 2400.0,
        attack_deg: 1.0,
        delivered_loft_deg: 15.0,
        head_mass_kg: 0.2,
        restitution: 0.83,
    };
    let same = after_loft_change(measured, 15.0).unwrap();
    assert_eq!(same.ball_speed_m_s, 61.0);
    assert_eq!(same.launch_deg, 13.0);
    assert_eq!(same.spin_rpm, 2400.0);
    let more = after_loft_change(measured, 16.0).unwrap();
    assert!(more.ball_speed_m_s < 61.0);
    // The launch takes 1 − k / (cos² θ + k² sin² θ) of a degree, half way at θ = 14.5°, with
    // k = 1.22965 / (1.83 × 3.72965); the spin, to first order, cot 14° of a radian.
    let (k, theta) = (1.229_65 / (1.83 * 3.729_65), 14.5_f64.to_radians());
    let (sine, cosine) = (libm::sin(theta), libm::cos(theta));
    let taken = 1.0 - k / (cosine * cosine + k * k * sine * sine);
    assert_close(more.launch_deg - 13.0, taken, 1e-4);
    let growth = more.spin_rpm / same.spin_rpm - 1.0;
    assert_close(
        growth,
        1.0_f64.to_radians() / libm::tan(14.0_f64.to_radians()),
        0.001,
    );
}

#[test]
fn a_strike_of_the_model_carried_on_is_the_models_next() {
    let at = |loft: f64| {
        strike(Delivery {
            delivered_loft_deg: loft,
            ..DRIVER
        })
        .unwrap()
    };
    let measured = Measured {
        ball_speed_m_s: at(12.0).ball_speed_m_s,
        launch_deg: at(12.0).launch_deg,
        spin_rpm: at(12.0).spin_rpm,
        attack_deg: 0.0,
        delivered_loft_deg: 12.0,
        head_mass_kg: DRIVER.head_mass_kg,
        restitution: DRIVER.restitution,
    };
    for loft_deg in [8.0, 10.5, 14.0, 20.0] {
        let carried = after_loft_change(measured, loft_deg).unwrap();
        let direct = at(loft_deg);
        assert_close(carried.ball_speed_m_s, direct.ball_speed_m_s, 1e-12);
        assert_close(carried.launch_deg, direct.launch_deg, 1e-12);
        assert_close(carried.spin_rpm, direct.spin_rpm, 1e-8);
    }
}

#[test]
fn the_expected_share_of_spin_rises_from_the_drivers_to_the_rolling_balls() {
    assert_eq!(estimated_spin_share(10.0), DRIVER_SPIN_SHARE);
    assert_close(estimated_spin_share(21.0), 0.87, 1e-12);
    assert_eq!(estimated_spin_share(46.0), 1.0);
}

#[test]
fn the_bits_are_the_same_on_every_machine_in_debug_and_release() {
    for (delivery, speed_bits, launch_bits, spin_bits) in GOLDEN {
        let found = strike(delivery).unwrap();
        // Independent: the impulse along and across the face, in radians.
        let theta = (delivery.delivered_loft_deg - delivery.attack_deg).to_radians();
        let reduced = 1.0 / (1.0 / BALL_MASS_KG + 1.0 / delivery.head_mass_kg);
        let across =
            (1.0 + delivery.restitution) * reduced * delivery.head_speed_m_s * libm::cos(theta);
        let inertia = 0.4 * BALL_MASS_KG * BALL_RADIUS_M * BALL_RADIUS_M;
        let compliance = 1.0 / reduced + BALL_RADIUS_M * BALL_RADIUS_M / inertia;
        let along = delivery.head_speed_m_s * libm::sin(theta) / compliance;
        let ball = libm::hypot(across, along) / BALL_MASS_KG;
        let launch = delivery.delivered_loft_deg - libm::atan(along / across).to_degrees();
        let spin = BALL_RADIUS_M * along / inertia * 30.0 / std::f64::consts::PI;
        assert_close(found.ball_speed_m_s, ball, 1e-11);
        assert_close(found.launch_deg, launch, 1e-11);
        assert_close(found.spin_rpm, spin, 1e-7);
        assert_bits(found.ball_speed_m_s, speed_bits);
        assert_bits(found.launch_deg, launch_bits);
        assert_bits(found.spin_rpm, spin_bits);
    }
}

/// Delivery, bits of the ball's speed, the launch and the spin.
const GOLDEN: [(Delivery, u64, u64, u64); 2] = [
    (
        DRIVER,
        0x4050_47e9_7535_d072,
        0x4023_9d29_57cd_3c4d,
        0x40a5_c911_75a7_59c1,
    ),
    (
        WEDGE,
        0x403c_8270_b50e_1eaf,
        0x4042_140c_1c19_524a,
        0x40c1_02ab_b271_ada0,
    ),
];

#[test]
fn whatever_is_sent_is_answered_with_numbers_or_refused_by_name() {
    let names = [
        "head_speed",
        "attack_angle",
        "delivered_loft",
        "head_mass",
        "restitution",
        "friction",
    ];
    let ends = [
        [0.0, 1.0, 40.0, 80.0, 80.1, f64::NAN],
        [-25.1, -25.0, 0.0, 3.0, 25.0, f64::INFINITY],
        [-15.1, -15.0, 0.0, 12.0, 80.0, f64::NEG_INFINITY],
        [0.09, 0.1, 0.2, 0.6, 0.61, f64::NAN],
        [-0.01, 0.0, 0.83, 1.0, 1.01, f64::NAN],
        [-0.01, 0.0, 0.4, 2.0, 2.01, f64::NAN],
    ];
    // Every combination of the ends and of what lies just beyond them.
    for [speed, attack, loft, mass, restitution, friction] in combinations(ends) {
        let answer = strike(Delivery {
            head_speed_m_s: speed,
            attack_deg: attack,
            delivered_loft_deg: loft,
            head_mass_kg: mass,
            restitution,
            friction,
        });
        match answer {
            Ok(strike) => {
                assert!(strike.ball_speed_m_s.is_finite());
                assert!(strike.launch_deg.is_finite());
                assert!(strike.spin_rpm.is_finite());
            }
            Err(refusal) => assert!(names.contains(&refusal.argument)),
        }
    }
}

#[test]
fn a_face_that_passes_under_the_ball_is_refused() {
    let refusal = strike(Delivery {
        attack_deg: -20.0,
        delivered_loft_deg: 70.0,
        ..WEDGE
    })
    .unwrap_err();
    assert_eq!(refusal.argument, "delivered_loft");
    assert_eq!(refusal.most, 65.0);
    let refusal = spin_after_loft_change_rpm(2_500.0, 12.0, 12.5, 14.0).unwrap_err();
    assert_eq!(refusal.argument, "measured_loft");
    assert_eq!(refusal.least, 14.0);
}
