//! A requirement as text.

use tidewall_assess::requirement::{Demand, Requirement, StressDemand};
use tidewall_assess::result::Bound;
use tidewall_report::words::number::{corner_words, in_one_unit};
use tidewall_units::{Amps, Joules, Ohms, Quantity, Volts};

use super::page::{Page, Style};
use super::table::{Align, Table, plain};

/// The sheet of a requirement.
pub fn sheet(requirement: &Requirement) -> String {
    let mut page = Page::for_terminal();
    page.line(&[(Style::Strong, &requirement.study.title)]);
    page.entry(
        "place    ",
        &format!("{}, before any part is chosen", requirement.stage),
    );
    let (style, words) = match (requirement.window, window(requirement)) {
        (Some(true), Some((wall, top))) => (
            Style::Pass,
            format!("the clamp must live between {wall} and {top}"),
        ),
        (Some(true), None) => (
            Style::Pass,
            "the pin is safe at any clamp voltage searched".to_owned(),
        ),
        (Some(false), _) => (
            Style::Fail,
            "shut: no single part in this place holds the pin inside its limits".to_owned(),
        ),
        (None, _) => (Style::Doubt, "not known: see what is missing".to_owned()),
    };
    page.styled_entry(style, "window   ", &words);
    page.heading("A part must have");
    for demand in &requirement.demands {
        self::demand(&mut page, demand);
    }
    if !requirement.stresses.is_empty() {
        stresses(&mut page, &requirement.stresses);
    }
    if !requirement.openings.is_empty() {
        page.heading("What opens the window");
        for opening in &requirement.openings {
            let value = opening
                .value
                .map_or("–".to_owned(), |value| quantity(value, opening.unit));
            page.entry(&format!("{}: {value}  ", opening.change), &opening.why);
        }
    }
    page.heading("Notes");
    for note in &requirement.notes {
        page.entry("– ", note);
    }
    page.finish()
}

/// Left wall and lowest of the right walls.
fn window(requirement: &Requirement) -> Option<(String, String)> {
    let limited = requirement.stresses.iter().filter(|stress| !stress.open_above);
    let top = limited
        .filter_map(|stress| stress.highest_clamp_v)
        .reduce(f64::min)?;
    Some((Volts(requirement.wall_v?).rounded(3), Volts(top).rounded(3)))
}

fn quantity(value: f64, unit: &str) -> String {
    let (texts, unit) = in_one_unit(&[Some(value)], unit);
    format!("{} {unit}", texts.first().map_or("", String::as_str))
        .trim_end()
        .to_owned()
}

fn demand(page: &mut Page, demand: &Demand) {
    let bound = match demand.bound {
        Bound::AtLeast => "at least",
        Bound::AtMost => "at most",
    };
    let text = match (demand.value, &demand.missing) {
        (Some(value), _) => {
            let origin = demand
                .origin
                .as_ref()
                .map_or(String::new(), |origin| format!(" [{origin}]"));
            format!("{bound} {}: {}{origin}", quantity(value, demand.unit), demand.why)
        }
        (None, missing) => format!(
            "{bound} an unknown value: {}; give {}",
            demand.why,
            missing.as_deref().unwrap_or("the datum")
        ),
    };
    page.entry(&format!("{}  ", demand.datum), &text);
}

fn stresses(page: &mut Page, stresses: &[StressDemand]) {
    page.heading("Under stress, with an ideal clamp in the place");
    let mut table = Table::default()
        .column("stress", Align::Left)
        .column("clamp at most", Align::Point)
        .column("current", Align::Point)
        .unit_column("")
        .column("energy", Align::Point)
        .unit_column("")
        .column("as 8/20", Align::Point)
        .unit_column("")
        .column("as 10/1000", Align::Point)
        .unit_column("")
        .column("slope at most", Align::Left)
        .column("pulses", Align::Point);
    let column = |of: fn(&StressDemand) -> Option<f64>, unit: &str| {
        in_one_unit(&stresses.iter().map(of).collect::<Vec<_>>(), unit)
    };
    let (amps, amp) = column(|s| Some(s.current_a), Amps::SYMBOL);
    let (joules, joule) = column(|s| Some(s.energy_j), Joules::SYMBOL);
    let (short, short_unit) = column(|s| s.as_8_20_a, Amps::SYMBOL);
    let (long, long_unit) = column(|s| s.as_10_1000_a, Amps::SYMBOL);
    for (k, stress) in stresses.iter().enumerate() {
        let clamp = match (stress.highest_clamp_v, stress.open_above, &stress.missing) {
            (Some(volts), false, _) => (Style::Plain, Volts(volts).rounded(3)),
            (Some(_), true, _) => (Style::Plain, "any".to_owned()),
            (None, _, Some(_)) => (Style::Doubt, "unknown".to_owned()),
            (None, _, None) => (Style::Fail, "none".to_owned()),
        };
        table.row(vec![
            plain(&stress.stress),
            clamp,
            plain(amps[k].as_str()),
            plain(&amp),
            plain(joules[k].as_str()),
            plain(&joule),
            plain(short[k].as_str()),
            plain(&short_unit),
            plain(long[k].as_str()),
            plain(&long_unit),
            plain(
                stress
                    .slope_at_most_ohm
                    .map_or(String::new(), |ohm| Ohms(ohm).rounded(3)),
            ),
            plain(stress.impulses.map_or(String::new(), |pulses| pulses.to_string())),
        ]);
    }
    table.write(page);
    for stress in stresses {
        page.entry(
            &format!("{}  ", stress.stress),
            &format!("largest current at {}", corner_words(&stress.corner)),
        );
        if let Some(missing) = &stress.missing {
            page.entry("    needs  ", missing);
        }
    }
}
