//! The body of a club against sums by hand, brute force, and the pendulum of a textbook.

use super::super::checking::{assert_bits, assert_close};
use super::*;

/// Head 200 g at 1.10 m, shaft 65 g over 0 to 1.12 m, grip 50 g over 0 to 0.27 m.
fn test_club() -> ClubBody {
    ClubBody::from_components(&[
        Component::point(0.200, 1.10).unwrap(),
        Component::uniform_rod(0.065, 0.0, 1.12).unwrap(),
        Component::uniform_rod(0.050, 0.0, 0.27).unwrap(),
    ])
    .unwrap()
}

#[test]
fn the_test_club_by_hand() {
    // CG: (0.2 · 1.10 + 0.065 · 0.56 + 0.05 · 0.135) / 0.315 = 0.26315 / 0.315.
    // I: 0.2 · 1.10² + 0.065 · 1.12² / 3 + 0.05 · 0.27² / 3 = 0.2703937.
    // T = 2π √(0.2703937 / (0.315 · 9.80665 · 0.8353968)).
    let club = test_club();
    assert_close(club.mass_kg(), 0.315, 1e-15);
    assert_close(club.balance_from_butt_m(), 0.835_40, 0.000_005);
    assert_close(club.moment_about_butt_kg_m2() * 1e4, 2703.9, 0.05);
    let period_s = pendulum_period_s(
        club.mass_kg(),
        club.balance_from_butt_m(),
        club.moment_about_butt_kg_m2(),
    );
    assert_close(period_s.unwrap(), 2.033_84, 0.000_005);
    // C7.9: 27.9 points, read to a tenth.
    assert_close(club.swingweight_points(), 27.9, 0.05);
}

#[test]
fn a_rod_of_one_metre_hung_by_its_end() {
    // Textbook: a uniform rod swings like a simple pendulum of two thirds of its length.
    let rod = Component::uniform_rod(0.1, 0.0, 1.0).unwrap();
    let period_s = pendulum_period_s(0.1, 0.5, rod.moment_about_butt_kg_m2()).unwrap();
    assert_close(period_s, 1.638_23, 0.000_005);
    let simple_s = 2.0 * PI * (2.0 / 3.0 / 9.806_65_f64).sqrt();
    assert_close(period_s, simple_s, 1e-14);
}

#[test]
fn the_moment_comes_back_from_the_period() {
    let club = test_club();
    let (mass_kg, balance_m) = (club.mass_kg(), club.balance_from_butt_m());
    let moment = club.moment_about_butt_kg_m2();
    let period_s = pendulum_period_s(mass_kg, balance_m, moment).unwrap();
    let back = moment_from_pendulum_kg_m2(mass_kg, balance_m, period_s).unwrap();
    assert_close(back, moment, 1e-15);
}

#[test]
fn the_parallel_axis_against_brute_force() {
    for (mass_kg, start_m, end_m) in [(0.05, 0.0, 0.27), (0.065, 0.0, 1.12), (0.011, 0.8, 1.15)] {
        let rod = Component::uniform_rod(mass_kg, start_m, end_m).unwrap();
        let slices = 20_000;
        let slice_kg = mass_kg / f64::from(slices);
        let step_m = (end_m - start_m) / f64::from(slices);
        let mut moment = 0.0;
        for slice in 0..slices {
            let from_butt_m = start_m + (f64::from(slice) + 0.5) * step_m;
            moment += slice_kg * from_butt_m * from_butt_m;
        }
        assert_close(rod.moment_about_butt_kg_m2() / moment, 1.0, 1e-8);
    }
}

#[test]
fn swingweight_of_the_body_is_swingweight_of_its_mass_and_balance() {
    let club = test_club();
    let points =
        swingweight::swingweight_points(club.mass_kg(), club.balance_from_butt_m()).unwrap();
    assert_close(club.swingweight_points(), points, 1e-12);
}

#[test]
fn what_cannot_be_is_named() {
    assert_eq!(
        Component::point(f64::NAN, 1.0).unwrap_err().argument,
        "mass"
    );
    assert_eq!(
        Component::point(0.2, -1.0).unwrap_err().argument,
        "balance_from_butt"
    );
    assert_eq!(
        Component::uniform_rod(0.1, 0.5, 0.4).unwrap_err().argument,
        "end"
    );
    assert_eq!(
        Component::uniform_rod(0.1, f64::NAN, 0.4)
            .unwrap_err()
            .argument,
        "start"
    );
    assert_eq!(ClubBody::from_components(&[]).unwrap_err().argument, "mass");
    assert_eq!(
        pendulum_period_s(0.3, 0.0, 0.2).unwrap_err().argument,
        "balance_from_butt"
    );
    let refusal = pendulum_period_s(0.3, 0.8, f64::NAN).unwrap_err();
    assert_eq!(refusal.argument, "moment_about_butt");
    let refusal = moment_from_pendulum_kg_m2(0.3, 0.8, f64::INFINITY).unwrap_err();
    assert_eq!(refusal.argument, "period");
}

/// Guards that debug and release agree on every machine; the closed forms beside it say that the
/// values are right.
#[test]
fn the_bits_are_the_same_on_every_machine_in_debug_and_release() {
    let club = test_club();
    let (mass_kg, balance_m) = (club.mass_kg(), club.balance_from_butt_m());
    let moment = club.moment_about_butt_kg_m2();
    let period_s = pendulum_period_s(mass_kg, balance_m, moment).unwrap();
    let by_hand = 0.2 * 1.1 * 1.1 + 0.065 * 1.12 * 1.12 / 3.0 + 0.05 * 0.27 * 0.27 / 3.0;
    assert_close(balance_m, 263.15 / 315.0, 1e-12);
    assert_close(moment, by_hand, 1e-12);
    assert_close(
        period_s,
        2.0 * PI * (by_hand / (9.806_65 * 0.263_15)).sqrt(),
        1e-12,
    );
    assert_bits(balance_m, GOLDEN[0]);
    assert_bits(moment, GOLDEN[1]);
    assert_bits(period_s, GOLDEN[2]);
}

/// Bits of the test club's balance point, moment and period.
const GOLDEN: [u64; 3] = [
    0x3fea_bb92_1f88_5eec,
    0x3fd1_4e21_3cd8_3f3a,
    0x4000_454c_3a48_70c4,
];
