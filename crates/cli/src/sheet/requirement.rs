//! A requirement as text.

use tidewall_assess::requirement::{Demand, Requirement, StressDemand};
use tidewall_report::words::number::{corner_words, in_one_unit};
use tidewall_report::words::requirement::{asks, quantity, window};
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
    let style = match requirement.window {
        Some(true) => Style::Pass,
        Some(false) => Style::Fail,
        None => Style::Doubt,
    };
    page.styled_entry(style, "window   ", &window(requirement));
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

fn demand(page: &mut Page, demand: &Demand) {
    page.entry(&format!("{}  ", demand.datum), &asks(demand));
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
