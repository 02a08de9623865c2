"""Reference results of the model problems from a second, independent formulation integrated by scipy.

Every model is run with two tolerances of Radau (implicit Runge-Kutta, order 5), and those that last no longer than a
microsecond with LSODA (multistep) as well. All runs must agree within `AGREEMENT`; the finest goes into
`reference.json`. Longer models would take LSODA millions of steps: the high orders of its stiff formulae are not
stable for the lightly damped gigahertz ringing of tracks and junctions.

    python3 validation/reference.py            all models
    python3 validation/reference.py surge      those whose name contains "surge" (written nowhere)
"""

import json
import multiprocessing
import os
import pathlib
import platform
import sys
import time
import warnings

# Matrices of twenty rows gain nothing from threads; two processes share the work instead.
for variable in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(variable, "1")

import numpy as np
import scipy
from scipy.integrate import solve_ivp

import circuits

FINE = ("Radau", 1e-10)
COARSE = ("Radau", 1e-8)
OTHER = ("LSODA", 1e-10)
OTHER_UP_TO_S = 1e-6
AGREEMENT = 1e-4
# The absolute tolerance of a state is this many of its unit (a volt, an ampere, a kelvin, a microjoule …) times the
# relative one.
ABSOLUTE = 1.0
AT_ONCE = ("fires", "fires downwards", "arcs")


class Extremes:
    """Largest and smallest value of every watched combination of states, refined between samples.

    Beside each extreme sample, the cubic through values and slopes of both neighbours is searched.
    """

    def __init__(self, problem):
        self.problem = problem
        count = len(problem.watched)
        self.high, self.low = np.full(count, -np.inf), np.full(count, np.inf)

    def take(self, t, y):
        values = self.problem.watch_row @ y
        for k, row in enumerate(self.problem.watch_row):
            self.high[k] = max(self.high[k], self.refined(t, y, values[k], row))
            self.low[k] = min(self.low[k], -self.refined(t, y, -values[k], -row))

    def refined(self, t, y, values, row):
        best = values.max()
        if len(values) < 3:
            return best
        tops = np.flatnonzero((values[1:-1] >= values[:-2]) & (values[1:-1] >= values[2:])) + 1
        if not len(tops):
            return best
        span = values.max() - values.min()
        tops = tops[values[tops] > best - 0.02 * span]
        tops = tops[np.argsort(values[tops])][-20:]
        for top in tops:
            for a, b in ((top - 1, top), (top, top + 1)):
                h = t[b] - t[a]
                if h <= 0.0:
                    continue
                slopes = [h * float(row @ self.problem.rhs(t[k], y[:, k])) for k in (a, b)]
                best = max(best, cubic_top(values[a], values[b], *slopes))
        return best


def cubic_top(y0, y1, d0, d1):
    """Largest value on 0 to 1 of the cubic with these end values and slopes."""
    a, b = 2.0 * (y0 - y1) + d0 + d1, 3.0 * (y1 - y0) - 2.0 * d0 - d1
    best = max(y0, y1)
    for s in np.roots([3.0 * a, 2.0 * b, d0]) if abs(a) + abs(b) > 0.0 else ():
        if abs(s.imag) < 1e-12 and 0.0 < s.real < 1.0:
            s = s.real
            best = max(best, ((a * s + b) * s + d0) * s + y0)
    return best


def watch_list(problem):
    """Event functions of the present modes, with the device and the name of each."""
    events = []
    for device in problem.devices:
        for name in device.law.watches():

            def event(t, y, device=device, name=name):
                return device.law.watch(name, t, *problem.bias(device, t, y))

            event.terminal, event.direction = True, 1.0
            events.append((device, name, event))
    return events


def switch(problem, device, name, t, y):
    v, rise, _, _ = problem.bias(device, t, y)
    alive, effect = device.law.switch(name, t, v, rise)
    if alive is not None and device.alive is not None:
        y[device.alive] = alive
    if effect is not None and device.effect is not None:
        y[device.effect] = effect


def settle(problem, t, y, log):
    """Carries out changes of mode that are due at this very instant."""
    for _ in range(20):
        due = [
            (device, name)
            for device, name, event in watch_list(problem)
            if name in AT_ONCE and event(t, y) >= 0.0
        ]
        if not due:
            return
        switch(problem, *due[0], t, y)
        log.append((t, due[0][0].name, due[0][1]))
    raise RuntimeError(f"{problem.name}: no end of switching at {t}")


def solve(name, method, tolerance):
    """Integrates one model; returns (watched extremes, energies, switching log, steps, seconds)."""
    problem = circuits.build(name)
    started = time.monotonic()
    t, y = 0.0, problem.y0.copy()
    extremes, log, steps = Extremes(problem), [], 0
    settle(problem, t, y, log)
    while t < problem.end_s:
        alarms = [(d.law.alarm(), d) for d in problem.devices if d.law.alarm() is not None]
        alarm = min(alarms, key=lambda a: a[0], default=(np.inf, None))
        corner = min((c for c in problem.corners if c > t * (1.0 + 1e-12)), default=np.inf)
        stop = min(problem.end_s, alarm[0], corner)
        watches = watch_list(problem)
        solution = solve_ivp(
            problem.rhs,
            (t, stop),
            y,
            method=method,
            rtol=tolerance,
            atol=tolerance * ABSOLUTE * problem.scale,
            jac=problem.jacobian,
            events=[event for _, _, event in watches],
            first_step=min(1e-13, 1e-3 * (stop - t)),
        )
        if solution.status < 0:
            raise RuntimeError(f"{name}: {method} {tolerance}: {solution.message} at {solution.t[-1]}")
        steps += len(solution.t) - 1
        extremes.take(solution.t, solution.y)
        t, y = solution.t[-1], solution.y[:, -1].copy()
        if solution.status == 1:
            which = next(k for k, times in enumerate(solution.t_events) if len(times))
            device, watch, _ = watches[which]
            t, y = solution.t_events[which][0], solution.y_events[which][0].copy()
            switch(problem, device, watch, t, y)
            log.append((t, device.name, watch))
            settle(problem, t, y, log)
        elif t >= alarm[0]:
            switch(problem, alarm[1], "clock", t, y)
            log.append((t, alarm[1].name, "clock"))
            settle(problem, t, y, log)
    result = {"probes": {}, "elements": {}}
    for (kind, key, _), high, low in zip(problem.watched, extremes.high, extremes.low):
        if kind == "probe":
            result["probes"][key] = {"max_v": float(high), "min_v": float(low)}
        elif kind == "element":
            energy = float(y[problem.elements[key][1]])
            result["elements"][key] = {"max_a": float(high), "min_a": float(low), "energy_j": energy}
        else:
            result["elements"][key]["junction_c"] = 25.0 + float(high)
    result["switching"] = [{"at_s": float(at), "device": d, "change": c} for at, d, c in log]
    return result, steps, time.monotonic() - started


def scales(result):
    """The largest current and the largest energy of a result."""
    elements = result["elements"].values()
    return {
        "a": max(max(abs(e["max_a"]), abs(e["min_a"])) for e in elements),
        "j": max(e["energy_j"] for e in elements),
    }


def deviation(a, b):
    """Largest difference of two results, each relative to its own peak size, and where it is.

    An element that carries less than a thousandth of the circuit's largest current or energy is judged against that
    thousandth: a track that only charges picofarads has no peak that matters.
    """
    worst = (0.0, "")
    whole = scales(b)

    def note(x, y, size, floor, where):
        nonlocal worst
        size = max(size, floor)
        if size > 0.0 and abs(x - y) / size > worst[0]:
            worst = (abs(x - y) / size, where)

    for key, q in b["probes"].items():
        size = max(abs(q["max_v"]), abs(q["min_v"]))
        for side in ("max_v", "min_v"):
            note(a["probes"][key][side], q[side], size, 0.0, f"{key} {side}")
    for key, q in b["elements"].items():
        p = a["elements"][key]
        size = max(abs(q["max_a"]), abs(q["min_a"]))
        for side in ("max_a", "min_a"):
            note(p[side], q[side], size, 1e-3 * whole["a"], f"{key} {side}")
        note(p["energy_j"], q["energy_j"], q["energy_j"], 1e-3 * whole["j"], f"{key} energy")
        if "junction_c" in q:
            note(p["junction_c"], q["junction_c"], q["junction_c"] - 25.0, 1.0, f"{key} junction")
    return worst


def settings(name):
    short = circuits.MODELS[name][0] <= OTHER_UP_TO_S
    return (FINE, COARSE, OTHER) if short else (FINE, COARSE)


def job(task):
    name, setting = task
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        try:
            return name, setting, solve(name, *setting), None
        except Exception as error:  # reported by the parent, which knows what else has failed
            return name, setting, None, f"{type(error).__name__}: {error}"


def main():
    wanted = sys.argv[1] if len(sys.argv) > 1 else ""
    names = [name for name in circuits.MODELS if wanted in name]
    results, failed = {}, False
    with multiprocessing.Pool(2, maxtasksperchild=1) as pool:
        tasks = [(name, setting) for name in names for setting in settings(name)]
        for name, setting, solved, error in pool.imap_unordered(job, tasks):
            if error:
                failed = True
                print(f"{name}: {setting}: {error}", flush=True)
                continue
            results.setdefault(name, {})[setting] = solved[0]
            print(f"{name}: {setting} {solved[1]} steps, {solved[2]:.1f} s", flush=True)
    models = {}
    for name in names:
        runs = results.get(name, {})
        if len(runs) < len(settings(name)):
            continue
        others = [deviation(run, runs[FINE]) for setting, run in runs.items() if setting != FINE]
        worst, where = max(others)
        if worst > AGREEMENT:
            failed = True
            where += "  NOT CONVERGED"
        print(f"{name}: runs agree within {worst:.1e} ({where})")
        models[name] = runs[FINE] | {"agreement": float(f"{worst:.2g}")}
    if wanted:
        print(json.dumps(models, indent=1))
    elif not failed:
        document = {
            "made_with": {
                "python": platform.python_version(),
                "numpy": np.__version__,
                "scipy": scipy.__version__,
                "fine": FINE,
                "coarse": COARSE,
                "other": OTHER,
                "absolute": ABSOLUTE,
            },
            "models": models,
        }
        target = pathlib.Path(__file__).with_name("reference.json")
        target.write_text(json.dumps(document, indent=1) + "\n")
        print(f"written: {target.name}")
    if failed:
        sys.exit("some runs failed or disagree")


if __name__ == "__main__":
    main()
