#!/usr/bin/python3
"""Reference solutions for the arrest engine, by SciPy.

The engine solves the chain algebraically and expands everything in Taylor series. Here every element
is written in rate form (F' = K u' - R), the rates are found from a small linear system, and the whole
is handed to SciPy's DOP853 (or Radau where stiff) with its own event location. Nothing is shared but
the equations.

    /usr/bin/python3 bench/reference.py internal/arrest/testdata

reads cases.json in that folder and writes reference-scipy.json beside it.
"""
import json
import math
import sys

import numpy as np
import scipy
from scipy.integrate import solve_ivp

RTOL, ATOL = 1e-12, 1e-14
G = 9.80665


class Textile:
    soft = True

    def __init__(self, p):
        self.L = p["length"]
        self.E = [p.get("E1", 0.0), p.get("E2", 0.0), p.get("E3", 0.0)]
        self.mx = [(b["E"], b["tau"]) for b in p.get("maxwell", [])]
        self.mu = p.get("friction", 0.0)
        self.kf = p.get("friction_stiffness", 0.0) or 5 * sum(self.E)
        self.alpha = p.get("set", 0.0)
        self.grip = 1 if self.mu else None
        self.virgin = self.alpha > 0
        self.top = 0.0
        self.base = 0.0
        self.n = 2 + len(self.mx)

    def scale(self):
        return self.L / (1 - self.alpha) if self.virgin else self.L

    def el(self, e):
        return e * (self.E[0] + e * (self.E[1] + e * self.E[2]))

    def tangent(self, e):
        return self.E[0] + e * (2 * self.E[1] + 3 * e * self.E[2])

    def force(self, y):
        return self.el(y[0]) + y[1] + sum(y[2:])

    def row(self, y):
        k = self.tangent(y[0]) + sum(E for E, _ in self.mx)
        if self.grip == 0:
            k += self.kf
        elif self.grip:
            k += self.grip * self.mu * self.tangent(y[0])
        return k, sum(q / tau for q, (_, tau) in zip(y[2:], self.mx))

    def rates(self, y, du):
        d = np.empty(self.n)
        d[0] = du
        d[1] = 0.0
        if self.grip == 0:
            d[1] = self.kf * du
        elif self.grip:
            d[1] = self.grip * self.mu * self.tangent(y[0]) * du
        for j, (E, tau) in enumerate(self.mx):
            d[2 + j] = E * du - y[2 + j] / tau
        return d

    def length(self, y):
        return self.scale() * y[0] + self.base

    def leave_virgin(self, y):
        self.virgin = False
        self.top = y[0]
        self.base = self.alpha * self.L * y[0] / (1 - self.alpha)


class Spring:
    soft, n = True, 1

    def __init__(self, k):
        self.k = k

    def scale(self):
        return 1.0

    def force(self, y):
        return self.k * y[0]

    def row(self, y):
        return self.k, 0.0

    def rates(self, y, du):
        return np.array([du])

    def length(self, y):
        return y[0]


class Slip:
    """Knot or absorber; y[0] is the slip, or the stretch of the spring behind once locked."""

    n = 1

    def __init__(self, kind, p):
        self.kind, self.state = kind, "stuck"
        if kind == "knot":
            self.f0, self.df, self.end, self.p = p["F0"], p["FL"] - p["F0"], p["slip"], p.get("power", 2) or 2
            self.k = p.get("lock", 0) or 3e6
            self.flock = p["FL"]
        else:
            self.fa, self.r, self.end = p["force"], p.get("ripple", 0.0), p["travel"]
            self.w = 2 * math.pi / p["pitch"] if self.r else 0.0
            self.k = p.get("backing", 0) or 3e6
            self.flock = self.fy(self.end)
        self.s = 0.0

    @property
    def soft(self):
        return self.state in ("slipping", "locked")

    def fy(self, s):
        if self.kind == "knot":
            return self.f0 + self.df * (s / self.end) ** self.p
        return self.fa * (1 + self.r * math.sin(self.w * s))

    def dfy(self, s):
        if self.kind == "knot":
            return self.df * self.p / self.end * (s / self.end) ** (self.p - 1)
        return self.fa * self.r * self.w * math.cos(self.w * s)

    def scale(self):
        return 1.0

    def force(self, y):
        return self.fy(y[0]) if self.state == "slipping" else self.flock + self.k * y[0]

    def row(self, y):
        return (self.dfy(y[0]) if self.state == "slipping" else self.k), 0.0

    def rates(self, y, du):
        return np.array([du if self.soft else 0.0])

    def length(self, y):
        if self.state == "slipping":
            return y[0]
        return self.s + (y[0] if self.state == "locked" else 0.0)

    def threshold(self):
        return self.flock if self.state == "seated" else self.fy(self.s)


class Run:
    def __init__(self, c):
        self.c = c
        self.g = c.get("gravity", G)
        self.m, self.m2 = c["mass"], 0.0
        self.links, self.names = [], []
        self.node, self.kr, self.cr, self.mc = None, 0.0, 0.0, 0.0
        self.strength, self.weak, self.ramp = math.inf, None, 0.0
        self.kb = self.cb = 0.0
        elements = c["chain"]
        for i, e in enumerate(elements):
            (kind, p), = ((k, v) for k, v in e.items() if isinstance(v, dict))
            if kind == "rig":
                self.kr, self.mc = p["stiffness"], p.get("node_mass", 0.0)
                if self.mc:
                    self.node = "massive"
                    self.cr = p.get("damping", 0.0) + 2 * p.get("damping_ratio", 0.0) * math.sqrt(self.kr * self.mc)
                elif p.get("damping", 0.0):
                    self.node, self.cr = "damped", p["damping"]
                else:
                    self.links.append(Spring(self.kr))
            elif kind == "textile":
                self.links.append(Textile(p))
                if p.get("strength"):
                    self.weaken(p["strength"] * (p.get("degradation") or 1), "textile", p.get("break_ramp", 0.0))
            elif kind == "knot":
                self.links.append(Slip(kind, p))
                near = [q["textile"] for q in elements[i::-1] if "textile" in q] or [q["textile"] for q in elements[i:] if "textile" in q]
                if near and near[0].get("strength"):
                    self.weaken(near[0]["strength"] * (near[0].get("degradation") or 1) * (p.get("efficiency") or 1), "knot", near[0].get("break_ramp", 0.0))
            elif kind == "absorber":
                self.links.append(Slip(kind, p))
                if p.get("strength"):
                    self.weaken(p["strength"], "absorber", 0.0)
            elif kind == "body":
                self.m2 = self.m * (1 - p["torso_share"])
                self.m -= self.m2
                self.kb = p["stiffness"]
                self.cb = 2 * p["damping_ratio"] * math.sqrt(self.kb * self.m2)
        self.at = []
        n = 6
        for l in self.links:
            self.at.append(slice(n, n + l.n))
            n += l.n
        self.size = n
        self.phase = "taut"
        self.torn = 0.0
        self.offset = 0.0  # sum of the elongations when this drop came taut
        self.events, self.peaks = [], []

    def weaken(self, f, what, ramp):
        if f < self.strength:
            self.strength, self.weak, self.ramp = f, what, ramp

    def chain_force(self, t, y):
        if self.phase in ("slack", "parted"):
            return 0.0
        if self.phase == "tearing":
            return self.strength * max(0.0, self.torn - t) / self.ramp
        for kind in (Textile, Spring, Slip):
            for l, a in zip(self.links, self.at):
                if isinstance(l, kind) and l.soft:
                    return l.force(y[a])
        return self.m * self.g  # at rest on a rigid chain

    def cell(self, t, y):
        if self.node == "massive":
            return self.kr * y[2] + self.cr * y[3]
        return self.chain_force(t, y)

    def vc(self, t, y):
        if self.node == "massive":
            return y[3]
        if self.node == "damped":
            return (self.chain_force(t, y) - self.kr * y[2]) / self.cr
        return 0.0

    def link_rates(self, t, y):
        soft = [i for i, l in enumerate(self.links) if l.soft]
        if not soft or self.phase == "parted":
            return {}, 0.0
        rows = [self.links[i].row(y[self.at[i]]) for i in soft]
        if self.phase != "taut":
            df = -self.strength / self.ramp if self.phase == "tearing" else 0.0
            return {i: (df + r) / k for i, (k, r) in zip(soft, rows)}, df
        n = len(soft)
        a, b = np.zeros((n + 1, n + 1)), np.zeros(n + 1)
        for j, (i, (k, r)) in enumerate(zip(soft, rows)):
            a[j, j], a[j, n], b[j] = k, -1.0, r
            a[n, j] = self.links[i].scale()
        b[n] = y[1] - self.vc(t, y)
        u = np.linalg.solve(a, b)
        return dict(zip(soft, u[:n])), u[n]

    def f(self, t, y):
        d = np.zeros(self.size)
        force = self.chain_force(t, y)
        if self.phase == "resting":
            return d
        pull = 0.0
        if self.m2:
            pull = self.kb * (y[4] - y[0]) + self.cb * (y[5] - y[1])
            d[4], d[5] = y[5], self.g - pull / self.m2
        d[0], d[1] = y[1], self.g + (pull - force) / self.m
        if self.node == "massive":
            d[2], d[3] = y[3], (force - self.kr * y[2] - self.cr * y[3]) / self.mc
        elif self.node == "damped":
            d[2] = self.vc(t, y)
        rates, _ = self.link_rates(t, y)
        if self.phase != "parted":
            for i, (l, a) in enumerate(zip(self.links, self.at)):
                d[a] = l.rates(y[a], rates.get(i, 0.0))
        return d

    def margins(self):
        out = []
        if self.phase == "parted":
            return out
        if self.phase == "slack":
            out.append((("taut", None), lambda t, y: self.chain_length(y) - y[0] + y[2]))
        if self.phase == "tearing":
            out.append((("torn", None), lambda t, y: self.torn - t))
        if self.phase == "taut":
            out.append((("slack", None), lambda t, y: self.chain_force(t, y)))
            if self.strength < math.inf:
                out.append((("break", None), lambda t, y: self.strength - self.chain_force(t, y)))
        for i, l in enumerate(self.links):
            a = self.at[i]
            if isinstance(l, Textile):
                if l.virgin or l.grip in (1, -1):
                    sign = -1 if l.grip == -1 else 1
                    out.append((("reverse", i), lambda t, y, i=i, s=sign: s * self.link_rates(t, y)[0][i]))
                if l.grip == 0:
                    out.append((("upper", i), lambda t, y, l=l, a=a: l.mu * l.el(y[a][0]) - y[a][1]))
                    out.append((("lower", i), lambda t, y, l=l, a=a: l.mu * l.el(y[a][0]) + y[a][1]))
                if l.alpha and not l.virgin:
                    out.append((("virgin", i), lambda t, y, l=l, a=a: l.top - y[a][0]))
            elif isinstance(l, Slip):
                if l.state == "slipping":
                    out.append((("slip off", i), lambda t, y, i=i: self.link_rates(t, y)[0][i]))
                    out.append((("locked", i), lambda t, y, l=l, a=a: l.end - y[a][0]))
                elif l.state == "locked":
                    out.append((("seated", i), lambda t, y, a=a: y[a][0]))
                elif self.phase == "taut":
                    out.append((("slip on", i), lambda t, y, l=l: l.threshold() - self.chain_force(t, y)))
        return out

    def chain_length(self, y):
        return sum(l.length(y[a]) for l, a in zip(self.links, self.at)) - self.offset

    def rest(self, y):
        """Unloads the specimen for good: branches and friction at zero force; set and slips stay."""
        for i, (l, a) in enumerate(zip(self.links, self.at)):
            if isinstance(l, Textile):
                if l.virgin:
                    l.leave_virgin(y[a])
                l.grip = 1 if l.mu else None
            elif isinstance(l, Slip):
                if l.state == "slipping":
                    self.slip_off(0.0, y, i)
                elif l.state == "locked":
                    l.state = "seated"
        y = np.zeros(self.size)
        self.offset = 0.0
        self.offset = self.chain_length(y)
        self.phase, self.events = "taut", []
        return y

    def note(self, t, kind):
        self.events.append([t, kind])

    def slip_off(self, t, y, i):
        l = self.links[i]
        l.s, l.state = min(y[self.at[i]][0], l.end), "stuck"
        self.note(t, "slip off")

    def reverse(self, y, i):
        l = self.links[i]
        if l.virgin:
            l.leave_virgin(y[self.at[i]])
        if l.grip in (1, -1):
            l.grip = 0

    def apply(self, t, y, what):
        kind, i = what
        l = self.links[i] if i is not None else None
        if kind in ("slack", "break"):
            if kind == "break":
                self.note(t, "break")
                self.broke = t
            for j, k in enumerate(self.links):
                if isinstance(k, Slip) and k.state == "slipping":
                    self.slip_off(t, y, j)
            if kind == "slack":
                self.phase = "slack"
                self.note(t, "slack")
            elif self.ramp:
                self.phase, self.torn = "tearing", t + self.ramp
            else:
                self.phase = "parted"
        elif kind == "torn":
            self.phase = "parted"
        elif kind == "taut":
            self.phase = "taut"
            self.note(t, "taut")
        elif kind == "reverse":
            self.reverse(y, i)
        elif kind == "upper":
            l.grip = 1
        elif kind == "lower":
            l.grip = -1
        elif kind == "virgin":
            l.virgin, l.base = True, 0.0
        elif kind == "slip on":
            if l.state == "seated":
                l.state = "locked"
                y[self.at[i]] = 0.0
            else:
                l.state = "slipping"
                y[self.at[i]] = l.s
                self.note(t, "slip on")
        elif kind == "slip off":
            self.slip_off(t, y, i)
        elif kind == "locked":
            l.s, l.state = l.end, "locked"
            y[self.at[i]] = 0.0
            self.note(t, "knot locked" if l.kind == "knot" else "absorber exhausted")
        elif kind == "seated":
            l.state = "seated"

    def settle(self, t, y):
        """Puts every element into the mode that the rates demand."""
        for _ in range(60):
            if self.phase in ("parted", "resting"):
                return
            if self.phase == "taut" and not any(l.soft for l in self.links):
                if y[1] > 1e-7:
                    j = min(range(len(self.links)), key=lambda j: self.links[j].threshold())
                    self.apply(t, y, ("slip on", j))
                    continue
                if y[1] > -1e-7:
                    self.phase = "resting"
                else:
                    self.apply(t, y, ("slack", None))
                continue
            rates, df = self.link_rates(t, y)
            done = True
            for i, l in enumerate(self.links):
                if isinstance(l, Textile):
                    u, e = rates[i], y[self.at[i]]
                    if (l.virgin or l.grip == 1) and u < -1e-8 or l.grip == -1 and u > 1e-8:
                        self.reverse(y, i)
                    elif l.alpha and not l.virgin and e[0] >= l.top * (1 - 1e-13) and u > 1e-8:
                        l.virgin, l.base = True, 0.0
                    elif l.grip == 0 and e[1] >= l.mu * l.el(e[0]) - 1e-8 and u > 1e-8:
                        l.grip = 1
                    elif l.grip == 0 and e[1] <= -l.mu * l.el(e[0]) + 1e-8 and u < -1e-8:
                        l.grip = -1
                    else:
                        continue
                    done = False
                    break
                if isinstance(l, Slip):
                    if l.state == "slipping" and rates[i] < -1e-7:
                        self.slip_off(t, y, i)
                    elif not l.soft and self.phase == "taut" and self.chain_force(t, y) >= l.threshold() - 1e-7 and df > 1e-3:
                        self.apply(t, y, ("slip on", i))
                    else:
                        continue
                    done = False
                    break
            if done:
                return
        raise RuntimeError("no common state at %g" % t)

    def solve(self):
        y, earlier = np.zeros(self.size), []
        for i in range(self.c.get("drops", 1)):
            if i:
                y = self.rest(y)
            result, y = self.drop(y)
            if i + 1 < self.c.get("drops", 1):
                earlier.append(result)
        if earlier:
            result["earlier"] = earlier
        return result

    def drop(self, y):
        c = self.c
        y[1] = y[5] = math.sqrt(2 * self.g * c["fall"])
        t, end = 0.0, c["until"]
        self.note(0.0, "taut")
        self.settle(t, y)
        peak, chain_peak, lowest = [0.0, 0.0], 0.0, 0.0
        peaks = []
        method = c.get("method", "DOP853")
        while t < end:
            ms = self.margins()
            events = []
            for _, fn in ms:
                def ev(t, y, fn=fn):
                    return fn(t, y)
                ev.terminal, ev.direction = True, -1
                events.append(ev)
            sol = solve_ivp(self.f, (t, end), y, method=method, rtol=RTOL if method == "DOP853" else 1e-11, atol=ATOL if method == "DOP853" else 1e-13,
                            events=events, dense_output=True, first_step=min(1e-6, (end - t) / 2))
            if sol.status < 0:
                raise RuntimeError(sol.message)
            if self.phase in ("taut", "tearing", "resting"):
                cand, chain = self.best(sol)
                chain_peak = max(chain_peak, chain)
                if cand[1] > peak[1]:
                    peak = cand
            lowest = max(lowest, self.bottom(sol))
            t, y = float(sol.t[-1]), sol.y[:, -1].copy()
            if sol.status == 0:
                break
            hit = [(te[0], k) for k, te in enumerate(sol.t_events) if len(te)]
            te, k = min(hit)
            t, y = float(te), sol.y_events[k][0].copy()
            self.apply(t, y, ms[k][0])
            self.settle(t, y)
            if self.events[-1][1] in ("slack",) and peak[1] > 0:
                peaks.append(peak)
                peak = [0.0, 0.0]
        if peak[1] > 0:
            peaks.append(peak)
        best = max(peaks, key=lambda p: p[1])
        slips = [(y[a][0] if l.state == "slipping" else l.s) for l, a in zip(self.links, self.at) if isinstance(l, Slip)]
        return {"name": c["name"], "peak_force_N": best[1], "peak_time_s": best[0], "peak_chain_N": chain_peak, "peaks": peaks,
                "events": [e for e in self.events], "end_m": float(y[0]), "end_mps": float(y[1]), "lowest_m": float(lowest),
                "slips_m": [float(s) for s in slips], "broke": self.weak if hasattr(self, "broke") else None,
                "sets_m": [l.alpha / (1 - l.alpha) * l.L * y[a][0] if l.virgin else l.base for l, a in zip(self.links, self.at) if isinstance(l, Textile) and l.alpha]}, y

    def best(self, sol):
        """The largest load-cell force within a solution, refined on its dense output."""
        ts = np.unique(np.concatenate([np.linspace(a, b, 9) for a, b in zip(sol.t[:-1], sol.t[1:])] or [sol.t]))
        out = []
        for fn in (self.cell, self.chain_force):
            vals = np.array([fn(t, sol.sol(t)) for t in ts])
            k = int(np.argmax(vals))
            t, v = ts[k], vals[k]
            if len(ts) > 1:
                a, b = ts[max(k - 1, 0)], ts[min(k + 1, len(ts) - 1)]
                for _ in range(90):
                    p, q = a + (b - a) * 0.381966, a + (b - a) * 0.618034
                    if fn(p, sol.sol(p)) > fn(q, sol.sol(q)):
                        b = q
                    else:
                        a = p
                t = (a + b) / 2
                if fn(t, sol.sol(t)) < v:
                    out.append([float(ts[k]), float(v)])
                    continue
                # three points of a parabola take the noise out of the place of a flat top
                h = 2e-5
                lo, hi = max(ts[0], t - h), min(ts[-1], t + h)
                if lo == t - h and hi == t + h:
                    fa, fb, fc = (fn(s, sol.sol(s)) for s in (t - h, t, t + h))
                    if fa - 2 * fb + fc < 0:
                        t += h / 2 * (fa - fc) / (fa - 2 * fb + fc)
                v = max(v, fn(t, sol.sol(t)))
            out.append([float(t), float(v)])
        return out[0], out[1][1]

    def bottom(self, sol):
        v = sol.y[1]
        x = float(np.max(sol.y[0]))
        for k in range(len(v) - 1):
            if v[k] > 0 >= v[k + 1]:
                a, b = sol.t[k], sol.t[k + 1]
                for _ in range(80):
                    mid = (a + b) / 2
                    if sol.sol(mid)[1] > 0:
                        a = mid
                    else:
                        b = mid
                x = max(x, float(sol.sol(a)[0]))
        return x


def main(folder):
    with open(folder + "/cases.json") as f:
        cases = json.load(f)["cases"]
    results = []
    for c in cases:
        try:
            results.append(Run(c).solve())
        except Exception as err:  # say which case
            print(c["name"], "FAILED", err, file=sys.stderr)
            raise
        print(c["name"], results[-1]["peak_force_N"], file=sys.stderr)
    head = "SciPy %s, NumPy %s, Python %s; DOP853 (Radau where the case says so) at rtol %g" % (scipy.__version__, np.__version__, sys.version.split()[0], RTOL)
    with open(folder + "/reference-scipy.json", "w") as f:
        json.dump({"maker": "bench/reference.py", "versions": head, "results": results}, f, indent=1)
        f.write("\n")


if __name__ == "__main__":
    main(sys.argv[1])
