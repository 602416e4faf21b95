#!/usr/bin/python3
"""Compiles cvode_reference.c, runs it on the smooth cases of cases.json, writes reference-cvode.json.

    /usr/bin/python3 bench/cvode_reference.py internal/arrest/testdata
"""
import json
import os
import subprocess
import sys
import tempfile

here = os.path.dirname(os.path.abspath(__file__))


def smooth(c):
    for e in c["chain"]:
        if not ("rig" in e or "textile" in e):
            return False
        t = e.get("textile", {})
        if t.get("friction") or t.get("set") or t.get("break_ramp"):
            return False
    return True


def text(c):
    r = {"kind": 0, "stiffness": 0, "damping": 0, "node_mass": 0}
    textiles, strength = [], 0
    for e in c["chain"]:
        if "rig" in e:
            g = e["rig"]
            mc, k = g.get("node_mass", 0), g["stiffness"]
            d = g.get("damping", 0) + 2 * g.get("damping_ratio", 0) * (k * mc) ** 0.5
            r = {"kind": 3 if mc else 2 if d else 1, "stiffness": k, "damping": d, "node_mass": mc}
        else:
            textiles.append(e["textile"])
            s = e["textile"].get("strength", 0) * (e["textile"].get("degradation") or 1)
            strength = min(x for x in (strength, s) if x) if strength or s else 0
    out = [c["mass"], c["fall"], c["until"], strength, r["kind"], r["stiffness"], r["damping"], r["node_mass"], len(textiles)]
    for t in textiles:
        b = t.get("maxwell", [])
        out += [t["length"], t.get("E1", 0), t.get("E2", 0), t.get("E3", 0), len(b)]
        for q in b:
            out += [q["E"], q["tau"]]
    return " ".join(repr(v) for v in out)


def main(folder):
    with open(folder + "/cases.json") as f:
        cases = [c for c in json.load(f)["cases"] if smooth(c)]
    results, version = [], ""
    with tempfile.TemporaryDirectory() as tmp:
        exe = tmp + "/cvode_reference"
        subprocess.run(["gcc", "-O2", "-o", exe, here + "/cvode_reference.c", "-lsundials_cvode", "-lsundials_nvecserial",
                        "-lsundials_sunlinsoldense", "-lsundials_sunmatrixdense", "-lm"], check=True)
        for c in cases:
            r = {"name": c["name"], "peaks": [], "events": []}
            for line in subprocess.run([exe], input=text(c), capture_output=True, text=True, check=True).stdout.splitlines():
                w = line.split()
                if w[0] == "peak":
                    r["peaks"].append([float(w[1]), float(w[2])])
                elif w[0] == "end":
                    r["end_m"], r["end_mps"] = float(w[1]), float(w[2])
                elif w[0] == "lowest":
                    r["lowest_m"] = float(w[1])
                elif w[0] == "version":
                    version = w[1]
                else:
                    r["events"].append([float(w[1]), w[0]])
            r["peak_time_s"], r["peak_force_N"] = max(r["peaks"], key=lambda p: p[1])
            results.append(r)
            print(r["name"], r["peak_force_N"], file=sys.stderr)
    with open(folder + "/reference-cvode.json", "w") as f:
        json.dump({"maker": "bench/cvode_reference.py", "versions": "SUNDIALS %s, CVODE BDF at rtol 1e-13" % version, "results": results}, f, indent=1)
        f.write("\n")


if __name__ == "__main__":
    main(sys.argv[1])
