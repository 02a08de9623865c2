"""A described circuit as charge-oriented nodal equations `d/dt q(x) + f(x, t) = 0`."""

import math

import numpy as np

from second_opinion_laws import LAWS, Diode, GasTube, PinConduction, double_exponential, heidler


class Circuit:
    def __init__(self, description, common):
        self.text, self.common = description, common
        self.names, self.start = [], []
        self.linear = {"q": [], "f": []}
        self.sources, self.corners, self.saturating = [], [], []
        self.devices, self.outputs, self.heats = [], {}, []
        self.unit = []

    # Unknowns.
    def unknown(self, name, start, unit=1.0):
        self.names.append(name)
        self.start.append(start)
        self.unit.append(unit)
        return len(self.names) - 1

    # Stamps: a current from a to b that is proportional to x[k], or to the voltage between two nodes.
    def into(self, kind, row, column, value):
        if row is not None and column is not None:
            self.linear[kind].append((row, column, value))

    def across(self, kind, a, b, value):
        for row, sign in ((a, 1.0), (b, -1.0)):
            self.into(kind, row, a, sign * value)
            self.into(kind, row, b, -sign * value)

    def resistor(self, a, b, ohm, wave=None, volts=0.0):
        """Resistor, in series with a source that drives from a to b."""
        self.across("f", a, b, 1.0 / ohm)
        if wave:
            self.sources.append((a, b, volts / ohm, wave))

    def capacitor(self, a, b, farad):
        self.across("q", a, b, farad)

    def inductor(self, a, b, ohm, henry, saturation_a=None, constant_v=0.0):
        row = self.unknown("i", 0.0)
        for node, sign in ((a, 1.0), (b, -1.0)):
            self.into("f", node, row, sign)
            self.into("f", row, node, -sign)
        self.into("f", row, row, ohm)
        if saturation_a:
            self.saturating.append((row, henry, saturation_a))
        else:
            self.into("q", row, row, henry)
        if constant_v:
            self.sources.append((None, None, constant_v, row))
        return row

    def node(self, volts=0.0):
        return self.unknown("v", volts)

    def ladder_node(self, volts):
        node = self.node(volts)
        # A pad and a via.
        self.capacitor(node, None, 0.2e-12)
        return node

    def v0(self, node):
        return 0.0 if node is None else self.start[node]

    def device(self, name, law, a, b, lead_h, ohm, heat, watched=True):
        junction = self.node(self.v0(a))
        z0, tan = self.common["track_ohm"], self.common["loss_tangent"]
        amps = {}
        if lead_h:
            current = self.inductor(a, junction, ohm, lead_h)
            amps[current] = 1.0
            loss = tan / z0
            if loss and watched:
                self.across("f", a, junction, loss)
                for node, sign in ((a, 1.0), (junction, -1.0)):
                    if node is not None:
                        amps[node] = amps.get(node, 0.0) + sign * loss
        else:
            self.resistor(a, junction, ohm)
            current, loss = None, 0.0
            amps = {a: 1.0 / ohm, junction: -1.0 / ohm}
        entry = {"law": law, "a": junction, "b": b, "name": name, "temp": None, "memory": None}
        if heat:
            temps = [self.unknown("T", self.text["ambient_c"]) for _ in heat["capacity_j_per_k"]]
            for k, (c, r) in enumerate(zip(heat["capacity_j_per_k"], heat["resistance_k_per_w"])):
                self.into("q", temps[k], temps[k], c)
                if k + 1 < len(temps):
                    self.across("f", temps[k], temps[k + 1], 1.0 / r)
                else:
                    self.into("f", temps[k], temps[k], 1.0 / r)
                    self.sources.append((None, None, self.text["ambient_c"] / r, temps[k]))
            entry["temp"] = temps[0]
        if law.memory is not None:
            entry["memory"] = self.unknown("m", law.begin(self.v0(junction) - self.v0(b)))
            self.into("q", entry["memory"], entry["memory"], 1.0)
        self.devices.append(entry)
        if watched:
            self.outputs[("amps", name)] = amps
            if heat:
                self.outputs[("junction", name)] = {entry["temp"]: 1.0}
            # Heat: conduction, the resistance in the lead, the loss beside it.
            self.heats.append((name, len(self.devices) - 1, current, ohm, (a, junction, loss)))
        return entry

    # Generators.
    def generator(self, lines):
        s = self.text["stress"]
        kind, sign = s["kind"], float(self.text["sign"])
        drive = s.get("drive", "line")
        back = lines[1] if drive == "line-line" else None
        driven = lines if drive == "both" else lines[:1]
        if kind == "combination wave":
            # Storage, coil, resistance across the storage, in series, across the output; charge per volt of peak.
            elements = {
                "D3": (6.09391e-6, 10.80567e-6, 19.67118, 0.84231, 25.92179, 1.06166),
                "D18": (10.3841e-6, 10.7333e-6, 8.8659, 0.8262, 25.7316, 1.0623),
            }[s["elements"]]
            c, coil, storage_ohm, series_ohm, output_ohm, ratio = elements
            store = self.node(self.v0(back) + sign * ratio * s["level_v"])
            self.capacitor(store, back, c)
            self.resistor(store, back, storage_ohm)
            ohm, farad, tube = {
                "none": (0.0, None, False),
                "18 uF": (0.0, 18e-6, False),
                "10 ohm 9 uF": (10.0, 9e-6, False),
                "40 ohm 0.5 uF": (40.0, 0.5e-6, False),
                "40 ohm arrester": (40.0, None, True),
                "wires": (s.get("wire_ohm"), None, False),
            }[s["through"]]
            direct = s["through"] == "none"
            out = lines[0] if direct else self.node()
            self.inductor(store, out, series_ohm, coil)
            self.resistor(out, back, output_ohm)
            for line in driven if not direct else ():
                at = out
                if ohm and (farad or tube):
                    at = self.node(self.v0(line) if tube else 0.0)
                    self.resistor(out, at, ohm)
                elif ohm:
                    self.resistor(out, line, ohm)
                if farad:
                    # It has taken up the working voltage of the line.
                    self.capacitor(at, line, farad)
                if tube:
                    part = {
                        "dc_v": 90.0,
                        "slope_v": 43.8,
                        "slope_exponent": 0.3404,
                        "glow_v": 70.0,
                        "glow_to_arc_a": 0.5,
                        "arc_v": 15.0,
                        "arc_ohm": 0.05,
                        "arc_to_glow_a": 0.1,
                        "extinction_a": 0.01,
                        "drop_s": 10e-9,
                        "farad": 1e-12,
                        "insulation_ohm": 1e10,
                    }
                    self.device("coupling arrester", GasTube(part, 25.0), at, line, 20e-9, 0.0, None, watched=False)
            self.decoupling_h = 1.5e-3 if s["through"] in ("none", "18 uF", "10 ohm 9 uF") else 20e-3
        elif kind == "10/700":
            store = self.node(self.v0(back) + sign * s["charge_v"])
            out = self.node(self.v0(back))
            self.capacitor(store, back, 20e-6)
            self.resistor(store, back, 50.0)
            self.resistor(store, out, 15.0)
            self.capacitor(out, back, 0.2e-6)
            for line in driven:
                self.resistor(out, line, s["wire_ohm"])
        elif kind == "discharge":
            networks = {
                "150 pF 330 ohm": ((150e-12, 330.0, 1.7940e-6), (6.0630e-12, 181.91, 167.76e-9)),
                "330 pF 2 kohm": ((330e-12, 2000.0, 9.2535e-6), (16.794e-12, 213.72, 132.92e-9)),
            }
            for c, r, l in networks[s["network"]]:
                store = self.node(sign * s["level_v"])
                self.capacitor(store, None, c)
                self.inductor(store, lines[0], r, l)
        elif kind == "burst":
            # 5/50 ns behind 50 ohm, then a capacitor into every line.
            out = self.node()
            self.resistor(back, out, 50.0, heidler(3.5e-9, 51e-9, 1.8), sign * s["level_v"])
            for line in driven:
                self.capacitor(out, line, s["farad"])
        elif kind == "vehicle pulse":
            self.resistor(
                None, lines[0], s["ohm"], double_exponential(s["rise_s"], s["duration_s"]), sign * s["peak_v"]
            )
        elif kind == "load dump":
            self.load_dump(s, lines[0])
        elif kind == "line pulse":
            edge = s["rise_s"] / 0.8
            top = s["width_s"] - edge
            self.corners = [edge, edge + top, 2.0 * edge + top]
            wave = lambda t: max(0.0, min(1.0, t / edge, (2.0 * edge + top - t) / edge))
            self.resistor(None, lines[0], 50.0, wave, sign * s["level_v"])
        else:
            raise ValueError(kind)

    def load_dump(self, s, line):
        """Straight rise of 10 ms from 10 % to 90 %, exponential with the stated time between the 10 % points."""
        supply, swing = s["supply_v"], s["peak_v"] - s["supply_v"]
        ramp = s["rise_s"] / 0.8
        tau = (s["duration_s"] - 0.9 * ramp) / math.log(10.0)
        cut = s["suppressed_v"] or math.inf

        def volts(t):
            return min(cut, supply + swing * (t / ramp if t < ramp else math.exp(-(t - ramp) / tau)))

        self.corners = [ramp]
        if s["suppressed_v"]:
            share = (cut - supply) / swing
            self.corners = [share * ramp, ramp - tau * math.log(share)]
        self.resistor(None, line, s["ohm"], volts, 1.0)

    # The port.
    def build(self):
        text = self.text
        supply = text["supply"]
        working = supply["volts"] if supply else 0.0
        if text["stress"]["kind"] == "load dump":
            working = text["stress"]["supply_v"]
        z0, tan = self.common["track_ohm"], self.common["loss_tangent"]
        lines = [self.ladder_node(working if k == 0 else 0.0) for k in range(text["lines"])]
        connectors = list(lines)
        self.generator(lines)
        if supply:
            self.inductor(None, lines[0], supply["ohm"], self.decoupling_h, constant_v=supply["volts"])
        for stage in text["ladder"]:
            if "series" in stage:
                k = stage["line"] - 1
                a, b = lines[k], self.ladder_node(self.v0(lines[k]))
                lines[k] = b
                henry = stage["henry"]
                if not henry:
                    self.resistor(a, b, stage["ohm"])
                    continue
                self.inductor(a, b, stage["ohm"], henry, stage["saturation_a"])
                track = min(henry, 30e-9)
                for node in (a, b):
                    self.capacitor(node, None, 0.5 * track / z0**2)
                if tan:
                    # A track loses energy in the laminate, a choke in its core.
                    self.resistor(a, b, z0 / tan if henry <= 30e-9 else henry / 0.1e-9)
            elif "shunt" in stage:
                part = self.common["parts"][stage["part"]]
                a, b = {
                    "1": lambda: (lines[0], None),
                    "2": lambda: (lines[1], None),
                    "1-2": lambda: (lines[0], lines[1]),
                }[stage["across"]]()
                law = LAWS[part["law"]](part, text["ambient_c"])
                self.device(stage["shunt"], law, a, b, stage["lead_h"], part.get("series_ohm", 0.0), part["heat"])
            else:
                self.steering(stage, lines[stage["line"] - 1])
        for k, node in enumerate(lines):
            name = "pin" if len(lines) == 1 else f"pin {k + 1}"
            self.capacitor(node, None, text["pin"]["farad"])
            self.outputs[("volts", name)] = {node: 1.0}
            self.outputs[("volts", name.replace("pin", "connector"))] = {connectors[k]: 1.0}
            if text["pin"]["conduction"]:
                # The resistance of a bond wire.
                self.device(name, PinConduction(text["pin"]["conduction"], 25.0), node, None, 0.0, 0.01, None)
        return self.freeze()

    def steering(self, stage, line):
        name = stage["steering"]
        rail = self.node(stage["rail_v"])
        self.capacitor(rail, None, stage["rail_f"])
        for what, a, b in ((f"{name} (to rail)", line, rail), (f"{name} (from return)", None, line)):
            self.device(what, Diode(stage["diode"], 25.0), a, b, stage["lead_h"], 0.0, None)
        part = self.common["parts"][stage["clamp"]]
        law = LAWS[part["law"]](part, self.text["ambient_c"])
        self.device(f"{name} (rail clamp)", law, rail, None, stage["clamp_lead_h"], 0.0, part["heat"])

    def freeze(self):
        n = len(self.names)
        self.n = n
        self.x0, self.unit = np.array(self.start), np.array(self.unit)
        self.Q, self.F = np.zeros((n, n)), np.zeros((n, n))
        for matrix, stamps in ((self.Q, self.linear["q"]), (self.F, self.linear["f"])):
            for row, column, value in stamps:
                matrix[row, column] += value
        self.out_names = list(self.outputs)
        self.W = np.zeros((len(self.out_names), n))
        for k, name in enumerate(self.out_names):
            for column, value in self.outputs[name].items():
                if column is not None:
                    self.W[k, column] += value
        # A device between two nodes: its own junction starts where its ends stand.
        for d in self.devices:
            if d["memory"] is not None:
                d["law"].mode = "off"
        return self

    def bias(self, d, x):
        v = (x[d["a"]] if d["a"] is not None else 0.0) - (x[d["b"]] if d["b"] is not None else 0.0)
        temp = x[d["temp"]] if d["temp"] is not None else self.text["ambient_c"]
        return v, temp, x[d["memory"]] if d["memory"] is not None else 0.0

    def evaluate(self, t, x, slopes=True):
        """Charges of what is not linear, f, and the matrices of all of q and f, at one instant."""
        q, f = np.zeros(self.n), self.F @ x
        C, G = (self.Q.copy(), self.F.copy()) if slopes else (None, None)
        for a, b, size, wave in self.sources:
            if a is None and b is None:
                f[wave] -= size
                continue
            drive = size * wave(t)
            if a is not None:
                f[a] += drive
            if b is not None:
                f[b] -= drive
        for row, henry, most in self.saturating:
            # L = L0 / (1 + (i/I)²): its integral is the flux linkage.
            u = x[row] / most
            q[row] += henry * most * math.atan(u)
            if slopes:
                C[row, row] += henry / (1.0 + u * u)
        for d in self.devices:
            law, a, b, temp_row, m_row = d["law"], d["a"], d["b"], d["temp"], d["memory"]
            v, temp, m = self.bias(d, x)
            amps = law.amps(t, v, temp, m)
            i, g, k = amps
            charge, c = law.charge(v)
            if m_row is not None:
                rate, rate_v, rate_t, rate_m = law.memory_rate(t, v, temp, m, amps)
                f[m_row] -= rate
            if temp_row is not None:
                f[temp_row] -= v * i
            for row, sign in ((a, 1.0), (b, -1.0)):
                if row is None:
                    continue
                q[row] += sign * charge
                f[row] += sign * i
                if not slopes:
                    continue
                for column, other in ((a, sign), (b, -sign)):
                    if column is not None:
                        C[row, column] += other * c
                        G[row, column] += other * g
                if temp_row is not None:
                    G[row, temp_row] += sign * k
            if slopes:
                for column, sign in ((a, 1.0), (b, -1.0)):
                    if column is None:
                        continue
                    if temp_row is not None:
                        G[temp_row, column] -= sign * (i + v * g)
                    if m_row is not None:
                        G[m_row, column] -= sign * rate_v
                if temp_row is not None:
                    G[temp_row, temp_row] -= v * k
                if m_row is not None:
                    G[m_row, m_row] -= rate_m
                    if temp_row is not None:
                        G[m_row, temp_row] -= rate_t
        return q, f, C, G

    def watts(self, t, x):
        """Heat in every watched device."""
        out = []
        for _, k, current, ohm, (a, junction, loss) in self.heats:
            d = self.devices[k]
            v, temp, m = self.bias(d, x)
            drop = (x[a] if a is not None else 0.0) - x[junction]
            amps = x[current] if current is not None else drop / ohm
            out.append(v * d["law"].amps(t, v, temp, m)[0] + ohm * amps * amps + loss * drop * drop)
        return np.array(out)
