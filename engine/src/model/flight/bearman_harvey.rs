//! The wind-tunnel grid of Bearman & Harvey, for the ball of today.
//!
//! Source: P. W. Bearman, J. K. Harvey, *Golf Ball Aerodynamics*, Aeronautical Quarterly 27 (1976)
//! 112-122: drag and lift of a conventional dimpled ball of 41 mm, as a university course digitised
//! and smoothed it, 13.7 to 88.1 m/s and 2000 to 6000 rpm, linear between the nodes.
//!
//! What carries over to another ball is not speed and spin but the Reynolds number `Re = V d / ν`
//! and the spin parameter `S = ω r / V`. In the same air, today's ball of 42.67 mm meets the
//! tunnel's Re at a speed smaller by the ratio of the diameters, and its Re and S together at a
//! spin smaller by the square of it.

use super::aerodynamics::{Aerodynamics, Coefficients, Coverage};
use super::ball;
use super::launch::Conditions;

/// The tunnel's grid, scaled to a ball and its air.
#[derive(Debug, Clone, Copy)]
pub(super) struct BearmanHarvey {
    /// The tunnel's speed of the same Reynolds number, for each m/s.
    speed_scale: f64,
    /// The tunnel's spin of the same Reynolds number and spin parameter, for each rpm.
    spin_scale: f64,
}

impl BearmanHarvey {
    pub(super) fn new(conditions: &Conditions) -> Self {
        let bigger = ball::DIAMETER_M / TUNNEL_BALL_DIAMETER_M;
        let denser = conditions.air_density_kg_m3 / TUNNEL_AIR_DENSITY_KG_M3;
        let speed_scale = bigger * denser;
        Self {
            speed_scale,
            spin_scale: speed_scale * bigger,
        }
    }
}

impl Aerodynamics for BearmanHarvey {
    fn at(&self, speed_m_s: f64, spin_rpm: f64) -> Coefficients {
        let speed_m_s = (speed_m_s * self.speed_scale).clamp(LEAST_SPEED_M_S, MOST_SPEED_M_S);
        let asked_rpm = spin_rpm * self.spin_scale;
        let spin_rpm = asked_rpm.clamp(LEAST_SPIN_RPM, MOST_SPIN_RPM);
        let drag = between(&DRAG, speed_m_s, spin_rpm);
        let lift = between(&LIFT, speed_m_s, spin_rpm);
        // A ball without spin has no lift: from the grid's least spin down, lift goes to nothing.
        let share = (asked_rpm / LEAST_SPIN_RPM).min(1.0);
        Coefficients {
            drag,
            lift: lift * share,
        }
    }

    fn coverage(&self) -> Coverage {
        Coverage {
            speed_m_s: (
                LEAST_SPEED_M_S / self.speed_scale,
                MOST_SPEED_M_S / self.speed_scale,
            ),
            spin_rpm: (
                LEAST_SPIN_RPM / self.spin_scale,
                MOST_SPIN_RPM / self.spin_scale,
            ),
            source: "Bearman & Harvey 1976",
        }
    }
}

fn between(grid: &[[f64; 10]; 21], speed_m_s: f64, spin_rpm: f64) -> f64 {
    let mut answer = 0.0;
    let mut low_spin_rpm = LEAST_SPIN_RPM;
    for rows in grid.windows(2) {
        let [low, high] = rows else { continue };
        let share = (spin_rpm - low_spin_rpm) / SPIN_STEP_RPM;
        if (0.0..=1.0).contains(&share) {
            answer = along(low, speed_m_s) * (1.0 - share) + along(high, speed_m_s) * share;
        }
        low_spin_rpm += SPIN_STEP_RPM;
    }
    answer
}

fn along(row: &[f64; 10], speed_m_s: f64) -> f64 {
    let mut answer = 0.0;
    for (speeds, values) in SPEEDS_M_S.windows(2).zip(row.windows(2)) {
        let ([low_m_s, high_m_s], [low, high]) = (speeds, values) else {
            continue;
        };
        let share = (speed_m_s - low_m_s) / (high_m_s - low_m_s);
        if (0.0..=1.0).contains(&share) {
            answer = low * (1.0 - share) + high * share;
        }
    }
    answer
}

/// The tunnel's air: not said; that of a laboratory at sea level is taken, 20 °C at 101,325 Pa.
const TUNNEL_AIR_DENSITY_KG_M3: f64 = 1.204;

const LEAST_SPEED_M_S: f64 = 13.7;
const MOST_SPEED_M_S: f64 = 88.1;

/// The diameter of the ball in the tunnel, in metres.
const TUNNEL_BALL_DIAMETER_M: f64 = 0.041;

/// The speeds of the grid, in m/s.
const SPEEDS_M_S: [f64; 10] = [13.7, 21.6, 29.9, 38.4, 46.9, 55.2, 63.1, 71.9, 80.2, 88.1];

/// The least spin of the grid, the step between its rows and the most, in rpm.
const LEAST_SPIN_RPM: f64 = 2000.0;
const SPIN_STEP_RPM: f64 = 200.0;
const MOST_SPIN_RPM: f64 = 6000.0;

/// The drag coefficient, a row for each spin, a column for each speed.
#[rustfmt::skip]
const DRAG: [[f64; 10]; 21] = [
    [0.3624, 0.2885, 0.2765, 0.2529, 0.2472, 0.2481, 0.2467, 0.2470, 0.2470, 0.2470],
    [0.3806, 0.3102, 0.2853, 0.2590, 0.2507, 0.2498, 0.2485, 0.2486, 0.2484, 0.2484],
    [0.3954, 0.3288, 0.2937, 0.2649, 0.2543, 0.2516, 0.2504, 0.2502, 0.2497, 0.2497],
    [0.4070, 0.3443, 0.3018, 0.2708, 0.2580, 0.2535, 0.2522, 0.2518, 0.2511, 0.2511],
    [0.4153, 0.3566, 0.3095, 0.2765, 0.2617, 0.2556, 0.2541, 0.2534, 0.2524, 0.2524],
    [0.4203, 0.3658, 0.3169, 0.2822, 0.2655, 0.2578, 0.2560, 0.2550, 0.2538, 0.2538],
    [0.4120, 0.3719, 0.3240, 0.2876, 0.2693, 0.2602, 0.2579, 0.2566, 0.2551, 0.2551],
    [0.3960, 0.3749, 0.3308, 0.2930, 0.2732, 0.2627, 0.2599, 0.2582, 0.2565, 0.2565],
    [0.3876, 0.3766, 0.3372, 0.2983, 0.2772, 0.2653, 0.2619, 0.2598, 0.2578, 0.2578],
    [0.4100, 0.3854, 0.3433, 0.3034, 0.2811, 0.2681, 0.2639, 0.2614, 0.2592, 0.2592],
    [0.4288, 0.4003, 0.3490, 0.3084, 0.2852, 0.2710, 0.2659, 0.2630, 0.2605, 0.2605],
    [0.4445, 0.4082, 0.3544, 0.3133, 0.2893, 0.2741, 0.2680, 0.2646, 0.2619, 0.2619],
    [0.4575, 0.4153, 0.3595, 0.3180, 0.2934, 0.2772, 0.2701, 0.2662, 0.2632, 0.2632],
    [0.4682, 0.4215, 0.3643, 0.3227, 0.2976, 0.2806, 0.2722, 0.2678, 0.2646, 0.2646],
    [0.4772, 0.4269, 0.3687, 0.3272, 0.3019, 0.2840, 0.2743, 0.2694, 0.2659, 0.2659],
    [0.4848, 0.4314, 0.3728, 0.3316, 0.3062, 0.2876, 0.2765, 0.2710, 0.2673, 0.2673],
    [0.4914, 0.4350, 0.3765, 0.3358, 0.3105, 0.2913, 0.2787, 0.2726, 0.2686, 0.2686],
    [0.4976, 0.4377, 0.3799, 0.3400, 0.3149, 0.2952, 0.2809, 0.2742, 0.2700, 0.2700],
    [0.5039, 0.4395, 0.3830, 0.3440, 0.3194, 0.2992, 0.2831, 0.2758, 0.2713, 0.2713],
    [0.5105, 0.4405, 0.3858, 0.3479, 0.3239, 0.3034, 0.2854, 0.2774, 0.2727, 0.2727],
    [0.5180, 0.4406, 0.3882, 0.3517, 0.3285, 0.3076, 0.2877, 0.2790, 0.2740, 0.2740],
];

/// The lift coefficient, a row for each spin, a column for each speed.
#[rustfmt::skip]
const LIFT: [[f64; 10]; 21] = [
    [0.1040, 0.1846, 0.2460, 0.1984, 0.1762, 0.1538, 0.1418, 0.1360, 0.1280, 0.1276],
    [0.1936, 0.2318, 0.2590, 0.2089, 0.1824, 0.1603, 0.1476, 0.1405, 0.1321, 0.1324],
    [0.2608, 0.2694, 0.2715, 0.2191, 0.1886, 0.1668, 0.1533, 0.1450, 0.1362, 0.1367],
    [0.3090, 0.2986, 0.2835, 0.2289, 0.1949, 0.1731, 0.1589, 0.1494, 0.1403, 0.1404],
    [0.3418, 0.3205, 0.2947, 0.2384, 0.2011, 0.1794, 0.1646, 0.1539, 0.1444, 0.1436],
    [0.3624, 0.3362, 0.3049, 0.2475, 0.2073, 0.1856, 0.1702, 0.1584, 0.1485, 0.1464],
    [0.3743, 0.3470, 0.3140, 0.2562, 0.2135, 0.1916, 0.1757, 0.1629, 0.1526, 0.1488],
    [0.3808, 0.3541, 0.3217, 0.2644, 0.2197, 0.1976, 0.1813, 0.1673, 0.1567, 0.1508],
    [0.3854, 0.3584, 0.3280, 0.2722, 0.2259, 0.2035, 0.1868, 0.1718, 0.1608, 0.1524],
    [0.3915, 0.3614, 0.3325, 0.2795, 0.2322, 0.2092, 0.1923, 0.1763, 0.1649, 0.1539],
    [0.4005, 0.3640, 0.3347, 0.2862, 0.2384, 0.2149, 0.1977, 0.1807, 0.1690, 0.1582],
    [0.4010, 0.3696, 0.3380, 0.2925, 0.2446, 0.2205, 0.2032, 0.1852, 0.1731, 0.1624],
    [0.4026, 0.3748, 0.3412, 0.2982, 0.2508, 0.2259, 0.2086, 0.1897, 0.1772, 0.1666],
    [0.4050, 0.3797, 0.3440, 0.3033, 0.2570, 0.2313, 0.2139, 0.1941, 0.1813, 0.1707],
    [0.4084, 0.3845, 0.3468, 0.3078, 0.2632, 0.2366, 0.2193, 0.1986, 0.1854, 0.1749],
    [0.4130, 0.3894, 0.3496, 0.3119, 0.2695, 0.2418, 0.2246, 0.2031, 0.1895, 0.1791],
    [0.4192, 0.3947, 0.3527, 0.3149, 0.2757, 0.2469, 0.2298, 0.2076, 0.1936, 0.1833],
    [0.4271, 0.4004, 0.3563, 0.3184, 0.2819, 0.2518, 0.2351, 0.2120, 0.1977, 0.1875],
    [0.4371, 0.4069, 0.3607, 0.3233, 0.2881, 0.2567, 0.2403, 0.2165, 0.2018, 0.1916],
    [0.4494, 0.4143, 0.3660, 0.3300, 0.2943, 0.2615, 0.2455, 0.2210, 0.2059, 0.1958],
    [0.4644, 0.4227, 0.3724, 0.3393, 0.3005, 0.2662, 0.2507, 0.2254, 0.2100, 0.2000],
];
