//! Levels of the standards as data. The marks say which rows were read and which are recalled.

use super::Mark;

/// Named levels in volts.
pub type Levels = &'static [(&'static str, f64)];

/// IEC 61000-4-2 Ed.2, contact discharge (read in a summary of the standard).
pub const DISCHARGE_CONTACT: Levels = &[("1", 2e3), ("2", 4e3), ("3", 6e3), ("4", 8e3)];
/// IEC 61000-4-2 Ed.2, air discharge (read in a summary of the standard).
pub const DISCHARGE_AIR: Levels = &[("1", 2e3), ("2", 4e3), ("3", 8e3), ("4", 15e3)];

/// IEC 61000-4-4 Ed.3, supply and earth ports (read in a course page and an encyclopaedia).
pub const BURST_SUPPLY: Levels = &[("1", 0.5e3), ("2", 1e3), ("3", 2e3), ("4", 4e3)];
/// IEC 61000-4-4 Ed.3, signal and control ports (read in a course page).
pub const BURST_SIGNAL: Levels = &[("1", 0.25e3), ("2", 0.5e3), ("3", 1e3), ("4", 2e3)];

/// IEC 61000-4-5, line to earth in both editions and every coupling of the second (names read in a test-house page on the
/// standard, the highest in extracts of its procedure; the others from memory).
pub const SURGE_EARTH: Levels = &[("1", 0.5e3), ("2", 1e3), ("3", 2e3), ("4", 4e3)];
/// IEC 61000-4-5 Ed.3, line to line (from memory); level 1 asks for none.
pub const SURGE_LINE_LINE_ED3: Levels = &[("2", 0.5e3), ("3", 1e3), ("4", 2e3)];

/// Test level by installation class, IEC 61000-4-5 annex (from memory, low confidence for direct-voltage
/// supplies and shielded lines): name, line to line, line to earth; `None` where no test is asked for or the
/// level depends on the supply.
pub struct ClassRow {
    /// Class name.
    pub name: &'static str,
    /// Alternating-voltage supply, line to line and line to earth.
    pub ac: [Option<f64>; 2],
    /// Direct-voltage supply.
    pub dc: [Option<f64>; 2],
    /// Unsymmetrical signal lines.
    pub unsymmetrical: [Option<f64>; 2],
    /// Symmetrical lines, all to earth.
    pub symmetrical: Option<f64>,
    /// Shielded lines.
    pub shielded: Option<f64>,
}

/// Installation classes 1 to 5 (IEC 61000-4-5 annex, from memory; class 0 asks for no test).
pub const INSTALLATION_CLASSES: [ClassRow; 5] = [
    ClassRow {
        name: "class 1",
        ac: [None, Some(0.5e3)],
        dc: [None, None],
        unsymmetrical: [None, Some(0.5e3)],
        symmetrical: Some(0.5e3),
        shielded: None,
    },
    ClassRow {
        name: "class 2",
        ac: [Some(0.5e3), Some(1e3)],
        dc: [None, None],
        unsymmetrical: [Some(0.5e3), Some(1e3)],
        symmetrical: Some(1e3),
        shielded: Some(0.5e3),
    },
    ClassRow {
        name: "class 3",
        ac: [Some(1e3), Some(2e3)],
        dc: [Some(1e3), Some(2e3)],
        unsymmetrical: [Some(1e3), Some(2e3)],
        symmetrical: Some(2e3),
        shielded: Some(2e3),
    },
    ClassRow {
        name: "class 4",
        ac: [Some(2e3), Some(4e3)],
        dc: [Some(2e3), Some(4e3)],
        unsymmetrical: [Some(2e3), Some(4e3)],
        symmetrical: Some(2e3),
        shielded: Some(4e3),
    },
    ClassRow {
        name: "class 5",
        ac: [None, None],
        dc: [Some(2e3), Some(4e3)],
        unsymmetrical: [Some(2e3), Some(4e3)],
        symmetrical: Some(4e3),
        shielded: Some(4e3),
    },
];

/// IEC 61000-4-12 ring wave, line to line (from memory).
pub const RING_LINE_LINE: Levels = &[("1", 0.25e3), ("2", 0.5e3), ("3", 1e3), ("4", 2e3)];
/// IEC 61000-4-12 ring wave, line to earth (from memory).
pub const RING_LINE_EARTH: Levels = &[("1", 0.5e3), ("2", 1e3), ("3", 2e3), ("4", 4e3)];

/// One row of a table of impulses between conductors.
pub struct ImpulseRow {
    /// Name of the row.
    pub name: &'static str,
    /// Open-circuit peak in volts.
    pub open_circuit_v: f64,
    /// Short-circuit peak of each conductor in amperes.
    pub short_circuit_a: f64,
    /// Front in seconds.
    pub front_s: f64,
    /// Tail in seconds.
    pub tail_s: f64,
    /// Impulses of each polarity.
    pub impulses: u32,
    /// How well the row is known.
    pub mark: Mark,
}

const fn row(
    name: &'static str,
    open_circuit_v: f64,
    short_circuit_a: f64,
    (front_s, tail_s): (f64, f64),
    impulses: u32,
    mark: Mark,
) -> ImpulseRow {
    ImpulseRow {
        name,
        open_circuit_v,
        short_circuit_a,
        front_s,
        tail_s,
        impulses,
        mark,
    }
}

/// Front and tail in seconds (read in a reprint of the GR-1089 tables in a thyristor data book).
const W10_1000: (f64, f64) = (10e-6, 1000e-6);
/// Front and tail in seconds (read in the same).
const W10_360: (f64, f64) = (10e-6, 360e-6);
/// Front and tail in seconds (read in the same).
const W2_10: (f64, f64) = (2e-6, 10e-6);

/// Telcordia GR-1089-CORE lightning surges. First level and intra-building: read in a reprint of the tables
/// in a thyristor data book; second level from memory. Tests 1 and 2 may replace 3 and the reverse.
pub const GR_1089: [ImpulseRow; 8] = [
    row("first-level 1", 600.0, 100.0, W10_1000, 25, Mark::Seen),
    row("first-level 2", 1000.0, 100.0, W10_360, 25, Mark::Seen),
    row("first-level 3", 1000.0, 100.0, W10_1000, 25, Mark::Seen),
    row("first-level 4", 2500.0, 500.0, W2_10, 10, Mark::Seen),
    row("first-level 5", 1000.0, 25.0, W10_360, 5, Mark::Seen),
    row("second-level", 5000.0, 500.0, W2_10, 1, Mark::Memory),
    row("intra-building metallic", 800.0, 100.0, W2_10, 1, Mark::Seen),
    row("intra-building longitudinal", 1500.0, 100.0, W2_10, 1, Mark::Seen),
];

/// TIA-968-B surges with a wave of its own source resistance (from memory; consistent with the fuse figures of
/// a thyristor family datasheet). Type B is the 10/700 generator: see [`TIA_968_B`].
pub const TIA_968_A: [ImpulseRow; 3] = [
    row("A metallic", 800.0, 100.0, (10e-6, 560e-6), 1, Mark::Memory),
    row("A longitudinal", 1500.0, 200.0, (10e-6, 160e-6), 1, Mark::Memory),
    row("mains", 2500.0, 1000.0, W2_10, 3, Mark::Memory),
];

/// TIA-968-B type B, 9/720 open-circuit voltage of the 10/700 generator, in volts (from memory; the 37.5 A of
/// the longitudinal surge seen in a thyristor family datasheet).
pub const TIA_968_B: Levels = &[("B metallic", 1000.0), ("B longitudinal", 1500.0)];

/// Which ITU-T recommendation.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Recommendation {
    /// Equipment in a telecommunication centre.
    K20,
    /// Equipment at the customer's premises.
    K21,
    /// Equipment in the access and trunk network.
    K45,
}

/// One row of the ITU-T lightning tests: charge voltage in volts for basic and enhanced requirements.
pub struct ItuRow {
    /// Name of the test.
    pub name: &'static str,
    /// Charge voltage for the transverse test.
    pub transverse_v: Option<f64>,
    /// Charge voltage for the port-to-earth test.
    pub earth_v: Option<f64>,
}

const fn itu(name: &'static str, transverse_v: Option<f64>, earth_v: Option<f64>) -> ItuRow {
    ItuRow {
        name,
        transverse_v,
        earth_v,
    }
}

/// Rows of ITU-T K.20, K.21 and K.45 (from memory, low confidence on the enhanced rows). `None`: the level
/// could not be established; it must be stated in volts.
pub const fn itu_rows(recommendation: Recommendation) -> [ItuRow; 6] {
    let (basic, enhanced_transverse, enhanced_earth, coordination_enhanced, internal) = match recommendation {
        Recommendation::K20 => (1.0e3, Some(1.5e3), Some(1.5e3), 4e3, [0.5e3, 1e3]),
        Recommendation::K21 => (1.5e3, Some(1.5e3), Some(6e3), 6e3, [1e3, 1.5e3]),
        Recommendation::K45 => (1.5e3, None, None, 6e3, [1e3, 1.5e3]),
    };
    [
        itu("inherent basic", Some(basic), Some(basic)),
        itu("inherent enhanced", enhanced_transverse, enhanced_earth),
        itu("coordination basic", Some(4e3), Some(4e3)),
        itu(
            "coordination enhanced",
            Some(coordination_enhanced),
            Some(coordination_enhanced),
        ),
        itu("internal basic", Some(internal[0]), Some(internal[0])),
        itu("internal enhanced", Some(internal[1]), Some(internal[1])),
    ]
}

/// ISO 7637-2 level of one pulse in volts (magnitude): the highest two severities, and the lower ones.
pub struct AutomotiveRow {
    /// Pulse.
    pub pulse: &'static str,
    /// Edition, "2011" or "2004".
    pub edition: &'static str,
    /// System voltage, 12 or 24.
    pub system_v: f64,
    /// Named levels.
    pub levels: Levels,
    /// How well the row is known.
    pub mark: Mark,
}

const fn auto(
    pulse: &'static str,
    edition: &'static str,
    system_v: f64,
    levels: Levels,
    mark: Mark,
) -> AutomotiveRow {
    AutomotiveRow {
        pulse,
        edition,
        system_v,
        levels,
        mark,
    }
}

/// ISO 7637-2 levels. 2004, 12 V: read in a switch datasheet; 2011, pulse 1, 12 V, level IV: read in a trade
/// article; the rest from memory.
pub const ISO_7637_2: [AutomotiveRow; 14] = [
    auto(
        "1",
        "2011",
        12.0,
        &[("I", 75.0), ("II", 75.0), ("III", 112.0), ("IV", 150.0)],
        Mark::Memory,
    ),
    auto(
        "1",
        "2011",
        24.0,
        &[("I", 300.0), ("II", 300.0), ("III", 450.0), ("IV", 600.0)],
        Mark::Memory,
    ),
    auto(
        "2a",
        "2011",
        12.0,
        &[("I", 37.0), ("II", 37.0), ("III", 55.0), ("IV", 112.0)],
        Mark::Memory,
    ),
    auto(
        "2a",
        "2011",
        24.0,
        &[("I", 37.0), ("II", 37.0), ("III", 55.0), ("IV", 112.0)],
        Mark::Memory,
    ),
    auto(
        "2b",
        "2011",
        12.0,
        &[("I", 10.0), ("II", 10.0), ("III", 10.0), ("IV", 10.0)],
        Mark::Memory,
    ),
    auto(
        "2b",
        "2011",
        24.0,
        &[("I", 20.0), ("II", 20.0), ("III", 20.0), ("IV", 20.0)],
        Mark::Memory,
    ),
    auto(
        "3a",
        "2011",
        12.0,
        &[("I", 112.0), ("II", 112.0), ("III", 165.0), ("IV", 220.0)],
        Mark::Memory,
    ),
    auto(
        "3a",
        "2011",
        24.0,
        &[("I", 150.0), ("II", 150.0), ("III", 220.0), ("IV", 300.0)],
        Mark::Memory,
    ),
    auto(
        "3b",
        "2011",
        12.0,
        &[("I", 75.0), ("II", 75.0), ("III", 112.0), ("IV", 150.0)],
        Mark::Memory,
    ),
    auto(
        "3b",
        "2011",
        24.0,
        &[("I", 150.0), ("II", 150.0), ("III", 220.0), ("IV", 300.0)],
        Mark::Memory,
    ),
    auto("1", "2004", 12.0, &[("III", 75.0), ("IV", 100.0)], Mark::Seen),
    auto("2a", "2004", 12.0, &[("III", 37.0), ("IV", 50.0)], Mark::Seen),
    auto("3a", "2004", 12.0, &[("III", 100.0), ("IV", 150.0)], Mark::Seen),
    auto("3b", "2004", 12.0, &[("III", 75.0), ("IV", 100.0)], Mark::Seen),
];

/// RTCA DO-160 section 22 pin injection, open-circuit volts (level 3 read in a receiver datasheet; the others
/// from memory; the impedances follow from all of them).
pub const DO_160_WF3: Levels = &[
    ("1", 100.0),
    ("2", 250.0),
    ("3", 600.0),
    ("4", 1500.0),
    ("5", 3200.0),
];
/// Waveform 4 (level 3 read in a receiver datasheet; the others from memory).
pub const DO_160_WF4: Levels = &[
    ("1", 50.0),
    ("2", 125.0),
    ("3", 300.0),
    ("4", 750.0),
    ("5", 1600.0),
];
/// Waveform 5A (level 3 read in a receiver datasheet; the others from memory).
pub const DO_160_WF5A: Levels = &[
    ("1", 50.0),
    ("2", 125.0),
    ("3", 300.0),
    ("4", 750.0),
    ("5", 1600.0),
];

/// A steady level outside normal operation that a standard asks for over seconds to hours.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LongLevel {
    /// What it is.
    pub name: &'static str,
    /// Nominal system voltage, 12 or 24 V.
    pub system_v: f64,
    /// Level in volts with its sign.
    pub level_v: f64,
    /// How long it lasts in seconds.
    pub lasts_s: f64,
    /// How well it is known.
    pub mark: Mark,
}

/// Reverse polarity, jump start and long over-voltage of ISO 16750-2 for 12 V or 24 V systems (from memory);
/// empty for any other system voltage.
pub fn long_levels(system_v: f64) -> Vec<LongLevel> {
    let all = [
        ("reverse, general", 12.0, -14.0, 60.0),
        ("reverse, alternator without fuse, diodes clamp", 12.0, -4.0, 60.0),
        ("jump start", 12.0, 24.0, 60.0),
        (
            "long over-voltage at 20 K below the highest temperature",
            12.0,
            18.0,
            3600.0,
        ),
        ("reverse, general", 24.0, -28.0, 60.0),
        (
            "long over-voltage at 20 K below the highest temperature",
            24.0,
            36.0,
            3600.0,
        ),
    ];
    all.iter()
        .filter(|row| row.1 == system_v)
        .map(|&(name, system_v, level_v, lasts_s)| LongLevel {
            name,
            system_v,
            level_v,
            lasts_s,
            mark: Mark::Memory,
        })
        .collect()
}
