#!/usr/bin/python3
"""Reference solutions for textiles whose friction branch is too soft to keep up with its bound, by SciPy.

One textile on a rigid anchor: T = T_el + q, |q| <= mu T_el, q' = K e' wherever the bound leaves room. The state of the
branch is decided from the rates alone; nothing is shared with the engine but the equations.

    /usr/bin/python3 bench/weak_friction.py internal/arrest/testdata/reference-weak-friction.json
"""
import json
import math
import sys

import scipy
from scipy.integrate import solve_ivp

G = 9.80665
CASES = [
    {"name": "never reaches its bound, parts", "mass": 80, "fall": 1, "until": 0.3, "length": 1, "E1": 100e3, "E2": 0, "E3": 0, "mu": 0.3, "K": 10e3, "strength": 12e3},
    {"name": "never reaches its bound", "mass": 80, "fall": 1, "until": 0.3, "length": 1, "E1": 100e3, "E2": 0, "E3": 0, "mu": 0.3, "K": 10e3, "strength": 0},
    {"name": "leaves its bound on the way", "mass": 80, "fall": 1, "until": 0.3, "length": 1, "E1": 20e3, "E2": 400e3, "E3": 0, "mu": 0.2, "K": 15e3, "strength": 0},
    {"name": "leaves its bound, cubic", "mass": 100, "fall": 0.5, "until": 0.4, "length": 0.8, "E1": 10e3, "E2": 0, "E3": 3e6, "mu": 0.15, "K": 20e3, "strength": 0},
    {"name": "hardly softer than the bound", "mass": 80, "fall": 1.5, "until": 0.3, "length": 1.2, "E1": 60e3, "E2": 200e3, "E3": 0, "mu": 0.25, "K": 15e3 + 1, "strength": 20e3},
]


def solve(c):
    L, mu, K = c["length"], c["mu"], c["K"]

    def el(e):
        return e * (c["E1"] + e * (c["E2"] + e * c["E3"]))

    def tangent(e):
        return c["E1"] + e * (2 * c["E2"] + 3 * e * c["E3"])

    def force(mode, y):
        q = y[2] if mode == "stick" else mu * el(y[0] / L) * (1 if mode == "upper" else -1)
        return el(y[0] / L) + q

    def rhs(mode):
        def f(t, y):
            e, de = y[0] / L, y[1] / L
            slope = {"stick": K, "upper": mu * tangent(e), "lower": -mu * tangent(e)}[mode]
            return [y[1], G - force(mode, y) / c["mass"], slope * de]
        return f

    def next_mode(y, was):
        """The branch follows a bound where sticking would take it beyond, and sticks elsewhere."""
        e, v, q = y[0] / L, y[1], y[2]
        eps = 1e-9 * mu * el(e) + 1e-9
        if q >= mu * el(e) - eps and (K - mu * tangent(e)) * v > 0:
            return "upper"
        if q <= -mu * el(e) + eps and (K + mu * tangent(e)) * v < 0:
            return "lower"
        return "stick"

    y, t = [0.0, math.sqrt(2 * G * c["fall"]), 0.0], 0.0
    mode = "stick" if K < mu * c["E1"] else "upper"
    peak = (0.0, 0.0)
    out = {"name": c["name"], "broke_s": None, "slack_s": None, "modes": [mode]}
    while t < c["until"]:
        events = [lambda t, y: y[0] + 1e-14, lambda t, y: y[1], lambda t, y, m=mode: force(m, y) - (c["strength"] or math.inf)]
        if not c["strength"]:
            events[2] = lambda t, y: 1.0
        if mode == "stick":
            events += [lambda t, y: mu * el(y[0] / L) - y[2], lambda t, y: mu * el(y[0] / L) + y[2]]
            events[3].direction = events[4].direction = -1
        else:
            events += [lambda t, y: K - mu * tangent(y[0] / L)]
        events[0].direction = -1
        for i, e in enumerate(events):
            e.terminal = True
        s = solve_ivp(rhs(mode), (t, c["until"]), y, method="DOP853", rtol=1e-12, atol=1e-14, events=events, max_step=1e-3, dense_output=True)
        for k in range(2001):
            at = t + (s.t[-1] - t) * k / 2000
            f = force(mode, s.sol(at))
            if f > peak[1]:
                peak = (at, f)
        t, y = s.t[-1], list(s.y[:, -1])
        hit = [i for i, e in enumerate(s.t_events) if len(e)]
        if not hit:
            break
        if 0 in hit or y[0] < 1e-9 * L and y[1] < 0:
            out["slack_s"] = t
            break
        if 2 in hit:
            out["broke_s"] = t
            break
        if mode != "stick":
            y[2] = mu * el(y[0] / L) * (1 if mode == "upper" else -1)
        if 1 in hit:
            y[1] = -1e-13  # the mass turns
        new = next_mode(y, mode)
        if new == mode and mode != "stick":
            new = "stick"
        mode = new
        out["modes"].append(mode)
        # A hair onwards, so that the same event is not met again.
        d = rhs(mode)(t, y)
        y = [a + 1e-12 * b for a, b in zip(y, d)]
        t += 1e-12
    out.update(peak_N=peak[1], end_m=y[0], end_mps=y[1], end_s=t)
    return out


json.dump({"maker": "bench/weak_friction.py", "versions": "SciPy " + scipy.__version__, "cases": CASES, "results": [solve(c) for c in CASES]}, open(sys.argv[1], "w"), indent=1)
