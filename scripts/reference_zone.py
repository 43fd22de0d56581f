#!/usr/bin/env python3
"""Reference series of one zone with its emitter, by SciPy's solve_ivp.

Writes sim/tests/data/zone_reference.csv; the test sim/tests/outside_zone.rs steps the same zone and compares. The equations
below are written from the model's page (sim/src/zone.rs), not from its code: no elimination, no tangent, no table.

    python3 -m venv venv && venv/bin/pip install scipy
    venv/bin/python scripts/reference_zone.py
"""

import pathlib
import platform

import numpy
import scipy
from scipy.integrate import solve_ivp

# Zone: must equal the zone built in sim/tests/outside_zone.rs.
LOSS_W_K = 6000.0 / 35.0
AIR_J_K = 3.0e6
MASS_J_K = 2.0e7
AIR_MASS_W_K = 2500.0
RADIANT = 0.3
RATED_W, RATED_EXCESS_K, EXPONENT = 7000.0, 50.0, 1.3
WATER_J_K = 200_000.0
FLOW_W_K = 600.0
GAINS_W = 250.0
HOURS = 24

# Floor: the same room with a slab in place of the radiator.
FLOOR_M2, R_WATER, R_SURFACE, SLAB_J_K = 80.0, 0.04, 0.06, 80.0 * 120_000.0


def outdoor_c(t):
    return -5.0 + 6.0 * numpy.sin(2.0 * numpy.pi * t / 86_400.0)


def supply_c(t):
    return 60.0 + 8.0 * numpy.sin(2.0 * numpy.pi * t / 7_200.0)


def flows(t):
    """Pump on for forty minutes of each hour."""
    return t % 3600.0 < 2400.0


def room(air, mass, heat, t):
    d_air = ((1 - RADIANT) * heat + GAINS_W - LOSS_W_K * (air - outdoor_c(t)) - AIR_MASS_W_K * (air - mass)) / AIR_J_K
    d_mass = (RADIANT * heat + AIR_MASS_W_K * (air - mass)) / MASS_J_K
    return d_air, d_mass


def radiator(t, y, on):
    air, mass, water = y
    entering = supply_c(t) if on else water
    excess = 0.5 * (entering + water) - air
    heat = RATED_W * numpy.sign(excess) * (abs(excess) / RATED_EXCESS_K) ** EXPONENT
    flow = FLOW_W_K if on else 0.0
    d_air, d_mass = room(air, mass, heat, t)
    return [d_air, d_mass, (flow * (entering - water) - heat) / WATER_J_K]


def floor_heat(excess):
    """Flux through the surface: excess = (q/8.92)^(1/1.1) + q R, solved by bisection."""
    low, high = 0.0, abs(excess)
    for _ in range(80):
        surface = 0.5 * (low + high)
        flux = 8.92 * surface**1.1
        if surface + flux * R_SURFACE > abs(excess):
            high = surface
        else:
            low = surface
    return FLOOR_M2 * 8.92 * surface**1.1 * numpy.sign(excess)


def floor(t, y, on):
    air, mass, water, slab = y
    entering = supply_c(t) - 22.0 if on else water
    heat = floor_heat(slab - air)
    flow = FLOW_W_K if on else 0.0
    conductance = FLOOR_M2 / R_WATER
    if on:
        # Each piece of slab between its own water and the room: the water falls towards the room, and what it leaves behind is
        # told by the slab's mean.
        to_room = heat / (slab - air) if abs(slab - air) > 1e-9 else FLOOR_M2 / R_SURFACE
        series = 1.0 / (1.0 / conductance + 1.0 / to_room)
        taken = flow * (1.0 - numpy.exp(-series / flow))
        into_slab = (entering - slab) / (1.0 / taken - 1.0 / to_room)
    else:
        into_slab = conductance * (water - slab)
    d_air, d_mass = room(air, mass, heat, t)
    return [d_air, d_mass, (flow * (entering - water) - into_slab) / WATER_J_K, (into_slab - heat) / SLAB_J_K]


def solve(equations, start):
    """One integration a pump period, so that no step crosses a switch."""
    minutes = numpy.arange(0, HOURS * 60 + 1) * 60.0
    rows = {0.0: start}
    y = start
    for hour in range(HOURS):
        for begin, end in ((0.0, 2400.0), (2400.0, 3600.0)):
            span = (hour * 3600.0 + begin, hour * 3600.0 + end)
            inside = minutes[(minutes > span[0]) & (minutes <= span[1])]
            on = flows(span[0])
            s = solve_ivp(lambda t, y: equations(t, y, on), span, y, "LSODA", inside, rtol=1e-9, atol=1e-9)
            assert s.success, s.message
            rows.update(zip(s.t, s.y.T))
            y = s.y[:, -1]
    return [rows[m] for m in minutes[::5]], minutes[::5]


def main():
    radiator_rows, minutes = solve(radiator, [18.0, 18.0, 20.0])
    floor_rows, _ = solve(floor, [18.0, 18.0, 20.0, 20.0])
    out = pathlib.Path(__file__).parent.parent / "sim" / "tests" / "data" / "zone_reference.csv"
    out.parent.mkdir(parents=True, exist_ok=True)
    with out.open("w") as f:
        f.write(f"# scipy {scipy.__version__} solve_ivp LSODA rtol 1e-9, numpy {numpy.__version__}, ")
        f.write(f"Python {platform.python_version()}; written by scripts/reference_zone.py\n")
        f.write("at_s,radiator_air_c,radiator_mass_c,radiator_water_c,floor_air_c,floor_mass_c,floor_water_c,floor_slab_c\n")
        for at, a, b in zip(minutes, radiator_rows, floor_rows):
            f.write(f"{at:.0f}," + ",".join(f"{v:.5f}" for v in (*a, *b)) + "\n")
    print(f"{out}: {len(minutes)} rows")


if __name__ == "__main__":
    main()
