"""Reference numbers of test/published/live-checks.test.ts: python3 test/published/scripts/live-checks.py [--write]

A balanced bench of coolers without pipes is made, rise = P·(R_c + sample + mount) + reading, and answered by textbook methods that
share nothing with the product: nested analysis of variance on slopes through the origin (Searle, Casella and McCulloch 1992, Variance
Components, chapter 4), Tukey's studentized range, generalised least squares. numpy 2.4, scipy 1.17. --write makes the fixture anew.
"""
import json
import sys
from pathlib import Path

import numpy as np
from scipy.optimize import curve_fit
from scipy.stats import studentized_range, t

here = Path(__file__).parent
fixtures = here.parent.parent / "fixtures"
loads = np.array([60.0, 120.0, 180.0])
coolers, samples, mounts = 24, 2, 3


def make():
    draw = np.random.default_rng(24)
    rows = ["cooler,sample,mount,power_W,fan_rpm,source_C,ambient_C"]
    for c in range(coolers):
        base = 0.15 + 0.004 * c
        for s in range(samples):
            a = draw.normal(0, 0.004)
            for m in range(mounts):
                b = draw.normal(0, 0.006)
                for P in loads:
                    rise = P * (base + a + b) + draw.normal(0, 0.1)
                    rows.append(f"C{c + 1:02d},{s + 1},{m + 1},{P:g},1500,{22 + rise:.2f},22")
    (fixtures / "balanced").mkdir(exist_ok=True)
    (fixtures / "balanced" / "runs.csv").write_text("\n".join(rows) + "\n")


if "--write" in sys.argv:
    make()
rows = [line.split(",") for line in (fixtures / "balanced" / "runs.csv").read_text().split()[1:]]
rise = np.array([float(r[5]) - float(r[6]) for r in rows]).reshape(coolers, samples, mounts, len(loads))
slope = rise @ loads / (loads @ loads)
R = slope.mean((1, 2))
ms_sample = mounts * ((slope.mean(2) - R[:, None]) ** 2).sum() / (coolers * (samples - 1))
ms_mount = ((slope - slope.mean(2)[:, :, None]) ** 2).sum() / (coolers * samples * (mounts - 1))
reading = np.sqrt(((rise - slope[..., None] * loads) ** 2).sum() / (coolers * samples * mounts * 2))
freedom = coolers * (samples - 1)
se = np.sqrt(ms_sample / (samples * mounts))
print("R of C01, C02, C24", R[0], R[1], R[23])
print("reading K", reading, "mount K/W", np.sqrt(ms_mount - reading**2 / (loads @ loads)),
      "sample K/W", np.sqrt((ms_sample - ms_mount) / mounts))
print("rise of C01 at 90 and 150 W", 90 * R[0], 150 * R[0])
print("half-width of a cooler's mean at 90 W", t.ppf(0.975, freedom) * 90 * se)
q = studentized_range.ppf(0.95, coolers, freedom)
print("half-width of all pairs at 90 W", q * 90 * se, "C02 - C01", 90 * (R[1] - R[0]))

# Two exponentials through a real heater's step, by scipy's curve_fit: what it tends to.
text = (fixtures / "real" / "heater_steps_1Hz.csv").read_text().split("\n")
A = np.array([[float(x) for x in line.split(",")[1:]] for line in text if line.startswith("A ")])
step = lambda x, r, a, t1, t2: r - a * np.exp(-x / t1) - (r - a) * np.exp(-x / t2)
p, _ = curve_fit(step, A[:, 0], A[:, 1] - A[0, 1], [42, 30, 150, 40])
print("asymptote of step A", p[0], "time constants", p[2], p[3])

# Sessions: cooler T in both, X in the first alone, Y in the second alone; one offset between the sessions.
T1, T2, X, Y = 24.0, 26.5, 30.0, 31.0
print("Y - X with the second session's offset taken off", (Y - (T2 - T1)) - X)

# Shares of two formulas over five coolers, one pseudo-cooler for each formula, by direct maximisation; then each cooler's weight of the first.
from scipy.optimize import minimize_scalar

skill = np.array([[0, -1.0], [0, -2.0], [0, 0.5], [0, -3.0], [0, 1.2]])
mix = lambda s: np.exp(skill) @ np.array([s, 1 - s])
best = minimize_scalar(lambda s: -(np.log(mix(s)).sum() + np.log(s * (1 - s))), bounds=(1e-6, 1 - 1e-6), method="bounded",
                       options={"xatol": 1e-10}).x
print("share of the first formula", best, "weights", best * np.exp(skill[:, 0]) / mix(best))
