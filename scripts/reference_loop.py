#!/usr/bin/env python3
"""What a simulated second costs in SciPy: a plant of eight zones and three boilers in closed loop, control every 60 s.

The nodes are those of the model's page (sim/src/lib.rs): air, mass and emitter water of each zone, a slab behind the floor, two
halves of the header, four pipes, three boilers. Equations are vectors over the zones. A thermostat with a differential, a
straight reset line and a proportional firing rate decide once a minute; solve_ivp integrates from one decision to the next
(LSODA at SciPy's own tolerances: the cheapest choice there is for so stiff a system). No burner sequence, no sensors, no
meters, no efficiency curve: it does less than the simulator does.

    reference_loop.py [DAYS]      prints nanoseconds per simulated second, and the mean room temperature as a check
"""

import sys
import time

import numpy as np
from scipy.integrate import solve_ivp

ZONES = 8
C_W = 4184.0
LOSS_W = 20_000.0 + 1000.0 * np.arange(ZONES)
LOSS_W_K = LOSS_W / 35.0
AREA = LOSS_W / 50.0
AIR = 30_000.0 * AREA
MASS = 165_000.0 * AREA
AIR_MASS = 22.75 * AREA
RADIANT = 0.3
WATER = 8.0 * LOSS_W / 1000.0 * C_W + 5000.0 * LOSS_W / 1000.0
FLOW = LOSS_W / 10.0
EXPONENT = np.array([1.4, 1.3, 1.3, 1.1, 1.0, 1.4, 1.3, 1.3])
RATED = np.array([2.2, 1.2, 1.2, 1.0, 1.1, 2.2, 1.2, 1.2]) * LOSS_W
FLOOR = 3
SLAB = AREA[FLOOR] * 130_000.0
TO_SLAB = AREA[FLOOR] / 0.04
BOILERS = 3
BOILER_W = 26_000.0 * ZONES / BOILERS
BOILER_FLOW = BOILER_W / 20.0
BOILER_J_K = 30.0 * C_W + 500.0 * BOILER_W / 1000.0
HEADER = np.array([8.0, 8.0, 48.0, 48.0, 24.0, 24.0]) * C_W  # upper, lower, supply, return, primary supply and return


def outdoor_c(t):
    days = t / 86_400.0
    return -4.0 - 6.0 * np.sin(2 * np.pi * days / 7.0) + 5.0 * np.sin(2 * np.pi * (days - 0.4))


def slope(t, y, flow, fire_w, running):
    air, mass, water = y[:ZONES], y[ZONES : 2 * ZONES], y[2 * ZONES : 3 * ZONES]
    slab = y[3 * ZONES]
    upper, lower, supply, ret, p_supply, p_return = y[3 * ZONES + 1 : 3 * ZONES + 7]
    boiler = y[3 * ZONES + 7 :]
    entering = np.where(flow > 0.0, supply, water)
    excess = 0.5 * (entering + water) - air
    excess[FLOOR] = slab - air[FLOOR]
    heat = RATED * np.sign(excess) * (np.abs(excess) / 50.0) ** EXPONENT
    from_water = heat.copy()
    w = flow[FLOOR]
    from_water[FLOOR] = w * -np.expm1(-TO_SLAB / w) * (supply - slab) if w > 0.0 else TO_SLAB * (water[FLOOR] - slab)
    d_air = ((1 - RADIANT) * heat + 0.05 * LOSS_W - LOSS_W_K * (air - outdoor_c(t)) - AIR_MASS * (air - mass)) / AIR
    d_mass = (RADIANT * heat + AIR_MASS * (air - mass)) / MASS
    d_water = (flow * (entering - water) - from_water) / WATER
    d_slab = (from_water[FLOOR] - heat[FLOOR]) / SLAB
    ws, through = flow.sum(), BOILER_FLOW * running
    wp = through.sum()
    d_header = np.array(
        [
            wp * (p_supply - upper) + max(ws - wp, 0.0) * (lower - upper),
            ws * (ret - lower) + max(wp - ws, 0.0) * (upper - lower),
            ws * (upper - supply) - 4.0 * (supply - 18.0),
            (flow * (water - ret)).sum() - 4.0 * (ret - 18.0),
            (through * (boiler - p_supply)).sum(),
            wp * (lower - p_return),
        ]
    ) / HEADER
    d_boiler = (through * (p_return - boiler) + 0.88 * fire_w - 1.4 * (boiler - 18.0)) / BOILER_J_K
    return np.concatenate((d_air, d_mass, d_water, [d_slab], d_header, d_boiler))


def run(days):
    y = np.concatenate((np.full(3 * ZONES + 1, 20.0), np.full(6, 30.0), np.full(BOILERS, 30.0)))
    calls = np.zeros(ZONES, bool)
    sums, count = 0.0, 0
    for minute in range(int(days * 1440)):
        t = 60.0 * minute
        air = y[:ZONES]
        calls = np.where(air < 19.75, True, np.where(air > 20.25, False, calls))
        target = 45.0 + (20.0 - outdoor_c(t)) * 0.9
        rate = np.clip((target - y[3 * ZONES + 3]) / 10.0, 0.0, 1.0) if calls.any() else 0.0
        running = np.full(BOILERS, float(calls.any()))
        flow = np.where(calls, FLOW, 0.0)
        s = solve_ivp(slope, (t, t + 60.0), y, "LSODA", args=(flow, BOILER_W * rate * running, running))
        assert s.success, s.message
        y = s.y[:, -1]
        sums, count = sums + y[:ZONES].mean(), count + 1
    return sums / count


def main():
    days = float(sys.argv[1]) if len(sys.argv) > 1 else 1.0
    began = time.process_time()
    mean_c = run(days)
    took = time.process_time() - began
    if not 18.0 < mean_c < 22.0:
        sys.exit(f"rooms stand at {mean_c:.1f} degC: this loop does not heat the plant and its time says nothing")
    print(f"{took / (days * 86_400.0) * 1e9:.0f} {mean_c:.2f}")


if __name__ == "__main__":
    main()
