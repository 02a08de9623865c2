"""Times `scipy.integrate.solve_ivp` on the circuits that `tidewall-bench transient` has written.

    python3 validation/bench_solvers.py IN.json OUT.json [part of the names of circuits]

Each method runs over the same tolerances as the others, loosest first, until a run is within 1e-6 of the reference, or
four have come to no end in their time or used up half of it. It is given an analytic Jacobian, one constant matrix for
the linear part, scaled absolute tolerances and the corners of the source. Peaks and energies are read at three Gauss points of each step and its end, with
parabolas between; that is part of the time, as it is for the others. Times are the processor's.
"""

import json
import os
import platform
import statistics
import sys
import time
import warnings

# Matrices of this size gain nothing from threads.
for variable in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(variable, "1")

import numpy as np
import scipy
from scipy.integrate import solve_ivp

from bench_circuit import Circuit

TOLERANCES = [10.0 ** (-0.5 * half) for half in range(4, 19)]
METHODS = {
    "scipy Radau": {"method": "Radau"},
    "scipy BDF": {"method": "BDF"},
    "scipy LSODA": {"method": "LSODA"},
}
ENOUGH = 1e-6
MINOR = 0.05
ABSOLUTE = {"voltage": 10.0, "current": 10.0, "temperature": 100.0, "inner": 1.0}
PLACES = np.array([0.112701665379258311, 0.5, 0.887298334620741689])
WEIGHTS = np.array([5.0, 8.0, 5.0]) / 18.0
# Time that a run is given in seconds, and how many may come to no end or use up half of it before a method is given up on a circuit.
PATIENCE_S = 2.5
MOST_LOST = 4
# A run shorter than this in seconds is repeated, and the median counts.
REPEATED_BELOW_S = 0.3


class TooLong(RuntimeError):
    """A run has taken more time than it is given."""


def largest(t, values):
    """Largest size of each row, refined by the parabola through three samples."""
    best = np.abs(values).max(axis=1)
    left, right = np.diff(t)[:-1], np.diff(t)[1:]
    fits = (left > 0.0) & (right > 0.0)
    left, right = left[fits], right[fits]
    for k, row in enumerate(values):
        y0, y1, y2 = row[:-2][fits], row[1:-1][fits], row[2:][fits]
        a, b = (y1 - y0) / left, (y2 - y1) / right
        curvature = (b - a) / (left + right)
        slope = (a * right + b * left) / (left + right)
        with np.errstate(divide="ignore", invalid="ignore"):
            shift = -slope / (2.0 * curvature)
        excess = 0.5 * slope * shift
        room = 1.5 * np.maximum(np.abs(y1 - y0), np.abs(y2 - y1))
        top = ((y1 > y0) & (y1 >= y2)) | ((y1 < y0) & (y1 <= y2))
        inside = top & (shift > -left) & (shift < right) & (np.abs(excess) <= room)
        if inside.any():
            best[k] = max(best[k], np.abs(y1 + excess)[inside].max())
    return best


class Log:
    """Peaks and energies while they are gathered."""

    def __init__(self, circuit):
        self.circuit = circuit
        self.volts = np.zeros(len(circuit.data["probes"]))
        self.amps = np.zeros(len(circuit.data["elements"]))
        self.joules = np.zeros(len(circuit.data["elements"]))
        self.steps = 0

    def take(self, t, solution):
        h = np.diff(t)
        self.steps += len(h)
        inner = t[:-1, None] + h[:, None] * PLACES
        times = np.concatenate([[t[0]], np.column_stack([inner, t[1:]]).ravel()])
        volts, amps, watts = self.circuit.watched(times, solution(times))
        self.volts = np.maximum(self.volts, largest(times, volts))
        self.amps = np.maximum(self.amps, largest(times, amps))
        at_places = watts[:, 1:].reshape(len(watts), len(h), 4)[:, :, :3]
        self.joules += (at_places * WEIGHTS).sum(axis=2) @ h


def events(circuit, due):
    """Event functions of the present modes; with `due`, only those that count at once."""
    found = []
    for d in circuit.devices:
        for name, at_once in d.law.watches(d.mode) if hasattr(d.law, "watches") else ():
            if due and not at_once:
                continue

            def event(t, y, d=d, name=name):
                inner = y[d.inner : d.inner + 2]
                return d.law.watch(name, d.law.current(d.mode, y[d.v], d.ambient, inner)[0], inner)

            event.terminal, event.direction = True, 1.0
            found.append((d, name, event))
    return found


def switch(circuit, d, name, y):
    d.mode, y[d.inner : d.inner + 2] = d.law.after(name, y[d.v], y[d.inner : d.inner + 2])
    for other, name, event in events(circuit, True):
        if event(0.0, y) >= 0.0:
            switch(circuit, other, name, y)
            return


def run(data, options, relative):
    """One run: (quantities, steps)."""
    circuit = Circuit(data)
    log, end = Log(circuit), data["duration_s"]
    absolute = relative * np.array([ABSOLUTE[kind] for kind in circuit.kinds])
    stops = [stop for stop in data["breakpoints_s"] if stop < end] + [end]
    deadline = time.process_time() + PATIENCE_S

    def rhs(t, y):
        if time.process_time() > deadline:
            raise TooLong(f"more than {PATIENCE_S:g} s, at {t:.3e} s of {end:.3e} s")
        return circuit.rhs(t, y)

    t, y, first = 0.0, circuit.y0.copy(), 1e-3 * data["finest_s"]
    while t < end:
        stop = min(stop for stop in stops if stop > t)
        watched = events(circuit, False)
        solution = solve_ivp(
            rhs,
            (t, stop),
            y,
            rtol=relative,
            atol=absolute,
            jac=circuit.jacobian,
            dense_output=True,
            first_step=min(first, stop - t),
            events=[event for _, _, event in watched],
            **options,
        )
        if solution.status < 0:
            raise RuntimeError(f"{solution.message} at {solution.t[-1]:.3e} s")
        log.take(solution.t, solution.sol)
        t, y, first = solution.t[-1], solution.y[:, -1].copy(), 1e-3 * data["finest_s"]
        if solution.status == 1:
            which = next(k for k, times in enumerate(solution.t_events) if len(times))
            t, y = solution.t_events[which][0], solution.y_events[which][0].copy()
            switch(circuit, watched[which][0], watched[which][1], y)
            first *= 1e-3
    quantities = {"volts": log.volts, "amps": log.amps, "joules": log.joules}
    return {key: value.tolist() for key, value in quantities.items()}, log.steps


def deviation(quantities, reference):
    """Largest deviation, a small quantity judged by a share of the largest of its kind."""
    worst = 0.0
    for key, wanted in reference.items():
        wanted = np.array(wanted)
        share = np.abs(np.array(quantities[key]) - wanted) / np.maximum(wanted, MINOR * wanted.max())
        worst = max(worst, float(share.max()))
    return worst


def point(data, options, relative):
    times = []
    while not times or (sum(times) < REPEATED_BELOW_S and len(times) < 20):
        started = time.process_time()
        try:
            quantities, steps = run(data, options, relative)
        except (RuntimeError, ValueError, ArithmeticError) as error:
            return {
                "relative": relative,
                "seconds": time.process_time() - started,
                "steps": 0,
                "quantities": None,
                "failure": str(error),
            }
        times.append(time.process_time() - started)
    return {
        "relative": relative,
        "seconds": statistics.median(times),
        "steps": steps,
        "quantities": quantities,
        "failure": None,
    }


def sweep(circuit, options):
    points, lost = [], 0
    for relative in TOLERANCES:
        found = point(circuit["circuit"], options, relative)
        points.append(found)
        # A loose tolerance may take longer than a tight one, where Newton's iteration fails.
        lost += found["seconds"] > 0.5 * PATIENCE_S or found["failure"] is not None
        met = found["quantities"] and deviation(found["quantities"], circuit["reference"]) < ENOUGH
        if met or lost == MOST_LOST:
            break
    return points


def main():
    source, target = sys.argv[1:3]
    wanted = sys.argv[3] if len(sys.argv) > 3 else ""
    # A trial step far off overflows; the methods reject it and go on.
    warnings.simplefilter("ignore", RuntimeWarning)
    with open(source) as file:
        report = json.load(file)
    circuits = {}
    for circuit in report["circuits"]:
        if wanted not in circuit["key"]:
            continue
        if len(Circuit(circuit["circuit"]).y0) > circuit["states"]:
            raise RuntimeError("more states than Tidewall has")
        sweeps = []
        for name, options in METHODS.items():
            started = time.process_time()
            sweeps.append({"solver": name, "points": sweep(circuit, options)})
            spent = time.process_time() - started
            print(f"{circuit['key']}: {name}, {spent:.1f} s", file=sys.stderr, flush=True)
        circuits[circuit["key"]] = sweeps
    versions = [f"scipy {scipy.__version__}, numpy {np.__version__}, Python {platform.python_version()}"]
    with open(target, "w") as file:
        json.dump({"versions": versions, "circuits": circuits}, file, indent=1)


if __name__ == "__main__":
    main()
