//! What the headers of tables mean in the words of the trade.

/// Which part of a datum a header without a role states by custom.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Custom {
    /// The datum is one value, or takes no role.
    None,
    /// By its nature a maximum.
    Max,
    /// Typical unless the header says otherwise.
    Typ,
    /// By its nature a minimum.
    Min,
}

/// What a term means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Meaning {
    /// The name of the part.
    Name,
    /// Its family.
    Family,
    /// A datum.
    Datum(&'static str, Custom),
    /// A current that other columns refer to: the test current of the breakdown voltage, or of a clamping voltage.
    TestCurrent,
    /// A number of pulses that ratings refer to.
    Pulses,
    /// How firm a part's values are: given once for the whole file.
    Firmness,
}

/// A meaning and the headers that have it: lower case, letters and digits only, unit, wave, role and conditions removed.
pub(super) struct Term {
    pub meaning: Meaning,
    /// Unambiguous in the trade.
    pub sure: &'static [&'static str],
    /// Usual, but used for other things too.
    pub likely: &'static [&'static str],
    /// Unit by custom if neither header nor cells state one; empty where there is no custom.
    pub unit: &'static str,
}

const fn datum(
    key: &'static str,
    custom: Custom,
    unit: &'static str,
    sure: &'static [&'static str],
    likely: &'static [&'static str],
) -> Term {
    Term {
        meaning: Meaning::Datum(key, custom),
        sure,
        likely,
        unit,
    }
}

const fn other(meaning: Meaning, sure: &'static [&'static str], likely: &'static [&'static str]) -> Term {
    Term {
        meaning,
        sure,
        likely,
        unit: "",
    }
}

/// The terms.
pub(super) const TERMS: &[Term] = &[
    other(
        Meaning::Name,
        &[
            "name",
            "part",
            "partnumber",
            "partno",
            "partname",
            "mpn",
            "typenumber",
        ],
        &[
            "article",
            "item",
            "device",
            "model",
            "component",
            "product",
            "order",
            "ordercode",
        ],
    ),
    other(
        Meaning::Family,
        &["family", "technology", "devicefamily"],
        &["type", "category", "class", "kind of device"],
    ),
    other(Meaning::Firmness, &["kind", "firmness"], &[]),
    datum(
        "bidirectional",
        Custom::None,
        "",
        &["bidirectional", "directionality", "polarity", "unibi", "biuni"],
        &["direction", "dir", "bi"],
    ),
    datum(
        "stand_off",
        Custom::None,
        "V",
        &[
            "vrwm",
            "vwm",
            "standoff",
            "standoffvoltage",
            "reversestandoffvoltage",
            "workingpeakreversevoltage",
            "vdrm",
            "mcov",
            "vdc",
        ],
        &[
            "vr",
            "workingvoltage",
            "reverseworkingvoltage",
            "vrm",
            "workingv",
            "maxcontinuousvoltage",
            "maximumcontinuousvoltage",
            "offstatevoltage",
        ],
    ),
    datum(
        "breakdown",
        Custom::Typ,
        "V",
        &[
            "vbr",
            "vbrit",
            "breakdown",
            "breakdownvoltage",
            "v1ma",
            "varistorvoltage",
            "vbo",
            "breakover",
            "breakovervoltage",
            "dcsparkover",
            "dcsparkovervoltage",
            "triggervoltage",
            "vtrig",
        ],
        &[
            "vb",
            "bv",
            "vz",
            "vn",
            "nominalvaristorvoltage",
            "sparkover",
            "sparkovervoltage",
            "vt1",
            "vsdc",
        ],
    ),
    datum(
        "clamp",
        Custom::Max,
        "V",
        &[
            "vc",
            "vcl",
            "clampingvoltage",
            "clampvoltage",
            "vclamp",
            "vcipp",
            "maximumclampingvoltage",
        ],
        &["clamping", "clamp", "residualvoltage", "protectionlevel"],
    ),
    datum(
        "rating.power",
        Custom::None,
        "W",
        &[
            "ppp",
            "pppm",
            "ppk",
            "peakpulsepower",
            "peakpulsepowerdissipation",
            "pulsepower",
        ],
        &["pp", "surgepower", "peakpower"],
    ),
    datum(
        "rating.current",
        Custom::None,
        "A",
        &[
            "ipp",
            "ippm",
            "peakpulsecurrent",
            "surgecurrent",
            "impulsecurrent",
            "itsm",
            "imax",
            "pulsecurrent",
        ],
        &[
            "ip",
            "isurge",
            "dischargecurrent",
            "impulsedischargecurrent",
            "maxsurgecurrent",
            "peakcurrent",
        ],
    ),
    datum(
        "rating.energy",
        Custom::None,
        "J",
        &["pulseenergy", "wmax", "energyrating"],
        &["energy", "surgeenergy"],
    ),
    other(
        Meaning::TestCurrent,
        &["it", "testcurrent", "ibr", "ic"],
        &["i", "at"],
    ),
    other(
        Meaning::Pulses,
        &["pulses", "numberofpulses", "pulsecount"],
        &["operations", "hits"],
    ),
    datum(
        "temperature_coefficient",
        Custom::None,
        "",
        &[
            "tempcoefficient",
            "temperaturecoefficient",
            "tempco",
            "tcvbr",
            "temperaturecoefficientofvbr",
            "alphat",
        ],
        &["tc", "at", "alpha", "tk"],
    ),
    datum(
        "leakage",
        Custom::None,
        "",
        &[
            "ir",
            "leakage",
            "leakagecurrent",
            "reverseleakage",
            "reverseleakagecurrent",
            "ileak",
            "irvrwm",
            "idrm",
        ],
        &["il", "id", "reversecurrent", "offstatecurrent"],
    ),
    datum("leakage_doubling", Custom::None, "K", &["leakagedoubling"], &[]),
    datum(
        "capacitance",
        Custom::Typ,
        "",
        &[
            "cj",
            "capacitance",
            "junctioncapacitance",
            "cap",
            "cio",
            "linecapacitance",
        ],
        &["c", "cd", "ct", "co", "c0", "cin"],
    ),
    datum("grading_exponent", Custom::None, "", &["gradingexponent"], &[]),
    datum(
        "forward.voltage",
        Custom::None,
        "V",
        &["vf", "forwardvoltage", "forwarddrop"],
        &[],
    ),
    datum(
        "forward.at",
        Custom::None,
        "A",
        &["forwardat", "if", "forwardcurrent"],
        &[],
    ),
    datum(
        "forward.resistance",
        Custom::None,
        "",
        &["rf", "forwardresistance"],
        &[],
    ),
    datum(
        "junction_max",
        Custom::None,
        "°C",
        &[
            "tj",
            "tjmax",
            "junctionmax",
            "maxjunctiontemperature",
            "junctiontemperature",
            "maximumjunctiontemperature",
        ],
        &["tmax"],
    ),
    datum(
        "derating_from",
        Custom::None,
        "°C",
        &["deratingfrom", "deratingabove", "derating"],
        &[],
    ),
    datum(
        "thermal_resistance",
        Custom::None,
        "K/W",
        &["rth", "rthja", "thermalresistance", "rthetaja", "thja"],
        &[],
    ),
    datum(
        "power",
        Custom::None,
        "W",
        &[
            "pd",
            "powerdissipation",
            "steadystatepower",
            "continuouspower",
            "power",
        ],
        &["p", "pav", "dissipation"],
    ),
    datum(
        "package_inductance",
        Custom::None,
        "",
        &["packageinductance", "ls", "lpackage"],
        &["inductance of the package"],
    ),
    datum(
        "dynamic_resistance",
        Custom::None,
        "",
        &[
            "rdyn",
            "dynamicresistance",
            "rd",
            "slope resistance",
            "onresistance",
            "rt",
        ],
        &["ron"],
    ),
    datum(
        "on_voltage",
        Custom::Typ,
        "V",
        &["vt", "vt0", "vto", "onvoltage", "onstatevoltage", "v0"],
        &["von"],
    ),
    datum(
        "hold_voltage",
        Custom::Min,
        "V",
        &["vh", "vhold", "holdingvoltage", "holdvoltage"],
        &[],
    ),
    datum(
        "hold_current",
        Custom::Min,
        "",
        &["ih", "ihold", "holdcurrent", "holdingcurrent"],
        &[],
    ),
    datum(
        "hold_temperature_coefficient",
        Custom::None,
        "",
        &[
            "ihtempcoefficient",
            "holdtemperaturecoefficient",
            "tcih",
            "holdingcurrenttemperaturecoefficient",
        ],
        &[],
    ),
    datum(
        "turn_on_delay",
        Custom::None,
        "",
        &["turnondelay", "turnontime", "ton", "responsetime"],
        &["delay"],
    ),
    datum(
        "failure_current",
        Custom::None,
        "A",
        &[
            "it2",
            "failurecurrent",
            "secondbreakdowncurrent",
            "failurecurrentcurrent",
        ],
        &[],
    ),
    datum(
        "failure_current.width",
        Custom::None,
        "",
        &["failurecurrentwidth"],
        &[],
    ),
    datum(
        "saturation_current",
        Custom::None,
        "A",
        &["saturationcurrent"],
        &["isat"],
    ),
    datum(
        "transistor_breakdown",
        Custom::None,
        "V",
        &["transistorbreakdown", "bvdss"],
        &[],
    ),
    datum(
        "turn_off_voltage",
        Custom::None,
        "V",
        &["turnoffvoltage", "voff"],
        &[],
    ),
    datum("detector_time", Custom::None, "", &["detectortime"], &[]),
    datum("time_out", Custom::None, "", &["timeout"], &[]),
    datum(
        "exponent",
        Custom::None,
        "",
        &["nonlinearityexponent", "exponent"],
        &[],
    ),
    datum("pulse_life.p", Custom::None, "", &["pulselifep"], &[]),
    datum("pulse_life.q", Custom::None, "", &["pulselifeq"], &[]),
    datum(
        "firing",
        Custom::Typ,
        "V",
        &[
            "impulsesparkover",
            "impulsesparkovervoltage",
            "firing",
            "firingvoltage",
            "dynamicsparkover",
        ],
        &["sparkover", "sparkovervoltage", "vs"],
    ),
    datum("glow_voltage", Custom::None, "V", &["glowvoltage", "vglow"], &[]),
    datum(
        "glow_to_arc_current",
        Custom::None,
        "A",
        &["glowtoarccurrent", "glowtoarctransitioncurrent"],
        &[],
    ),
    datum("arc_voltage", Custom::None, "V", &["arcvoltage", "varc"], &[]),
    datum(
        "holdover_voltage",
        Custom::None,
        "V",
        &["holdovervoltage", "dcholdovervoltage", "dcholdover", "holdover"],
        &[],
    ),
    datum(
        "resistance",
        Custom::None,
        "",
        &["resistance", "coldresistance", "dcr"],
        &["r"],
    ),
    datum("inductance", Custom::None, "", &["inductance"], &["l"]),
    datum(
        "inductor_saturation",
        Custom::None,
        "A",
        &["inductorsaturation"],
        &[],
    ),
    datum("bead_resistance", Custom::None, "", &["beadresistance"], &[]),
    datum("melting_i2t", Custom::None, "A²s", &["i2t", "meltingi2t"], &[]),
    datum(
        "rated_current",
        Custom::None,
        "A",
        &["ratedcurrent", "irated"],
        &[],
    ),
    datum("trip_current", Custom::None, "A", &["tripcurrent", "itrip"], &[]),
    datum(
        "voltage_max",
        Custom::None,
        "V",
        &["vmax", "voltagemax", "maximumvoltage"],
        &[],
    ),
    datum("reset_voltage", Custom::None, "V", &["resetvoltage"], &[]),
    datum("rail_capacitance", Custom::None, "", &["railcapacitance"], &[]),
    datum("rail_voltage", Custom::None, "V", &["railvoltage"], &[]),
    datum(
        "rail_clamp.voltage",
        Custom::None,
        "V",
        &["railclampvoltage"],
        &[],
    ),
    datum(
        "rail_clamp.resistance",
        Custom::None,
        "",
        &["railclampresistance"],
        &[],
    ),
    datum(
        "area",
        Custom::None,
        "",
        &["area", "boardarea", "packagearea", "footprintarea"],
        &[],
    ),
    datum("cost", Custom::None, "", &["price", "cost", "unitprice"], &[]),
];

/// Family words that tables use, in lower case, and what they mean here.
pub(super) const FAMILY_WORDS: &[(&str, &str)] = &[
    ("tvs", "avalanche"),
    ("tvs diode", "avalanche"),
    ("avalanche diode", "avalanche"),
    ("transient voltage suppressor", "avalanche"),
    ("suppressor diode", "avalanche"),
    ("flat clamp", "flat-clamp"),
    ("snapback diode", "snapback"),
    ("snapback clamp", "snapback"),
    ("mov", "varistor"),
    ("metal-oxide varistor", "varistor"),
    ("vdr", "varistor"),
    ("mlv", "varistor"),
    ("gdt", "gas-tube"),
    ("gas tube", "gas-tube"),
    ("gas discharge tube", "gas-tube"),
    ("thyristor surge suppressor", "thyristor"),
    ("tss", "thyristor"),
    ("steering diodes", "steering"),
    ("diode array", "steering"),
];

/// Words for the two polarities, in lower case.
pub(super) const POLARITY_WORDS: &[(&str, bool)] = &[
    ("bi", true),
    ("bidirectional", true),
    ("bi-directional", true),
    ("symmetrical", true),
    ("uni", false),
    ("unidirectional", false),
    ("uni-directional", false),
    ("asymmetrical", false),
];
