//! Shots of a test plan in words: the peaks to expect, and the settings of the oscilloscope.

use tidewall_assess::plan::{Peak, PlaceKind, Reading, ShotGroup, StressTest, setting};
use tidewall_assess::result::Polarity;
use tidewall_units::{Hertz, Quantity, Seconds, Volts};

use super::number::in_one_unit;
use super::plan::level;

/// What the settings rest on.
pub const SETTINGS_NOTES: [&str; 2] = [
    "from and to hold all parts, polarities and states; values at the tip of the probe, a quarter of room added; \
     bandwidth three times 0.35 / rise, 2 GHz at most, at the connector no more than its current asks for [common \
     practice, no source]",
    "voltages of protectors are across the part itself: a probe at its pads also sees the inductance of the lead",
];

/// The shots of one test in their order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shots {
    /// Headings of the places: name and unit.
    pub places: Vec<String>,
    /// Groups of shots.
    pub groups: Vec<Group>,
    /// Of a pair the larger of the lines stands in a cell.
    pub larger_of_pair: bool,
}

/// A group of shots.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Group {
    /// Number within the plan.
    pub number: String,
    /// Level with its unit.
    pub level: String,
    /// Point; empty where the test has one only.
    pub point: String,
    /// Sign.
    pub polarity: &'static str,
    /// Working voltage.
    pub line_at: String,
    /// Phase angle; empty without one.
    pub phase: String,
    /// Shots; "?" where not known.
    pub shots: String,
    /// Peaks to expect with their spans, in the order of the places; `None` where nothing can be predicted.
    pub peaks: Vec<Option<String>>,
    /// Peaks of the swing to the other side, empty where it is slight; `None` where all are.
    pub back: Option<Vec<String>>,
}

/// Settings of the oscilloscope for one place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Setting {
    /// The place.
    pub place: String,
    /// Lowest value.
    pub from: String,
    /// Highest value.
    pub to: String,
    /// Unit of both.
    pub unit: String,
    /// Vertical setting.
    pub per_division: String,
    /// Rise time.
    pub rise: String,
    /// Least bandwidth.
    pub bandwidth: String,
}

/// A reading of the sheet's table: the largest of the lines of a pair.
fn largest<'a>(group: &'a ShotGroup, head: &Head) -> Option<&'a Reading> {
    // Of equals the first: the voltage of a line rather than that between them.
    let wanted = group.readings.iter().rev().filter(|reading| head.takes(reading));
    wanted.max_by(|a, b| a.peak.typical.abs().total_cmp(&b.peak.typical.abs()))
}

/// A column of readings: connector or pin, or one stage of shunts.
struct Head {
    kind: PlaceKind,
    /// Name of the stage, for shunts.
    stage: String,
    unit: &'static str,
}

impl Head {
    fn takes(&self, reading: &Reading) -> bool {
        reading.kind == self.kind
            && reading.unit == self.unit
            && (self.kind != PlaceKind::Shunt || stage(reading) == self.stage)
    }

    fn title(&self) -> String {
        match self.kind {
            PlaceKind::Connector => format!("connector {}", self.unit),
            PlaceKind::Pin => format!("pin {}", self.unit),
            PlaceKind::Shunt => format!("{} {}", self.stage, self.unit),
        }
    }
}

/// Name of the stage a shunt's reading belongs to: without line and quantity.
fn stage(reading: &Reading) -> &str {
    let place = reading.place.as_str();
    let place = place
        .strip_suffix(" voltage")
        .or(place.strip_suffix(" current"))
        .unwrap_or(place);
    place
        .strip_suffix(" (line 1)")
        .or(place.strip_suffix(" (line 2)"))
        .unwrap_or(place)
}

fn heads(test: &StressTest) -> Vec<Head> {
    let mut heads: Vec<Head> = Vec::new();
    for reading in test.groups.iter().flat_map(|group| &group.readings) {
        if !heads.iter().any(|head| head.takes(reading)) {
            heads.push(Head {
                kind: reading.kind,
                stage: if reading.kind == PlaceKind::Shunt {
                    stage(reading).to_owned()
                } else {
                    String::new()
                },
                unit: reading.unit,
            });
        }
    }
    heads
}

/// The shots of a test.
pub fn shots(test: &StressTest) -> Shots {
    let heads: Vec<(Head, f64)> = heads(test)
        .into_iter()
        .map(|head| {
            let size = size(test, &head);
            (head, size)
        })
        .collect();
    let several = test.points.len() > 1;
    let group = |group: &ShotGroup| {
        let back: Vec<String> = heads
            .iter()
            .map(|(head, size)| match largest(group, head) {
                Some(reading) if swings_back(reading, *size) => span(&reading.back, decimals(*size)),
                _ => String::new(),
            })
            .collect();
        let peaks = heads
            .iter()
            .map(|(head, size)| largest(group, head).map(|reading| span(&reading.peak, decimals(*size))));
        Group {
            number: group.number.to_string(),
            level: level(group.level, test.unit),
            point: if several {
                group.point.clone()
            } else {
                String::new()
            },
            polarity: if group.polarity == Polarity::Positive {
                "+"
            } else {
                "−"
            },
            line_at: group
                .supply_v
                .map_or("unpowered".to_owned(), |volts| Volts(volts).rounded(3)),
            phase: group
                .phase_deg
                .map_or(String::new(), |degrees| format!("{degrees}°")),
            shots: group.shots.map_or("?".to_owned(), |shots| shots.to_string()),
            peaks: peaks.collect(),
            back: Some(back).filter(|back| back.iter().any(|cell| !cell.is_empty())),
        }
    };
    Shots {
        places: heads.iter().map(|(head, _)| head.title()).collect(),
        groups: test.groups.iter().map(group).collect(),
        larger_of_pair: heads.iter().any(|(head, _)| largest_of_several(test, head)),
    }
}

fn largest_of_several(test: &StressTest, head: &Head) -> bool {
    let of = |group: &ShotGroup| {
        group
            .readings
            .iter()
            .filter(|reading| head.takes(reading))
            .count()
    };
    test.groups.iter().any(|group| of(group) > 1)
}

/// Typical value with its span, with so many decimals.
fn span(peak: &Peak, decimals: usize) -> String {
    let text = |value: f64| {
        let text = format!("{value:.decimals$}");
        // What rounds to zero has no sign.
        let nothing = text.chars().all(|c| matches!(c, '-' | '0' | '.'));
        if nothing {
            text.replace('-', "")
        } else {
            text.replace('-', "−")
        }
    };
    let (typical, low, high) = (text(peak.typical), text(peak.low), text(peak.high));
    if low == typical && high == typical {
        typical
    } else {
        format!("{typical} ({low}…{high})")
    }
}

/// Size of the largest value of a column.
fn size(test: &StressTest, head: &Head) -> f64 {
    let readings = test.groups.iter().flat_map(|group| &group.readings);
    readings
        .filter(|reading| head.takes(reading))
        .flat_map(|reading| {
            [
                reading.peak.low,
                reading.peak.high,
                reading.back.low,
                reading.back.high,
            ]
        })
        .map(f64::abs)
        .fold(0.0, f64::max)
}

/// Decimals with which a number of this size has three digits.
fn decimals(size: f64) -> usize {
    if size > 0.0 {
        usize::try_from(2 - size.log10().floor() as i32).unwrap_or(0)
    } else {
        0
    }
}

/// Share of the first peak from which a swing to the other side has a line of its own.
const SWING: f64 = 0.2;

/// Share of the largest value of a column below which a swing is not told.
const SLIGHT: f64 = 0.01;

/// Whether a place swings back noticeably, where the largest value of its column has this size.
fn swings_back(reading: &Reading, size: f64) -> bool {
    let from = |peak: &Peak| (peak.typical - reading.before).abs();
    from(&reading.back) > (SWING * from(&reading.peak)).max(SLIGHT * size)
}

/// Settings that hold every shot at the required level, and the time bases in a line; `None` where nothing is predicted.
pub fn settings(test: &StressTest) -> Option<(Vec<Setting>, String)> {
    let at_level: Vec<&ShotGroup> = test
        .groups
        .iter()
        .filter(|group| group.level == test.level)
        .collect();
    let first = at_level.iter().find(|group| !group.readings.is_empty())?;
    let mut list = Vec::new();
    for (k, place) in first.readings.iter().enumerate() {
        let same: Vec<&Reading> = at_level
            .iter()
            .filter_map(|group| group.readings.get(k))
            .collect();
        let most = |of: fn(&Reading) -> f64| {
            same.iter()
                .map(|reading| of(reading))
                .fold(f64::NEG_INFINITY, f64::max)
        };
        let lowest = -most(|reading| -reading.peak.low.min(reading.back.low));
        let highest = most(|reading| reading.peak.high.max(reading.back.high));
        let (texts, unit) = in_one_unit(&[Some(lowest), Some(highest)], place.unit);
        let fastest = same.iter().filter_map(|reading| reading.rise_s).reduce(f64::min);
        let bandwidth = same
            .iter()
            .filter_map(|reading| reading.bandwidth_hz)
            .reduce(f64::max);
        let per_division = most(|reading| reading.per_division);
        let nothing = lowest == 0.0 && highest == 0.0;
        list.push(Setting {
            place: place.place.clone(),
            from: texts[0].clone(),
            to: texts[1].clone(),
            unit,
            per_division: if nothing {
                "finest".to_owned()
            } else {
                level(per_division, place.unit)
            },
            rise: fastest.map_or("–".to_owned(), |rise_s| Seconds(rise_s).rounded(2)),
            bandwidth: bandwidth.map_or("–".to_owned(), |hertz| Hertz(hertz).rounded(2)),
        });
    }
    Some((list, times(&at_level)))
}

/// Time bases.
fn times(at_level: &[&ShotGroup]) -> String {
    let readings = || at_level.iter().flat_map(|group| &group.readings);
    let slowest = |unit: &str| {
        let of_unit = readings().filter(|reading| reading.unit == unit);
        of_unit
            .map(|reading| reading.time_per_division_s)
            .filter(|time_s| *time_s > 0.0)
            .reduce(f64::max)
    };
    let front = readings()
        .filter(|reading| reading.kind == PlaceKind::Connector && reading.unit == "A")
        .filter_map(|reading| reading.rise_s)
        .reduce(f64::min)
        .map(|rise_s| setting(0.5 * rise_s));
    let times = [
        (front, "for the front"),
        (slowest("A"), "for the currents"),
        (slowest("V"), "until the voltages are quiet"),
    ];
    let times: Vec<String> = times
        .iter()
        .filter_map(|(time_s, what)| Some(format!("{} per division {what}", Seconds((*time_s)?).rounded(2))))
        .collect();
    times.join(", ")
}
