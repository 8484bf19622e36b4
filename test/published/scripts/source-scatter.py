"""Posterior of a scatter between groups by scipy: the reference numbers of test/fit/source-scatter.test.ts.

Six readings in three groups of two at heats of 70 and 140 W, own covariance 0.3 K of reading and a common error of 1 K;
prior 0.85 log-normal about 0.003 K/W with log spread 0.6 and 0.15 about 0.02 K/W with 0.8, cut at three spreads as the grid is.
"""
import numpy as np
from scipy.integrate import quad
from scipy.stats import multivariate_normal, norm

heat = np.array([70, 140, 70, 140, 70, 140.0])
group = np.array([0, 0, 1, 1, 2, 2])
residual = np.array([0.9, 1.5, -0.4, -1.1, 0.2, 0.5])
same = (group[:, None] == group[None, :]) * np.outer(heat, heat)
own = 0.09 * np.eye(6) + 1.0


LOW, HIGH = np.log(0.003) - 1.8, np.log(0.02) + 2.4


def weight(x):
    prior = 0.85 * norm(np.log(0.003), 0.6).pdf(x) + 0.15 * norm(np.log(0.02), 0.8).pdf(x)
    return prior * multivariate_normal(np.zeros(6), own + np.exp(2 * x) * same).pdf(residual)


def integral(f, to=HIGH):
    return quad(f, LOW, to, epsabs=0, epsrel=1e-10, limit=200)[0]


def mean(f):
    return integral(lambda x: weight(x) * f(np.exp(x))) / integral(weight)


def quantile(p):
    low, high = LOW, HIGH
    total = integral(weight)
    for _ in range(60):
        middle = (low + high) / 2
        if integral(weight, middle) < p * total:
            low = middle
        else:
            high = middle
    return np.exp(low)


print(np.sqrt(mean(lambda s: s * s)), quantile(0.025), quantile(0.975))
