"""Times scipy's least_squares on the fit described by a JSON document on standard input; prints JSON.

The Jacobian is exact, the covariance is taken from it, as on the other side. The median of many warm fits is reported
for each method.
"""

import json
import statistics
import sys
import time

import numpy as np
import scipy
from scipy.optimize import least_squares

task = json.load(sys.stdin)
P, n, y = (np.array(task["data"][k]) for k in ("P", "n", "y"))
start = np.array([task["start"][k] for k in ("R_c", "R_a", "m", "k")])


def residuals(p):
    return P * (p[0] + p[1] * n ** -p[2]) * (1 - p[3] * P) - y


def jacobian(p):
    air = n ** -p[2]
    droop = P * (1 - p[3] * P)
    return np.column_stack((droop, droop * air, -droop * p[1] * air * np.log(n), -P * P * (p[0] + p[1] * air)))


def fit(method):
    result = least_squares(residuals, start, jac=jacobian, method=method, x_scale="jac", ftol=1e-15, xtol=1e-15, gtol=1e-15)
    covariance = np.linalg.inv(result.jac.T @ result.jac) * 2 * result.cost / (len(y) - 4)
    return result.x, np.sqrt(np.diag(covariance))


out = {"scipy": scipy.__version__}
for method in ("lm", "trf"):
    times = []
    for _ in range(task["repeats"]):
        begin = time.perf_counter()
        p, errors = fit(method)
        times.append(1e3 * (time.perf_counter() - begin))
    out[method] = {
        "median_ms": statistics.median(times[len(times) // 4 :]),
        "parameters": p.tolist(),
        "standardErrors": errors.tolist(),
    }
print(json.dumps(out))
