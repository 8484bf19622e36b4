# Chances of test/published/fault-chances.test.ts, with scipy's multivariate normal and every combination gone through by itertools:
# python3 fault-chances.py
import itertools, json
import numpy as np
from scipy.stats import multivariate_normal

SHARES = [0.005, 0.02, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5]
CHANCES = [0.02, 0.08, 0.15, 0.2, 0.2, 0.15, 0.1, 0.1]
PRIOR = {0: lambda e: 1 - e, 1: lambda e: 0.75 * e, -1: lambda e: 0.25 * e}
GRID = [(0.004 * np.exp(0.45 * z), -z * z / 2) for z in np.linspace(-3, 5, 15)]

coolers = [[0.001, -0.001], [0.02, -0.02], [0.0, 0.003, 0.045], [0.002, -0.003], [-0.001, 0.0015]]
unknown = [1e-2 * np.ones((len(m), len(m))) + 4e-7 * np.eye(len(m)) for m in coolers]
total, parts = 0.0, [{} for _ in coolers]
for sigma, log in GRID:
    for share, chance in zip(SHARES, CHANCES):
        each = []
        for m, u in zip(coolers, unknown):
            density = {}
            for fault in itertools.product([0, 1, -1], repeat=len(m)):
                cov = u + np.diag([sigma**2 + (0.015**2 if f else 0) for f in fault])
                prior = np.prod([PRIOR[f](share) for f in fault])
                density[fault] = prior * multivariate_normal(0.035 * np.array(fault), cov).pdf(m)
            each.append(density)
        sums = [sum(d.values()) for d in each]
        whole = np.exp(log) * chance * np.prod(sums)
        total += whole
        for part, density, s in zip(parts, each, sums):
            for fault, value in density.items():
                part[fault] = part.get(fault, 0) + whole * value / s
for m, part in zip(coolers, parts):
    healthy = [sum(v for f, v in part.items() if f[i] == 0) / total for i in range(len(m))]
    print(json.dumps({"healthy": healthy, "allHealthy": part[tuple([0] * len(m))] / total}))
