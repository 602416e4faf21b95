#!/usr/bin/python3
"""Writes cases.json: the cases on which the arrest engine is compared with other solvers.

    /usr/bin/python3 bench/cases.py internal/arrest/testdata/cases.json
"""
import json
import sys

RIG = {"stiffness": 2e6, "damping_ratio": 0.03, "node_mass": 0.5}
SPRING = {"stiffness": 1e6}
SETS = {
    "polyamide": {"E1": 80e3, "E3": 300e3, "maxwell": [{"E": 20e3, "tau": 0.05}], "friction": 0.08, "friction_stiffness": 400e3, "set": 0.08},
    "hmpe": {"E1": 100e3, "E2": 3000e3, "maxwell": [{"E": 15e3, "tau": 0.05}], "friction": 0.06, "friction_stiffness": 1000e3, "set": 0.02},
    "polyester": {"E1": 120e3, "E2": 400e3, "maxwell": [{"E": 15e3, "tau": 0.05}], "friction": 0.06, "friction_stiffness": 400e3, "set": 0.05},
    "aramid": {"E1": 250e3, "E2": 3000e3, "maxwell": [{"E": 10e3, "tau": 0.05}], "friction": 0.04, "friction_stiffness": 1000e3, "set": 0.02},
    "rope": {"E1": 10e3, "E2": 22e3, "maxwell": [{"E": 7e3, "tau": 0.12}], "friction": 0.18, "friction_stiffness": 100e3, "set": 0.10},
    "static": {"E1": 28e3, "E2": 70e3, "maxwell": [{"E": 8e3, "tau": 0.08}], "friction": 0.10, "friction_stiffness": 200e3, "set": 0.05},
    "steel": {"E1": 2300e3},
}
KNOT = {"F0": 500.0, "FL": 8500.0, "slip": 0.045, "power": 2, "lock": 3e6, "efficiency": 0.6}
ABSORBER = {"force": 4500.0, "travel": 1.0, "backing": 3e6}
BODY = {"stiffness": 50e3, "damping_ratio": 0.3, "torso_share": 0.85}
out = []


def add(name, chain, mass=80.0, fall=0.9, until=1.0, **more):
    out.append({"name": name, "mass": mass, "fall": fall, "until": until, "chain": chain, **more})


def tex(material=None, length=0.9, **over):
    return {"textile": {"length": length, **(SETS[material] if material else {}), **over}}


def rig(**over):
    return {"rig": {**RIG, **over}}


def spring(k=1e6):
    return {"rig": {"stiffness": k}}


def knot(**over):
    return {"knot": {**KNOT, **over}}


def absorber(**over):
    return {"absorber": {**ABSORBER, **over}}


for m in SETS:
    add("massless rig, " + m, [spring(), tex(m)], fall=0.6)
for m in ("polyamide", "hmpe", "polyester", "rope"):
    add("massive rig, " + m, [rig(), tex(m, length=1.2)], fall=1.2)
add("linear, rigid", [tex(E1=161e3, length=0.6)], fall=0.6)
add("cubic, rigid", [tex(E1=70e3, E3=1180e3, length=0.6)], fall=0.6)
add("quadratic with two branches", [spring(), tex(E1=60e3, E2=500e3, maxwell=[{"E": 20e3, "tau": 0.02}, {"E": 10e3, "tau": 0.3}])])
add("three branches, rigid", [tex(E1=60e3, E3=300e3, maxwell=[{"E": 20e3, "tau": 0.005}, {"E": 10e3, "tau": 0.05}, {"E": 5e3, "tau": 0.5}])])
add("damped massless rig", [{"rig": {"stiffness": 1e6, "damping": 2000.0}}, tex("polyester")])
add("soft damped rig", [{"rig": {"stiffness": 2e5, "damping": 1500.0}}, tex(E1=120e3, E2=400e3)])
add("stiff rig 20 MN/m", [rig(stiffness=20e6), tex("polyester")], until=0.4)
add("stiff rig 20 MN/m without friction", [rig(stiffness=20e6), tex(E1=120e3, E2=400e3, maxwell=[{"E": 15e3, "tau": 0.05}])], until=0.6)
add("stiffer rig 50 MN/m", [rig(stiffness=50e6), tex(E1=80e3, E3=300e3, maxwell=[{"E": 20e3, "tau": 0.05}])], until=0.3)
add("heavy node", [rig(node_mass=5.0, damping_ratio=0.1), tex("polyester")], until=0.6)
add("soft rig 0.2 MN/m", [rig(stiffness=0.2e6), tex("aramid")])
add("friction only", [tex(E1=161e3, friction=0.2, friction_stiffness=800e3, length=0.6)], fall=0.6)
add("set only", [tex(E1=161e3, set=0.06, length=0.6)], fall=0.6, until=1.5)
add("friction and set, three arrests", [spring(), tex("static", length=2.0)], fall=0.5, until=2.5)
add("hanging without slack", [tex("rope", length=5.0)], fall=0.0, until=3.0)
add("long rope fall", [rig(), tex("rope", length=10.0)], fall=8.0, until=1.5)
add("knot, polyamide", [spring(), tex("polyamide"), knot()])
add("knot, massive rig", [rig(), tex("polyester"), knot()], until=0.6)
add("knot does not lock", [spring(), tex("rope", length=2.0), knot()], fall=0.5)
add("knot locks hard", [spring(2e6), tex("hmpe"), knot(slip=0.02)], fall=1.5)
add("knot of power 1", [spring(), tex("polyester"), knot(power=1)])
add("knot of power 3", [spring(), tex("polyester"), knot(power=3)])
add("knot before textile", [spring(), knot(), tex("aramid", length=1.5)])
add("two textiles", [spring(), tex("polyester"), tex("rope", length=2.0)], fall=1.5)
add("three textiles, massive rig", [rig(), tex("hmpe", length=0.3), tex("polyamide", length=0.6), tex("steel", length=0.2)], until=0.5)
add("absorber with textile", [spring(), tex("polyester"), absorber()], mass=100.0, fall=2.0)
add("absorber, massive rig", [rig(), tex("polyester", length=1.5), absorber()], mass=100.0, fall=1.8, until=0.6)
add("absorber bottoms out", [spring(), tex("polyester"), absorber(travel=0.2)], mass=100.0, fall=2.0)
add("absorber with slow ripple", [spring(), tex("polyester"), absorber(ripple=0.1, pitch=0.2)], mass=100.0, fall=2.0)
add("absorber alone", [absorber(travel=2.0)], mass=100.0, fall=4.0)
add("absorber alone bottoms out", [absorber(travel=0.5, backing=2e5)], mass=100.0, fall=2.0, until=0.8)
add("break at once", [tex(E1=70e3, E3=1180e3, length=0.6, strength=9000.0)], fall=0.6, until=0.3)
add("break with a ramp", [rig(), tex("polyester", strength=12000.0, break_ramp=2e-3)], until=0.3)
add("break at the knot", [rig(), tex("polyester", strength=20000.0, break_ramp=1e-3), knot(efficiency=0.5)], fall=1.5, until=0.3)
add("aged textile breaks", [spring(), tex("polyamide", strength=22000.0, degradation=0.4)], until=0.3)
add("body, textile", [spring(), tex("rope", length=3.0), {"body": BODY}], fall=3.0, until=1.5)
add("body, absorber", [rig(), tex("polyester"), absorber(), {"body": BODY}], mass=100.0, fall=1.8, until=0.6)
add("body, knot, massive rig", [rig(), tex("polyamide"), knot(), {"body": BODY}], until=0.6)
add("everything", [rig(), tex("polyester", strength=22000.0), knot(), absorber(ripple=0.05, pitch=0.3), {"body": BODY}], mass=100.0, fall=2.0, until=0.5)
# the same without friction and set, for solvers that only know smooth equations
for m in SETS:
    if m != "steel":
        plain = {k: v for k, v in SETS[m].items() if not k.startswith("friction") and k != "set"}
        add("smooth, massless rig, " + m, [spring(2e6), tex(length=1.2, **plain)], fall=1.2)
        add("smooth, massive rig, " + m, [rig(), tex(length=1.2, **plain)], fall=0.6, until=0.5)
add("smooth, two textiles", [spring(), tex(E1=120e3, E2=400e3, maxwell=[{"E": 15e3, "tau": 0.05}]), tex(E1=10e3, E2=22e3, length=2.0)], fall=1.5)
# the same specimen falls three times: set, slip of the knot and travel of the absorber stay
add("three drops, knot", [spring(), tex("polyester"), knot()], until=0.8, drops=3)
add("three drops, knot tightens further", [rig(), tex("rope", length=2.0), knot()], fall=0.5, until=0.6, drops=3)
add("three drops, set only", [spring(), tex(E1=80e3, E3=300e3, set=0.08)], until=0.6, drops=3)
add("three drops, absorber bottoms out", [spring(), tex("polyamide"), absorber()], mass=100.0, fall=2.0, until=0.8, drops=3)
with open(sys.argv[1], "w") as f:
    json.dump({"maker": "bench/cases.py", "cases": out}, f, indent=1)
    f.write("\n")
print(len(out), "cases")
