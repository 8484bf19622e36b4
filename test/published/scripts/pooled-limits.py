"""Reference values of test/published/pooled-limits.test.ts: python3 test/published/scripts/pooled-limits.py

Limits of the pipes of three coolers of one diameter: ln L = ln(described) + g + h. Cooler 1 met its limit (a reading of ln L), cooler 2
outlived its greatest load with a chance of 0.8 or met it, cooler 3 is asked. Two-dimensional quadrature over g and each h by scipy 1.17.
"""
import numpy as np
from scipy.integrate import quad
from scipy.stats import norm

spread, share = 0.45, 0.5
common, own = spread * np.sqrt(share), spread * np.sqrt(1 - share)


def likelihood(g, described, seen, weight, found, deviation):
    def outlived(about, within):
        return quad(lambda x: norm.pdf(x, about, within), np.log(seen), about + 12 * within)[0]

    def met(about, within):
        low, high = about - 12 * within, about + 12 * within
        return quad(lambda x: norm.pdf(x, about, within) * norm.pdf(found, x, deviation), low, high, points=[found])[0]

    middle = np.log(described)
    parts = [outlived(middle + g, own) / outlived(middle, spread), 0]
    if weight > 0:
        parts[1] = met(middle + g, own) / met(middle, spread)
    return (1 - weight) * parts[0] + weight * parts[1]


coolers = [(270.0, 180.0, 1.0, np.log(150), 0.05), (225.0, 240.0, 0.2, np.log(230), 0.1)]


def posterior(g):
    return norm.pdf(g, 0, common) * np.prod([likelihood(g, *one) for one in coolers])


ends = (-4 * common, 4 * common)
moments = [quad(lambda g: g**k * posterior(g), *ends, epsabs=1e-12, limit=200)[0] for k in range(3)]
mean = moments[1] / moments[0]
variance = moments[2] / moments[0] - mean**2
print("middle of a limit described as 180 W:", 180 * np.exp(mean), "spread:", np.sqrt(own**2 + variance))
