#!/usr/bin/python3
"""Drops per second of SciPy's DOP853 on the race drops at a relative error of about 1e-6, for comparison
with `go test -bench Race ./internal/arrest` on the same machine in the same hour."""
import math
import time

import scipy
from scipy.integrate import solve_ivp

G, M, H, L, K, END = 9.80665, 80.0, 1.2, 1.0, 2e6, 1.5
DROPS = [(32e3, 800e3, 40e3, 0.08, 13261.1475181), (205e3, 8200e3, 70e3, 0.02, 22821.3576014)]


def drop(e1, e3, em, tau):
    """State: strain, speed, branch force; the position follows from x = L e + F/K."""

    def force(y):
        return y[0] * (e1 + e3 * y[0] ** 2) + y[2]

    def held(t, y):
        k = e1 + 3 * e3 * y[0] ** 2 + em
        de = (y[1] + y[2] / tau / K) / (L + k / K)
        return [de, G - force(y) / M, em * de - y[2] / tau]

    def slack(t, y):
        k = e1 + 3 * e3 * y[0] ** 2 + em
        de = y[2] / tau / k
        return [de, G, em * de - y[2] / tau, y[1]]

    def lost(t, y):
        return force(y)

    def met(t, y):
        return L * y[0] - y[3]

    def crest(t, y):
        d = held(t, y)
        return (e1 + 3 * e3 * y[0] ** 2) * d[0] + d[2]

    for f in (lost, met):
        f.terminal, f.direction = True, -1
    crest.direction = -1
    t, y, peaks = 0.0, [0.0, math.sqrt(2 * G * H), 0.0], []
    while t < END:
        s = solve_ivp(held, (t, END), y, method="DOP853", rtol=1e-7, atol=1e-8, events=[lost, crest], first_step=1e-3)
        peaks += [force(v) for v in s.y_events[1]]
        t, y = s.t[-1], list(s.y[:, -1])
        if t >= END:
            break
        s = solve_ivp(slack, (t, END), y + [L * y[0]], method="DOP853", rtol=1e-7, atol=1e-8, events=[met], first_step=1e-3)
        t, y = s.t[-1], list(s.y[:3, -1])
    return max(peaks)


worst, n, start = 0.0, 0, time.perf_counter()
while time.perf_counter() - start < 3:
    for e1, e3, em, tau, want in DROPS:
        worst = max(worst, abs(drop(e1, e3, em, tau) / want - 1))
        n += 1
print("SciPy %s DOP853: %.0f drops/s, relerr %.1e" % (scipy.__version__, n / (time.perf_counter() - start), worst))
