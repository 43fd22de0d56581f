#!/usr/bin/env python3
"""Fits the constants of a zone to one half of a measured series by SciPy's least_squares; sim/tests/measured_zone.rs
predicts the other half with the zone model under these constants.

Reads sim/tests/data/measured_zone.csv (its source stands in its head) and prints the constants. A loss of 1000 W/K is taken as
given, since neither the emitter's size nor the unit of the measured heat is known: everything else is in proportion to it.
Written from the equations of sim/src/zone.rs in a form of its own: implicit steps of five minutes, inputs straight between hours.

    python3 -m venv venv && venv/bin/pip install scipy
    venv/bin/python scripts/fit_measured.py
"""

import pathlib

import numpy
from scipy.optimize import least_squares

DATA = pathlib.Path(__file__).parents[1] / "sim/tests/data/measured_zone.csv"
LOSS_W_K, RADIANT, EXPONENT, STEP_S = 1000.0, 0.3, 1.3, 300.0


def air(p, rows):
    """Room air at each hour of the rows, from the first row's measured air on."""
    air_j_k, mass_j_k, between_w_k, rated_w = 1000.0 * numpy.exp(p[:4])
    gains_w, mass = 1000.0 * p[4], p[5]
    now = rows[0, 2]
    out = [now]
    for last, following in zip(rows, rows[1:]):
        for share in numpy.arange(STEP_S, 3600.0 + 1.0, STEP_S) / 3600.0:
            water, outdoor = last[:2] + share * (following[:2] - last[:2])
            heat = rated_w * (max(water - now, 0.0) / 50.0) ** EXPONENT
            a = air_j_k / STEP_S + LOSS_W_K + between_w_k
            m = mass_j_k / STEP_S + between_w_k
            of_air = air_j_k / STEP_S * now + (1.0 - RADIANT) * heat + gains_w + LOSS_W_K * outdoor
            of_mass = mass_j_k / STEP_S * mass + RADIANT * heat
            now = (of_air + between_w_k * of_mass / m) / (a - between_w_k**2 / m)
            mass = (of_mass + between_w_k * now) / m
        out.append(now)
    return numpy.array(out)


rows = numpy.loadtxt(DATA, delimiter=",", comments="#", skiprows=0)[:, 1:]
half = len(rows) // 2
for name, train in (("first", rows[:half]), ("second", rows[half:])):
    # People, lamps and sun give heat, they do not take it: gains stay at or above zero.
    start, low, high = [12.0, 14.0, 2.0, 4.0, 1.0, train[0, 2]], [5.0, 5.0, -5.0, -5.0, 0.0, 5.0], [20.0, 20.0, 8.0, 8.0, 20.0, 30.0]
    fit = least_squares(lambda p: air(p, train) - train[:, 2], start, bounds=(low, high))
    air_j_k, mass_j_k, between_w_k, rated_w = 1000.0 * numpy.exp(fit.x[:4])
    rms = numpy.sqrt(numpy.mean(fit.fun**2))
    print(
        f"{name} half: air {air_j_k:.5g} J/K, mass {mass_j_k:.5g} J/K, between {between_w_k:.5g} W/K, "
        f"emitter {rated_w:.5g} W at 50 K, gains {1000.0 * fit.x[4]:.5g} W, mass at the start {fit.x[5]:.4f} degC, "
        f"rms {rms:.4f} K"
    )
