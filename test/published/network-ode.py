"""Makes the figures of network.test.ts with SciPy's ODE solver: a ladder of three rungs under a load profile.

usage: python3 network-ode.py
"""
import numpy
import scipy
from scipy.integrate import solve_ivp

resistance = numpy.array([0.05, 0.08, 0.10])
capacity = numpy.array([100.0, 400.0, 4000.0])
slower = numpy.array([0.05, 0.08, 0.17])


def rate(power, r):
    def f(t, x):
        flow = (x - numpy.append(x[1:], 0.0)) / r
        into = numpy.append(power(t), flow[:-1])
        return (into - flow) / capacity

    return f


def solve(power, r, span, start, times):
    return solve_ivp(rate(power, r), span, start, method="DOP853", rtol=1e-12, atol=1e-12, t_eval=times).y


print("scipy", scipy.__version__)
times = [1.0, 10.0, 100.0, 1000.0]
print("step", [float(f"{v:.12g}") for v in solve(lambda t: 1.0, resistance, (0, 1000), numpy.zeros(3), times)[0]])
ramp = solve(lambda t: 300.0 * t / 60, resistance, (0, 60), numpy.zeros(3), [30.0, 60.0])
print("ramp", [float(f"{v:.12g}") for v in ramp[0]])
back = solve(lambda t: 300.0 - 5.0 * (t - 60), resistance, (60, 120), ramp[:, -1], [90.0, 120.0])
print("back", [float(f"{v:.12g}") for v in back[0]])
a = solve(lambda t: 200.0, resistance, (0, 300), numpy.zeros(3), [100.0, 300.0])
b = solve(lambda t: 200.0, slower, (300, 600), a[:, -1], [301.0, 600.0])
c = solve(lambda t: 50.0, resistance, (600, 900), b[:, -1], [610.0, 900.0])
print("fan", [float(f"{v:.12g}") for part in (a, b, c) for v in part[0]])
x = numpy.zeros(3)
for pulse in range(400):
    on = solve(lambda t: 300.0, resistance, (0, 2), x, [2.0])[:, -1]
    x = solve(lambda t: 20.0, resistance, (2, 20), on, [20.0])[:, -1]
print("pulse", float(f"{on[0]:.12g}"), float(f"{x[0]:.12g}"))
