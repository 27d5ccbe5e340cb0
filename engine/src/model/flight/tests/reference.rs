//! Two hundred flights against SciPy's adaptive integrator, and the grid against its publication.
//!
//! `tests/python/reference_flights.py` writes the file of flights: the same equations, written a
//! second time in another language, followed by the integrator of others at 1e-10. Kept as a file,
//! it costs the tests nothing; SciPy is some hundred megabytes.

use super::super::bearman_harvey_grid::{DRAG, LIFT, SPEEDS_M_S};
use super::super::{Conditions, Launch, fly};
use crate::model::checking::assert_close;

const FLIGHTS: &str = include_str!("../../../../../tests/published/reference_flights.csv");
const GRID: &str = include_str!("../../../../../tests/published/bearman_harvey_1976.csv");

/// The figures of a file, line by line, its comments and its head left out.
fn figures(file: &str) -> Vec<Vec<f64>> {
    let lines = file.lines().filter(|line| !line.starts_with('#')).skip(1);
    let figures = |line: &str| {
        line.split(',')
            .map(|figure| figure.parse().unwrap())
            .collect()
    };
    lines.map(figures).collect()
}

#[test]
fn the_grid_is_the_published_one() {
    let lines = figures(GRID);
    assert_eq!(lines.len(), 210);
    let mut row_spin_rpm = 2000.0;
    for (index, line) in lines.iter().enumerate() {
        let (row, column) = (index / 10, index % 10);
        let [spin_rpm, speed_m_s, drag, lift] = line[..] else {
            panic!("four columns");
        };
        assert_eq!(spin_rpm, row_spin_rpm);
        assert_eq!(speed_m_s, SPEEDS_M_S[column]);
        assert_eq!((drag, lift), (DRAG[row][column], LIFT[row][column]));
        if column == 9 {
            row_spin_rpm += 200.0;
        }
    }
}

#[test]
fn two_hundred_flights_as_scipy_has_them() {
    let lines = figures(FLIGHTS);
    assert_eq!(lines.len(), 200);
    for line in lines {
        let launch = Launch {
            ball_speed_m_s: line[0],
            launch_deg: line[1],
            start_direction_deg: line[2],
            spin_rpm: line[3],
            axis_tilt_deg: line[4],
        };
        let conditions = Conditions {
            air_density_kg_m3: line[5],
            head_wind_m_s: line[6],
            cross_wind_m_s: line[7],
        };
        let flight = fly(&launch, &conditions).unwrap();
        // A centimetre, a millisecond, a hundredth of a degree, a centimetre a second, 0.1 rpm.
        assert_close(flight.carry_m, line[8], 0.01);
        assert_close(flight.lateral_m, line[9], 0.01);
        assert_close(flight.apex_m, line[10], 0.01);
        assert_close(flight.time_s, line[11], 0.001);
        assert_close(flight.landing_angle_deg, line[12], 0.01);
        assert_close(flight.landing_speed_m_s, line[13], 0.01);
        assert_close(flight.landing_spin_rpm, line[14], 0.1);
    }
}
