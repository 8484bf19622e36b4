"""Reference numbers for the meter's errors in several sessions, made with numpy and scipy (1.17) only.

Three coolers metered in three sessions, the second in two of them, without a background, so that the model is linear: the joint
normal of all readings and the sessions' errors is written out densely (block matrices, scipy.stats.multivariate_normal) and
conditioned. Printed are, for five scatters between sessions, their probabilities under a log-normal prior with median 1 dB and
sigma 0.5 on a grid of -2 to 2 sigma, mean and covariance of the errors over them, and mean and standard deviation of the own level of the first cooler at one
speed and of the difference of the first two, each over the same.
"""

import json

import numpy as np
from scipy.stats import multivariate_normal

bump, reach, reading = 0.6, 0.1, 0.3
readings = [  # cooler, lg speed, level, count, session
    (0, 2.8, 24.0, 1, 0), (0, 3.0, 33.1, 2, 0), (0, 3.2, 42.9, 1, 0),
    (1, 2.9, 27.0, 1, 0), (1, 3.1, 36.6, 1, 0), (1, 2.9, 28.6, 1, 1), (1, 3.1, 38.4, 2, 1),
    (2, 3.0, 31.0, 1, 1), (2, 3.2, 41.2, 1, 1), (2, 3.1, 35.1, 1, 2),
]
c, lg, y, n, s = (np.array(v) for v in zip(*readings))
x = lg - 3
ask = 3.05 - 3


def matern52(d):
    q = np.sqrt(5) * np.abs(d) / reach
    return (1 + q + q**2 / 3) * np.exp(-q)


def k(ca, xa, cb, xb):
    same = ca[:, None] == cb[None, :]
    return same * (400 + 25 * xa[:, None] * xb[None, :] + bump**2 * matern52(xa[:, None] - xb[None, :]))


V = k(c, x, c, x) + np.diag(reading**2 / n)
m = 30 + 50 * x
F = (s[:, None] == np.arange(3)[None, :]).astype(float)
P = np.eye(3) - 1 / 3
at = np.array([0, 1]), np.array([ask, ask])
K = k(*at, c, x)
K0 = k(*at, *at)
parts = []
for z in (-2, -1, 0, 1, 2):
    sigma = np.exp(0.5 * z)
    D = sigma**2 * P
    total = V + F @ D @ F.T
    log = -0.5 * z * z + multivariate_normal(m, total).logpdf(y)
    B = np.linalg.inv(total)
    cross = np.vstack([D @ F.T, K])  # errors, then own levels
    prior = np.block([[D, np.zeros((3, 2))], [np.zeros((2, 3)), K0]])
    mean = np.concatenate([np.zeros(3), 30 + 50 * at[1]]) + cross @ B @ (y - m)
    parts.append((log, mean, prior - cross @ B @ cross.T))
log = np.array([p[0] for p in parts])
w = np.exp(log - log.max())
w /= w.sum()
mean = sum(wi * p[1] for wi, p in zip(w, parts))
cov = sum(wi * (p[2] + np.outer(p[1] - mean, p[1] - mean)) for wi, p in zip(w, parts))
print(json.dumps(dict(
    weights=w.tolist(), offsets=mean[:3].tolist(), offsets_sd=np.sqrt(np.diag(cov)[:3]).tolist(),
    covariance_01=cov[0, 1], own=mean[3:].tolist(), own_sd=np.sqrt(np.diag(cov)[3:]).tolist(),
    difference_sd=float(np.sqrt(cov[3, 3] + cov[4, 4] - 2 * cov[3, 4])),
), indent=1))
