"""Reference numbers for the posterior of fan sound, made with numpy and scipy (1.17) only.

Prints, for one set of readings and scatters given: the mode of the own levels found by scipy.optimize.minimize on the
log posterior written out from its definition, mean and variance of the law and of the own level at two speeds from
the Hessian there (dense inverse), and, without a background, the log density of scipy.stats.multivariate_normal.
"""

import json

import numpy as np
from scipy.optimize import minimize
from scipy.stats import multivariate_normal

lg = np.array([2.7, 2.85, 3.0, 3.1, 3.2])
metered = np.array([26.3, 28.0, 34.1, 37.8, 43.5])
count = np.array([1, 2, 1, 3, 1])
background = 26.0
bump, reach, reading = 0.8, 0.1, 0.3
ask = np.array([2.75, 3.15])


def matern52(d):
    s = np.sqrt(5) * np.abs(d) / reach
    return (1 + s + s**2 / 3) * np.exp(-s)


x = lg - 3
H = np.column_stack([np.ones_like(x), x])
H_ask = np.column_stack([np.ones_like(ask), ask - 3])
prior_cov = np.diag([20.0**2, 5.0**2])
beta0 = np.array([30.0, 50.0])
K = H @ prior_cov @ H.T + bump**2 * matern52(x[:, None] - x[None, :])
K_ask = H_ask @ prior_cov @ H.T + bump**2 * matern52((ask - 3)[:, None] - x[None, :])
m = H @ beta0
noise = reading**2 / count


def f(g):
    return 10 * np.log10(10 ** (g / 10) + 10 ** (background / 10))


Kinv = np.linalg.inv(K)


def cost(g):
    return 0.5 * np.sum((metered - f(g)) ** 2 / noise) + 0.5 * (g - m) @ Kinv @ (g - m)


start = np.array([20.0, 24.0, 33.0, 37.0, 43.0])
best = minimize(cost, start, method="Nelder-Mead", options=dict(xatol=1e-10, fatol=1e-14, maxiter=200000, maxfev=200000))
best = minimize(cost, best.x, method="BFGS", options=dict(gtol=1e-10))
g = best.x
# Expected (Gauss-Newton) information at the mode.
w = 1 / (1 + 10 ** ((background - g) / 10))
S = np.linalg.inv(Kinv + np.diag(w**2 / noise))
gain = K_ask @ Kinv
mean_ask = H_ask @ beta0 + gain @ (g - m)
var_ask = np.diag(H_ask @ prior_cov @ H_ask.T) + bump**2 - np.sum(gain * K_ask, axis=1) + np.sum((gain @ S) * gain, axis=1)
B = prior_cov @ H.T @ Kinv
law = beta0 + B @ (g - m)
law_cov = prior_cov - B @ H @ prior_cov + B @ S @ B.T
out = dict(
    own=g.tolist(),
    law=law.tolist(),
    law_cov=law_cov.tolist(),
    mean_ask=mean_ask.tolist(),
    var_ask=var_ask.tolist(),
    logpdf_a=float(multivariate_normal(m, K + np.diag(noise)).logpdf(metered)),
)
# The same readings with other scatters, for a difference of log densities (constants cancel; single readings only).
K2 = H @ prior_cov @ H.T + 0.4**2 * matern52(x[:, None] - x[None, :])
out["logpdf_single"] = [
    float(multivariate_normal(m, K + 0.3**2 * np.eye(5)).logpdf(metered)),
    float(multivariate_normal(m, K2 + 0.5**2 * np.eye(5)).logpdf(metered)),
]
print(json.dumps(out, indent=1))
