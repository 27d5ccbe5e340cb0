//! The exact sleeve against the small angles, against closed forms, and against the bare lie error.

use super::super::checking::{assert_bits, assert_close};
use super::super::head::{lie_error_face_deg, lie_error_loft_deg};
use super::*;

/// Every combination of a few lofts, lies, tilts and settings all the way round.
fn settings() -> Vec<(f64, f64, f64, f64)> {
    let mut all = Vec::new();
    for loft_deg in [8.0, 10.5, 15.0, 21.0, 27.0] {
        for lie_deg in [54.0, 58.0, 61.5] {
            for tilt_deg in [0.5, 1.0, 1.5, 2.0] {
                for step in 0..16 {
                    all.push((loft_deg, lie_deg, tilt_deg, f64::from(step) * 22.5));
                }
            }
        }
    }
    all
}

/// Changes of loft and lie, and the face, to first order in the tilt; in radians and from
/// infinitesimal rotations (dn = ω × n), with none of the module's own functions.
fn first_order_deg(loft_deg: f64, lie_deg: f64, tilt_deg: f64, turn_deg: f64) -> (f64, f64, f64) {
    let (loft, lie, turn) = (
        loft_deg.to_radians(),
        lie_deg.to_radians(),
        turn_deg.to_radians(),
    );
    let change_of_loft_deg = tilt_deg * libm::sin(lie) * libm::cos(turn);
    let change_of_lie_deg = -tilt_deg * libm::sin(turn);
    let face_deg =
        tilt_deg * libm::cos(lie) * libm::cos(turn) + libm::tan(loft) * change_of_lie_deg;
    (change_of_loft_deg, change_of_lie_deg, face_deg)
}

/// The largest distance of the exact form from the first order.
fn error_of_first_order_deg(loft_deg: f64, lie_deg: f64, tilt_deg: f64, turn_deg: f64) -> f64 {
    let exact = sleeved_head(loft_deg, lie_deg, tilt_deg, turn_deg).unwrap();
    let (loft, lie, face) = first_order_deg(loft_deg, lie_deg, tilt_deg, turn_deg);
    let error_of_loft = (exact.loft_deg - loft_deg - loft).abs();
    let error_of_lie = (exact.lie_deg - lie_deg - lie).abs();
    let error_of_face = (exact.face_deg - face).abs();
    error_of_loft.max(error_of_lie).max(error_of_face)
}

#[test]
fn one_degree_at_lie_58_and_loft_10_5() {
    // By hand from the small angles: sin 58° = 0.848, cos 58° = 0.530, 1 / sin 58° = 1.179. The
    // exact face is 0.531: the loft has grown, so the same turn about the plumb line shows more.
    let most_loft = sleeved_head(10.5, 58.0, 1.0, 0.0).unwrap();
    assert_close(most_loft.loft_deg - 10.5, 0.848, 0.001);
    assert_close(most_loft.face_deg, 0.531, 0.000_5);
    assert_close(most_loft.lie_deg, 58.0, 1e-12);
    let squared_deg = sleeve_squared_loft_deg(10.5, 58.0, 1.0, 0.0).unwrap();
    assert_close(squared_deg - 10.5, 1.179, 0.001);
    assert_close(
        sleeve_lie_deg(10.5, 58.0, 1.0, 90.0).unwrap() - 58.0,
        -1.0,
        1e-12,
    );
    assert_close(
        sleeve_lie_deg(10.5, 58.0, 1.0, -90.0).unwrap() - 58.0,
        1.0,
        1e-12,
    );
}

#[test]
fn a_sleeve_turned_to_the_side_is_a_lie_error_and_nothing_else() {
    // At a quarter turn the tilt is about the target line: the head module's own, other formula.
    for (loft_deg, lie_deg, tilt_deg, _) in settings() {
        for (turn_deg, lie_error_deg) in [(90.0, -tilt_deg), (270.0, tilt_deg)] {
            let head = sleeved_head(loft_deg, lie_deg, tilt_deg, turn_deg).unwrap();
            let face_deg = lie_error_face_deg(loft_deg, lie_error_deg).unwrap();
            assert_close(head.face_deg, face_deg, 1e-12);
            let left_deg = lie_error_loft_deg(loft_deg, lie_error_deg).unwrap();
            assert_close(head.loft_deg, left_deg, 1e-12);
            assert_close(head.lie_deg, lie_deg + lie_error_deg, 1e-12);
        }
    }
}

#[test]
fn the_exact_form_departs_from_the_small_angles_by_the_square_of_the_tilt() {
    for (loft_deg, lie_deg, tilt_deg, turn_deg) in settings() {
        let error_deg = error_of_first_order_deg(loft_deg, lie_deg, tilt_deg, turn_deg);
        // The second derivatives of azimuth and elevation stay under 2 up to 27 degrees of loft.
        let bound_deg = (tilt_deg * tilt_deg).to_radians();
        assert!(
            error_deg <= bound_deg,
            "{error_deg} at {loft_deg} {lie_deg} {tilt_deg} {turn_deg}"
        );
        // Half the tilt leaves about a quarter; a wrong first order would leave a half.
        if error_deg > 1e-3 {
            let half_deg = error_of_first_order_deg(loft_deg, lie_deg, tilt_deg / 2.0, turn_deg);
            assert!(half_deg < 0.3 * error_deg, "{half_deg} of {error_deg}");
        }
    }
}

#[test]
fn the_lie_has_a_closed_form() {
    // Leaning the shaft by ε about an axis turned by φ moves its foot by tan ε sin φ at unit
    // length.
    for (loft_deg, lie_deg, tilt_deg, turn_deg) in settings() {
        let lean = libm::tan(tilt_deg.to_radians()) * libm::sin(turn_deg.to_radians());
        let expected_deg = lie_deg - libm::atan(lean).to_degrees();
        let lie = sleeve_lie_deg(loft_deg, lie_deg, tilt_deg, turn_deg).unwrap();
        assert_close(lie, expected_deg, 1e-12);
    }
}

#[test]
fn squared_up_the_face_is_square_and_the_loft_is_the_closed_form() {
    for (loft_deg, lie_deg, tilt_deg, turn_deg) in settings() {
        let squared = sleeve_squared_loft_deg(loft_deg, lie_deg, tilt_deg, turn_deg).unwrap();
        // By searching: turn the shaft until the face is square, then read the loft.
        let shaft = Direction::shaft(lie_deg);
        let tilt_axis = Rotation::about(shaft, turn_deg).turn(Direction {
            x: 0.0,
            y: -shaft.z,
            z: shaft.y,
        });
        let normal = Rotation::about(tilt_axis, tilt_deg).turn(Direction::face_normal(loft_deg));
        let (mut open_deg, mut closed_deg) = (-20.0, 20.0);
        for _ in 0..60 {
            let middle_deg = (open_deg + closed_deg) / 2.0;
            if Rotation::about(shaft, middle_deg)
                .turn(normal)
                .azimuth_deg()
                > 0.0
            {
                closed_deg = middle_deg;
            } else {
                open_deg = middle_deg;
            }
        }
        let found = Rotation::about(shaft, open_deg).turn(normal);
        assert_close(found.azimuth_deg(), 0.0, 1e-9);
        assert_close(squared, found.elevation_deg(), 1e-9);
    }
}

#[test]
fn turned_to_either_side_the_lie_changes_oppositely_and_the_loft_alike() {
    for (loft_deg, lie_deg, tilt_deg, turn_deg) in settings() {
        let one = sleeved_head(loft_deg, lie_deg, tilt_deg, turn_deg).unwrap();
        let other = sleeved_head(loft_deg, lie_deg, tilt_deg, -turn_deg).unwrap();
        assert_close(one.lie_deg - lie_deg, lie_deg - other.lie_deg, 1e-12);
        // Alike to first order; by Rodrigues' formula the sines of the lofts differ by
        // (1 − cos ε) · sin 2φ · cos Λ · cos L.
        let sines = |degrees: f64| libm::sin(degrees.to_radians());
        let cosine = |degrees: f64| libm::cos(degrees.to_radians());
        let expected =
            (1.0 - cosine(tilt_deg)) * sines(2.0 * turn_deg) * cosine(lie_deg) * cosine(loft_deg);
        assert_close(sines(one.loft_deg) - sines(other.loft_deg), expected, 1e-14);
    }
}

#[test]
fn the_opposite_tilt_is_half_a_turn_and_no_tilt_is_no_sleeve() {
    for (loft_deg, lie_deg, tilt_deg, turn_deg) in settings() {
        let one = sleeved_head(loft_deg, lie_deg, -tilt_deg, turn_deg).unwrap();
        let other = sleeved_head(loft_deg, lie_deg, tilt_deg, turn_deg - 180.0).unwrap();
        assert_close(one.loft_deg, other.loft_deg, 1e-12);
        assert_close(one.lie_deg, other.lie_deg, 1e-12);
        assert_close(one.face_deg, other.face_deg, 1e-12);
        let none = sleeved_head(loft_deg, lie_deg, 0.0, turn_deg).unwrap();
        assert_close(none.loft_deg, loft_deg, 1e-12);
        assert_close(none.lie_deg, lie_deg, 1e-12);
        assert_close(none.face_deg, 0.0, 1e-12);
        let squared_deg = sleeve_squared_loft_deg(loft_deg, lie_deg, 0.0, turn_deg).unwrap();
        assert_close(squared_deg, loft_deg, 1e-12);
    }
}

#[test]
fn every_corner_of_the_ranges_has_a_finite_answer() {
    for loft_deg in [-20.0, 0.0, 60.0, 70.0] {
        for lie_deg in [40.0, 65.0, 90.0] {
            for tilt_deg in [-5.0, 0.0, 5.0] {
                for step in -72..=72 {
                    let turn_deg = f64::from(step) * 5.0;
                    let head = sleeved_head(loft_deg, lie_deg, tilt_deg, turn_deg).unwrap();
                    assert!(head.loft_deg.is_finite() && head.face_deg.is_finite());
                    assert!(head.lie_deg.is_finite());
                    // The arcsine is never cut off at a right angle.
                    let squared_deg =
                        sleeve_squared_loft_deg(loft_deg.min(60.0), lie_deg, tilt_deg, turn_deg);
                    assert!(squared_deg.unwrap() < 80.0);
                }
            }
        }
    }
}

#[test]
fn what_cannot_be_is_named() {
    let refused = |loft, lie, tilt, turn| sleeved_head(loft, lie, tilt, turn).unwrap_err().argument;
    assert_eq!(refused(f64::NAN, 58.0, 1.0, 0.0), "loft");
    assert_eq!(refused(10.5, 12.0, 1.0, 0.0), "lie");
    assert_eq!(refused(10.5, 58.0, f64::INFINITY, 0.0), "tilt");
    assert_eq!(refused(10.5, 58.0, 1.0, 361.0), "turn");
}

/// Guards that debug and release agree on every machine; the closed forms beside it say that the
/// values are right.
#[test]
fn the_bits_are_the_same_on_every_machine_in_debug_and_release() {
    for (loft_deg, lie_deg, tilt_deg, turn_deg, bits) in GOLDEN {
        let head = sleeved_head(loft_deg, lie_deg, tilt_deg, turn_deg).unwrap();
        let (loft, lie, face, squared) = closed_forms_deg(loft_deg, lie_deg, tilt_deg, turn_deg);
        assert_close(head.loft_deg, loft, 1e-12);
        assert_close(head.lie_deg, lie, 1e-12);
        assert_close(head.face_deg, face, 1e-12);
        let squared_deg = sleeve_squared_loft_deg(loft_deg, lie_deg, tilt_deg, turn_deg).unwrap();
        assert_close(squared_deg, squared, 1e-12);
        assert_bits(head.loft_deg, bits[0]);
        assert_bits(head.lie_deg, bits[1]);
        assert_bits(head.face_deg, bits[2]);
        assert_bits(squared_deg, bits[3]);
    }
}

/// Rodrigues' vector formula written out: n' = n cos ε + (u × n) sin ε + u (u·n)(1 − cos ε), with
/// u = (sin φ, −sin Λ cos φ, cos Λ cos φ).
fn closed_forms_deg(
    loft_deg: f64,
    lie_deg: f64,
    tilt_deg: f64,
    turn_deg: f64,
) -> (f64, f64, f64, f64) {
    let (sin_loft, cos_loft) = libm::sincos(loft_deg.to_radians());
    let (sin_lie, cos_lie) = libm::sincos(lie_deg.to_radians());
    let (sin_tilt, cos_tilt) = libm::sincos(tilt_deg.to_radians());
    let (sin_turn, cos_turn) = libm::sincos(turn_deg.to_radians());
    let (u_x, u_y, u_z) = (sin_turn, -sin_lie * cos_turn, cos_lie * cos_turn);
    let along = (u_x * cos_loft + u_z * sin_loft) * (1.0 - cos_tilt);
    let x = cos_loft * cos_tilt + u_y * sin_loft * sin_tilt + u_x * along;
    let y = (u_z * cos_loft - u_x * sin_loft) * sin_tilt + u_y * along;
    let z = sin_loft * cos_tilt - u_y * cos_loft * sin_tilt + u_z * along;
    let squared = sin_loft * (cos_tilt - sin_tilt * sin_turn * cos_lie / sin_lie)
        + cos_loft * sin_tilt * cos_turn / sin_lie;
    (
        libm::asin(z).to_degrees(),
        lie_deg - libm::atan(sin_tilt * sin_turn / cos_tilt).to_degrees(),
        libm::atan(y / x).to_degrees(),
        libm::asin(squared).to_degrees(),
    )
}

/// Loft, lie, tilt, turn; the bits of loft, lie, face and squared loft.
const GOLDEN: [(f64, f64, f64, f64, [u64; 4]); 3] = [
    (
        10.5,
        58.0,
        1.0,
        0.0,
        [
            0x4026_b231_c59d_801f,
            0x404c_ffff_ffff_ffff,
            0x3fe0_fb63_3564_ccd5,
            0x4027_5c13_7401_9aef,
        ],
    ),
    (
        9.0,
        59.5,
        1.5,
        135.0,
        [
            0x4020_28c7_a573_1bc5,
            0x404d_3838_5128_4561,
            0xbfe6_4c20_bf47_c8fd,
            0x401e_ad7c_a8b7_0c1c,
        ],
    ),
    (
        21.3,
        57.25,
        -2.0,
        40.0,
        [
            0x4034_03e7_62f8_8802,
            0x404d_4497_c560_2abe,
            0xbfd5_eef4_989f_2a30,
            0x4033_cb82_e74c_243f,
        ],
    ),
];
