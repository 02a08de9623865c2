//! A fit as text.

use tidewall_extract::family::{Estimate, Fit, Standing};
use tidewall_units::{
    Amps, Celsius, Farads, KelvinPerWatt, Kelvins, Ohms, PerKelvin, Quantity, Volts, VoltsPerSecond, Watts,
};

use super::page::{Page, Style};
use super::table::{Align, Table};
use crate::extract::part;

/// The sheet of a fit to the points of a file; with `part`, also the data as a part of that name.
pub fn sheet(fit: &Fit, source: &str, part: Option<&str>) -> String {
    let mut page = Page::for_terminal();
    page.line(&[(Style::Strong, &format!("{}: {}", fit.family, fit.law))]);
    page.entry("points   ", &points(fit, source));
    page.entry("scatter  ", &scatter(fit));
    page.heading("Values, with the interval that holds them with 95 %");
    let mut table = Table::default()
        .column("value of", Align::Left)
        .column("value", Align::Left)
        .column("from", Align::Left)
        .column("to", Align::Left)
        .column("standing", Align::Left);
    for estimate in &fit.estimates {
        let end = |k: usize| match estimate.interval {
            Some(ends) => ends[k].map_or("no end".to_owned(), |x| show(x, &estimate.unit)),
            None => String::new(),
        };
        let value = estimate.value.map_or("?".to_owned(), |x| show(x, &estimate.unit));
        let (style, standing) = standing(estimate.standing);
        table.row(vec![
            (Style::Plain, estimate.meaning.clone()),
            (Style::Plain, value),
            (Style::Plain, end(0)),
            (Style::Plain, end(1)),
            (style, standing.to_owned()),
        ]);
    }
    table.without_empty().write(&mut page);
    wanted(&mut page, fit);
    if !fit.warnings.is_empty() {
        page.heading("To mind");
        for warning in &fit.warnings {
            page.entry("– ", &warning.text);
        }
    }
    let rejected: Vec<_> = fit.points.iter().filter(|p| p.rejected.is_some()).collect();
    if !rejected.is_empty() {
        page.heading("Points left out");
        for point in rejected {
            let place = format!(
                "{} at {}: ",
                show(point.y, &fit.y.unit),
                show(point.x, &fit.x.unit)
            );
            page.entry(
                &format!("{}  ", point.number),
                &format!("{place}{}", point.rejected.as_deref().unwrap_or_default()),
            );
        }
    }
    page.heading("Made by");
    page.entry("", &fit.recipe);
    if let Some(name) = part {
        entries(&mut page, fit, source, name);
    }
    page.finish()
}

fn standing(standing: Standing) -> (Style, &'static str) {
    match standing {
        Standing::Estimated => (Style::Plain, "fitted"),
        Standing::NotTestable => (Style::Doubt, "not testable"),
        Standing::NotIdentified => (Style::Doubt, "not identified"),
        Standing::Given => (Style::Plain, "given"),
        Standing::Observed => (Style::Plain, "seen"),
    }
}

fn points(fit: &Fit, source: &str) -> String {
    let quality = &fit.quality;
    let left_out = match quality.rejected {
        0 => String::new(),
        some => format!(", {some} left out"),
    };
    format!("{} used{left_out}, of {source}", quality.points)
}

fn scatter(fit: &Fit) -> String {
    let quality = &fit.quality;
    let text = match (quality.scatter, quality.residuals_in.strip_prefix("ln ")) {
        (Some(scatter), Some(_)) => format!("{:.2} % of a reading", 100.0 * scatter),
        (Some(scatter), None) => format!("{} in a reading", show(scatter, &quality.residuals_in)),
        (None, _) => match quality.reduced_chi_square {
            Some(chi) => format!("as given; reduced chi-square {chi:.2} (1 if the deviations are right)"),
            None => "not known: as many points as unknowns".to_owned(),
        },
    };
    let plural = if quality.degrees_of_freedom == 1 { "" } else { "s" };
    format!("{text}, {} degree{plural} of freedom", quality.degrees_of_freedom)
}

/// What would tell or test what is not told.
fn wanted(page: &mut Page, fit: &Fit) {
    let open: Vec<&Estimate> = fit.estimates.iter().filter(|e| e.needs.is_some()).collect();
    if open.is_empty() {
        return;
    }
    page.heading("To be measured");
    for estimate in open {
        let needs = estimate.needs.as_deref().unwrap_or_default();
        page.entry("– ", &format!("for {}: {needs}", estimate.meaning));
    }
}

fn entries(page: &mut Page, fit: &Fit, source: &str, name: &str) {
    let (target, lines) = part::lines(fit, source, name);
    page.heading(&format!("For {target}"));
    for line in lines {
        page.line(&[(Style::Plain, &line)]);
    }
}

/// Where the values are from, with their intervals, in one line.
pub fn origin(fit: &Fit, source: &str) -> String {
    let values: Vec<String> = fit
        .estimates
        .iter()
        .filter_map(|estimate| {
            let [low, high] = estimate.interval?;
            let end = |x: Option<f64>| x.map_or("no end".to_owned(), |x| show(x, &estimate.unit));
            Some(format!("{} {} to {}", estimate.key, end(low), end(high)))
        })
        .collect();
    let intervals = if values.is_empty() {
        "not testable".to_owned()
    } else {
        format!("95 % intervals: {}", values.join(", "))
    };
    format!(
        "{source}, {} points, fit of {}; {intervals}",
        fit.quality.points, fit.law
    )
}

/// A value with its unit, four digits.
fn show(value: f64, unit: &str) -> String {
    match unit {
        "V" => Volts(value).rounded(4),
        "A" => Amps(value).rounded(4),
        "Ω" => Ohms(value).rounded(4),
        "F" => Farads(value).rounded(4),
        "W" => Watts(value).rounded(4),
        "K" => Kelvins(value).rounded(4),
        "°C" => Celsius(value).rounded(4),
        "K/W" => KelvinPerWatt(value).rounded(4),
        "1/K" => PerKelvin(value).rounded(4),
        "V/s" => VoltsPerSecond(value).rounded(4),
        other => {
            let number = tidewall_report::words::number::significant(value, 4);
            if other.is_empty() {
                number
            } else {
                format!("{number} {other}")
            }
        }
    }
}
