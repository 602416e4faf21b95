#!/usr/bin/env python3
"""Records scipy.signal.filtfilt on a made-up force record, as a reference for the channel-class filter.

Run with Debian's python3-scipy:  /usr/bin/python3 make-filtfilt.py > filtfilt-scipy.json
"""
import json
import math
import platform

import numpy
import scipy
from scipy.signal import butter, filtfilt, lfilter

RATE = 10000.0
CASES = [(60, 2.0775), (180, 2.0775), (600, 2.0775), (1000, 2.0775), (60, 25 / 12), (180, 25 / 12)]

n = 400
t = numpy.arange(n) / RATE
pulse = numpy.where((t > 0.005) & (t < 0.03), 15000 * numpy.sin(math.pi * (t - 0.005) / 0.025), 0.0)
record = pulse + 400 * numpy.sin(2 * math.pi * 318 * t) + 50 * numpy.cos(2 * math.pi * 2900 * t + 0.3) + 12

out = {
    "made_by": "make-filtfilt.py",
    "python": platform.python_version(),
    "numpy": numpy.__version__,
    "scipy": scipy.__version__,
    "rate_Hz": RATE,
    "record_N": [float(v) for v in record],
    "cases": [],
}
for cls, factor in CASES:
    b, a = butter(2, cls * factor, fs=RATE)  # bilinear with prewarping, as in SAE J211-1
    for pad in (9, 60):
        out["cases"].append({
            "class": cls, "factor": factor, "pad": pad,
            "a0": float(b[0]), "b1": float(-a[1]), "b2": float(-a[2]),
            "filtered_N": [float(v) for v in filtfilt(b, a, record, padtype="odd", padlen=pad)],
        })
print(json.dumps(out, indent=0))
