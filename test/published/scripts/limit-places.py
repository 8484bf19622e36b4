"""Reference values of test/published/limit-places.test.ts: python3 test/published/scripts/limit-places.py

A cooler of resistance R whose pipes give out at L: rise = R·P + S·60⁻¹·L·ln(1 + exp(60·(P/L − 1))), S the slope beyond. Each of R, S, L is log-normal
beforehand; three loads were read with independent normal errors. The rise in the gap where the limit lies, by summing over a grid of all three
parameters, and the density of the reading at the greatest load given the others. numpy 2.3, scipy 1.17.
"""
import numpy as np
from scipy.special import logsumexp
from scipy.stats import norm

loads = np.array([60.0, 120.0, 180.0])
readings = np.array([12.1, 23.9, 43.0])
sigma = 0.3


def lognormal(mean, deviation):
    variance = np.log1p((deviation / mean) ** 2)
    return np.log(mean) - variance / 2, np.sqrt(variance)


(mR, sR), (mS, sS), (mL, sL) = lognormal(0.2, 0.1), lognormal(0.4, 0.3), (np.log(190.0), 0.45)
lnR = np.log(0.2) + np.linspace(-0.05, 0.05, 201)
lnS = mS + sS * np.linspace(-5, 5, 161)
lnL = np.linspace(np.log(40), np.log(208), 1201)


def rise(P, R, S, L):
    x = 60 * (P / L - 1)
    soft = np.maximum(x, 0) + np.log1p(np.exp(-np.abs(x)))
    return P * (R + S * soft / 60 / np.sqrt((P / L) ** 2 + 1 / 144))


logs, at150 = [], []
left = []
for l in lnL:
    R, S = np.exp(lnR)[:, None], np.exp(lnS)[None, :]
    L = np.exp(l)
    prior = norm.logpdf(lnR, mR, sR)[:, None] + norm.logpdf(lnS, mS, sS)[None, :] + norm.logpdf(l, mL, sL)
    each = [norm.logpdf(y, rise(P, R, S, L), sigma) for P, y in zip(loads, readings)]
    logs.append(prior + sum(each))
    left.append(prior + each[0] + each[1])
    at150.append(rise(150.0, R, S, L) + 0 * prior)
logs, at150, left = np.array(logs), np.array(at150), np.array(left)
weights = np.exp(logs - logsumexp(logs)).ravel()
values = at150.ravel()
order = np.argsort(values)
share = np.cumsum(weights[order])
mean = (weights * values).sum()
print("mean", mean, "sd", np.sqrt((weights * (values - mean) ** 2).sum()))
for p in (0.025, 0.25, 0.5, 0.75, 0.975):
    print(p, values[order][np.searchsorted(share, p)])
inside = np.exp(logsumexp(logs, axis=(1, 2)) - logsumexp(logs))
for edge in (130, 145, 160, 175):
    print("limit below", edge, inside[lnL < np.log(edge)].sum())
print("ln density of the reading at 180 W given the others", logsumexp(logs) - logsumexp(left))
