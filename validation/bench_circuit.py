"""Equations of a circuit that `tidewall-bench` has written as JSON, for scipy.

Nodes without capacitance are eliminated once, so that what is left is an ordinary differential equation: one product
with a constant matrix, and the laws of the devices on top. Laws are in plain floats: with one to three devices arrays
would be slower. The Jacobian is analytic.
"""

import math

import numpy as np


def corner(x, width):
    """Rounded positive part and its slope."""
    u = x / width
    if u > 40.0:
        return x, 1.0
    e = math.exp(u)
    if u < -40.0:
        return width * e, e
    return width * math.log1p(e), e / (1.0 + e)


def corners(x, width):
    """The rounded positive part of an array."""
    u = x / width
    return np.where(u > 40.0, x, width * np.log1p(np.exp(np.minimum(u, 40.0))))


class Avalanche:
    inner = 0
    thermal = True

    def __init__(self, law):
        self.__dict__.update(law)
        self.half_f = self.c0_f / 0.5**self.grading

    def sides(self, celsius):
        start = self.vbr25_v * max(1.0 + self.alpha_per_k * (celsius - 25.0), 0.1)
        if self.bidirectional:
            return start, (start, self.vbr25_v * self.alpha_per_k, self.r_ohm, self.knee_v)
        return start, (self.forward_v, 0.0, self.forward_ohm, min(self.knee_v, 0.03))

    def current(self, mode, v, celsius, inner):
        """Current, its derivatives to voltage, temperature and the first inner state."""
        start, (below, below_k, below_ohm, below_knee) = self.sides(celsius)
        over, up = corner(v - start, self.knee_v)
        under, down = corner(-v - below, below_knee)
        amps = over / self.r_ohm - under / below_ohm
        per_k = -up * self.vbr25_v * self.alpha_per_k / self.r_ohm + down * below_k / below_ohm
        return amps, up / self.r_ohm + down / below_ohm, per_k, 0.0

    def currents(self, mode, v, celsius, inner):
        start = self.vbr25_v * np.maximum(1.0 + self.alpha_per_k * (celsius - 25.0), 0.1)
        _, (below, _, below_ohm, below_knee) = self.sides(25.0)
        below = start if self.bidirectional else below
        return corners(v - start, self.knee_v) / self.r_ohm - corners(-v - below, below_knee) / below_ohm

    def capacitance(self, v):
        reverse, sign = (-v, -1.0) if self.bidirectional and v < 0.0 else (v, 1.0)
        if reverse < -0.5 * self.built_in_v:
            return self.half_f, 0.0
        x = 1.0 + reverse / self.built_in_v
        c = self.c0_f * x**-self.grading
        return c, -sign * self.grading * c / (x * self.built_in_v)


class Pin:
    inner = 0

    def __init__(self, law):
        self.__dict__.update(law)

    def current(self, mode, v, celsius, inner):
        over, up = corner(v - self.positive_v, self.knee_v)
        under, down = corner(-v - self.negative_v, self.knee_v)
        amps = over / self.positive_ohm - under / self.negative_ohm
        return amps, up / self.positive_ohm + down / self.negative_ohm, 0.0, 0.0

    def currents(self, mode, v, celsius, inner):
        over, under = corners(v - self.positive_v, self.knee_v), corners(-v - self.negative_v, self.knee_v)
        return over / self.positive_ohm - under / self.negative_ohm

    def capacitance(self, v):
        return self.c_f, 0.0


class GasTube:
    """Modes off, glow, arc; inner states: discharge voltage, and disruptive effect or ionisation left."""

    inner = 2
    knee_v = 0.05
    ignition_v = 0.25
    recovery = 100.0

    def __init__(self, law):
        self.__dict__.update(law)
        self.power = 1.0 / self.slope_exponent - 1.0
        self.critical_s = self.slope_coefficient_v * 1e-6 / (self.power + 1.0)

    def current(self, mode, v, celsius, inner):
        leak = 1.0 / self.insulation_ohm
        if mode == "off":
            return leak * v, leak, 0.0, 0.0
        over, up = corner(v - inner[0], self.knee_v)
        under, down = corner(-v - inner[0], self.knee_v)
        ohm = self.arc_ohm
        return leak * v + (over - under) / ohm, leak + (up + down) / ohm, 0.0, (down - up) / ohm

    def currents(self, mode, v, celsius, inner):
        amps = v / self.insulation_ohm
        if mode != "off":
            over, under = corners(v - inner[0], self.knee_v), corners(-v - inner[0], self.knee_v)
            amps = amps + (over - under) / self.arc_ohm
        return amps

    def capacitance(self, v):
        return self.c_f, 0.0

    def rates(self, mode, v, inner, amps, per_v, per_0):
        """Rates of both inner states with the derivatives to voltage, first and second inner state."""
        if mode == "off":
            over = (abs(v) - self.dc_v) / self.slope_coefficient_v
            if over <= 0.0:
                return (0.0, 0.0, 0.0, 0.0), (0.0, 0.0, 0.0, 0.0)
            rate = over**self.power / self.critical_s
            slope = math.copysign(self.power * rate / (over * self.slope_coefficient_v), v)
            return (0.0, 0.0, 0.0, 0.0), (rate, slope, 0.0, 0.0)
        target = self.arc_v if mode == "arc" else self.glow_v
        level = self.arc_to_glow_a if mode == "arc" else self.extinction_a
        tau = self.recovery * self.drop_s
        x = amps / level
        below = 1.0 + x * x
        slope = 2.0 * x / (below * below) / tau / level
        first = ((target - inner[0]) / self.drop_s, 0.0, -1.0 / self.drop_s, 0.0)
        return first, ((x * x / below - inner[1]) / tau, slope * per_v, slope * per_0, -1.0 / tau)

    def watches(self, mode):
        """Names of what ends a mode, and whether it counts at once after a change."""
        if mode == "off":
            return (("fires", True),)
        if mode == "glow":
            return (("arcs", True), ("goes out", False))
        return (("falls back", False),)

    def watch(self, name, amps, inner):
        if name == "fires":
            return inner[1] - 1.0
        if name == "arcs":
            return abs(amps) - self.glow_to_arc_a
        return 0.5 - inner[1]

    def after(self, name, v, inner):
        if name == "fires":
            return "glow", (abs(v) + self.ignition_v, 1.0)
        if name == "arcs":
            return "arc", (inner[0], 1.0)
        if name == "falls back":
            return "glow", (inner[0], 1.0)
        return "off", (0.0, 0.0)


LAWS = {"avalanche": Avalanche, "pin": Pin, "gas tube": GasTube}


def source(emf):
    """A source as (constant volts, function of time or None)."""
    shape, volts, delay = emf["shape"], emf["volts"], emf["delay_s"]
    if shape["kind"] == "constant":
        return volts, None
    if delay:
        raise ValueError("a ramp with a delay is not known")
    base, ramp, top, tau = (shape[key] for key in ("base", "ramp_s", "top_s", "tau_s"))

    def value(t):
        part = t / ramp if t < ramp else math.exp(-max(t - ramp - top, 0.0) / tau)
        return volts * (base + (1.0 - base) * part)

    return 0.0, value


class Device:
    """Places of a device among the states."""


class Circuit:
    """`y' = f(t, y)` of one circuit, with what is watched in it."""

    def __init__(self, data):
        self.data = data
        self.start, self.kinds, self.rows = [], [], []
        self.drive = None
        self.nodes = [None] * len(data["nodes"])
        for k, node in enumerate(data["nodes"]):
            if node["farads"] > 0.0:
                self.nodes[k] = self.state(node["volts"], "voltage")
        bare = [k for k, place in enumerate(self.nodes) if place is None]
        self.branch_states = [self.branch_place(branch) for branch in data["branches"]]
        self.devices = [self.device_place(device) for device in data["devices"]]
        self.n = len(self.start)
        # Columns: states, nodes without capacitance, one, the driving source.
        self.width = self.n + len(bare) + 2
        self.bare = {k: self.n + j for j, k in enumerate(bare)}
        self.rows = np.zeros((self.n + len(bare), self.width))
        self.branch_amps = [self.branch_rows(*both) for both in zip(data["branches"], self.branch_states)]
        for device in self.devices:
            self.device_rows(device)
        for k, node in enumerate(data["nodes"]):
            if node["farads"] > 0.0:
                self.rows[self.nodes[k]] /= node["farads"]
        self.eliminate(len(bare))
        self.y0 = np.array(self.start)

    def state(self, start, kind):
        self.start.append(start)
        self.kinds.append(kind)
        return len(self.start) - 1

    def branch_place(self, branch):
        current = self.state(branch["amps"], "current") if branch["henries"] > 0.0 else None
        capacitor = branch["capacitor"]
        return current, self.state(capacitor["volts"], "voltage") if capacitor else None

    def device_place(self, data):
        d = Device()
        d.data = data
        law = {key: value for key, value in data["law"].items() if key != "kind"}
        d.law = LAWS[data["law"]["kind"]](law)
        d.mode, d.ambient = "off", data["ambient_c"]
        d.current = self.state(0.0, "current") if data["henries"] > 0.0 else None
        d.v = self.state(data["volts"], "voltage")
        d.inner = self.state(0.0, "inner") if d.law.inner else None
        if d.law.inner:
            self.state(0.0, "inner")
        heat = [self.state(d.ambient, "temperature") for _ in data["heat_capacities"]]
        d.heat, d.t = heat, heat[0] if heat else None
        d.capacity = data["heat_capacities"][0] if heat else None
        return d

    def zero(self):
        return np.zeros(self.width)

    def unit(self, column):
        row = self.zero()
        row[column] = 1.0
        return row

    def volts(self, node):
        if node is None:
            return self.zero()
        place = self.nodes[node]
        return self.unit(self.bare[node] if place is None else place)

    def flow(self, origin, target, amps):
        for node, sign in ((origin, -1.0), (target, 1.0)):
            if node is not None:
                place = self.nodes[node]
                self.rows[self.bare[node] if place is None else place] += sign * amps

    def branch_rows(self, branch, states):
        current, capacitor = states
        drive = self.volts(branch["from"]) - self.volts(branch["to"])
        if capacitor is not None:
            drive = drive - self.unit(capacitor)
        if branch["emf"]:
            constant, function = source(branch["emf"])
            drive[-2] += constant
            if function:
                if self.drive:
                    raise ValueError("two sources that change are not known")
                self.drive = function
                drive[-1] += 1.0
        if current is None:
            amps = drive / branch["ohms"]
        else:
            amps = self.unit(current)
            self.rows[current] = (drive - branch["ohms"] * amps) / branch["henries"]
        if capacitor is not None:
            self.rows[capacitor] = amps / branch["capacitor"]["farads"]
        self.flow(branch["from"], branch["to"], amps)
        return amps

    def device_rows(self, d):
        data = d.data
        d.across = self.volts(data["from"]) - self.volts(data["to"]) - self.unit(d.v)
        if d.current is None:
            d.lead, d.loss_s = d.across / data["ohms"], 0.0
        else:
            d.lead, d.loss_s = self.unit(d.current), data["loss_s"]
            self.rows[d.current] = (d.across - data["ohms"] * d.lead) / data["henries"]
        d.amps = d.lead + d.loss_s * d.across
        self.flow(data["from"], data["to"], d.amps)
        # The law's own current and the division by its capacitance come later.
        self.rows[d.v] = d.amps
        for k, place in enumerate(d.heat):
            beyond = self.unit(d.heat[k + 1]) if k + 1 < len(d.heat) else d.ambient * self.unit(-2)
            out = (self.unit(place) - beyond) / data["heat_resistances"][k]
            self.rows[place] -= out / data["heat_capacities"][k]
            if k + 1 < len(d.heat):
                self.rows[d.heat[k + 1]] += out / data["heat_capacities"][k + 1]

    def eliminate(self, bare):
        n = self.n
        # Nodes without capacitance: their rows are zero, which gives them from all else.
        own = self.rows[n:, n : n + bare]
        rest = np.delete(self.rows[n:], np.s_[n : n + bare], axis=1)
        given = -np.linalg.solve(own, rest) if bare else np.zeros((0, n + 2))
        self.fold = lambda row: np.delete(row, np.s_[n : n + bare]) + row[n : n + bare] @ given
        whole = np.array([self.fold(row) for row in self.rows[:n]])
        self.matrix = np.ascontiguousarray(whole[:, :n])
        self.constant, self.driven = whole[:, n].copy(), whole[:, n + 1].copy()

    def rhs(self, t, y):
        f = self.matrix @ y
        f += self.constant
        if self.drive:
            f += self.driven * self.drive(t)
        values = y.tolist()
        for d in self.devices:
            law, v = d.law, values[d.v]
            inner = values[d.inner : d.inner + 2] if d.inner is not None else None
            celsius = values[d.t] if d.t is not None else d.ambient
            amps, per_v, _, per_0 = law.current(d.mode, v, celsius, inner)
            f[d.v] = (f[d.v] - amps) / law.capacitance(v)[0]
            if d.t is not None:
                f[d.t] += v * amps / d.capacity
            if inner is not None:
                first, second = law.rates(d.mode, v, inner, amps, per_v, per_0)
                f[d.inner], f[d.inner + 1] = first[0], second[0]
        return f

    def jacobian(self, t, y):
        jacobian = self.matrix.copy()
        values = y.tolist()
        for d in self.devices:
            law, v = d.law, values[d.v]
            inner = values[d.inner : d.inner + 2] if d.inner is not None else None
            celsius = values[d.t] if d.t is not None else d.ambient
            amps, per_v, per_k, per_0 = law.current(d.mode, v, celsius, inner)
            farads, farads_per_v = law.capacitance(v)
            flow = float(self.matrix[d.v] @ y) + self.constant[d.v]
            if self.drive:
                flow += self.driven[d.v] * self.drive(t)
            jacobian[d.v] /= farads
            jacobian[d.v, d.v] -= per_v / farads + (flow - amps) * farads_per_v / (farads * farads)
            if d.t is not None:
                jacobian[d.v, d.t] -= per_k / farads
                jacobian[d.t, d.v] += (amps + v * per_v) / d.capacity
                jacobian[d.t, d.t] += v * per_k / d.capacity
            if inner is not None:
                jacobian[d.v, d.inner] -= per_0 / farads
                for k, rate in enumerate(law.rates(d.mode, v, inner, amps, per_v, per_0)):
                    jacobian[d.inner + k, [d.v, d.inner, d.inner + 1]] = rate[1:]
                if d.t is not None:
                    jacobian[d.t, d.inner] += v * per_0 / d.capacity
        return jacobian

    def watched(self, t, y):
        """Probe voltages, element currents and powers at many instants (columns of `y`)."""
        drive = np.array([self.drive(at) for at in t]) if self.drive else 0.0
        full = lambda row: self.take(row, y, drive)
        volts = [full(self.volts(p["plus"]) - self.volts(p["minus"])) for p in self.data["probes"]]
        amps, watts = [], []
        branches = len(self.data["branches"])
        for element in self.data["elements"]:
            if element < branches:
                current = full(self.branch_amps[element])
                amps.append(current)
                watts.append(self.data["branches"][element]["ohms"] * current**2)
                continue
            d = self.devices[element - branches]
            inner = y[d.inner : d.inner + 2] if d.inner is not None else None
            celsius = y[d.t] if d.t is not None else d.ambient
            heat = y[d.v] * d.law.currents(d.mode, y[d.v], celsius, inner)
            heat = heat + d.data["ohms"] * full(d.lead) ** 2 + d.loss_s * full(d.across) ** 2
            amps.append(full(d.amps))
            watts.append(heat)
        return np.array(volts), np.array(amps), np.array(watts)

    def take(self, row, y, drive):
        row = self.fold(row)
        return row[: self.n] @ y + row[self.n] + row[self.n + 1] * drive
