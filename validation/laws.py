"""Device laws of the reference, written from their description in words and formulae.

Each law is asked for its current at a junction voltage `v` and a temperature rise `rise` (kelvins above 25 °C), and
for the derivatives of that current. The junction's own voltage follows from its charge. What relaxes exponentially in
a switching law (the voltage of an on-branch) is no state of the equations here but a closed formula in time.
"""

import math


def rounded(x, width):
    """`width ln(1 + exp(x / width))` and its slope: zero far below the corner, `x` far above it."""
    u = x / width
    if u > 0.0:
        e = math.exp(-u)
        return x + width * math.log1p(e), 1.0 / (1.0 + e)
    e = math.exp(u)
    return width * math.log1p(e), e / (1.0 + e)


class FixedCapacitance:
    """A linear capacitance."""

    def __init__(self, farads):
        self.farads = farads

    def charge(self, volts):
        return self.farads * volts

    def volts(self, charge):
        """Voltage at a charge and dV/dq."""
        return charge / self.farads, 1.0 / self.farads


class Depletion:
    """`C = c0 (1 + v/φ)^-m`, constant below `v = -φ/2`; even in `v` for a symmetrical part. Inverted in closed form."""

    def __init__(self, c0, phi, m, even):
        self.c0, self.phi, self.m, self.even = c0, phi, m, even
        self.unit = c0 * phi / (1.0 - m)
        self.edge_q = self.unit * (0.5 ** (1.0 - m) - 1.0)
        self.edge_c = c0 * 0.5 ** (-m)

    def charge(self, volts):
        if self.even:
            return math.copysign(self.unit * ((1.0 + abs(volts) / self.phi) ** (1.0 - self.m) - 1.0), volts)
        if volts < -0.5 * self.phi:
            return self.edge_q + self.edge_c * (volts + 0.5 * self.phi)
        return self.unit * ((1.0 + volts / self.phi) ** (1.0 - self.m) - 1.0)

    def volts(self, charge):
        q = abs(charge) if self.even else charge
        if q < self.edge_q:
            return -0.5 * self.phi + (q - self.edge_q) / self.edge_c, 1.0 / self.edge_c
        x = (1.0 + q / self.unit) ** (1.0 / (1.0 - self.m))
        v = self.phi * (x - 1.0)
        slope = x**self.m / self.c0
        return (-v if self.even and charge < 0.0 else v), slope


class Law:
    """A law without switching; `current` returns i, di/dv, di/drise."""

    mode = "fixed"
    has_alive = False
    has_effect = False

    def restart(self):
        """Back to the state before the stress."""

    def current(self, t, v, rise):
        raise NotImplementedError

    def alive_drive(self, v, i, g):
        """`x` of the equation of what keeps a mode alive, dx/dv, and its time constant; None where it stands still.

        The state follows `x² / (1 + x²)` with that time constant from 1 on; at one half the mode ends. `x` is the
        present current or voltage over the level that just keeps the mode up.
        """
        return None

    def effect_rate(self, v):
        """Rate of the disruptive effect and its slope in v."""
        return 0.0, 0.0

    def watches(self):
        """Names of what may end the present mode."""
        return ()

    def watch(self, name, t, v, rise, alive, effect):
        """Negative while the mode lasts."""
        raise NotImplementedError

    def switch(self, name, t, v, rise):
        """Carries out a change of mode; returns new values of (alive, effect), None where unchanged."""
        raise NotImplementedError

    def alarm(self):
        """An instant at which the mode ends by the clock, or None."""
        return None


class Avalanche(Law):
    """Straight line above a breakdown voltage that rises with temperature; a diode (or the same again) below zero."""

    def __init__(self, vbr, r, both, alpha=9.8e-4, knee=0.02, c0=1e-9):
        self.vbr, self.r, self.both, self.alpha, self.knee = vbr, r, both, alpha, knee
        self.capacitance = Depletion(c0, 0.7, 0.45, both)

    def current(self, t, v, rise):
        vbr = self.vbr * (1.0 + self.alpha * rise)
        over, up = rounded(v - vbr, self.knee)
        i, g, k = over / self.r, up / self.r, -up * self.vbr * self.alpha / self.r
        if self.both:
            under, down = rounded(-v - vbr, self.knee)
            i -= under / self.r
            g += down / self.r
            k += down * self.vbr * self.alpha / self.r
        else:
            under, down = rounded(-v - 0.8, min(self.knee, 0.03))
            i -= under / 0.02
            g += down / 0.02
        return i, g, k


class Varistor(Law):
    """`i = 1 mA (v / v1)^alpha`, odd; the straight continuation above 100 kA is never reached here."""

    def __init__(self, v1, alpha, farads):
        self.v1, self.alpha = v1, alpha
        self.capacitance = FixedCapacitance(farads)

    def current(self, t, v, rise):
        size = abs(v)
        i = 1e-3 * (size / self.v1) ** self.alpha
        g = self.alpha * i / size if size > 0.0 else 0.0
        return math.copysign(i, v), g, 0.0


class PinConduction(Law):
    """A threshold and a resistance in each polarity."""

    def __init__(self, up_v, up_r, down_v, down_r, knee, farads):
        self.up_v, self.up_r, self.down_v, self.down_r, self.knee = up_v, up_r, down_v, down_r, knee
        self.capacitance = FixedCapacitance(farads)

    def current(self, t, v, rise):
        over, up = rounded(v - self.up_v, self.knee)
        under, down = rounded(-v - self.down_v, self.knee)
        return over / self.up_r - under / self.down_r, up / self.up_r + down / self.down_r, 0.0


class Relaxation:
    """`target + (start − target) exp(−(t − t0)/τ)`."""

    def __init__(self, t0, start, target, tau):
        self.t0, self.start, self.target, self.tau = t0, start, target, tau

    def at(self, t):
        return self.target + (self.start - self.target) * math.exp(-(t - self.t0) / self.tau)


class FlatClamp(Law):
    """Off; triggered and waiting; on with a flat branch that saturates; breakdown of its transistor above.

    Its trigger circuit lets go, ten times as slowly as it turns on, when the voltage stays below the turn-off level.
    """

    has_alive = True

    def __init__(self):
        self.trigger, self.on, self.r = 35.0, 34.0, 0.03
        self.delay, self.settle, self.off = 5e-9, 2e-9, 30.0
        self.saturation, self.breakdown, self.breakdown_r = 150.0, 48.0, 0.2
        self.forward, self.forward_r, self.knee = 0.8, 0.02, 0.02
        self.capacitance = Depletion(0.6e-9, 0.7, 0.45, False)
        self.restart()

    def restart(self):
        self.mode, self.since, self.branch = "off", 0.0, None

    def current(self, t, v, rise):
        over, up = rounded(v - self.breakdown, self.knee)
        under, down = rounded(-v - self.forward, self.knee)
        i = over / self.breakdown_r - under / self.forward_r
        g = up / self.breakdown_r + down / self.forward_r
        if self.mode == "on":
            straight, slope = rounded(v - self.branch.at(t), self.knee)
            straight /= self.r
            x4 = (straight / self.saturation) ** 4
            i += straight / (1.0 + x4) ** 0.25
            g += slope / self.r / (1.0 + x4) ** 1.25
        return i, g, 0.0

    def alive_drive(self, v, i, g):
        if self.mode != "on":
            return None
        up = v > 0.0
        return v / self.off if up else 0.0, 1.0 / self.off if up else 0.0, 10.0 * self.settle

    def watches(self):
        return {"off": ("fires",), "waiting": (), "on": ("lets go",)}[self.mode]

    def watch(self, name, t, v, rise, alive, effect):
        return v - self.trigger if name == "fires" else 0.5 - alive

    def switch(self, name, t, v, rise):
        if name == "clock":
            self.mode = "on"
            self.branch = Relaxation(t, max(v, self.on), self.on, self.settle)
            return 1.0, None
        self.mode, self.since = ("waiting" if name == "fires" else "off"), t
        return 0.0, None

    def alarm(self):
        return self.since + self.delay if self.mode == "waiting" else None


class Crowbar(Law):
    """Avalanche up to a trigger point, then a low on-voltage for as long as stored charge is kept up."""

    has_alive = True

    def __init__(self, trigger, trigger_a, off_r, on, on_r, hold, transition, both, knee, farads):
        self.trigger, self.trigger_a, self.off_r = trigger, trigger_a, off_r
        self.on, self.on_r, self.hold, self.transition = on, on_r, hold, transition
        self.both, self.knee = both, knee
        self.capacitance = FixedCapacitance(farads)
        self.restart()

    def restart(self):
        self.mode, self.sign, self.branch = "off", 1.0, None

    def current(self, t, v, rise):
        if self.mode == "on":
            over, up = rounded(self.sign * v - self.branch.at(t), self.knee)
            i, g = self.sign * over / self.on_r, up / self.on_r
        else:
            start = self.trigger - self.off_r * self.trigger_a
            over, up = rounded(v - start, self.knee)
            i, g = over / self.off_r, up / self.off_r
            if self.both:
                under, down = rounded(-v - start, self.knee)
                i -= under / self.off_r
                g += down / self.off_r
        if not self.both:
            under, down = rounded(-v - 0.8, min(self.knee, 0.03))
            i -= under / 0.1
            g += down / 0.1
        return i, g, 0.0

    def alive_drive(self, v, i, g):
        if self.mode != "on":
            return None
        along = self.sign * i > 0.0
        x, slope = (self.sign * i / self.hold, self.sign * g / self.hold) if along else (0.0, 0.0)
        return x, slope, 30.0 * self.transition

    def watches(self):
        if self.mode == "on":
            return ("goes out",)
        return ("fires", "fires downwards") if self.both else ("fires",)

    def watch(self, name, t, v, rise, alive, effect):
        if name == "goes out":
            return 0.5 - alive
        return (v if name == "fires" else -v) - self.trigger

    def switch(self, name, t, v, rise):
        if name == "goes out":
            self.mode = "off"
            return 0.0, None
        sign = 1.0 if name == "fires" else -1.0
        # Current is continuous: the on-branch begins where the avalanche branch has got to.
        i = self.current(t, v, rise)[0]
        start = sign * v - self.on_r * max(sign * i, 0.0)
        self.mode, self.sign = "on", sign
        self.branch = Relaxation(t, start, self.on, self.transition)
        return 1.0, None


class GasTube(Law):
    """Off, glow, arc; fires by the disruptive-effect integral, burns for as long as ionisation is kept up."""

    has_alive = True
    has_effect = True

    def __init__(self, dc, a, b, arc=15.0, arc_r=0.02):
        self.dc, self.a, self.k = dc, a, 1.0 / b - 1.0
        self.glow, self.arc, self.r = 70.0, arc, arc_r
        self.drop, self.leak = 10e-9, 1e-10
        # On a ramp of S V/µs the law Vs = dc + a S^b asks the integral of ((v − dc)/a)^k to reach a/(k + 1) µs.
        self.critical = self.a / (self.k + 1.0) * 1e-6
        self.capacitance = FixedCapacitance(1e-12)
        self.restart()

    def restart(self):
        self.mode, self.branch = "off", None

    def current(self, t, v, rise):
        i, g = self.leak * v, self.leak
        if self.mode != "off":
            u = self.branch.at(t)
            over, up = rounded(v - u, 0.05)
            under, down = rounded(-v - u, 0.05)
            i += (over - under) / self.r
            g += (up + down) / self.r
        return i, g, 0.0

    def alive_drive(self, v, i, g):
        if self.mode == "off":
            return None
        level = 0.1 if self.mode == "arc" else 0.01
        return i / level, g / level, 100.0 * self.drop

    def effect_rate(self, v):
        over = (abs(v) - self.dc) / self.a
        if self.mode != "off" or over <= 0.0:
            return 0.0, 0.0
        rate = over**self.k / self.critical
        return rate, math.copysign(self.k * rate / (over * self.a), v)

    def watches(self):
        return {"off": ("fires",), "glow": ("arcs", "goes out"), "arc": ("falls back",)}[self.mode]

    def watch(self, name, t, v, rise, alive, effect):
        if name == "fires":
            return effect - 1.0
        if name == "arcs":
            return abs(self.current(t, v, rise)[0]) - 0.5
        return 0.5 - alive

    def switch(self, name, t, v, rise):
        if name == "goes out":
            self.mode = "off"
            return 0.0, 0.0
        # Five roundings of the corner above the firing voltage, so that the current begins near zero.
        start = abs(v) + 0.25 if name == "fires" else self.branch.at(t)
        self.mode = "arc" if name == "arcs" else "glow"
        target = self.arc if name == "arcs" else self.glow
        self.branch = Relaxation(t, start, target, self.drop)
        return 1.0, 0.0
