"""Reference values of test/published/distributions*.test.ts: python3 test/published/scripts/distributions.py

Quantiles and areas in 40 digits by root finding on mpmath's own incomplete beta and gamma functions and error function (mpmath 1.3);
the studentized range by scipy 1.17. Writes test/fixtures/distributions.json.
"""
import json
from pathlib import Path

from mpmath import betainc, erfc, findroot, gammainc, mp, mpf, sqrt
from scipy.stats import chi2, norm, studentized_range, t

mp.dps = 40
shares = [1e-12, 1e-8, 1e-4, 0.01, 0.024, 0.1, 0.3, 0.4, 0.499, 0.5, 0.501, 0.6, 0.74, 0.76, 0.9, 0.975, 0.9995, 1 - 1e-8]
freedoms = [0.5, 0.9, 1, 1.3, 2, 3, 4.7, 8, 15.5, 19.9, 20.1, 37, 120, 999.5, 1e4, 3e5]
places = [-50, -9, -3, -1, -0.1, 1e-6, 0, 0.2, 0.9, 2, 4, 12]


def normal_area(z):
    return erfc(-mpf(z) / sqrt(2)) / 2


def t_area(x, v):
    x, v = mpf(x), mpf(v)
    tail = betainc(v / 2, mpf(1) / 2, 0, v / (v + x * x), regularized=True) / 2
    return 1 - tail if x > 0 else tail


def chi2_area(x, v):
    return gammainc(mpf(v) / 2, 0, mpf(x) / 2, regularized=True)


def root(area, share, start):
    """A quantile: from scipy's value to 30 digits, by the secant."""
    start = mpf(float(start))
    return float(findroot(lambda x: area(x) - mpf(share), (start, start * (1 + mpf(10) ** -9)), tol=1e-50))


values = {
    "shares": shares,
    "freedoms": freedoms,
    "places": places,
    "studentT": [[0.0 if p == 0.5 else root(lambda x: t_area(x, v), p, t.ppf(p, v)) for p in shares] for v in freedoms],
    "studentTArea": [[float(t_area(x, v)) for x in places] for v in freedoms],
    "chiSquared": [[root(lambda x: chi2_area(x, v), p, chi2.ppf(p, v)) for p in shares] for v in freedoms],
    "normal": [[p, root(normal_area, p, norm.ppf(p))] for p in [0.0005 + 0.00137 * k for k in range(730)] if p != 0.5],
    "normalArea": [[z, float(normal_area(z))] for z in [-12 + 0.037 * k for k in range(649)]],
    "studentizedRange": [[k, v, float(studentized_range.ppf(0.95, k, v))] for k, v in [(3, 10), (5, 20), (10, 60), (6, 120)]],
}
path = Path(__file__).parent.parent.parent / "fixtures" / "distributions.json"
path.write_text(json.dumps(values, indent=None, separators=(",", ":")).replace("],[", "],\n[") + "\n")
