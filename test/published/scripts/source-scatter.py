"""Posterior of a scatter between groups by scipy: the reference numbers of test/sources/source-scatter.test.ts.

Six readings in three groups of two at heats of 70 and 140 W, own covariance 0.3 K of reading and a common error of 1 K;
log-normal prior about 0.003 K/W, log spread 0.6, cut at three spreads as the grid is.
"""
import numpy as np
from scipy.integrate import quad
from scipy.stats import multivariate_normal

heat = np.array([70, 140, 70, 140, 70, 140.0])
group = np.array([0, 0, 1, 1, 2, 2])
residual = np.array([0.9, 1.5, -0.4, -1.1, 0.2, 0.5])
same = (group[:, None] == group[None, :]) * np.outer(heat, heat)
own = 0.09 * np.eye(6) + 1.0


def weight(z):
    sigma = 0.003 * np.exp(0.6 * z)
    return np.exp(-0.5 * z * z) * multivariate_normal(np.zeros(6), own + sigma**2 * same).pdf(residual)


def mean(f):
    total = quad(weight, -3, 3, epsabs=0, epsrel=1e-10)[0]
    return quad(lambda z: weight(z) * f(0.003 * np.exp(0.6 * z)), -3, 3, epsabs=0, epsrel=1e-10)[0] / total


def quantile(p):
    low, high = -3.0, 3.0
    total = quad(weight, -3, 3, epsabs=0, epsrel=1e-10)[0]
    for _ in range(60):
        middle = (low + high) / 2
        if quad(weight, -3, middle, epsabs=0, epsrel=1e-9)[0] < p * total:
            low = middle
        else:
            high = middle
    return 0.003 * np.exp(0.6 * low)


print(np.sqrt(mean(lambda s: s * s)), quantile(0.025), quantile(0.975))
