"""Writes `second_opinion_circuits.json`: the sixty-one circuits that both sides of the second opinion read.

Everything is an SI number. Parts are the parameters of the laws, not datasheets; all of them are invented. A ladder is
read from the connector inwards. `python3 validation/second_opinion_circuits.py` writes the file.
"""

import json
import pathlib

HEAT = {"capacity_j_per_k": [200e-6, 2e-3, 40e-3], "resistance_k_per_w": [0.02, 0.2, 20.0]}
SMALL_HEAT = {"capacity_j_per_k": [20e-6, 0.3e-3, 5e-3], "resistance_k_per_w": [0.3, 2.0, 60.0]}
JUNCTION = {"built_in_v": 0.7, "grading": 0.45}
ONE_WAY = {"both_ways": False, "forward_v": 0.8, "forward_ohm": 0.02}
BOTH_WAYS = {"both_ways": True, "forward_v": 0.8, "forward_ohm": 0.02}


def avalanche(volts, ohms, ways, farads=1e-9, per_k=9.8e-4, rounding=0.02, heat=HEAT):
    return {
        "law": "avalanche",
        "breakdown_v": volts,
        "per_k": per_k,
        "ohm": ohms,
        "rounding_v": rounding,
        "farad": farads,
        "heat": heat,
        **ways,
        **JUNCTION,
    }


def flat_clamp(trigger, on, ways, ohms=0.03, detector=None, breakdown=48.0, saturation=150.0, lets_go=4.0):
    return {
        "law": "flat clamp",
        "trigger_v": trigger,
        "on_v": on,
        "per_k": 2e-4,
        "ohm": ohms,
        "delay_s": 5e-9,
        "settle_s": 2e-9,
        "off_v": on - lets_go,
        "saturation_a": saturation,
        "breakdown_v": breakdown,
        "breakdown_ohm": 0.2,
        "detector": detector,
        "rounding_v": 0.02,
        "farad": 0.6e-9,
        "heat": HEAT,
        **ways,
        **JUNCTION,
    }


def crowbar(
    trigger, trigger_a, off_ohm, on, on_ohm, hold, transition, ways, farads, per_k=0.0, hold_per_k=0.0, heat=None
):
    return {
        "law": "crowbar",
        "trigger_v": trigger,
        "trigger_a": trigger_a,
        "per_k": per_k,
        "off_ohm": off_ohm,
        "on_v": on,
        "on_ohm": on_ohm,
        "hold_a": hold,
        "hold_per_k": hold_per_k,
        "transition_s": transition,
        "rounding_v": 0.01 if trigger < 30 else 0.05,
        "farad": farads,
        "heat": heat,
        **ways,
    }


def varistor(volts, exponent, farads, bulk):
    return {"law": "varistor", "v1ma_v": volts, "exponent": exponent, "farad": farads, "series_ohm": bulk, "heat": None}


def gas_tube(dc, a, b, arc=15.0, arc_ohm=0.02, drop=10e-9):
    return {
        "law": "gas tube",
        "dc_v": dc,
        "slope_v": a,
        "slope_exponent": b,
        "glow_v": 70.0,
        "glow_to_arc_a": 0.5,
        "arc_v": arc,
        "arc_ohm": arc_ohm,
        "arc_to_glow_a": 0.1,
        "extinction_a": 0.01,
        "drop_s": drop,
        "farad": 1e-12,
        "insulation_ohm": 1e10,
        "heat": None,
    }


DIODE = {
    "forward_v": 0.75,
    "forward_ohm": 0.25,
    "breakdown_v": 100.0,
    "breakdown_ohm": 1.0,
    "rounding_v": 0.02,
    "farad": 0.4e-12,
}

PARTS = {
    "uni-38": avalanche(38.0, 0.1, ONE_WAY),
    "uni-27": avalanche(27.0, 0.05, ONE_WAY),
    "uni-6": avalanche(6.8, 0.12, ONE_WAY, farads=60e-12, per_k=4e-4, heat=SMALL_HEAT),
    "bi-38": avalanche(38.0, 0.1, BOTH_WAYS),
    "bi-14": avalanche(14.0, 0.25, BOTH_WAYS, farads=300e-12, heat=SMALL_HEAT),
    "bi-15": avalanche(15.5, 0.25, BOTH_WAYS, farads=300e-12, heat=SMALL_HEAT),
    "bi-20": avalanche(20.0, 0.2, BOTH_WAYS),
    "bi-58": avalanche(58.0, 0.3, BOTH_WAYS),
    "bi-6": avalanche(6.5, 0.15, BOTH_WAYS, farads=25e-12, per_k=3e-4, heat=SMALL_HEAT),
    "flat-35": flat_clamp(35.0, 34.0, ONE_WAY),
    "flat-35-both": flat_clamp(35.0, 34.0, BOTH_WAYS),
    "flat-25": flat_clamp(25.0, 24.2, ONE_WAY, ohms=0.02, breakdown=36.0, saturation=90.0),
    "flat-slope": flat_clamp(
        20.0, 19.0, ONE_WAY, detector={"rc_s": 1e-6, "hold_s": 60e-6}, breakdown=60.0, lets_go=13.0
    ),
    "snap-9": crowbar(9.0, 0.05, 1.0, 2.9, 0.15, 0.02, 0.5e-9, {**ONE_WAY, "forward_ohm": 0.1}, 1e-12),
    "snap-8-both": crowbar(8.0, 0.02, 2.0, 2.2, 0.25, 0.03, 0.7e-9, {**BOTH_WAYS, "forward_ohm": 0.1}, 0.35e-12),
    "thyristor-130": crowbar(130.0, 0.2, 5.0, 2.0, 0.05, 0.15, 0.3e-6, BOTH_WAYS, 80e-12, 1e-3, -5e-3, HEAT),
    "thyristor-75": crowbar(75.0, 0.15, 4.0, 2.4, 0.08, 0.12, 0.2e-6, BOTH_WAYS, 60e-12, 1e-3, -5e-3, HEAT),
    "thyristor-20": crowbar(20.0, 0.1, 1.0, 1.6, 0.06, 0.1, 0.2e-6, BOTH_WAYS, 120e-12, 9e-4, -5e-3, HEAT),
    "varistor-47": varistor(47.0, 30.0, 2e-9, 0.03),
    "varistor-33": varistor(33.0, 27.0, 3e-9, 0.02),
    "varistor-120": varistor(120.0, 35.0, 0.6e-9, 0.05),
    "varistor-18": varistor(18.0, 25.0, 1e-9, 0.08),
    "tube-230": gas_tube(230.0, 77.8, 0.226),
    "tube-90": gas_tube(90.0, 43.8, 0.3404, arc_ohm=0.03),
    "tube-350": gas_tube(350.0, 98.0, 0.203, arc=20.0, drop=15e-9),
}


def series(name, ohm, henry, line=1, saturation_a=None):
    return {"series": name, "line": line, "ohm": ohm, "henry": henry, "saturation_a": saturation_a}


def shunt(name, part, lead, across="1"):
    return {"shunt": name, "part": part, "lead_h": lead, "across": across}


def steering(name, lead, rail_v, rail_f, clamp, clamp_lead, line=1):
    return {
        "steering": name,
        "line": line,
        "diode": DIODE,
        "lead_h": lead,
        "rail_v": rail_v,
        "rail_f": rail_f,
        "clamp": clamp,
        "clamp_lead_h": clamp_lead,
    }


PIN_CLAMP = {"up_v": 4.1, "up_ohm": 1.0, "down_v": 0.7, "down_ohm": 1.0, "rounding_v": 0.02, "farad": 2e-12}


def surge(level, through="none", drive="line", elements="D3", **more):
    return {
        "kind": "combination wave",
        "elements": elements,
        "level_v": level,
        "through": through,
        "drive": drive,
        **more,
    }


def outdoor(charge, drive="line", wire_ohm=25.0):
    return {"kind": "10/700", "charge_v": charge, "wire_ohm": wire_ohm, "drive": drive}


def discharge(level, network="150 pF 330 ohm"):
    return {"kind": "discharge", "network": network, "level_v": level}


def burst(level, drive="line"):
    return {"kind": "burst", "level_v": level, "farad": 33e-9, "drive": drive}


def vehicle(pulse, peak, rise, duration, ohm):
    return {"kind": "vehicle pulse", "pulse": pulse, "peak_v": peak, "rise_s": rise, "duration_s": duration, "ohm": ohm}


def load_dump(peak, ohm, duration, suppressed=None):
    return {
        "kind": "load dump",
        "peak_v": peak,
        "supply_v": 14.0,
        "rise_s": 10e-3,
        "duration_s": duration,
        "ohm": ohm,
        "suppressed_v": suppressed,
    }


def line_pulse(volts, width=100e-9, rise=1e-9):
    return {"kind": "line pulse", "level_v": volts, "rise_s": rise, "width_s": width}


CIRCUITS = []


def circuit(family, name, end, stress, ladder, pin_f, lines=1, supply=None, pin=None, ambient=25.0):
    sign = stress.pop("sign", 1)
    CIRCUITS.append(
        {
            "family": family,
            "name": name,
            "end_s": end,
            "ambient_c": ambient,
            "lines": lines,
            "sign": sign,
            "stress": stress,
            "supply": supply,
            "ladder": ladder,
            "pin": {"farad": pin_f, "conduction": pin},
        }
    )


def one_stage(part, lead=2e-9, before=15e-9, after=10e-9):
    return [series("in", 0.02, before), shunt("D1", part, lead), series("out", 0.01, after)]


def two_stage(first, ohm, henry, second, saturation_a=None):
    return [
        series("in", 0.01, 8e-9),
        shunt("P1", first, 8e-9),
        series("between", ohm, henry, saturation_a=saturation_a),
        shunt("P2", second, 2e-9),
        series("out", 0.01, 6e-9),
    ]


def three_stage(first, r1, second, r2, third):
    return [
        series("in", 0.01, 8e-9),
        shunt("P1", first, 10e-9),
        series("R1", r1, 40e-9),
        shunt("P2", second, 3e-9),
        series("R2", r2, 12e-9),
        shunt("P3", third, 2e-9),
        series("out", 0.01, 6e-9),
    ]


def pair(first, second, between, ohm, feeds=(15e-9, 15e-9)):
    out = [series("in 1", 0.02, feeds[0], 1), series("in 2", 0.02, feeds[1], 2)]
    if first:
        out.append(shunt("D1", first, 2e-9, "1"))
    if second:
        out.append(shunt("D2", second, 2e-9, "2"))
    if between:
        out.append(shunt("D3", between, 2e-9, "1-2"))
    return out + [series("out 1", ohm, 5e-9, 1), series("out 2", ohm, 5e-9, 2)]


V24 = {"volts": 24.0, "ohm": 2.0}
V12 = {"volts": 12.0, "ohm": 0.5}

F = "avalanche diode, one way"
circuit(F, "surge 500 V behind 2 ohm", 200e-6, surge(500.0), one_stage("uni-38"), 1e-9)
circuit(
    F,
    "surge 500 V behind 2 ohm through 18 uF, 24 V on",
    200e-6,
    surge(500.0, "18 uF", elements="D18"),
    one_stage("uni-38"),
    4.7e-6,
    supply=V24,
)
circuit(
    F,
    "surge 1 kV behind 12 ohm, 24 V on",
    200e-6,
    surge(1000.0, "10 ohm 9 uF"),
    one_stage("uni-38"),
    4.7e-6,
    supply=V24,
)
circuit(
    F,
    "negative surge 1 kV behind 12 ohm, 24 V on",
    200e-6,
    surge(1000.0, "10 ohm 9 uF", sign=-1),
    one_stage("uni-38"),
    1e-6,
    supply=V24,
)
circuit(F, "load dump 87 V behind 2 ohm", 1.0, load_dump(87.0, 2.0, 400e-3), one_stage("uni-27"), 1e-6)
circuit(
    F,
    "vehicle pulse 1, 100 V behind 10 ohm",
    6e-3,
    {**vehicle("1", 100.0, 1e-6, 2e-3, 10.0), "sign": -1},
    one_stage("uni-27"),
    100e-9,
)
circuit(
    F,
    "vehicle pulse 2a, 112 V behind 2 ohm",
    150e-6,
    vehicle("2a", 112.0, 1e-6, 50e-6, 2.0),
    one_stage("uni-27"),
    100e-9,
)
circuit(
    F,
    "discharge 8 kV, 10 ohm to the pin",
    300e-9,
    discharge(8000.0),
    [series("in", 0.02, 12e-9), shunt("D1", "uni-6", 1e-9), series("Rs", 10.0, 0.0), series("out", 0.01, 5e-9)],
    15e-12,
)

F = "avalanche diode, both ways"
circuit(F, "surge 1 kV behind 42 ohm and 0.5 uF", 100e-6, surge(1000.0, "40 ohm 0.5 uF"), one_stage("bi-38"), 100e-12)
circuit(
    F, "surge 1 kV behind 42 ohm and an arrester", 200e-6, surge(1000.0, "40 ohm arrester"), one_stage("bi-38"), 100e-12
)
circuit(F, "10/700 of 1.5 kV", 3e-3, outdoor(1500.0), one_stage("bi-58"), 100e-12)
circuit(
    F,
    "discharge 8 kV, conducting pin",
    300e-9,
    discharge(8000.0),
    [series("in", 0.02, 12e-9), shunt("D1", "bi-6", 0.8e-9), series("Rs", 4.7, 0.0), series("out", 0.01, 5e-9)],
    3e-12,
    pin=PIN_CLAMP,
)
circuit(F, "burst 2 kV through 33 nF", 1e-6, burst(2000.0), one_stage("bi-14"), 20e-12)
circuit(
    F,
    "two stages, surge 2 kV behind 42 ohm and 0.5 uF",
    100e-6,
    surge(2000.0, "40 ohm 0.5 uF"),
    two_stage("bi-20", 4.7, 20e-9, "bi-14"),
    50e-12,
)
circuit(
    F,
    "pair, surge 1 kV common mode, unequal parts",
    200e-6,
    surge(1000.0, "wires", "both", wire_ohm=80.0),
    pair("bi-14", "bi-15", "bi-14", 10.0),
    50e-12,
    lines=2,
)
circuit(
    F,
    "pair, surge 500 V line to line behind 42 ohm",
    100e-6,
    surge(500.0, "40 ohm 0.5 uF", "line-line"),
    pair("bi-14", "bi-15", None, 4.7),
    50e-12,
    lines=2,
)
circuit(
    F,
    "vehicle pulse 3b, 150 V behind 50 ohm, hot",
    1e-6,
    vehicle("3b", 150.0, 5e-9, 150e-9, 50.0),
    one_stage("bi-38"),
    10e-12,
    ambient=85.0,
)

F = "flat clamp"
circuit(F, "surge 1 kV behind 42 ohm and 0.5 uF", 100e-6, surge(1000.0, "40 ohm 0.5 uF"), one_stage("flat-35"), 100e-12)
circuit(F, "surge 200 V behind 2 ohm", 200e-6, surge(200.0), one_stage("flat-35"), 1e-9)
circuit(
    F,
    "surge 1 kV behind 12 ohm, cold",
    200e-6,
    surge(1000.0, "10 ohm 9 uF"),
    one_stage("flat-35"),
    10e-9,
    ambient=-40.0,
)
circuit(
    F,
    "both ways, negative surge 1 kV behind 42 ohm",
    100e-6,
    surge(1000.0, "40 ohm 0.5 uF", sign=-1),
    one_stage("flat-35-both"),
    1e-9,
)
circuit(F, "beyond its highest current, surge 400 V behind 2 ohm", 200e-6, surge(400.0), one_stage("flat-25"), 1e-9)
circuit(
    F, "suppressed load dump 35 V behind 1 ohm", 0.6, load_dump(79.0, 1.0, 300e-3, 35.0), one_stage("flat-25"), 1e-6
)
circuit(
    F,
    "triggered by the slope, times out, surge 500 V behind 42 ohm and an arrester",
    150e-6,
    surge(500.0, "40 ohm arrester"),
    one_stage("flat-slope"),
    1e-9,
)
circuit(
    F,
    "discharge 4 kV, 2.2 ohm to the pin",
    300e-9,
    discharge(4000.0),
    [series("in", 0.02, 12e-9), shunt("D1", "flat-25", 1e-9), series("Rs", 2.2, 3e-9)],
    100e-12,
)

F = "snapback clamp"
circuit(
    F,
    "discharge 8 kV, conducting pin behind 4.7 ohm",
    300e-9,
    discharge(8000.0),
    [series("in", 0.02, 15e-9), shunt("D1", "snap-9", 2e-9), series("Rs", 4.7, 0.0), series("out", 0.01, 10e-9)],
    3e-12,
    pin=PIN_CLAMP,
)
circuit(F, "discharge 2 kV, open pin", 300e-9, discharge(2000.0), one_stage("snap-9", 1e-9, 8e-9, 5e-9), 5e-12)
circuit(
    F,
    "negative discharge 8 kV, forward",
    300e-9,
    {**discharge(8000.0), "sign": -1},
    one_stage("snap-9", 1e-9, 8e-9, 5e-9),
    5e-12,
)
circuit(
    F,
    "both ways, negative discharge 6 kV",
    300e-9,
    {**discharge(6000.0), "sign": -1},
    [series("in", 0.02, 10e-9), shunt("D1", "snap-8-both", 0.8e-9), series("Rs", 2.2, 3e-9)],
    2e-12,
    pin=PIN_CLAMP,
)
circuit(
    F,
    "discharge 8 kV from 330 pF and 2 kohm",
    2e-6,
    discharge(8000.0, "330 pF 2 kohm"),
    one_stage("snap-9", 1e-9, 8e-9, 5e-9),
    10e-12,
)
circuit(
    F, "pulse of 16 A from a charged line", 150e-9, line_pulse(800.0), one_stage("snap-8-both", 1e-9, 4e-9, 4e-9), 2e-12
)
circuit(F, "burst 1 kV through 33 nF", 1e-6, burst(1000.0), one_stage("snap-9", 1e-9, 8e-9, 5e-9), 10e-12)

F = "varistor"
circuit(F, "surge 1 kV behind 12 ohm", 200e-6, surge(1000.0, "10 ohm 9 uF"), one_stage("varistor-47"), 1e-9)
circuit(
    F,
    "surge 2 kV behind 2 ohm through 18 uF, 24 V on",
    200e-6,
    surge(2000.0, "18 uF", elements="D18"),
    one_stage("varistor-33"),
    2.2e-6,
    supply=V24,
)
circuit(
    F, "surge 2 kV behind 42 ohm and 0.5 uF", 100e-6, surge(2000.0, "40 ohm 0.5 uF"), one_stage("varistor-18"), 1e-9
)
circuit(F, "10/700 of 2 kV", 3e-3, outdoor(2000.0), one_stage("varistor-120"), 100e-12)
circuit(
    F,
    "two stages, 10 uH to an avalanche diode, surge 1 kV behind 12 ohm",
    200e-6,
    surge(1000.0, "10 ohm 9 uF"),
    two_stage("varistor-47", 0.05, 10e-6, "uni-38"),
    1e-6,
)
circuit(
    F,
    "two stages, saturating 10 uH, surge 1 kV behind 2 ohm",
    200e-6,
    surge(1000.0),
    two_stage("varistor-47", 0.05, 10e-6, "uni-38", saturation_a=8.0),
    1e-6,
)
circuit(F, "load dump 101 V behind 4 ohm", 1.0, load_dump(101.0, 4.0, 400e-3), one_stage("varistor-33"), 1e-6)
circuit(
    F,
    "pair, surge 1 kV line to line behind 2 ohm",
    200e-6,
    surge(1000.0, "18 uF", "line-line", elements="D18"),
    pair("varistor-47", "varistor-47", "varistor-33", 0.5),
    10e-9,
    lines=2,
)

F = "gas tube"
circuit(
    F, "two stages, 10 ohm, 10/700 of 4 kV", 3e-3, outdoor(4000.0), two_stage("tube-230", 10.0, 50e-9, "bi-20"), 100e-12
)
circuit(
    F,
    "two stages, 10 ohm, surge 4 kV behind 42 ohm and 0.5 uF",
    100e-6,
    surge(4000.0, "40 ohm 0.5 uF"),
    two_stage("tube-230", 10.0, 50e-9, "bi-20"),
    100e-12,
)
circuit(
    F,
    "two stages, 4.7 ohm, negative surge 2 kV behind 42 ohm and an arrester",
    200e-6,
    surge(2000.0, "40 ohm arrester", sign=-1),
    two_stage("tube-90", 4.7, 20e-9, "bi-20"),
    100e-12,
)
circuit(
    F,
    "three stages, surge 6 kV behind 12 ohm",
    200e-6,
    surge(6000.0, "10 ohm 9 uF"),
    three_stage("tube-230", 2.2, "varistor-47", 1.0, "uni-38"),
    1e-9,
)
circuit(
    F,
    "three stages, 10/700 of 6 kV",
    3e-3,
    outdoor(6000.0),
    three_stage("tube-350", 10.0, "bi-58", 10.0, "bi-20"),
    1e-9,
)
circuit(
    F,
    "two stages, saturating 22 uH, 10/700 of 4 kV",
    3e-3,
    outdoor(4000.0),
    two_stage("tube-230", 1.0, 22e-6, "bi-58", saturation_a=12.0),
    1e-9,
)
circuit(F, "does not fire, 10/700 of 200 V", 3e-3, outdoor(200.0), two_stage("tube-230", 10.0, 50e-9, "bi-20"), 100e-12)
circuit(
    F,
    "pair, 10/700 of 4 kV to earth",
    3e-3,
    outdoor(4000.0, "both"),
    [
        series("in 1", 0.02, 15e-9, 1),
        series("in 2", 0.02, 15e-9, 2),
        shunt("G1", "tube-230", 8e-9, "1"),
        shunt("G2", "tube-350", 8e-9, "2"),
        series("R1", 10.0, 20e-9, 1),
        series("R2", 10.0, 20e-9, 2),
        shunt("D3", "bi-20", 2e-9, "1-2"),
        series("out 1", 1.0, 5e-9, 1),
        series("out 2", 1.0, 5e-9, 2),
    ],
    1e-9,
    lines=2,
)

F = "thyristor"
circuit(F, "10/700 of 1.5 kV", 3e-3, outdoor(1500.0), one_stage("thyristor-130"), 100e-12)
circuit(
    F, "surge 2 kV behind 42 ohm and 0.5 uF", 100e-6, surge(2000.0, "40 ohm 0.5 uF"), one_stage("thyristor-75"), 100e-12
)
circuit(
    F,
    "negative surge 1 kV behind 42 ohm and an arrester",
    200e-6,
    surge(1000.0, "40 ohm arrester", sign=-1),
    one_stage("thyristor-20"),
    1e-9,
)
circuit(
    F,
    "surge 500 V behind 12 ohm, turns off at the end",
    300e-6,
    surge(500.0, "10 ohm 9 uF"),
    one_stage("thyristor-75"),
    1e-9,
)
circuit(
    F,
    "two stages behind a gas tube, 10/700 of 4 kV, hot",
    3e-3,
    outdoor(4000.0),
    two_stage("tube-230", 10.0, 50e-9, "thyristor-75"),
    100e-12,
    ambient=70.0,
)
circuit(
    F,
    "pair, 10/700 of 1.5 kV between the wires",
    3e-3,
    outdoor(1500.0, "line-line"),
    pair("thyristor-75", "thyristor-75", None, 4.7),
    100e-12,
    lines=2,
)
circuit(
    F,
    "behind it 4.7 ohm and an avalanche diode, surge 1 kV behind 42 ohm",
    100e-6,
    surge(1000.0, "40 ohm 0.5 uF"),
    two_stage("thyristor-20", 4.7, 20e-9, "bi-14"),
    100e-12,
)

F = "steering diodes"
RAIL = ("uni-6", 1e-9)
circuit(
    F,
    "discharge 8 kV into the rail",
    300e-9,
    discharge(8000.0),
    [series("in", 0.02, 8e-9), steering("S1", 0.8e-9, 3.3, 100e-12, *RAIL), series("out", 1.0, 4e-9)],
    3e-12,
)
circuit(
    F,
    "negative discharge 8 kV from the return",
    300e-9,
    {**discharge(8000.0), "sign": -1},
    [series("in", 0.02, 8e-9), steering("S1", 0.8e-9, 3.3, 100e-12, *RAIL), series("out", 1.0, 4e-9)],
    3e-12,
)
circuit(
    F,
    "discharge 8 kV, rail of 100 nF",
    600e-9,
    discharge(8000.0),
    [series("in", 0.02, 8e-9), steering("S1", 0.8e-9, 3.3, 100e-9, *RAIL), series("out", 1.0, 4e-9)],
    3e-12,
    pin=PIN_CLAMP,
)
circuit(
    F,
    "burst 1 kV through 33 nF",
    1e-6,
    burst(1000.0),
    [series("in", 0.02, 8e-9), steering("S1", 0.8e-9, 3.3, 1e-9, *RAIL), series("out", 10.0, 4e-9)],
    5e-12,
)
circuit(
    F,
    "surge 500 V behind 42 ohm and 0.5 uF",
    100e-6,
    surge(500.0, "40 ohm 0.5 uF"),
    [series("in", 0.02, 8e-9), steering("S1", 0.8e-9, 3.3, 10e-9, *RAIL), series("out", 10.0, 4e-9)],
    5e-12,
)
circuit(
    F,
    "pair, burst 1 kV on both lines",
    1e-6,
    burst(1000.0, "both"),
    [
        series("in 1", 0.02, 8e-9, 1),
        series("in 2", 0.02, 10e-9, 2),
        steering("S1", 0.8e-9, 3.3, 1e-9, *RAIL, line=1),
        steering("S2", 0.8e-9, 3.3, 2e-9, *RAIL, line=2),
        series("out 1", 10.0, 4e-9, 1),
        series("out 2", 10.0, 4e-9, 2),
    ],
    5e-12,
    lines=2,
)


def main():
    lines = ["{", '"track_ohm": 75.0,', '"loss_tangent": 0.02,', '"parts": {']
    entries = [f"{json.dumps(name)}: {json.dumps(part)}" for name, part in PARTS.items()]
    lines += [",\n".join(entries), "},", '"circuits": [', ",\n".join(json.dumps(entry) for entry in CIRCUITS), "]", "}"]
    target = pathlib.Path(__file__).with_name("second_opinion_circuits.json")
    target.write_text("\n".join(lines) + "\n")
    print(f"written: {target.name}, {len(CIRCUITS)} circuits")


if __name__ == "__main__":
    main()
