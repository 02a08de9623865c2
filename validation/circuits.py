"""The model problems of `crates/transient/tests/support/mod.rs`, written down a second time.

States are charges of capacitances, flux linkages of inductances, charges of junctions, temperature rises, stored
charge and disruptive effect of switching devices, and one energy per element. Resistive nodes without capacitance
(inside the generators) are eliminated by hand in each generator below. A linear combination of states is a dict from
state number to factor, so that every equation of the linear part can be written as a formula.
"""

import math

import numpy as np
from scipy.optimize import minimize_scalar

from laws import Avalanche, Crowbar, FlatClamp, GasTube, PinConduction, Varistor

TRACK_OHM = 75.0
PAD_F = 0.2e-12


def track_f(*henries):
    """Capacitance of a ladder node: a pad, and half of each adjoining track's `L / Z0²` (30 nH counted at most)."""
    return PAD_F + sum(0.5 * min(h, 30e-9) / TRACK_OHM**2 for h in henries)


def plus(*terms):
    """Sum of linear combinations."""
    total = {}
    for term in terms:
        for state, factor in term.items():
            total[state] = total.get(state, 0.0) + factor
    return total


def times(factor, term):
    return {state: factor * value for state, value in term.items()}


def minus(a, b):
    return plus(a, times(-1.0, b))


class Device:
    """Places of a device in the equations."""


class Problem:
    """Collects states and equations, then freezes them into matrices."""

    def __init__(self, name, end_s):
        self.name, self.end_s = name, end_s
        self.y0, self.scale, self.linear = [], [], []
        self.constant, self.driven = {}, {}
        self.source, self.corners = None, []
        self.devices, self.heat = [], []
        self.probes, self.elements, self.junctions = {}, {}, {}

    def state(self, start, scale):
        self.y0.append(start)
        self.scale.append(scale)
        self.linear.append({})
        return len(self.y0) - 1

    def capacitance(self, farads, volts=0.0):
        """A capacitance with its own charge; returns (state, voltage)."""
        q = self.state(farads * volts, farads * 1.0)
        return q, {q: 1.0 / farads}

    def inductance(self, henries):
        """An inductance with its own flux linkage; returns (state, current)."""
        flux = self.state(0.0, henries * 1.0)
        return flux, {flux: 1.0 / henries}

    def add(self, state, term):
        self.linear[state] = plus(self.linear[state], term)

    def flow(self, origin, target, current):
        """Lets a current run out of one charge into another (None is the return)."""
        if origin is not None:
            self.add(origin, times(-1.0, current))
        if target is not None:
            self.add(target, current)

    def element(self, name, current, ohms):
        energy = self.state(0.0, 1e-6)
        self.elements[name] = (current, energy)
        if ohms:
            self.heat.append((energy, ohms, current))
        return energy

    def track(self, name, a, b, ohms, henries):
        """Series element between two nodes, each (charge, voltage)."""
        if henries:
            flux, current = self.inductance(henries)
            self.add(flux, plus(a[1], times(-1.0, b[1]), times(-ohms, current)))
        else:
            current = times(1.0 / ohms, minus(a[1], b[1]))
        self.flow(a[0], b[0], current)
        self.element(name, current, ohms)

    def device(self, name, law, a, b, henries, ohms=0.0, volts=0.0, thermal=None, watched=True):
        """A device behind its lead; `b` is None for the return."""
        law.restart()
        d = Device()
        d.law, d.name = law, name
        across = a[1] if b is None else minus(a[1], b[1])
        far = None if b is None else b[0]
        d.charge = self.state(law.capacitance.charge(volts), law.capacitance.charge(1.0))
        # Factors of the junction voltage in every equation.
        d.by_volts = {}
        if henries:
            flux, current = self.inductance(henries)
            self.add(flux, minus(across, times(ohms, current)))
            d.by_volts[flux] = -1.0
        else:
            # Only the pin: its capacitance is linear, so that its voltage is a plain combination of states.
            current = times(1.0 / ohms, minus(across, {d.charge: 1.0 / law.capacitance.farads}))
        self.flow(a[0], far, current)
        self.add(d.charge, current)
        d.energy = self.element(name, current, ohms) if watched else None
        d.rise = None
        if thermal:
            d.rise = self.heat_path(name, thermal)
            d.capacity = thermal[0][0]
        d.alive = self.state(0.0, 1.0) if law.has_alive else None
        d.effect = self.state(0.0, 1.0) if law.has_effect else None
        self.devices.append(d)

    def heat_path(self, name, thermal):
        capacities, resistances = thermal
        rises = [self.state(0.0, 1.0) for _ in capacities]
        for k, (state, c) in enumerate(zip(rises, capacities)):
            beyond = {rises[k + 1]: 1.0} if k + 1 < len(rises) else {}
            flow = times(1.0 / resistances[k], minus({state: 1.0}, beyond))
            self.add(state, times(-1.0 / c, flow))
            if beyond:
                self.add(rises[k + 1], times(1.0 / capacities[k + 1], flow))
        self.junctions[name] = rises[0]
        return rises[0]

    def freeze(self):
        n = len(self.y0)

        def row(term):
            out = np.zeros(n)
            for state, factor in term.items():
                out[state] = factor
            return out

        self.y0 = np.array(self.y0)
        self.scale = np.array(self.scale)
        self.matrix = np.array([row(term) for term in self.linear])
        self.constant = row(self.constant)
        self.driven = row(self.driven)
        self.heat_state = np.array([h[0] for h in self.heat], dtype=int)
        self.heat_ohm = np.array([h[1] for h in self.heat])
        self.heat_row = np.array([row(h[2]) for h in self.heat])
        self.watched = (
            [("probe", name, row(term)) for name, term in self.probes.items()]
            + [("element", name, row(term)) for name, (term, _) in self.elements.items()]
            + [("junction", name, row({state: 1.0})) for name, state in self.junctions.items()]
        )
        self.watch_row = np.array([w[2] for w in self.watched])
        return self

    def rhs(self, t, y):
        f = self.matrix @ y
        f += self.constant
        if self.source:
            f += self.driven * self.source(t)
        for d in self.devices:
            law = d.law
            v, _ = law.capacitance.volts(y[d.charge])
            i, g, _ = law.current(t, v, y[d.rise] if d.rise is not None else 0.0)
            f[d.charge] -= i
            for state, factor in d.by_volts.items():
                f[state] += factor * v
            if d.energy is not None:
                f[d.energy] += v * i
            if d.rise is not None:
                f[d.rise] += v * i / d.capacity
            if d.alive is not None:
                drive = law.alive_drive(v, i, g)
                if drive:
                    x2 = drive[0] * drive[0]
                    f[d.alive] = (x2 / (1.0 + x2) - y[d.alive]) / drive[2]
            if d.effect is not None:
                f[d.effect] = law.effect_rate(v)[0]
        if len(self.heat_state):
            amps = self.heat_row @ y
            f[self.heat_state] += self.heat_ohm * amps * amps
        return f

    def jacobian(self, t, y):
        j = self.matrix.copy()
        for d in self.devices:
            law, q = d.law, d.charge
            v, slope = law.capacitance.volts(y[q])
            i, g, k = law.current(t, v, y[d.rise] if d.rise is not None else 0.0)
            j[q, q] -= g * slope
            for state, factor in d.by_volts.items():
                j[state, q] += factor * slope
            if d.energy is not None:
                j[d.energy, q] += (i + v * g) * slope
            if d.rise is not None:
                j[q, d.rise] -= k
                if d.energy is not None:
                    j[d.energy, d.rise] += v * k
                j[d.rise, q] += (i + v * g) * slope / d.capacity
                j[d.rise, d.rise] += v * k / d.capacity
            if d.alive is not None:
                drive = law.alive_drive(v, i, g)
                if drive:
                    x, x_slope, tau = drive
                    j[d.alive, d.alive] = -1.0 / tau
                    j[d.alive, q] = 2.0 * x / (1.0 + x * x) ** 2 * x_slope * slope / tau
            if d.effect is not None:
                j[d.effect, q] = law.effect_rate(v)[1] * slope
        if len(self.heat_state):
            amps = self.heat_row @ y
            j[self.heat_state] += (2.0 * self.heat_ohm * amps)[:, None] * self.heat_row
        return j

    def bias(self, d, t, y):
        """Junction voltage, temperature rise, stored charge and effect of a device."""
        v = d.law.capacitance.volts(y[d.charge])[0]
        pick = lambda state: y[state] if state is not None else 0.0
        return v, pick(d.rise), pick(d.alive), pick(d.effect)


# Generators. Each drives the line nodes, (charge, voltage), it is given.

# Storage capacitance, coil, resistance across the storage, in series, across the output; charge per volt.
D3 = (6.09391e-6, 10.80567e-6, 19.67118, 0.84231, 25.92179, 1.06166)
D18 = (10.3841e-6, 10.7333e-6, 8.8659, 0.8262, 25.7316, 1.0623)


def combination(p, elements, level, lines, ohms=None, farads=None, working_v=0.0, arrester=False):
    """Combination wave: coil from the storage capacitor to the output, then a branch into every line."""
    storage_f, coil_h, storage_ohm, series_ohm, output_ohm, ratio = elements
    q, v = p.capacitance(storage_f, ratio * level)
    p.add(q, times(-1.0 / storage_ohm, v))
    flux, coil = p.inductance(coil_h)
    p.flow(q, None, coil)
    if ohms is None:
        # The output is the line itself.
        (line,) = lines
        p.add(line[0], plus(coil, times(-1.0 / output_ohm, line[1])))
        out = line[1]
    else:
        # Kirchhoff at the output: coil = out/output_ohm + Σ (out − far)/ohms, where far is the line or what stands
        # before it.
        if arrester:
            (line,) = lines
            middle = p.capacitance(1e-12)
            tube = GasTube(90.0, 43.8, 0.3404, arc_r=0.05)
            p.device("coupling arrester", tube, middle, line, 20e-9, watched=False)
            far = [(middle, middle[1])]
        elif farads is not None:
            (line,) = lines
            coupling = p.capacitance(farads, -working_v)
            far = [(line, plus(line[1], coupling[1]))]
        else:
            far = [(line, line[1]) for line in lines]
        total = 1.0 / output_ohm + len(far) / ohms
        out = times(1.0 / total, plus(coil, *(times(1.0 / ohms, term) for _, term in far)))
        for node, term in far:
            current = times(1.0 / ohms, minus(out, term))
            p.flow(None, node[0], current)
            if farads is not None:
                p.flow(None, coupling[0], current)
    p.add(flux, plus(v, times(-1.0, out), times(-series_ohm, coil)))


def supply(p, line, volts=24.0, ohms=2.0, henries=1.5e-3):
    flux, current = p.inductance(henries)
    p.add(flux, plus(times(-1.0, line[1]), times(-ohms, current)))
    p.constant[flux] = volts
    p.flow(None, line[0], current)


def telecom(p, charge_v, line, wire_ohm=25.0):
    """10/700: 20 µF with 50 Ω across it, 15 Ω, 0.2 µF, the wire's resistor."""
    store = p.capacitance(20e-6, charge_v)
    front = p.capacitance(0.2e-6)
    p.add(store[0], times(-1.0 / 50.0, store[1]))
    p.flow(store[0], front[0], times(1.0 / 15.0, minus(store[1], front[1])))
    p.flow(front[0], line[0], times(1.0 / wire_ohm, minus(front[1], line[1])))


def discharge(p, level, line):
    """Contact discharge: storage and tip, each a charged capacitance behind resistance and inductance."""
    for farads, ohms, henries in ((150e-12, 330.0, 1.7940e-6), (6.0630e-12, 181.91, 167.76e-9)):
        q, v = p.capacitance(farads, level)
        flux, current = p.inductance(henries)
        p.add(flux, plus(v, times(-1.0, line[1]), times(-ohms, current)))
        p.flow(q, line[0], current)


def burst(p, level, line):
    """5/50 ns behind 50 Ω and 33 nF."""
    front, tail, n = 3.5e-9, 51e-9, 1.8

    def form(t):
        return math.exp(-t / tail) / (1.0 + (front / t) ** n) if t > 0.0 else 0.0

    best = minimize_scalar(lambda t: -form(t), bounds=(front, 10 * front), method="bounded", options={"xatol": 1e-16})
    peak = -best.fun
    p.source = lambda t: level * form(t) / peak
    q, v = p.capacitance(33e-9)
    current = times(-1.0 / 50.0, plus(line[1], v))
    p.flow(None, q, current)
    p.flow(None, line[0], current)
    p.driven = {q: 1.0 / 50.0, line[0]: 1.0 / 50.0}


def load_dump(p, line):
    """87 V from 14 V: a ramp with 10 ms from 10 % to 90 %, an exponential with 400 ms between 10 % points, 2 Ω."""
    ramp = 10e-3 / 0.8
    # From a tenth of the ramp to a tenth of the tail.
    tau = (400e-3 - 0.9 * ramp) / math.log(10.0)

    def volts(t):
        return 14.0 + (87.0 - 14.0) * (t / ramp if t < ramp else math.exp(-(t - ramp) / tau))

    p.source, p.corners = volts, [ramp]
    p.add(line[0], times(-0.5, line[1]))
    p.driven = {line[0]: 0.5}


# Ladders.

THERMAL = ((200e-6, 2e-3, 40e-3), (0.02, 0.2, 20.0))


def single(p, law, pin_f, drive, volts=0.0, ohms=0.0, thermal=THERMAL):
    """Track, protector, track, pin."""
    connector = p.capacitance(track_f(15e-9), volts)
    middle = p.capacitance(track_f(15e-9, 10e-9), volts)
    pin = p.capacitance(track_f(10e-9) + pin_f, volts)
    drive(connector)
    p.track("track in", connector, middle, 0.02, 15e-9)
    p.device("D1", law, middle, None, 2e-9, ohms=ohms, volts=volts, thermal=thermal)
    p.track("track out", middle, pin, 0.01, 10e-9)
    p.probes = {"connector": connector[1], "after track in": middle[1], "pin": pin[1]}
    return p.freeze()


def clamped_pin(p, law, drive):
    """Track, snapback clamp, 4.7 Ω, track, a pin that conducts."""
    connector = p.capacitance(track_f(15e-9))
    middle = p.capacitance(track_f(15e-9))
    behind = p.capacitance(track_f(10e-9))
    pin = p.capacitance(track_f(10e-9) + 3e-12)
    drive(connector)
    p.track("track in", connector, middle, 0.02, 15e-9)
    p.device("D1", law, middle, None, 2e-9)
    p.track("Rs", middle, behind, 4.7, 0.0)
    p.track("track out", behind, pin, 0.01, 10e-9)
    p.device("pin", PinConduction(4.1, 1.0, 0.7, 1.0, 0.02, 2e-12), pin, None, 0.0, ohms=0.01)
    p.probes = {
        "connector": connector[1],
        "after track in": middle[1],
        "after Rs": behind[1],
        "pin": pin[1],
    }
    return p.freeze()


def two_stage(p, drive):
    """Gas tube, 10 Ω with 50 nH, avalanche diode, track, pin."""
    connector = p.capacitance(track_f(50e-9))
    middle = p.capacitance(track_f(50e-9, 10e-9))
    pin = p.capacitance(track_f(10e-9) + 100e-12)
    drive(connector)
    p.device("G1", GasTube(230.0, 77.8, 0.226), connector, None, 10e-9)
    p.track("R1", connector, middle, 10.0, 50e-9)
    p.device("D1", Avalanche(20.0, 0.2, True), middle, None, 3e-9, thermal=THERMAL)
    p.track("track out", middle, pin, 0.01, 10e-9)
    p.probes = {"connector": connector[1], "after R1": middle[1], "pin": pin[1]}
    return p.freeze()


def pair(p, drive):
    """Two lines with unequal protectors to the return and a third between them, 10 Ω into each pin."""
    ends, middles, pins = [], [], []
    for _ in range(2):
        ends.append(p.capacitance(track_f(15e-9)))
        middles.append(p.capacitance(track_f(15e-9, 5e-9)))
        pins.append(p.capacitance(track_f(5e-9) + 50e-12))
    drive(ends)
    for k in range(2):
        p.track(f"track {k + 1}", ends[k], middles[k], 0.02, 15e-9)
    p.device("D1", Avalanche(14.0, 0.25, True), middles[0], None, 2e-9, thermal=THERMAL)
    p.device("D2", Avalanche(15.5, 0.25, True), middles[1], None, 2e-9, thermal=THERMAL)
    p.device("D3", Avalanche(13.0, 0.3, True), middles[0], middles[1], 2e-9, thermal=THERMAL)
    for k in range(2):
        p.track(f"R{k + 1}", middles[k], pins[k], 10.0, 5e-9)
    p.probes = {
        "connector 1": ends[0][1],
        "connector 2": ends[1][1],
        "after track 1": middles[0][1],
        "after track 2": middles[1][1],
        "pin 1": pins[0][1],
        "pin 2": pins[1][1],
        "pin 1 to pin 2": minus(pins[0][1], pins[1][1]),
    }
    return p.freeze()


def snapback():
    return Crowbar(9.0, 0.05, 1.0, 2.9, 0.15, 0.02, 0.5e-9, False, 0.01, 1e-12)


def thyristor():
    return Crowbar(130.0, 0.2, 5.0, 2.0, 0.05, 0.15, 0.3e-6, True, 0.05, 80e-12)


def powered(line, p, *args, **more):
    combination(p, *args, [line], working_v=24.0, **more)
    supply(p, line)


MODELS = {
    "surge 2 ohm, avalanche": (
        200e-6,
        lambda p: single(p, Avalanche(38.0, 0.1, False), 1e-9, lambda line: combination(p, D3, 500.0, [line])),
    ),
    "surge 2 ohm through 18 uF, powered, avalanche": (
        300e-6,
        lambda p: single(
            p,
            Avalanche(38.0, 0.1, False),
            4.7e-6,
            lambda line: powered(line, p, D18, 500.0, ohms=1e-3, farads=18e-6),
            volts=24.0,
        ),
    ),
    "surge 12 ohm, powered, avalanche": (
        300e-6,
        lambda p: single(
            p,
            Avalanche(38.0, 0.1, False),
            4.7e-6,
            lambda line: powered(line, p, D3, 1000.0, ohms=10.0, farads=9e-6),
            volts=24.0,
        ),
    ),
    "surge 42 ohm capacitor, flat clamp": (
        100e-6,
        lambda p: single(
            p,
            FlatClamp(),
            100e-12,
            lambda line: combination(p, D3, 1000.0, [line], ohms=40.0, farads=0.5e-6),
        ),
    ),
    "surge 42 ohm arrester, avalanche": (
        200e-6,
        lambda p: single(
            p,
            Avalanche(38.0, 0.1, True),
            100e-12,
            lambda line: combination(p, D3, 1000.0, [line], ohms=40.0, arrester=True),
        ),
    ),
    "surge 12 ohm, varistor": (
        200e-6,
        lambda p: single(
            p,
            Varistor(47.0, 30.0, 2e-9),
            1e-9,
            lambda line: combination(p, D3, 1000.0, [line], ohms=10.0, farads=9e-6),
            ohms=0.03,
            thermal=None,
        ),
    ),
    "10/700, avalanche": (
        3e-3,
        lambda p: single(p, Avalanche(58.0, 0.3, True), 100e-12, lambda line: telecom(p, 1500.0, line)),
    ),
    "10/700, thyristor": (
        3e-3,
        lambda p: single(p, thyristor(), 100e-12, lambda line: telecom(p, 1500.0, line), thermal=None),
    ),
    "discharge 8 kV, snapback, resistor, pin": (
        300e-9,
        lambda p: clamped_pin(p, snapback(), lambda line: discharge(p, 8000.0, line)),
    ),
    "discharge 8 kV, avalanche": (
        300e-9,
        lambda p: single(p, Avalanche(6.5, 0.15, True), 10e-12, lambda line: discharge(p, 8000.0, line)),
    ),
    "burst 2 kV, avalanche": (
        1e-6,
        lambda p: single(p, Avalanche(14.0, 0.25, True), 20e-12, lambda line: burst(p, 2000.0, line)),
    ),
    "load dump 87 V, avalanche": (
        1.2,
        lambda p: single(p, Avalanche(27.0, 0.05, False), 1e-6, lambda line: load_dump(p, line), volts=14.0),
    ),
    "gas tube, resistor, avalanche": (3e-3, lambda p: two_stage(p, lambda line: telecom(p, 4000.0, line))),
    "gas tube, resistor, avalanche, 42 ohm": (
        200e-6,
        lambda p: two_stage(p, lambda line: combination(p, D3, 4000.0, [line], ohms=40.0, farads=0.5e-6)),
    ),
    "pair, common mode, unequal parts": (
        200e-6,
        lambda p: pair(p, lambda lines: combination(p, D3, 1000.0, lines, ohms=80.0)),
    ),
    "surge 2 ohm, flat clamp": (
        200e-6,
        lambda p: single(p, FlatClamp(), 1e-9, lambda line: combination(p, D3, 200.0, [line])),
    ),
}


def build(name):
    end_s, make = MODELS[name]
    return make(Problem(name, end_s))
