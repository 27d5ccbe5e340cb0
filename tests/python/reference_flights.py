"""Two hundred flights by SciPy's adaptive integrator, for `tests/published/reference_flights.csv`.

The equations are written here a second time, from the sources and not from the engine: gravity,
drag and lift on a point of mass, a spin that dies away, wind. The integrator is the work of others
(DOP853, Hairer & Wanner, at a relative tolerance of 1e-10). Run by hand where the equations change;
SciPy is too heavy for every run of the tests, and its answers do not change:

    pip install scipy==1.17.1
    python tests/python/reference_flights.py > tests/published/reference_flights.csv
"""

import csv
import math
from pathlib import Path

from scipy.integrate import solve_ivp
from scipy.interpolate import RegularGridInterpolator

PUBLISHED = Path(__file__).parent.parent / "published"
GRAVITY, MASS, DIAMETER = 9.80665, 0.04593, 0.04267
TUNNEL_DIAMETER, TUNNEL_DENSITY = 0.041, 1.204
COUNT = 200
INPUTS = [
    ("ball_speed_m_s", 8, 90),
    ("launch_deg", 3, 55),
    ("start_direction_deg", -15, 15),
    ("spin_rpm", 0, 11000),
    ("axis_tilt_deg", -40, 40),
    ("air_density_kg_m3", 0.9, 1.3),
    ("head_wind_m_s", -10, 10),
    ("cross_wind_m_s", -10, 10),
]
ANSWERS = [
    "carry_m",
    "lateral_m",
    "apex_m",
    "time_s",
    "landing_angle_deg",
    "landing_speed_m_s",
    "landing_spin_rpm",
]


def tunnel():
    """Drag and lift of the published grid, linear between its nodes."""
    with open(PUBLISHED / "bearman_harvey_1976.csv", encoding="utf-8") as file:
        rows = list(csv.DictReader(line for line in file if not line.startswith("#")))
    spins = sorted({float(row["spin_rpm"]) for row in rows})
    speeds = sorted({float(row["speed_m_s"]) for row in rows})
    found = {(float(row["spin_rpm"]), float(row["speed_m_s"])): row for row in rows}
    table = lambda name: RegularGridInterpolator(
        (spins, speeds),
        [[float(found[spin, speed][name]) for speed in speeds] for spin in spins],
    )
    return table("drag_coefficient"), table("lift_coefficient"), spins, speeds


def fly(grid, speed, launch, direction, spin, tilt, density, head_wind, cross_wind):
    """The answers for one launch, in the order of ANSWERS."""
    drag_table, lift_table, spins, speeds = grid
    launch, direction, tilt = (math.radians(angle) for angle in (launch, direction, tilt))
    # Equal Reynolds number and spin parameter: V d / nu and omega d / V as in the tunnel.
    reynolds = DIAMETER / TUNNEL_DIAMETER * density / TUNNEL_DENSITY
    area_term = 0.5 * density * math.pi * DIAMETER**2 / 4 / MASS
    decay = 0.0004 / 0.44704 * density / TUNNEL_DENSITY
    # Backspin about the level line across the launch; the tilt turns it toward the launch's "up".
    level = (math.sin(direction), -math.cos(direction), 0.0)
    up = (
        -math.sin(launch) * math.cos(direction),
        -math.sin(launch) * math.sin(direction),
        math.cos(launch),
    )
    axis = [math.cos(tilt) * a + math.sin(tilt) * b for a, b in zip(level, up)]

    def coefficients(airspeed, rate):
        tunnel_speed = airspeed * reynolds
        tunnel_spin = rate * (DIAMETER / airspeed) * (tunnel_speed / TUNNEL_DIAMETER)
        point = (
            min(max(tunnel_spin, spins[0]), spins[-1]),
            min(max(tunnel_speed, speeds[0]), speeds[-1]),
        )
        spinning = min(tunnel_spin / spins[0], 1)
        return float(drag_table(point)), float(lift_table(point)) * spinning

    def rate(_, state):
        x, y, z = state[3] + head_wind, state[4] - cross_wind, state[5]
        airspeed = math.sqrt(x * x + y * y + z * z)
        drag, lift = coefficients(airspeed, state[6])
        a, b, c = axis
        across = (b * z - c * y, c * x - a * z, a * y - b * x)
        force = [area_term * airspeed * (lift * l - drag * v) for l, v in zip(across, (x, y, z))]
        return [*state[3:6], force[0], force[1], force[2] - GRAVITY, -decay * airspeed * state[6]]

    def ground(_, state):
        return state[2]

    def top(_, state):
        return state[5]

    ground.terminal, ground.direction, top.direction = True, -1, -1
    start = [
        0.0,
        0.0,
        0.0,
        speed * math.cos(launch) * math.cos(direction),
        speed * math.cos(launch) * math.sin(direction),
        speed * math.sin(launch),
        spin,
    ]
    flight = solve_ivp(
        rate, (0, 60), start, method="DOP853", rtol=1e-10, atol=1e-10, events=[ground, top]
    )
    x, y, _, forward, sideways, rise, left = flight.y_events[0][-1]
    apex = max(state[2] for state in flight.y_events[1])
    level_speed = math.hypot(forward, sideways)
    angle = math.degrees(math.atan2(-rise, level_speed))
    return x, y, apex, flight.t_events[0][-1], angle, math.hypot(level_speed, rise), left


def main():
    """Launches spread evenly over INPUTS: multiples of powers of the generalised golden ratio."""
    grid = tunnel()
    ratio = 2.0
    for _ in range(60):
        ratio = (1 + ratio) ** (1 / (len(INPUTS) + 1))
    print("# By tests/python/reference_flights.py: SciPy DOP853, relative tolerance 1e-10.")
    print(",".join([name for name, _, _ in INPUTS] + ANSWERS))
    for index in range(1, COUNT + 1):
        shares = [(0.5 + index / ratio ** (place + 1)) % 1 for place in range(len(INPUTS))]
        # Rounded first, so that the file holds just what was flown.
        launch = [
            round(low + share * (high - low), 4) for share, (_, low, high) in zip(shares, INPUTS)
        ]
        answers = fly(grid, *launch)
        print(",".join([repr(value) for value in launch] + [f"{value:.6f}" for value in answers]))


if __name__ == "__main__":
    main()
