"""Devices of the second opinion, current and charge at a voltage, a temperature and (switching devices) a memory between 0
and 1; and waves of its sources."""

import math

from scipy.optimize import brentq, fsolve, minimize_scalar


def corner(x, width):
    """Rounded corner `width ln(1 + exp(x/width))` and its slope."""
    u = x / width
    if u > 35.0:
        return x, 1.0
    e = math.exp(u)
    return width * math.log1p(e), e / (1.0 + e)


class Branch:
    """Currents of straight branches with rounded corners, summed: amps, slope in volts, slope in kelvins."""

    def __init__(self):
        self.i = self.g = self.k = 0.0

    def add(self, v, sign, start, ohm, width, start_per_k=0.0):
        over, slope = corner(sign * v - start, width)
        self.i += sign * over / ohm
        self.g += slope / ohm
        self.k -= sign * slope * start_per_k / ohm


def depletion_charge(p, v):
    """Charge and capacitance of `C = C0 (1 + v/φ)^-m`, the same in both directions for a symmetrical part, constant in
    forward bias beyond half of the built-in voltage."""
    phi, m, c0 = p["built_in_v"], p["grading"], p["farad"]

    def charge(u):
        return c0 * phi / (1.0 - m) * ((1.0 + u / phi) ** (1.0 - m) - 1.0)

    if p["both_ways"]:
        return math.copysign(charge(abs(v)), v), c0 * (1.0 + abs(v) / phi) ** -m
    edge = -0.5 * phi
    if v < edge:
        c = c0 * 0.5**-m
        return charge(edge) + c * (v - edge), c
    return charge(v), c0 * (1.0 + v / phi) ** -m


class Device:
    """A law without memory. `amps` returns i, di/dv, di/dT; `charge` returns q, dq/dv."""

    memory = None

    def __init__(self, part, ambient_c):
        self.p, self.ambient_c = part, ambient_c

    def charge(self, v):
        c = self.p["farad"]
        return c * v, c

    def memory_rate(self, t, v, temp, m, amps):
        """Rate of the memory and its slopes in v, T and m."""
        return 0.0, 0.0, 0.0, 0.0

    def watches(self):
        """Names of the events that may end the present mode."""
        return ()

    def instants(self):
        """Instants at which the mode ends by the clock."""
        return ()


class Avalanche(Device):
    def amps(self, t, v, temp, m):
        p, out = self.p, Branch()
        start, per_k = p["breakdown_v"] * (1.0 + p["per_k"] * (temp - 25.0)), p["breakdown_v"] * p["per_k"]
        out.add(v, 1.0, start, p["ohm"], p["rounding_v"], per_k)
        if p["both_ways"]:
            out.add(v, -1.0, start, p["ohm"], p["rounding_v"], per_k)
        else:
            out.add(v, -1.0, p["forward_v"], p["forward_ohm"], min(p["rounding_v"], 0.03))
        return out.i, out.g, out.k

    def charge(self, v):
        return depletion_charge(self.p, v)


class Diode(Device):
    def amps(self, t, v, temp, m):
        p, out = self.p, Branch()
        out.add(v, 1.0, p["forward_v"], p["forward_ohm"], p["rounding_v"])
        out.add(v, -1.0, p["breakdown_v"], p["breakdown_ohm"], p["rounding_v"])
        return out.i, out.g, out.k


class PinConduction(Device):
    def amps(self, t, v, temp, m):
        p, out = self.p, Branch()
        out.add(v, 1.0, p["up_v"], p["up_ohm"], p["rounding_v"])
        out.add(v, -1.0, p["down_v"], p["down_ohm"], p["rounding_v"])
        return out.i, out.g, out.k


class Varistor(Device):
    def amps(self, t, v, temp, m):
        alpha = self.p["exponent"]
        x = abs(v) / self.p["v1ma_v"]
        i = 1e-3 * x**alpha
        return math.copysign(i, v), alpha * 1e-3 * x ** (alpha - 1.0) / self.p["v1ma_v"], 0.0


def fades(x, slopes, tau, m):
    """What keeps a conducting state alive follows `x²/(1 + x²)`; `slopes` are those of x in v and T."""
    y = x * x / (1.0 + x * x)
    s = 2.0 * x / (1.0 + x * x) ** 2 / tau
    return (y - m) / tau, s * slopes[0], s * slopes[1], -1.0 / tau


class Settling:
    """A voltage that goes exponentially to its end value."""

    def __init__(self, t0, start, end, tau):
        self.t0, self.start, self.end, self.tau = t0, start, end, tau

    def __call__(self, t):
        return self.end + (self.start - self.end) * math.exp(-(t - self.t0) / self.tau)


class FlatClamp(Device):
    memory = 0.0

    def __init__(self, part, ambient_c):
        super().__init__(part, ambient_c)
        # Its reference sits at ambient temperature.
        warm = 1.0 + part["per_k"] * (ambient_c - 25.0)
        self.trigger, self.on_v = part["trigger_v"] * warm, part["on_v"] * warm
        self.slope = part["detector"]
        self.mode, self.sign = "off", 1.0

    def begin(self, v):
        return v if self.slope else 0.0

    def amps(self, t, v, temp, m):
        p, out = self.p, Branch()
        out.add(v, 1.0, p["breakdown_v"], p["breakdown_ohm"], p["rounding_v"])
        if p["both_ways"]:
            out.add(v, -1.0, p["breakdown_v"], p["breakdown_ohm"], p["rounding_v"])
        else:
            out.add(v, -1.0, p["forward_v"], p["forward_ohm"], min(p["rounding_v"], 0.03))
        if self.mode == "on":
            over, slope = corner(self.sign * v - self.level(t), p["rounding_v"])
            x = over / p["ohm"] / p["saturation_a"]
            # Straight well below the highest current, flat well above it.
            out.i += self.sign * over / p["ohm"] / (1.0 + x**4) ** 0.25
            out.g += slope / p["ohm"] / (1.0 + x**4) ** 1.25
        return out.i, out.g, 0.0

    def charge(self, v):
        return depletion_charge(self.p, v)

    def memory_rate(self, t, v, temp, m, amps):
        if self.slope:
            # Low-pass of the detector, which matters while the clamp is off.
            rc = self.slope["rc_s"]
            return ((v - m) / rc, 1.0 / rc, 0.0, -1.0 / rc) if self.mode == "off" else (0.0, 0.0, 0.0, 0.0)
        if self.mode != "on":
            return 0.0, 0.0, 0.0, 0.0
        x = self.sign * v / self.p["off_v"]
        return (
            fades(x, (self.sign / self.p["off_v"], 0.0), 10.0 * self.p["settle_s"], m)
            if x > 0.0
            else fades(0.0, (0.0, 0.0), 10.0 * self.p["settle_s"], m)
        )

    def watches(self):
        if self.mode == "off":
            return ("up", "down") if self.p["both_ways"] else ("up",)
        if self.mode == "on":
            return ("falls",) if self.slope else ("fades",)
        return ("falls",) if self.mode == "timed out" else ()

    def watch(self, name, t, v, temp, m, amps):
        if name == "fades":
            return 0.5 - m
        if name == "falls":
            return self.p["off_v"] - self.sign * v
        sign = 1.0 if name == "up" else -1.0
        level = sign * v - self.trigger
        return min(level, sign * (v - m) - self.trigger) if self.slope else level

    def switch(self, name, t, v, temp, m, amps):
        """Carries out an event and returns the new memory."""
        if name in ("up", "down"):
            self.mode, self.sign = "waits", 1.0 if name == "up" else -1.0
            self.due = t + self.p["delay_s"]
            return 0.0
        if name == "clock" and self.mode == "waits":
            self.mode = "on"
            self.level = Settling(t, max(self.sign * v, self.on_v), self.on_v, self.p["settle_s"])
            self.due = t + self.slope["hold_s"] if self.slope else None
            return 1.0
        if name == "clock":
            self.mode = "timed out"
            return 0.0
        self.mode = "off"
        return self.begin(v)

    def instants(self):
        timed = self.mode == "waits" or (self.mode == "on" and self.slope)
        return (self.due,) if timed else ()


class Crowbar(Device):
    memory = 0.0

    def __init__(self, part, ambient_c):
        super().__init__(part, ambient_c)
        self.mode, self.sign = "off", 1.0

    def begin(self, v):
        return 0.0

    def trigger(self, temp):
        return self.p["trigger_v"] * (1.0 + self.p["per_k"] * (temp - 25.0))

    def hold(self, temp):
        """Holding current, never below a tenth of that at 25 °C, and its slope."""
        factor = 1.0 + self.p["hold_per_k"] * (temp - 25.0)
        return (
            (self.p["hold_a"] * factor, self.p["hold_a"] * self.p["hold_per_k"])
            if factor > 0.1
            else (0.1 * self.p["hold_a"], 0.0)
        )

    def amps(self, t, v, temp, m):
        p, out = self.p, Branch()
        start = self.trigger(temp) - p["off_ohm"] * p["trigger_a"]
        per_k = p["trigger_v"] * p["per_k"]
        for sign in (1.0, -1.0) if p["both_ways"] else (1.0,):
            if self.mode == "on" and sign == self.sign:
                out.add(v, sign, self.level(t), p["on_ohm"], p["rounding_v"])
            else:
                out.add(v, sign, start, p["off_ohm"], p["rounding_v"], per_k)
        if not p["both_ways"]:
            out.add(v, -1.0, p["forward_v"], p["forward_ohm"], min(p["rounding_v"], 0.03))
        return out.i, out.g, out.k

    def memory_rate(self, t, v, temp, m, amps):
        if self.mode != "on":
            return 0.0, 0.0, 0.0, 0.0
        i, g, k = amps
        hold, hold_per_k = self.hold(temp)
        x = self.sign * i / hold
        slopes = (self.sign * g / hold, self.sign * k / hold - x * hold_per_k / hold)
        return (
            fades(x, slopes, 30.0 * self.p["transition_s"], m)
            if x > 0.0
            else fades(0.0, (0.0, 0.0), 30.0 * self.p["transition_s"], m)
        )

    def watches(self):
        both = self.p["both_ways"]
        if self.mode == "on":
            return ("fades", "down" if self.sign > 0.0 else "up") if both else ("fades",)
        return ("up", "down") if both else ("up",)

    def watch(self, name, t, v, temp, m, amps):
        if name == "fades":
            return 0.5 - m
        return (v if name == "up" else -v) - self.trigger(temp)

    def switch(self, name, t, v, temp, m, amps):
        if name == "fades":
            self.mode = "off"
            return 0.0
        sign = 1.0 if name == "up" else -1.0
        # The current is continuous: the on-branch begins where the other one has got to.
        start = sign * v - self.p["on_ohm"] * max(sign * amps[0], 0.0)
        self.mode, self.sign = "on", sign
        self.level = Settling(t, start, self.p["on_v"], self.p["transition_s"])
        return 1.0


class GasTube(Device):
    memory = 0.0
    ROUNDING = 0.05

    def __init__(self, part, ambient_c):
        super().__init__(part, ambient_c)
        self.mode = "off"
        # Vs = Vdc + a S^b on a ramp, as an integral of ((|v| − Vdc)/a)^k over time in microseconds.
        self.k = 1.0 / part["slope_exponent"] - 1.0
        self.enough = part["slope_v"] / (self.k + 1.0) * 1e-6

    def begin(self, v):
        return 0.0

    def amps(self, t, v, temp, m):
        out = Branch()
        if self.mode != "off":
            for sign in (1.0, -1.0):
                out.add(v, sign, self.level(t), self.p["arc_ohm"], self.ROUNDING)
        leak = 1.0 / self.p["insulation_ohm"]
        return out.i + leak * v, out.g + leak, 0.0

    def memory_rate(self, t, v, temp, m, amps):
        if self.mode == "off":
            over = (abs(v) - self.p["dc_v"]) / self.p["slope_v"]
            if over <= 0.0:
                return 0.0, 0.0, 0.0, 0.0
            rate = over**self.k / self.enough
            return rate, math.copysign(self.k * rate / over / self.p["slope_v"], v), 0.0, 0.0
        level = self.p["arc_to_glow_a"] if self.mode == "arc" else self.p["extinction_a"]
        return fades(amps[0] / level, (amps[1] / level, 0.0), 100.0 * self.p["drop_s"], m)

    def watches(self):
        return {"off": ("fires",), "glow": ("arcs", "fades"), "arc": ("fades",)}[self.mode]

    def watch(self, name, t, v, temp, m, amps):
        if name == "fires":
            return m - 1.0
        return abs(amps[0]) - self.p["glow_to_arc_a"] if name == "arcs" else 0.5 - m

    def switch(self, name, t, v, temp, m, amps):
        if name == "fades" and self.mode == "glow":
            self.mode = "off"
            return 0.0
        start = abs(v) + 5.0 * self.ROUNDING if name == "fires" else self.level(t)
        self.mode = "arc" if name == "arcs" else "glow"
        end = self.p["arc_v"] if self.mode == "arc" else self.p["glow_v"]
        self.level = Settling(t, start, end, self.p["drop_s"])
        return 1.0


LAWS = {
    "avalanche": Avalanche,
    "flat clamp": FlatClamp,
    "crowbar": Crowbar,
    "varistor": Varistor,
    "gas tube": GasTube,
}


# Waves of sources, unit peak.


def heidler(front, tail, n):
    def form(t):
        return math.exp(-t / tail) / (1.0 + (front / t) ** n) if t > 0.0 else 0.0

    top = minimize_scalar(
        lambda t: -form(t), bounds=(0.1 * front, 30.0 * front), method="bounded", options={"xatol": 1e-6 * front}
    )
    return lambda t: form(t) / -top.fun


def double_exponential(rise, duration):
    """10–90 % rise and 10–10 % duration, two unknown rates."""

    def shape(logs):
        fall, front = duration * math.exp(logs[0]), rise * math.exp(logs[1])
        peak_t = math.log(fall / front) * fall * front / (fall - front)
        peak = math.exp(-peak_t / fall) - math.exp(-peak_t / front)
        return (lambda t: (math.exp(-t / fall) - math.exp(-t / front)) / peak), peak_t

    def miss(logs):
        form, peak_t = shape(logs)
        crossing = lambda level, a, b: brentq(lambda t: form(t) - level, a, b, xtol=1e-18, rtol=1e-13)
        t10, t90 = crossing(0.1, 0.0, peak_t), crossing(0.9, 0.0, peak_t)
        end = crossing(0.1, peak_t, 100.0 * duration)
        return [math.log((t90 - t10) / rise), math.log((end - t10) / duration)]

    logs, _, found, _ = fsolve(miss, [math.log(0.4), math.log(0.5)], full_output=True, xtol=1e-12)
    assert found == 1, "no double exponential"
    form, _ = shape(logs)
    return lambda t: form(t) if t > 0.0 else 0.0
