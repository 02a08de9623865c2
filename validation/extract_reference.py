"""Fits made outside Tidewall, for crates/extract/tests/against_scipy.rs.

Every case holds points with scatter, the values that scipy.optimize finds for them, and their standard errors. Models are
written here from their formulae; parameters are searched as they are, without the scales that Tidewall searches on.

    python3 validation/extract_reference.py

writes extract_reference.json beside this file.
"""

import json
import pathlib

import numpy as np
from scipy.optimize import curve_fit, least_squares

RNG = np.random.default_rng(20261125)
CASES = {}


def keep(name, points, values, errors, **more):
    CASES[name] = {
        "points": [[float(a) for a in row] for row in points],
        "values": {k: float(v) for k, v in values.items()},
        "errors": {k: float(v) for k, v in errors.items()},
        **more,
    }
    print(name, CASES[name]["values"], CASES[name]["errors"])


def fitted(name, keys, model, x, y, start, sigma=None, logarithm=False, show=None, unit=1.0, **more):
    """curve_fit of y, or of its logarithm, against x. `unit` is that of y and of the first parameter: the differences of
    curve_fit need parameters that are not tiny."""
    x, y = np.asarray(x, float), np.asarray(y, float) / unit
    start = np.array(start)
    start[0] /= unit
    target = np.log(y) if logarithm else y
    s = None if sigma is None else (sigma / y if logarithm else sigma)
    values, cov = curve_fit(
        model, x, target, p0=start, sigma=s, absolute_sigma=sigma is not None,
        x_scale=np.abs(start), ftol=1e-15, xtol=1e-15, gtol=1e-15, max_nfev=100000, method="trf",
    )
    # A second run from the result: the differences of the first are taken at a point that is still off.
    values, cov = curve_fit(
        model, x, target, p0=values, sigma=s, absolute_sigma=sigma is not None,
        x_scale=np.abs(values), jac="3-point", ftol=1e-15, xtol=1e-15, gtol=1e-15, max_nfev=100000, method="trf",
    )
    factor = np.ones(len(values))
    factor[0] = unit
    values, cov, y = values * factor, cov * np.outer(factor, factor), y * unit
    rows = np.column_stack([x, y] if sigma is None else [x, y, sigma])
    keep(name, rows if show is None else show, dict(zip(keys, values)), dict(zip(keys, np.sqrt(np.diag(cov)))), **more)


def noisy(clean, relative):
    return clean * np.exp(relative * RNG.standard_normal(len(clean)))


def line(x, a, b):
    return a + b * x


# Straight branches.
current = np.array([1.0, 2.0, 4.0, 8.0, 12.0, 16.0, 20.0])
fitted("on-branch", ["on_voltage", "dynamic_resistance"], line, current,
       2.9 + 0.15 * current + 0.04 * RNG.standard_normal(7), [1.0, 0.1])
sigma = 0.02 + 0.005 * current
fitted("on-branch-sigmas", ["on_voltage", "dynamic_resistance"], line, current,
       2.9 + 0.15 * current + sigma * RNG.standard_normal(7), [1.0, 0.1], sigma=sigma)

# Varistor.
current = np.geomspace(1e-3, 2000.0, 14)
low = current[:9]
fitted("varistor-power", ["breakdown", "exponent"], lambda i, v, a: np.log(v) + np.log(i / 1e-3) / a,
       low, noisy(47.0 * (low / 1e-3) ** (1 / 28.0), 0.01), [40.0, 20.0], logarithm=True)
bulk = lambda i, v, a, r: np.log(v * (i / 1e-3) ** (1 / a) + r * i)
fitted("varistor-bulk", ["breakdown", "exponent", "dynamic_resistance"], bulk,
       current, noisy(np.exp(bulk(current, 47.0, 28.0, 0.02)), 0.015), [50.0, 25.0, 0.01], logarithm=True)
terms = lambda i, b1, b2, b3, b4: np.log(10.0) * (
    b1 + b2 * np.log10(i) + b3 * np.exp(-np.log10(i)) + b4 * np.exp(np.log10(i)))
fitted("varistor-log", ["b1", "b2", "b3", "b4"], terms,
       current, noisy(np.exp(terms(current, 1.78, 0.03, -5e-4, 4e-3)), 0.01), [1.7, 0.05, -1e-3, 1e-3], logarithm=True)

# Gas tube.
slope = np.array([1e6, 1e7, 1e8, 1e9, 5e9, 1e10])
tube = lambda s, a, b: np.log(230.0 + a * (s / 1e6) ** b)
fitted("gas-tube", ["slope_factor", "slope_exponent"], tube,
       slope, noisy(np.exp(tube(slope, 77.8, 0.2258)), 0.03), [50.0, 0.3], logarithm=True, direct=230.0)
slope = np.geomspace(1e2, 1e10, 12)
tube = lambda s, a, b, v: np.log(v + a * (s / 1e6) ** b)
fitted("gas-tube-direct", ["slope_factor", "slope_exponent", "breakdown"], tube,
       slope, noisy(np.exp(tube(slope, 77.8, 0.2258, 230.0)), 0.02), [50.0, 0.3, 200.0], logarithm=True)

# Thyristor, thermal impedance: straight lines of logarithms.
width = np.array([10e-6, 20e-6, 160e-6, 310e-6, 560e-6, 1e-3])
fall = lambda t, i, q: np.log(i) - q * np.log(t / 1e-3)
fitted("thyristor-surge", ["surge_current_1ms", "width_exponent"], fall,
       width, noisy(np.exp(fall(width, 35.0, 0.315)), 0.08), [30.0, 0.4], logarithm=True)
width = np.geomspace(1e-6, 1e-2, 7)
power = noisy(150.0 / (0.32 * (width / 1e-3) ** 0.47), 0.05)
rise = lambda t, z, n: np.log(z) + n * np.log(t / 1e-3)
fitted("thermal", ["impedance_1ms", "time_exponent"], rise, width, 150.0 / power, [0.2, 0.5], logarithm=True,
       show=np.column_stack([width, power]), rise=150.0)

# Leakage.
celsius = np.array([25.0, 45.0, 65.0, 85.0, 105.0, 125.0])
leak = lambda t, i, d: np.log(i) + (t - 25.0) / d * np.log(2.0)
fitted("leakage", ["leakage_25c", "leakage_doubling"], leak,
       celsius, noisy(np.exp(leak(celsius, 2e-8, 11.5)), 0.15), [1e-8, 10.0], logarithm=True, unit=1e-9)

# Capacitance.
bias = np.array([0.0, 0.2, 0.5, 1.0, 2.0, 4.0, 8.0, 16.0, 30.0])
junction = lambda v, c, m: np.log(c) - m * np.log1p(v / 0.7)
capacitance = noisy(np.exp(junction(bias, 1e-10, 0.42)), 0.01)
fitted("capacitance", ["capacitance_0v", "grading_exponent"], junction, bias, capacitance, [2e-10, 0.5], logarithm=True,
       unit=1e-12)
free = lambda v, c, m, b: np.log(c) - m * np.log1p(v / b)
fitted("capacitance-built-in", ["capacitance_0v", "grading_exponent", "built_in"], free,
       bias, capacitance, [1.2e-10, 0.5, 0.6], logarithm=True, unit=1e-12)

# Robust losses with a given scale: values by least_squares, errors by Huber's formula (Robust Statistics, 1981, 7.6).
x = np.arange(12.0)
y = 5.0 + 0.5 * x + 0.05 * RNG.standard_normal(12)
y[[2, 9]] += [1.5, -0.8]
for name, loss, scale in [("huber", "huber", 0.08), ("soft-l1", "soft_l1", 0.06)]:
    found = least_squares(lambda p: y - line(x, *p), [1.0, 1.0], loss=loss, f_scale=scale,
                          ftol=1e-15, xtol=1e-15, gtol=1e-15, max_nfev=100000)
    u = (y - line(x, *found.x)) / scale
    if loss == "huber":
        psi, bend = scale * np.clip(u, -1, 1), (np.abs(u) <= 1).astype(float)
    else:
        psi, bend = scale * u / np.sqrt(1 + u * u), (1 + u * u) ** -1.5
    n, p = len(x), 2
    design = np.column_stack([np.ones(n), x])
    factor = (1 + p / n * bend.var() / bend.mean() ** 2) ** 2 * (psi**2).sum() / (n - p) / bend.mean() ** 2
    cov = factor * np.linalg.inv(design.T @ design)
    keep(name, np.column_stack([x, y]), dict(zip(["intercept", "slope"], found.x)),
         dict(zip(["intercept", "slope"], np.sqrt(np.diag(cov)))), scale=scale)


# Avalanche diode that heats itself. The kernel K sqrt(t) is the sum of one pole per decade from 1 ns to 10 s.
TAU = 10.0 ** np.arange(-9, 2)
RESISTANCE = np.log(10.0) / (2.0 * np.sqrt(np.pi)) * np.sqrt(TAU)
RESISTANCE[0] /= 1.0 - np.sqrt(0.1)


def shapes():
    """Rates of 10/1000 by its definition (front 1.25 (t90 - t10), half value from time zero), and 8/20."""
    from scipy.optimize import brentq

    def double(x):
        a, b = 1.0, np.exp(x)
        top = x / (b - 1.0)
        scale = 1.0 / (np.exp(-a * top) - np.exp(-b * top))
        wave = lambda t: scale * (np.exp(-a * t) - np.exp(-b * t))
        at = lambda level, lo, hi: brentq(lambda t: wave(t) - level, lo, hi, xtol=1e-15)
        front = 1.25 * (at(0.9, 0.0, top) - at(0.1, 0.0, top))
        return wave, front, at(0.5, top, 50.0)

    x = brentq(lambda x: np.log(double(x)[2] / double(x)[1]) - np.log(100.0), 1.0, 12.0, xtol=1e-14)
    unit, _, half = double(x)
    stretch = 1e-3 / half
    long = lambda t: unit(t / stretch)
    peak = 3.0 * 3.911e-6
    short = lambda t: (t / peak) ** 3 * np.exp(3.0 * (1.0 - t / peak))
    late = brentq(lambda t: short(t) - 0.5, peak, 10 * peak)
    return {"10/1000": (long, 2.5 * 1e-3), "8/20": (short, 2.5 * late)}


SHAPES = shapes()


def grid(wave):
    shape, end = SHAPES[wave]
    t = end * (np.arange(301) / 300.0) ** 2
    return t, np.where(t > 0, shape(np.maximum(t, 1e-30)), 0.0 if wave == "8/20" else shape(0.0))


def peak_voltage(wave, amps, vbr, alpha, r, k):
    """Highest voltage: power straight between the instants, every pole advanced exactly."""
    t, shape = grid(wave)
    i = amps * shape
    rise = np.zeros(len(TAU))
    power = (vbr + r * i[0]) * i[0]
    top = vbr + r * i[0]
    for n in range(1, len(t)):
        x = (t[n] - t[n - 1]) / TAU
        decay = np.exp(-x)
        mean = -np.expm1(-x) / x
        # 1 - mean loses all its digits for small x.
        late = np.where(x < 1e-3, x * (0.5 - x / 6.0), 1.0 - mean)
        early = (1.0 - late) - decay
        known = rise * decay + k * RESISTANCE * early * power
        weight = k * (RESISTANCE * late).sum()
        v = (vbr * (1.0 + alpha * known.sum()) + r * i[n]) / (1.0 - vbr * alpha * weight * i[n])
        power = v * i[n]
        rise = known + k * RESISTANCE * late * power
        top = max(top, v)
    return top


rows = [("10/1000", i) for i in (5.0, 12.0, 22.0, 33.0)] + [("8/20", i) for i in (20.0, 60.0, 110.0, 169.0)]
alpha = 9.8e-4
model = lambda p: np.array([peak_voltage(w, i, p[0], alpha, p[1], p[2]) for w, i in rows])
volts = model([33.0, 0.09, 9.0]) + 0.3 * RNG.standard_normal(8)
size = np.array([33.0, 0.09, 9.0])
found = least_squares(lambda p: volts - model(p), [32.0, 0.1, 8.0], x_scale=size, jac="3-point",
                      diff_step=1e-4, ftol=1e-14, xtol=1e-14, gtol=1e-14)
cov = np.linalg.inv(found.jac.T @ found.jac) * (found.fun**2).sum() / (8 - 3)
keys = ["breakdown", "isothermal_resistance", "heating_coefficient"]
keep("avalanche", [[i, v] for (_, i), v in zip(rows, volts)], dict(zip(keys, found.x)),
     dict(zip(keys, np.sqrt(np.diag(cov)))), waves=[w for w, _ in rows], alpha=alpha)

target = pathlib.Path(__file__).with_name("extract_reference.json")
target.write_text(json.dumps(CASES, indent=1) + "\n")
