//! What each check means: formula, source, and what to change when it fails.

/// The meaning of one check.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Explanation {
    /// Name of the check, as results carry it.
    pub check: &'static str,
    /// Title.
    pub title: &'static str,
    /// What it asks.
    pub asks: &'static str,
    /// How value and limit are found.
    pub formula: &'static str,
    /// Where the rule is from.
    pub source: &'static str,
    /// What to change when it fails or is unknown.
    pub change: &'static str,
}

/// Every check, in the order in which an engineer asks them.
pub const ALL: &[Explanation] = &[
    Explanation {
        check: "window",
        title: "Is there a window at all?",
        asks: "Does the circuit withstand more than the highest voltage of normal operation?",
        formula: "must_not_conduct ≤ withstand of the pin with lasts = \"any\" (on a pair must_not_conduct_between, between the lines); the clamp curve must climb between the two up to the current of each stress.",
        source: "common practice, no source",
        change: "Add a series element so that less current reaches the last stage, add a second stage, or choose a stronger pin.",
    },
    Explanation {
        check: "stand-off",
        title: "Stand-off voltage",
        asks: "Is the part guaranteed not to conduct at the highest normal voltage?",
        formula: "VRWM ≥ must_not_conduct (tolerance and ripple included, the blocking side of the part). Gas tube: lowest direct spark-over ≥ 1.2 × peak. Steering diodes: rail voltage ≥ the line's.",
        source: "definitions of IEC 61643-321 as quoted by a component datasheet; factor 1.2 from a gas-tube selection article (2023)",
        change: "Choose a part of higher stand-off, or show by a tighter supply tolerance that the level is lower.",
    },
    Explanation {
        check: "cold-breakdown",
        title: "Breakdown in the cold",
        asks: "Does the part of lowest breakdown still block at the temperature where it is lowest?",
        formula: "VBR,min (1 + αT (T − 25 °C)) ≥ must_not_conduct at both ends of the ambient range (a varistor's αT is −0.05 %/K unless given; measured tables are taken as they are).",
        source: "temperature law from a maker's automotive 1500 W family datasheet",
        change: "Choose the next higher stand-off, or a part with less spread or a smaller temperature coefficient.",
    },
    Explanation {
        check: "abnormal-level",
        title: "Abnormal levels",
        asks: "Miswiring, reversal, jump start, long over-voltage: does the part block, and if it conducts, does it survive?",
        formula: "Blocks: VBR,min(T) ≥ level. Conducts: load line of the port's source gives I and V; rise = V I Zth(duration) ≤ Tj,max − T, and no more than a rated pulse, derated, would bring.",
        source: "common practice, no source; Zth from the part's pulse-power curve under the √t law",
        change: "Raise the stand-off above the level, put a reverse or disconnect element in front, or allow conduction with a part that survives it.",
    },
    Explanation {
        check: "polarity",
        title: "Polarity",
        asks: "Does the line go to the side on which the part conducts?",
        formula: "A unidirectional part needs a line that stays within 0.3 V of the return on its forward side. A symmetrical one must stand off what the line does on its other side.",
        source: "common practice, no source",
        change: "Use a bidirectional part, or turn the part round.",
    },
    Explanation {
        check: "leakage",
        title: "Leakage",
        asks: "Does the hot leakage disturb the port?",
        formula: "I(T) = I(T0) 2^((T − T0) / ΔT2), from the hottest guaranteed point at or above the normal voltage; ΔT2 = 10 K unless given.",
        source: "doubling rule from an application note on thermal runaway (2011); 10 K is the worst case of silicon, from memory",
        change: "Choose a part of higher stand-off or lower leakage, or ask the maker for a hot leakage limit.",
    },
    Explanation {
        check: "line-capacitance",
        title: "Line capacitance",
        asks: "Does the line bear the capacitance of the protectors?",
        formula: "Sum of the largest capacitances from each line to earth, a part between the lines counted twice.",
        source: "two equal parts to earth load a pair with half of one: derived",
        change: "Choose a low-capacitance part or steering diodes.",
    },
    Explanation {
        check: "capacitance-matching",
        title: "Capacitance matching",
        asks: "Are the two lines of a pair loaded alike?",
        formula: "Largest difference between two specimens: maximum − minimum capacitance.",
        source: "common practice, no source",
        change: "Use both protectors from one package, or a part between the lines.",
    },
    Explanation {
        check: "let-through-voltage",
        title: "Let-through voltage",
        asks: "What voltage reaches the pin, and for how long?",
        formula: "Peak of the simulated pin voltage against the withstand of its duration class: a level may be exceeded for as long as the next shorter one allows.",
        source: "electro-thermal transient with the standard's generator as a circuit",
        change: "Shorten the protector's own path (each nanohenry costs L di/dt), add series impedance behind it, take a lower or flatter clamp, or add a stage.",
    },
    Explanation {
        check: "let-through-negative-voltage",
        title: "Let-through voltage below the return",
        asks: "How far is the pin driven below its return?",
        formula: "Largest negative pin voltage against `negative_withstand`. The undershoot of the generator drives unidirectional parts forward even in a positive test.",
        source: "electro-thermal transient with the standard's generator as a circuit",
        change: "Use a unidirectional part, a part with a stiffer forward branch, or series impedance.",
    },
    Explanation {
        check: "let-through-common-voltage",
        title: "Let-through voltage to earth on a pair",
        asks: "What reaches each line of the pair against earth?",
        formula: "Peak of each pin voltage to earth against `withstand_common` by duration class.",
        source: "electro-thermal transient with the standard's generator as a circuit",
        change: "Add or lower the line-to-earth stage, or raise the insulation of the circuit.",
    },
    Explanation {
        check: "let-through-current",
        title: "Let-through current",
        asks: "Does the current into the pin's own clamps destroy it?",
        formula: "Peak pin current against its failure current; for a longer pulse the limit falls with the root of the width, a shorter one gets no credit.",
        source: "Wunsch and Bell 1968 (from memory) for the width; system-level co-design practice of JEP161 (from memory)",
        change: "Add series resistance between protector and pin, or take a protector that turns on earlier.",
    },
    Explanation {
        check: "let-through-energy",
        title: "Let-through energy",
        asks: "Does the energy into the pin destroy it?",
        formula: "∫ v i dt of the pin's conduction against its failure energy.",
        source: "common practice, no source",
        change: "Add series resistance between protector and pin.",
    },
    Explanation {
        check: "surge-current",
        title: "Surge current",
        asks: "Does the protector stand the current it actually carries?",
        formula: "Peak current against the rating carried over to the simulated wave (avalanche and flat clamps: P θ constant with θ = max ∫ i/Ip d√(t−s); thyristors: the part's own table; varistors: pulse life; gas tubes: a rating at least as long) and derated to the ambient.",
        source: "√t heating, derived; agrees with one published 8/20 against 10/1000 rating within 1 %; name 15 % with it",
        change: "Take a part of higher pulse power, share the current with a first stage, or add series impedance in front.",
    },
    Explanation {
        check: "junction-rise",
        title: "Junction rise",
        asks: "Does the simulated junction get hotter than a rated pulse would make it?",
        formula: "Peak junction rise in the thermal ladder against the rise of the part's rated pulse in the same ladder, times the derating at the ambient. A rated pulse may take the junction above `junction_max`, which is meant for lasting power; the derating still falls to zero there.",
        source: "thermal ladder from the pulse-power curve, √t law, derived",
        change: "As for surge current.",
    },
    Explanation {
        check: "repetition",
        title: "Repetition",
        asks: "Does the part get rid of the mean power of repeated pulses?",
        formula: "Energy per pulse × mean rate ≤ (Tj,max − Ta) / RthJA.",
        source: "component datasheets (average power rating)",
        change: "Give the part more copper, or take one of lower thermal resistance.",
    },
    Explanation {
        check: "coordination",
        title: "Coordination and blind spot",
        asks: "Just below the surge that fires the first stage, do the stages behind it survive?",
        formula: "The amplitude is lowered until the first stage just does not fire; then surge current as above for every stage.",
        source: "coordination practice of primary and secondary protection, no numeric source",
        change: "Raise the series element so that it lifts the first stage to its firing voltage sooner: R ≥ (Vfire − VC2) / I2, or take a first stage that fires lower.",
    },
    Explanation {
        check: "latch-up",
        title: "Latch-up, hold and follow current",
        asks: "Once broken over, can the line keep the part on?",
        formula: "Safe if the holding voltage is above the line's, or (Vs − Vh) / (Rs + Ron) stays below the least holding current at the hot end; gas tube: below the glow-to-arc current, or the line below the holdover voltage.",
        source: "load-line rule, two published latch-up articles (2019, 2022)",
        change: "Take a part that holds above the line voltage, one with a higher holding current, or a varistor in series with a gas tube.",
    },
    Explanation {
        check: "recovery",
        title: "Recovery",
        asks: "Is the part off again when the powered run ends?",
        formula: "A part still on, or still switching, at the end of the run: its holding or turn-off voltage ≥ the line's; else the current it still carries ≤ its least holding current (1 mA for a flat clamp), and one that is still switching fails.",
        source: "electro-thermal transient of the powered port",
        change: "As for latch-up.",
    },
    Explanation {
        check: "fuse-i2t",
        title: "Fuse and surge",
        asks: "Does the surge melt the fuse or wear it out?",
        formula: "∫ i² dt per surge ≤ melting I²t × life factor (48, 38, 29, 22 % for 100, 1000, 10 000, 100 000 pulses).",
        source: "fuse catalogue, pulse-cycle chart (2017)",
        change: "Take a slower or larger fuse, or put the protector in front of it.",
    },
    Explanation {
        check: "resistor-pulse",
        title: "Resistor pulse energy",
        asks: "Does the series resistor stand the pulse?",
        formula: "∫ i² R dt per pulse ≤ its pulse energy.",
        source: "resistor pulse guidance page",
        change: "Take a pulse-proof or larger resistor.",
    },
    Explanation {
        check: "inductor-saturation",
        title: "Inductor saturation",
        asks: "Does the series inductor saturate?",
        formula: "Peak current against the current at which half of the inductance is left; the model includes the saturation, so this never fails by itself.",
        source: "L(i) = L0 / (1 + (i/Isat)²), from memory",
        change: "Take an inductor of higher saturation current.",
    },
    Explanation {
        check: "series-voltage",
        title: "Voltage across a series element",
        asks: "Does the voltage across limiter or resistor stay within its rating, and can fuse or PTC interrupt the line?",
        formula: "Limiter, resistor: peak voltage across the element without its inductance ≤ its highest voltage. Fuse, PTC: highest normal or abnormal line voltage ≤ its highest voltage.",
        source: "component datasheets",
        change: "Take an element of higher voltage.",
    },
    Explanation {
        check: "energy-audit",
        title: "Energy audit",
        asks: "Can the transient be trusted?",
        formula: "|energy in − heat − storage| / energy in < 1e-3, port and whole circuit apart; otherwise the result is unknown.",
        source: "conservation of energy",
        change: "Report the study: a transient whose balance does not close is a defect of the tool or of an extreme model.",
    },
    Explanation {
        check: "simulation",
        title: "Simulation",
        asks: "Could every corner be computed?",
        formula: "A part that lacks a datum has no model; a circuit without solution has no transient; a port that works at a voltage needs its source for the powered runs.",
        source: "none",
        change: "Give the datum that is named.",
    },
];

/// The explanation of a check by name.
pub fn find(check: &str) -> Option<&'static Explanation> {
    ALL.iter().find(|explanation| explanation.check == check)
}
