//! A capture as text.

use tidewall_report::words::number::significant;
use tidewall_units::{Amps, Joules, Quantity, Seconds, Volts};

use super::page::{Page, Style};
use crate::extract::read::CaptureOutput;

/// The sheet of a capture.
pub fn sheet(capture: &CaptureOutput) -> String {
    let mut page = Page::for_terminal();
    page.line(&[(Style::Strong, &capture.file)]);
    let [first, last] = capture.span_s;
    let step = capture
        .step_s
        .map_or("unknown".to_owned(), |step| Seconds(step).rounded(4));
    page.entry(
        "samples  ",
        &format!(
            "{} from {} to {}, usual step {step}",
            capture.samples,
            Seconds(first).rounded(4),
            Seconds(last).rounded(4)
        ),
    );
    if (capture.kept as u64) < capture.samples {
        page.entry(
            "kept     ",
            &format!("{}; peaks and integrals are those of all samples", capture.kept),
        );
    }
    page.heading("Channels");
    for channel in &capture.channels {
        let value = |value: f64| match channel.unit {
            Some("V") => Volts(value).rounded(4),
            Some("A") => Amps(value).rounded(4),
            _ => format!("{value:.4e}"),
        };
        page.entry(
            &format!("{}  ", channel.name),
            &format!(
                "highest {} at {}, lowest {} at {}{}",
                value(channel.highest),
                Seconds(channel.highest_at_s).rounded(4),
                value(channel.lowest),
                Seconds(channel.lowest_at_s).rounded(4),
                if channel.unit.is_none() {
                    "; unit unknown"
                } else {
                    ""
                }
            ),
        );
    }
    if let Some(read) = &capture.readings {
        page.heading("Read off");
        let unknown = || "unknown".to_owned();
        let rows = [
            ("peak voltage               ", Some(Volts(read.peak_v).rounded(4))),
            (
                "peak current               ",
                read.peak_a.map(|x| Amps(x).rounded(4)),
            ),
            (
                "voltage at peak of current ",
                read.clamp_v.map(|x| Volts(x).rounded(4)),
            ),
            (
                "energy                     ",
                read.energy_j.map(|x| Joules(x).rounded(4)),
            ),
            (
                "charge                     ",
                read.charge_c.map(|x| format!("{} µC", significant(1e6 * x, 4))),
            ),
            (
                "front of the current       ",
                read.front_s.map(|x| Seconds(x).rounded(4)),
            ),
            (
                "tail of the current        ",
                read.tail_s.map(|x| Seconds(x).rounded(4)),
            ),
        ];
        for (label, value) in rows {
            page.entry(label, &value.unwrap_or_else(unknown));
        }
    }
    if !capture.faults.is_empty() {
        page.heading("What is wrong with it");
        for fault in &capture.faults {
            page.styled_entry(
                Style::Doubt,
                &format!("line {}  ", fault.line),
                &format!("{} ({} times)", fault.reason, fault.count),
            );
        }
    }
    if !capture.notes.is_empty() {
        page.heading("Assumed and done");
        for note in &capture.notes {
            page.entry("– ", note);
        }
    }
    page.finish()
}
