#!/usr/bin/python3
"""Reference solutions of chains over an edge, by SciPy.

The engine expands the algebraic chain in Taylor series. Here the length that has run over the edge is a state of its own: while it
runs, its rate keeps F_mass = exp(+-mu theta) F_anchor; while it is held, it stands. DOP853 at rtol 1e-12 with its own event location.

    /usr/bin/python3 bench/edge.py internal/arrest/testdata/reference-edge.json
"""
import json
import math
import sys

import numpy as np
import scipy
from scipy.integrate import solve_ivp

G = 9.80665


class Side:
    def __init__(self, p):
        self.L, self.E = p["length"], [p.get("E1", 0.0), p.get("E2", 0.0), p.get("E3", 0.0)]
        b = (p.get("maxwell") or [{"E": 0.0, "tau": 1.0}])[0]
        self.em, self.tau = b["E"], b["tau"]

    def force(self, d, q):
        e = d / self.L
        return e * (self.E[0] + e * (self.E[1] + e * self.E[2])) + q

    def k(self, d):
        e = d / self.L
        return (self.E[0] + e * (2 * self.E[1] + 3 * e * self.E[2]) + self.em) / self.L


def run(c):
    rig, a, edge, b = c["chain"]
    a, b, mu, theta = Side(a["textile"]), Side(b["textile"]), edge["edge"]["friction"], edge["edge"]["angle"]
    rig = rig["rig"]
    R, m, kr, mc = math.exp(mu * theta), c["mass"], rig["stiffness"], rig["node_mass"]
    cr = 2 * rig.get("damping_ratio", 0.0) * math.sqrt(kr * mc)
    state = {"mode": "out"}
    # x v xc vc s qa qb
    fa = lambda y: a.force(y[4] - y[2], y[5])
    fb = lambda y: b.force(y[0] - y[4], y[6])

    def ds(y):
        if state["mode"] == "held":
            return 0.0
        r = R if state["mode"] == "out" else 1 / R
        ka, kb = a.k(y[4] - y[2]), b.k(y[0] - y[4])
        return (kb * y[1] - y[6] / b.tau + r * (ka * y[3] + y[5] / a.tau)) / (kb + r * ka)

    def f(t, y):
        s = ds(y)
        return [y[1], G - fb(y) / m, y[3], (fa(y) - kr * y[2] - cr * y[3]) / mc, s,
                a.em * (s - y[3]) / a.L - y[5] / a.tau, b.em * (y[1] - s) / b.L - y[6] / b.tau]

    y = np.array([0, math.sqrt(2 * G * c["fall"]), 0, 0, 0, 0, 0.0])
    t, end, peak, far, cell, modes = 0.0, c["until"], 0.0, 0.0, 0.0, []
    while True:
        if state["mode"] == "held":
            events = [lambda t, y: R * fa(y) - fb(y), lambda t, y: R * fb(y) - fa(y), lambda t, y: fb(y)]
        else:
            sign = 1 if state["mode"] == "out" else -1
            events = [lambda t, y, sign=sign: sign * ds(y), lambda t, y: fb(y)]
        for e in events:
            e.terminal, e.direction = True, -1
        r = solve_ivp(f, (t, end), y, method="DOP853", rtol=1e-12, atol=1e-13, events=events, dense_output=True, max_step=2e-3)
        n = max(2000, int(2e5 * (r.t[-1] - t)))
        for tau in np.linspace(t, r.t[-1], n):
            z = r.sol(tau)
            peak, far, cell = max(peak, fb(z)), max(far, fa(z)), max(cell, kr * z[2] + cr * z[3])
        t, y = r.t[-1], r.y[:, -1]
        if r.status != 1:
            break
        hit = [i for i, e in enumerate(r.t_events) if len(e)][0]
        if hit == len(events) - 1:
            modes.append([t, "slack"])
            break
        if state["mode"] == "held":
            state["mode"] = "out" if hit == 0 else "back"
        else:
            state["mode"] = "held"
        modes.append([t, state["mode"]])
        if state["mode"] != "held":
            y = y + 1e-13 * np.array(f(t, y))
    return {"name": c["name"], "peak_chain_N": peak, "far_N": far, "cell_N": cell, "end_t_s": t, "end_m": y[0], "end_mps": y[1], "modes": modes}


def cases():
    mx = lambda E, tau: [{"E": E, "tau": tau}]
    rig = {"stiffness": 2e6, "node_mass": 0.5, "damping_ratio": 0.03}
    T = lambda L, **k: {"textile": {"length": L, **k}}
    out = []
    for name, mass, fall, r, a, mu, theta, b in [
        ("rope over a connector", 80, 2.0, rig, T(10, E1=1e4, E2=2.2e4, maxwell=mx(7e3, 0.12)), 0.25, math.pi, T(3, E1=1e4, E2=2.2e4, maxwell=mx(7e3, 0.12))),
        ("rope over an edge", 100, 1.0, {"stiffness": 5e5, "node_mass": 2.0, "damping_ratio": 0.05}, T(2, E1=2.8e4, E2=7e4, maxwell=mx(8e3, 0.08)), 0.4, math.pi / 2, T(2, E1=2.8e4, E2=7e4, maxwell=mx(8e3, 0.08))),
        ("sling over a bar", 80, 0.6, rig, T(0.3, E1=8e4, E3=3e5), 0.15, math.pi, T(0.3, E1=8e4, E3=3e5)),
        ("heavy node", 80, 1.0, {"stiffness": 2e5, "node_mass": 5.0, "damping_ratio": 0.02}, T(1, E1=1e5), 0.1, 2.0, T(1, E1=5e4)),
        ("no friction", 80, 1.0, rig, T(1, E1=1e5, E2=1e5), 0.0, 2.0, T(1, E1=5e4)),
    ]:
        out.append({"name": name, "mass": mass, "fall": fall, "until": 1.5, "chain": [{"rig": r}, a, {"edge": {"friction": mu, "angle": theta}}, b]})
    return out


if __name__ == "__main__":
    cs = cases()
    res = {"maker": "bench/edge.py", "versions": "scipy %s, numpy %s" % (scipy.__version__, np.__version__), "cases": cs, "results": [run(c) for c in cs]}
    json.dump(res, open(sys.argv[1], "w"), indent=1)
    for r in res["results"]:
        print(r["name"], r["peak_chain_N"], r["far_N"], r["cell_N"], len(r["modes"]), r["end_t_s"])
