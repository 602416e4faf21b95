"""Makes unnamed.hardcatch: python3 make.py PROGRAM, with a program built at commit 9d86346, which did not state readers.

Two invented drops, their records simulated here: a rigid mass on a spring that damps and may go slack, with a little noise.
"""
import math
import pathlib
import random
import struct
import subprocess
import sys
import tempfile

RATE, MASS, FALL, STIFFNESS, DAMPING, G = 2000, 100.0, 0.5, 60e3, 700.0, 9.80665

RIG = """name: invented tower
mass: 100 kg
mass_u: 50 g
fall_u: 4 mm
frequency: 318 Hz
damping: 0.03
invented: true
"""

LIST = """drop,specimen,material,construction,length [mm],conditioning,fall,taken,record
{id},{specimen},polyester,webbing 25 mm,900,new,0.5 m,2026-03-02,{record}
"""


def forces(seed):
    noise, steps = random.Random(seed), 20
    x, v, out = 0.0, 0.0, []
    for i in range(3 * RATE // 2):
        t = i / RATE - 0.2
        if t < 0:
            out.append(noise.gauss(0, 5))
            continue
        if v == 0.0:
            v = math.sqrt(2 * G * FALL)
        for _ in range(steps):
            f = max(0.0, STIFFNESS * x + DAMPING * v) if x > 0 else 0.0
            v += (G - f / MASS) / (RATE * steps)
            x += v / (RATE * steps)
        out.append((max(0.0, STIFFNESS * x + DAMPING * v) if x > 0 else 0.0) + noise.gauss(0, 5))
    return out


def wav(samples):
    data = b"".join(struct.pack("<h", round(max(-1, min(1, s / 50e3)) * 32767)) for s in samples)
    return b"RIFF" + struct.pack("<I", 36 + len(data)) + b"WAVEfmt " + struct.pack("<IHHIIHH", 16, 1, 1, RATE, 2 * RATE, 2, 16) + b"data" + struct.pack("<I", len(data)) + data


def main(program):
    out = pathlib.Path(__file__).with_name("unnamed.hardcatch")
    if out.exists():
        sys.exit(f"{out} is there: a frozen file is never made again")
    with tempfile.TemporaryDirectory() as folder:
        at = pathlib.Path(folder)
        (at / "rig.yaml").write_text(RIG)
        text = "Time [s],Force [N]\n" + "".join(f"{i / RATE:.4f},{f:.1f}\n" for i, f in enumerate(forces(1)))
        (at / "text.csv").write_text(text)
        (at / "sound.wav").write_bytes(wav(forces(2)))
        (at / "text-list.csv").write_text(LIST.format(id="d01", specimen="s1", record="text.csv"))
        (at / "sound-list.csv").write_text(LIST.format(id="d02", specimen="s2", record="sound.wav"))
        for args in (
            ["begin", str(out), "--question", "Invented: are records read as before?"],
            ["rig", str(out), "rig.yaml"],
            ["add", str(out), "text-list.csv", "."],
            ["add", str(out), "sound-list.csv", ".", "--full-scale", "50 kN"],
            ["prove", str(out), "--repeat"],
        ):
            subprocess.run([program, *args], cwd=folder, check=True)


main(str(pathlib.Path(sys.argv[1]).resolve()))
