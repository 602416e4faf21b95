#!/usr/bin/python3
"""Random chains by the program and by SciPy, and the worst differences.

    go build -o /tmp/hardcatch ./cmd/hardcatch
    /usr/bin/python3 bench/chains.py /tmp/hardcatch 10000 [seed]

Each chain is drawn anew: rig rigid, massless, damped or with a node; one or two textiles with branches, friction and set; knot, absorber, body,
strength. SciPy solves it in rate form (bench/reference.py), tolerance 1e-10. Peaks of cell and chain and the time of the peak are
compared, and what came of it. A chain that SciPy's side gives up (events at one time) is counted, not compared.
"""
import json
import os
import random
import signal
import subprocess
import sys
import tempfile

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import reference

reference.RTOL, reference.ATOL = 1e-10, 1e-12


PATIENCE = 40  # s for a chain on SciPy's side, some of which change their modes without end


def give_up(*_):
    raise TimeoutError


signal.signal(signal.SIGALRM, give_up)


def draw(r):
    log = lambda a, b: a * (b / a) ** r.random()
    chain = []
    kind = r.choice(["rigid", "spring", "damped", "node", "node"])
    if kind == "spring":
        chain.append({"rig": {"stiffness": log(2e5, 2e7)}})
    elif kind == "damped":
        chain.append({"rig": {"stiffness": log(2e5, 5e6), "damping": log(100, 3000)}})
    elif kind == "node":
        chain.append({"rig": {"stiffness": log(2e5, 3e6), "damping_ratio": r.choice([0.0, 0.03, 0.2]), "node_mass": log(0.3, 8)}})
    length = 0.0
    for k in range(r.choice([1, 1, 2])):
        t = {"name": "abc"[k], "length": log(0.3, 8), "E1": log(8e3, 3e5)}
        if r.random() < 0.5:
            t["E2"] = log(1e3, 1e6)
        if r.random() < 0.5:
            t["E3"] = log(1e3, 1e6)
        if r.random() < 0.7:
            t["maxwell"] = [{"E": log(1e3, 4e4), "tau": log(0.01, 0.5)} for _ in range(r.choice([1, 1, 2]))]
        if r.random() < 0.5:
            t["friction"] = log(0.02, 0.3)
            t["friction_stiffness"] = 6 * (t["E1"] + 2 * t.get("E2", 0) + 3 * t.get("E3", 0))
        if r.random() < 0.5:
            t["set"] = log(0.01, 0.12)
        if r.random() < 0.2:
            t["strength"] = log(6e3, 3e4)
        length += t["length"]
        chain.append({"textile": t})
    if r.random() < 0.3:
        chain.append({"knot": {"F0": r.choice([0.0, log(50, 1500)]), "FL": log(3e3, 1.2e4), "slip": log(0.01, 0.1), "power": r.choice([1, 2, 3])}})
    if r.random() < 0.2:
        chain.append({"absorber": {"force": log(2e3, 7e3), "travel": log(0.1, 1.5)}})
    if r.random() < 0.15 and kind in ("rigid", "spring"):
        chain.append({"body": {"stiffness": log(2e4, 1e5), "damping_ratio": 0.3, "torso_share": 0.85}})
    return {"name": "random", "mass": log(30, 200), "fall": length * r.choice([0.0, log(0.05, 2)]), "until": 0.4, "chain": chain}


def main(program, n, seed):
    r = random.Random(seed)
    worst = {k: (0.0, None) for k in ("peak_force_N", "peak_chain_N", "lowest_m", "peak_time_s")}
    compared, gave_up, differ = 0, 0, []
    for i in range(n):
        c = draw(r)
        try:
            signal.alarm(PATIENCE)
            want = reference.Run(c).solve()
            signal.alarm(0)
        except (RuntimeError, ValueError, IndexError, TimeoutError):
            signal.alarm(0)
            gave_up += 1
            continue
        given = {k: v for k, v in c.items() if k != "name"}
        with tempfile.NamedTemporaryFile("w", suffix=".yaml", delete=False) as f:
            json.dump(given, f)
        out = subprocess.run([program, "simulate", f.name, "--json"], capture_output=True, text=True)
        os.unlink(f.name)
        if out.returncode != 0:
            differ.append((i, "refused: " + out.stderr.strip()[:200]))
            continue
        got = json.loads(out.stdout)
        compared += 1
        if (got["outcome"] == "broke") != (want["broke"] is not None):
            differ.append((i, "outcome %s, SciPy %s" % (got["outcome"], want["broke"])))
            continue
        for k in worst:
            d = abs(got[k] - want[k])
            if k != "peak_time_s":
                d /= max(abs(want[k]), 1e-9)
            elif any("absorber" in e for e in c["chain"]):
                continue  # a plateau has no sharp time
            if d > worst[k][0]:
                worst[k] = (d, i)
            if k.startswith("peak_") and k.endswith("N") and d > 1e-5:
                differ.append((i, "%s %.9g, SciPy %.9g: %s" % (k, got[k], want[k], json.dumps(given))))
    print("%d chains of seed %d, %d compared, %d given up by SciPy's side" % (n, seed, compared, gave_up))
    for k, (d, i) in worst.items():
        print("worst %s: %.2g %s (chain %s)" % (k, d, "s" if k == "peak_time_s" else "relative", i))
    for i, what in differ:
        print("chain %d: %s" % (i, what))


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]), int(sys.argv[3]) if len(sys.argv) > 3 else 1)
