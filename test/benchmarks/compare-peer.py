"""Peer of compare-peer.mjs: the same task as a lab would write it with numpy and scipy. usage: compare-peer.py FOLDER"""
import csv
import json
import resource
import sys
import time

import numpy as np
import scipy
from scipy.optimize import curve_fit

folder = sys.argv[1]
wall = time.perf_counter()
cpu = resource.getrusage(resource.RUSAGE_SELF).ru_utime
with open(folder + "/coolers.csv") as file:
    fastest = {row["cooler"]: float(row["fan_max_rpm"]) for row in csv.DictReader(file)}
runs = {}
with open(folder + "/runs.csv") as file:
    for row in csv.DictReader(file):
        runs.setdefault(row["cooler"], []).append(
            (float(row["power_W"]), float(row["fan_rpm"]), float(row["source_C"]) - float(row["ambient_C"]))
        )


def rise(x, r_c, r_a, m):
    power, speed = x
    return power * (r_c + r_a * speed ** (-m))


loads = 50 + 5.0 * np.arange(61)
names, curves = [], []
for cooler, rows in runs.items():
    power, rpm, measured = np.array(rows).T
    best, _ = curve_fit(
        rise,
        (power, rpm / fastest[cooler]),
        measured,
        p0=(0.1, 0.1, 0.8),
        bounds=([0, 0, 0.05], [5, 5, 3]),
        xtol=1e-12,
        ftol=1e-12,
        gtol=1e-12,
    )
    names.append(cooler)
    curves.append(rise((loads, np.ones(61)), *best))
curves = np.array(curves)
a, b = np.triu_indices(len(names), 1)
difference = curves[a] - curves[b]
print(
    json.dumps(
        {
            "wall_s": time.perf_counter() - wall,
            "cpu_s": resource.getrusage(resource.RUSAGE_SELF).ru_utime - cpu,
            "process_cpu_s": resource.getrusage(resource.RUSAGE_SELF).ru_utime,
            "pairs": len(a),
            "sum": float(np.abs(difference).sum()),
            "coolers": {name: [c[0], c[30], c[60]] for name, c in zip(names, curves)},
            "version": f"numpy {np.__version__}, scipy {scipy.__version__}",
        }
    )
)
