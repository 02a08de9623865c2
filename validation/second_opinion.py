"""A second opinion on the transients: sixty-one circuits solved by another formulation and another integrator.

The circuits stand in `second_opinion_circuits.json`, which the engine's test reads as well. Here each becomes a set of
charge-oriented nodal equations `d/dt q(x) + f(x, t) = 0`: one row for every node (sum of currents), every inductance
(flux linkage), every thermal node (heat) and every memory of a switching device. Nothing is eliminated, nodes without
capacitance stay algebraic. The equations are integrated by the Radau IIA method of order 5, written for this form: the
charges, not their derivatives, are collocated, Newton's method is run on all three stages at once with a new Jacobian in
every iteration, and the error is estimated as in Hairer and Wanner, "Solving Ordinary Differential Equations II",
section IV.8 (from memory).

Every circuit is run at two tolerances that must agree within `AGREEMENT`; the finer one is written.

    python3 validation/second_opinion.py              all, writes second_opinion.json
    python3 validation/second_opinion.py gas          those whose family or name contains "gas" anew, the others kept
"""

import json
import multiprocessing
import os
import pathlib
import platform
import sys
import time

for variable in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(variable, "1")

import numpy as np
import scipy

from second_opinion_equations import Circuit
from second_opinion_radau import Integrator

HERE = pathlib.Path(__file__).parent
FINE, COARSE = 1e-6, 1e-5
# Nothing rings in runs of many milliseconds: their few large steps go from one side of a clamp's corner to the other, and
# energies, which have no error control of their own, want them smaller.
LONG_S, LONG_FACTOR = 5e-3, 1e-2
AGREEMENT = 3e-4


def read():
    return json.loads((HERE / "second_opinion_circuits.json").read_text())


def solve(description, common, tolerance):
    started = time.monotonic()
    circuit = Circuit(description, common).build()
    run = Integrator(circuit, tolerance * (LONG_FACTOR if description["end_s"] > LONG_S else 1.0))
    run.run(description["end_s"])
    result = {"volts": {}, "elements": {}}
    for (kind, name), high, low in zip(circuit.out_names, run.high, run.low):
        if kind == "volts":
            result["volts"][name] = {"max_v": float(high), "min_v": float(low)}
        else:
            entry = result["elements"].setdefault(name, {})
            if kind == "amps":
                entry |= {"max_a": float(high), "min_a": float(low)}
            else:
                entry["junction_c"] = float(high)
    for (name, *_), joules in zip(circuit.heats, run.energy):
        result["elements"][name]["energy_j"] = float(joules)
    result["switching"] = [{"at_s": float(at), "device": device, "change": change} for at, device, change in run.log]
    return result, run.steps, time.monotonic() - started


def deviation(a, b, ambient_c):
    """Largest difference of two results as a share of each quantity's own size, and where."""
    worst = (0.0, "")
    largest_a = max(max(abs(e["max_a"]), abs(e["min_a"])) for e in b["elements"].values())
    largest_j = max(e["energy_j"] for e in b["elements"].values())

    def note(x, y, size, where):
        nonlocal worst
        if size > 0.0:
            worst = max(worst, (abs(x - y) / size, where))

    for name, want in b["volts"].items():
        size = max(abs(want["max_v"]), abs(want["min_v"]))
        for side in ("max_v", "min_v"):
            note(a["volts"][name][side], want[side], size, f"{name} {side}")
    for name, want in b["elements"].items():
        got = a["elements"][name]
        size = max(abs(want["max_a"]), abs(want["min_a"]), 0.01 * largest_a)
        for side in ("max_a", "min_a"):
            note(got[side], want[side], size, f"{name} {side}")
        note(got["energy_j"], want["energy_j"], max(want["energy_j"], 0.01 * largest_j), f"{name} energy")
        if "junction_c" in want:
            note(got["junction_c"], want["junction_c"], max(want["junction_c"] - ambient_c, 1.0), f"{name} junction")
    return worst


def job(task):
    k, tolerance = task
    common = read()
    description = common["circuits"][k]
    try:
        return k, tolerance, solve(description, common, tolerance), None
    except Exception as error:  # reported by the parent, which knows what else has failed
        return k, tolerance, None, f"{type(error).__name__}: {error}"


def main():
    wanted = sys.argv[1] if len(sys.argv) > 1 else ""
    common = read()
    label = lambda c: f"{c['family']}: {c['name']}"
    picked = [k for k, c in enumerate(common["circuits"]) if wanted in label(c)]
    results, failed = {}, False
    with multiprocessing.Pool(2) as pool:
        for k, tolerance, solved, error in pool.imap_unordered(
            job, [(k, tol) for k in picked for tol in (COARSE, FINE)]
        ):
            name = label(common["circuits"][k])
            if error:
                failed = True
                print(f"{name} ({tolerance}): {error}", flush=True)
                continue
            results.setdefault(k, {})[tolerance] = solved[0]
            print(f"{name} ({tolerance}): {solved[1]} steps, {solved[2]:.1f} s", flush=True)
    target = HERE / "second_opinion.json"
    kept = json.loads(target.read_text())["circuits"] if wanted and target.exists() else []
    out = {(entry["family"], entry["name"]): entry for entry in kept}
    for k in picked:
        runs, text = results.get(k, {}), common["circuits"][k]
        if len(runs) < 2:
            continue
        worst, where = deviation(runs[COARSE], runs[FINE], text["ambient_c"])
        if worst > AGREEMENT:
            failed = True
            print(f"{label(text)}: NOT CONVERGED, runs differ by {worst:.1e} ({where})")
            continue
        print(f"{label(text)}: runs agree within {worst:.1e} ({where})")
        head = {"family": text["family"], "name": text["name"]}
        out[text["family"], text["name"]] = {**head, **runs[FINE], "agreement": float(f"{worst:.2g}")}
    made = {
        "python": platform.python_version(),
        "numpy": np.__version__,
        "scipy": scipy.__version__,
        "fine": FINE,
        "coarse": COARSE,
    }
    keys = [(text["family"], text["name"]) for text in common["circuits"]]
    entries = ",\n".join(json.dumps(out[key]) for key in keys if key in out)
    target.write_text(f'{{\n"made_with": {json.dumps(made)},\n"circuits": [\n{entries}\n]\n}}\n')
    print(f"written: {target.name}, {sum(key in out for key in keys)} of {len(keys)} circuits")
    if failed:
        sys.exit("some runs failed or disagree")


if __name__ == "__main__":
    main()
