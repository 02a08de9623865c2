//! The study an engineer begins with.

use std::fmt::Write as _;

use tidewall_units::{Amps, Farads, Hertz, Ohms, Quantity, Seconds, Volts};

use crate::model::{AbnormalLevel, Across, Interval, PortKind};
use crate::profile::{Profile, Sourced, profile, wanted_stand_off};

/// The name that stands for the part still to be chosen. A template reads without error but for this name.
pub const PLACEHOLDER: &str = "PUT-YOUR-PART-HERE";

/// A commented study for the profile of a key, or `None` if there is no such profile.
///
/// Everything the profile fills in is written out as a comment with its origin, so that it can be overridden
/// where it stands; the usual stresses are written as they would be applied.
pub fn new_study(profile_key: &str) -> Option<String> {
    profile(profile_key).map(write)
}

fn write(profile: &Profile) -> String {
    let mut text = String::new();
    // Writing to a string cannot fail, so the results are dropped.
    let _ = writeln!(
        text,
        "# A study of one port. Quantities are texts with their unit: \"24 V\", \"4.7 µF\", \"-40 °C to 85 °C\".\n\
         # Lines that begin with # are comments; what they show of the port is taken from the profile.\n\
         # Surge and ESD generators and charged capacitors can kill; work on mains and on lightning protection\n\
         # belongs to licensed people. A calculated pass is not a certified pass.\n\n\
         title = \"{}: name of the equipment\"\n\
         margin = \"10 %\"\t# inside a limit by less than this is marginal\n\n\
         [port]\n\
         profile = \"{}\"\n\
         ambient = \"-40 °C to 85 °C\"\t# CHECK: the range your equipment is specified for",
        profile.title, profile.key
    );
    port(&mut text, profile);
    stand_off(&mut text, profile);
    stresses(&mut text, profile);
    ladder(&mut text, profile);
    pin(&mut text, profile);
    part(&mut text);
    align(&text)
}

/// Comments behind a value, set off by a tab while the text is made, stand below one another.
fn align(text: &str) -> String {
    let line = |line: &str| match line.split_once('\t') {
        Some((value, comment)) => format!("{value:<43} {comment}\n"),
        None => format!("{line}\n"),
    };
    text.lines().map(line).collect()
}

fn quantity<Q: Quantity>(value: f64) -> String {
    plain(&Q::from_si(value).rounded(4))
}

/// A duration as people write it: whole hours and minutes as such.
fn duration(seconds: f64) -> String {
    if seconds >= 3600.0 && seconds % 3600.0 == 0.0 {
        format!("{} h", seconds / 3600.0)
    } else if seconds >= 60.0 && seconds % 60.0 == 0.0 {
        format!("{} min", seconds / 60.0)
    } else {
        quantity::<Seconds>(seconds)
    }
}

/// Study files are typed by people: the sign that keyboards have.
fn plain(text: &str) -> String {
    text.replace('−', "-")
}

fn interval<Q: Quantity>(value: &Interval) -> String {
    if value.low == -value.high {
        return format!("±{}", quantity::<Q>(value.high));
    }
    range::<Q>(value)
}

fn range<Q: Quantity>(value: &Interval) -> String {
    format!("{} to {}", quantity::<Q>(value.low), quantity::<Q>(value.high))
}

/// Lines that override a value, as comments, each with its origin.
fn override_line<T>(text: &mut String, key: &str, value: Option<&Sourced<T>>, print: impl Fn(&T) -> String) {
    if let Some(sourced) = value {
        let line = format!("# {key} = \"{}\"", print(&sourced.value));
        let _ = writeln!(text, "{line}\t# {}", origin(sourced));
    }
}

fn origin<T>(sourced: &Sourced<T>) -> String {
    if sourced.source.is_empty() {
        sourced.mark.text().to_owned()
    } else {
        format!("{}: {}", sourced.mark.text(), sourced.source)
    }
}

fn port(text: &mut String, profile: &Profile) {
    let _ = writeln!(text, "\n# What the profile fills in. Remove the # to override.");
    match profile.kind {
        PortKind::Ac => override_line(text, "working_rms", profile.working_v.as_ref(), |amplitude| {
            let rms = std::f64::consts::FRAC_1_SQRT_2;
            range::<Volts>(&Interval {
                low: amplitude.low * rms,
                high: amplitude.high * rms,
            })
        }),
        _ => override_line(text, "working", profile.working_v.as_ref(), range::<Volts>),
    }
    override_line(text, "frequency", profile.frequency_hz.as_ref(), |value| {
        quantity::<Hertz>(*value)
    });
    override_line(
        text,
        "must_not_conduct",
        profile.must_not_conduct_v.as_ref(),
        interval::<Volts>,
    );
    override_line(
        text,
        "must_not_conduct_between",
        profile.must_not_conduct_between_v.as_ref(),
        interval::<Volts>,
    );
    if !profile.abnormal.is_empty() {
        let _ = writeln!(text, "# abnormal = [");
        let mut levels = profile.abnormal.iter().peekable();
        while let Some(level) = levels.next() {
            let mirrored = Sourced {
                value: AbnormalLevel {
                    level_v: -level.value.level_v,
                    ..level.value.clone()
                },
                ..level.clone()
            };
            let both = levels.next_if(|next| **next == mirrored).is_some();
            let entry = abnormal(&level.value, both, profile.lines);
            let _ = writeln!(text, "#   {entry},\t# {}", origin(level));
        }
        let _ = writeln!(text, "# ]");
    }
    override_line(text, "source_current", profile.source_a.as_ref(), |value| {
        quantity::<Amps>(*value)
    });
    override_line(text, "source_resistance", profile.source_ohm.as_ref(), |value| {
        quantity::<Ohms>(*value)
    });
    override_line(
        text,
        "capacitance_limit",
        profile.capacitance_limit_f.as_ref(),
        |value| quantity::<Farads>(*value),
    );
    override_line(
        text,
        "capacitance_matching",
        profile.capacitance_matching_f.as_ref(),
        |value| quantity::<Farads>(*value),
    );
    override_line(text, "leakage_limit", profile.leakage_limit_a.as_ref(), |value| {
        quantity::<Amps>(*value)
    });
    let _ = writeln!(
        text,
        "# powered = \"both\"\t# with the port's own source, without, or both"
    );
}

fn abnormal(level: &AbnormalLevel, both: bool, lines: usize) -> String {
    let lasts = if level.lasts_s.is_finite() {
        duration(level.lasts_s)
    } else {
        "continuous".to_owned()
    };
    let level_text = if both {
        format!("±{}", quantity::<Volts>(level.level_v.abs()))
    } else {
        quantity::<Volts>(level.level_v)
    };
    let mut entry = format!("{{ level = \"{level_text}\", lasts = \"{lasts}\"");
    if lines == 2 {
        let across = match level.across {
            Across::LineEarth => "line-earth",
            Across::LineLine => "line-line",
        };
        let _ = write!(entry, ", across = \"{across}\"");
    }
    if level.may_conduct {
        entry.push_str(", may_conduct = true");
    }
    if !level.note.is_empty() {
        let _ = write!(entry, ", note = \"{}\"", level.note);
    }
    entry.push_str(" }");
    entry
}

fn stand_off(text: &mut String, profile: &Profile) {
    let _ = writeln!(text);
    if let Some(wanted) = wanted_stand_off(profile, -40.0) {
        let range = |range: &crate::profile::StandOffRange| {
            if range.low_v == range.high_v {
                quantity::<Volts>(range.low_v)
            } else {
                format!(
                    "{} to {}",
                    quantity::<Volts>(range.low_v),
                    quantity::<Volts>(range.high_v)
                )
            }
        };
        let sides: Vec<String> = match (&wanted.positive, &wanted.negative) {
            (Some(positive), Some(negative)) => {
                vec![
                    range(positive),
                    format!("{} on the negative side", range(negative)),
                ]
            }
            (Some(positive), None) => vec![range(positive)],
            (None, negative) => negative
                .iter()
                .map(|negative| format!("{}, turned round", range(negative)))
                .collect(),
        };
        let _ = write!(text, "# Stand-off these levels ask for: {}", sides.join("; "));
        let _ = writeln!(text, ".");
    }
    let _ = writeln!(
        text,
        "# Usual choice: {} ({}).",
        profile.usual_choice.value,
        origin(&profile.usual_choice)
    );
    if !profile.note.is_empty() {
        let _ = writeln!(text, "# {}", profile.note);
    }
}

fn stresses(text: &mut String, profile: &Profile) {
    let _ = writeln!(
        text,
        "\n# Usual stresses. CHECK levels and couplings against your product standard."
    );
    for stress in &profile.stresses {
        let _ = writeln!(text, "[[stress]]\t# {}", origin(stress));
        if !stress.value.note.is_empty() {
            let _ = writeln!(text, "# {}", stress.value.note);
        }
        for (key, value) in &stress.value.keys {
            let _ = writeln!(text, "{key} = {value}");
        }
        let _ = writeln!(text);
    }
}

fn ladder(text: &mut String, profile: &Profile) {
    let between = match (profile.lines, profile.between_lines) {
        (1, _) => "",
        (_, true) => "between = \"line-line\"\t# or \"each-line-earth\"\n",
        (_, false) => "between = \"each-line-earth\"\t# or \"line-line\"\n",
    };
    let _ = writeln!(
        text,
        "# The ladder, from the connector inwards: elements in the line (series) and across it (shunt).\n\
         [[ladder]]\n\
         series = {{ resistance = \"20 mΩ\", inductance = \"15 nH\" }}\t# CHECK: track from connector to protector\n\n\
         [[ladder]]\n\
         name = \"D1\"\n\
         shunt = \"{PLACEHOLDER}\"\t# FILL IN: a part of parts.toml or of [[part]] below\n\
         lead = \"2 nH\"\t# CHECK: about 0.7 nH to 1 nH for each mm from line to return\n\
         {between}\n\
         [[ladder]]\n\
         series = {{ inductance = \"10 nH\" }}\t# CHECK: track from protector to pin"
    );
}

fn pin(text: &mut String, profile: &Profile) {
    // Examples of the port's own order of size: twice what it normally carries, a data pin's or a filter's capacitance.
    let normal_v = profile.must_not_conduct_v.as_ref().map_or(30.0f64, |levels| {
        levels.value.high.abs().max(levels.value.low.abs())
    });
    let (steady, short) = (
        quantity::<Volts>((2.0 * normal_v).ceil()),
        quantity::<Volts>((3.0 * normal_v).ceil()),
    );
    let capacitance = if profile.kind == PortKind::Signal {
        "10 pF"
    } else {
        "4.7 µF"
    };
    let _ = writeln!(
        text,
        "\n[pin]\n\
         name = \"name of the protected circuit\"\n\
         # Usually: {} ({}).\n\
         # FILL IN: without a withstand the let-through check is unknown.\n\
         # withstand = [{{ voltage = \"{steady}\", lasts = \"any\" }}, {{ voltage = \"{short}\", lasts = \"100 ns\" }}]\t# an example\n\
         # negative_withstand = [{{ voltage = \"-1 V\", lasts = \"any\" }}]\n\
         # capacitance = \"{capacitance}\"\n\
         # esr = \"10 mΩ\"\n\
         # failure_current = {{ value = \"2 A\", width = \"100 ns\" }}",
        profile.survives.value,
        origin(&profile.survives)
    );
}

fn part(text: &mut String) {
    let _ = writeln!(
        text,
        "\n# A part may stand here or in parts.toml beside this file. The values are invented.\n\
         # [[part]]\n\
         # name = \"alder-33\"\n\
         # family = \"avalanche\"\n\
         # kind = \"invented\"\t# guaranteed, typical, measured, invented or generic\n\
         # source = \"document, revision and table\"\n\
         # stand_off = \"33 V\"\n\
         # breakdown = {{ min = \"36.7 V\", max = \"40.6 V\", at = \"1 mA\" }}\n\
         # clamp = [{{ wave = \"10/1000\", current = \"28 A\", max = \"53.3 V\" }}]"
    );
}
