"""Fits the NIST sets of a folder with scipy's curve_fit and prints what it found as JSON.

Usage: python3 fit-digits.py FOLDER. Each set is fitted twice from each start: with curve_fit as it comes, and with its
tolerances at the limit of double precision and 20,000 evaluations allowed.
"""

import json
import pathlib
import sys
import warnings

import numpy as np
import scipy
from scipy.optimize import curve_fit

WORDS = {
    name: getattr(np, name) for name in ("exp", "log", "log10", "sqrt", "tanh", "sin", "cos", "pi")
} | {"atan": np.arctan}
SETTINGS = {
    "default": {},
    "tight": {"ftol": 2.3e-16, "xtol": 2.3e-16, "gtol": 1e-15, "maxfev": 20000},
}


def fit(strd, start, settings):
    names = list(start)
    columns = {k: np.array(v, float) for k, v in strd["data"].items()}
    y = columns.pop("y")
    if strd.get("responseTransform") == "log":
        y = np.log(y)
    code = compile(strd["formula"].replace("^", "**"), strd["name"], "eval")

    def model(_, *p):
        return eval(code, {"__builtins__": {}}, {**WORDS, **columns, **dict(zip(names, p))})

    try:
        p, covariance = curve_fit(model, columns[next(iter(columns))], y, list(start.values()), **settings)
    except (RuntimeError, ValueError) as error:
        return {"refused": str(error)[:60]}
    residuals = y - model(None, *p)
    deviation = np.sqrt(residuals @ residuals / (len(y) - len(p)))
    errors = np.sqrt(np.diag(covariance))
    return {
        "parameters": dict(zip(names, map(float, p))),
        "standardErrors": {k: float(v) if np.isfinite(v) else None for k, v in zip(names, errors)},
        "residualStandardDeviation": float(deviation),
    }


def main():
    warnings.simplefilter("ignore")
    np.seterr(all="ignore")
    fits = {}
    for path in sorted(pathlib.Path(sys.argv[1]).glob("*.json")):
        strd = json.loads(path.read_text())
        fits[strd["name"]] = [
            {kind: fit(strd, start, settings) for kind, settings in SETTINGS.items()}
            for start in strd["starts"]
        ]
    print(json.dumps({"scipy": scipy.__version__, "numpy": np.__version__, "fits": fits}))


main()
