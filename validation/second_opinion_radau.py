"""Radau IIA, implicit Runge-Kutta of order 5, on charges, with events."""

import math

import numpy as np
from scipy.optimize import brentq

S6 = math.sqrt(6.0)
NODES = np.array([(4.0 - S6) / 10.0, (4.0 + S6) / 10.0, 1.0])
A = np.array(
    [
        [(88.0 - 7.0 * S6) / 360.0, (296.0 - 169.0 * S6) / 1800.0, (-2.0 + 3.0 * S6) / 225.0],
        [(296.0 + 169.0 * S6) / 1800.0, (88.0 + 7.0 * S6) / 360.0, (-2.0 - 3.0 * S6) / 225.0],
        [(16.0 - S6) / 36.0, (16.0 + S6) / 36.0, 1.0 / 9.0],
    ]
)
E = np.array([-13.0 - 7.0 * S6, -13.0 + 7.0 * S6, -1.0]) / 3.0
REAL = 3.0 + 3.0 ** (2.0 / 3.0) - 3.0 ** (1.0 / 3.0)
# Cubic through the start and the three stages, sampled within the step.
PLACES = np.concatenate(([0.0], NODES))
INSIDE = np.linspace(0.0, 1.0, 17)[1:]


def cubic(places):
    """Weights of the four known points at given places of the step (beyond one: extrapolation)."""
    places = np.atleast_1d(places)
    out = np.ones((len(places), 4))
    for k in range(4):
        for j in range(4):
            if j != k:
                out[:, k] *= (places - PLACES[j]) / (PLACES[k] - PLACES[j])
    return out


DENSE = cubic(INSIDE)


class Failed(Exception):
    pass


class Integrator:
    def __init__(self, circuit, tolerance):
        self.c, self.tol = circuit, tolerance
        self.t, self.x = 0.0, circuit.x0.copy()
        self.settle_algebraic()
        self.high = circuit.W @ self.x
        self.low = self.high.copy()
        self.energy = np.zeros(len(circuit.heats))
        self.log, self.steps = [], 0

    def weight(self, x):
        return self.tol * (self.c.unit + np.abs(x))

    def settle_algebraic(self):
        """Voltages of nodes without capacitance at the start: charges held, the rest of the equations solved."""
        c = self.c
        q0, _, C, _ = c.evaluate(self.t, self.x)
        # Rows and columns that some charge belongs to keep their values.
        free = [k for k in range(c.n) if not C[k].any()]
        if not free:
            return
        for _ in range(50):
            _, f, _, G = c.evaluate(self.t, self.x)
            step = np.linalg.solve(G[np.ix_(free, free)], f[free])
            self.x[free] -= step
            if np.max(np.abs(step)) < 1e-9:
                return
        raise Failed("no state to start from")

    def moved(self, stages, Z):
        """Charge moved since the start of the step. The linear part is taken from the differences themselves: beside the
        charge of a coupling capacitor that of a node's picofarads would drown in rounding."""
        return np.array([s[0] for s in stages]) - self.q0 + Z @ self.c.Q.T

    def attempt(self, h, guess):
        """Stages of one step, as differences from its start, or None without convergence."""
        c, n, x0 = self.c, self.c.n, self.x
        Z = guess - x0
        weight = self.weight(x0)
        times = self.t + NODES * h
        last = math.inf
        for k in range(12):
            stages = [c.evaluate(times[i], x0 + Z[i]) for i in range(3)]
            residual = self.moved(stages, Z) + h * (A @ np.array([s[1] for s in stages]))
            J = np.empty((3, n, 3, n))
            for i in range(3):
                for j in range(3):
                    J[i, :, j, :] = (h * A[i, j]) * stages[j][3]
                J[i, :, i, :] += stages[i][2]
            # Rows in the size of their own charge; algebraic rows have only h G.
            J = J.reshape(3 * n, 3 * n)
            scale = 1.0 / np.maximum(np.abs(J).max(axis=1), 1e-300)
            try:
                step = np.linalg.solve(J * scale[:, None], residual.reshape(-1) * scale).reshape(3, n)
            except np.linalg.LinAlgError:
                return None
            if not np.all(np.isfinite(step)):
                return None
            Z -= step
            size = np.max(np.abs(step) / weight)
            if size < 1e-2:
                return Z
            if k > 4 and size > 2.0 * last:
                return None
            last = size
        return None

    def error(self, h, Z):
        moved = self.moved([self.c.evaluate(self.t, self.x + z, False) for z in Z], Z)
        right = (E @ moved) / h - self.f0
        J = REAL / h * self.C0 + self.G0
        scale = 1.0 / np.maximum(np.abs(J).max(axis=1), 1e-300)
        estimate = np.linalg.solve(J * scale[:, None], right * scale)
        weight = np.maximum(self.weight(self.x), self.weight(self.x + Z[2]))
        return np.max(np.abs(estimate) / weight)

    def events(self, t, x):
        out = []
        for k, d in enumerate(self.c.devices):
            v, temp, m = self.c.bias(d, x)
            names = d["law"].watches()
            if names:
                amps = d["law"].amps(t, v, temp, m)
                out += [(d["law"].watch(name, t, v, temp, m, amps), k, name) for name in names]
        return out

    def switch(self, k, name):
        d = self.c.devices[k]
        v, temp, m = self.c.bias(d, self.x)
        memory = d["law"].switch(name, self.t, v, temp, m, d["law"].amps(self.t, v, temp, m))
        if d["memory"] is not None:
            self.x[d["memory"]] = memory
        self.log.append((self.t, d["name"], name))

    def at_once(self):
        for _ in range(30):
            due = [(k, name) for value, k, name in self.events(self.t, self.x) if value >= 0.0 and name != "fades"]
            if not due:
                return
            self.switch(*due[0])
        raise Failed("no end of switching")

    def accept(self, h, X):
        c = self.c
        points = np.vstack([self.x[None, :], X])
        values = (DENSE @ points) @ c.W.T
        self.high = np.maximum(self.high, values.max(axis=0))
        self.low = np.minimum(self.low, values.min(axis=0))
        self.energy += h * sum(A[2, i] * c.watts(self.t + NODES[i] * h, X[i]) for i in range(3))
        self.t += h
        self.x = X[2].copy()
        self.steps += 1

    def prepare(self):
        self.q0, self.f0, self.C0, self.G0 = self.c.evaluate(self.t, self.x)

    def run(self, end):
        c = self.c
        self.at_once()
        h, before = 1e-12, None
        while self.t < end * (1.0 - 1e-12):
            self.prepare()
            clock = [(at, k) for k, d in enumerate(c.devices) for at in d["law"].instants()]
            stops = [end] + [at for at in c.corners if at > self.t * (1.0 + 1e-12) + 1e-18] + [at for at, _ in clock]
            stop = min(stops)
            h = min(h, stop - self.t)
            if stop - self.t - h < 1e-3 * h:
                h = stop - self.t
            if h < 1e-17:
                raise Failed(f"step of {h} s at {self.t}")
            if before is None:
                guess = np.tile(self.x, (3, 1))
            else:
                guess = cubic(1.0 + NODES * h / before[0]) @ before[1]
            Z = self.attempt(h, guess)
            if Z is None and before is not None:
                Z = self.attempt(h, np.tile(self.x, (3, 1)))
            if Z is None:
                h /= 4.0
                continue
            error, X = self.error(h, Z), self.x + Z
            factor = min(5.0, max(0.15, 0.85 * error**-0.25)) if error > 0.0 else 5.0
            if error > 1.0:
                h *= min(factor, 0.8)
                continue
            crossing = self.first_crossing(h, X)
            if crossing:
                h_event, X, k, name = crossing
                self.accept(h_event, X)
                self.switch(k, name)
                self.at_once()
                h, before = max(1e-13, 1e-3 * h_event), None
                continue
            before = (h, np.vstack([self.x[None, :], X]))
            self.accept(h, X)
            due = [k for at, k in clock if abs(at - self.t) <= 1e-12 * self.t]
            if due:
                self.switch(due[0], "clock")
                self.at_once()
                h, before = max(1e-13, 1e-3 * h), None
            elif any(abs(at - self.t) <= 1e-12 * self.t for at in c.corners):
                h, before = 1e-3 * h, None
            else:
                h *= factor

    def first_crossing(self, h, X):
        """Step that ends at the first event within this one, with the event; None without any."""
        start = {(k, name): value for value, k, name in self.events(self.t, self.x)}
        if not start:
            return None
        points = np.vstack([self.x[None, :], X])
        last_s, last = 0.0, start
        for s, weights in zip(INSIDE, DENSE):
            now = {(k, name): value for value, k, name in self.events(self.t + s * h, weights @ points)}
            crossed = [key for key in now if last[key] < 0.0 <= now[key]]
            if crossed:
                break
            last_s, last = s, now
        else:
            return None

        def on_cubic(key):
            value = lambda s: self.value(key, self.t + s * h, (cubic(s) @ points)[0])
            return brentq(value, last_s, s, xtol=1e-12) if value(last_s) < 0.0 < value(s) else s

        at, key = min((on_cubic(key), key) for key in crossed)
        # The cubic only tells where to look: the step is solved anew up to the event.
        low, high = (0.0, start[key]), None
        h_event = at * h
        for _ in range(12):
            stages = self.attempt(h_event, cubic(NODES * h_event / h) @ points)
            if stages is None:
                break
            stages = self.x + stages
            value = self.value(key, self.t + h_event, stages[2])
            found = (h_event, stages, *key)
            if abs(value) < 1e-9 or (high and high[0] - low[0] < 1e-10 * h):
                return found
            if value < 0.0:
                low = (h_event, value)
                if high is None:
                    h_event = min(
                        h, h_event + max(1e-6 * h, 2.0 * abs(value) * h_event / max(abs(value - start[key]), 1e-30))
                    )
                    continue
            else:
                high = (h_event, value)
            share = low[1] / (low[1] - high[1])
            h_event = low[0] + (high[0] - low[0]) * min(max(share, 0.02), 0.98)
        return found

    def value(self, key, t, x):
        d = self.c.devices[key[0]]
        v, temp, m = self.c.bias(d, x)
        return d["law"].watch(key[1], t, v, temp, m, d["law"].amps(t, v, temp, m))
