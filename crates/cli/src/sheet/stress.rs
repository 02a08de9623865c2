//! What each stress does at its worst let-through.

use tidewall_assess::result::{Assessment, TransientResult};
use tidewall_assess::traces::worst_transient;
use tidewall_report::words::number::{corner_words, in_one_unit, percent};
use tidewall_study::Study;
use tidewall_units::{Amps, Joules, Quantity, Volts};

use super::page::{Page, Style};
use super::table::{Align, Table};

/// A section for each stress.
pub fn sections(page: &mut Page, study: &Study, result: &Assessment) {
    for case in &study.stresses {
        let Some(worst) = worst_transient(result, &case.id) else {
            continue;
        };
        page.heading(&format!("Stress {}: {}", case.id, case.disturbance.title));
        page.entry("worst let-through  ", &corner_words(&worst.corner));
        page.entry("reaches            ", &reaches(worst));
        elements(page, worst);
        let runs: Vec<&TransientResult> = result
            .transients
            .iter()
            .filter(|run| run.stress == case.id)
            .collect();
        if runs.len() > 1 {
            page.entry(&format!("in all {} corners  ", runs.len()), &over_all(&runs));
        }
    }
}

fn reaches(run: &TransientResult) -> String {
    let mut text = format!(
        "connector {}, pin {}",
        Volts(run.connector_peak_v).rounded(4),
        Volts(run.pin_peak_v).rounded(4)
    );
    if let Some(amps) = run.pin_peak_a {
        text.push_str(&format!(" and {} into it", Amps(amps).rounded(4)));
    }
    // What the port passes on to its own supply is taken off.
    text.push_str(&format!(
        "; {} net into the port",
        Joules(run.audit.delivered_j).rounded(3)
    ));
    text
}

/// Who absorbs the energy.
fn elements(page: &mut Page, run: &TransientResult) {
    let mut table = Table::default()
        .column("element", Align::Left)
        .column("voltage", Align::Point)
        .unit_column("")
        .column("current", Align::Point)
        .unit_column("")
        .column("energy", Align::Point)
        .unit_column("")
        .column("share", Align::Point)
        .unit_column("")
        .column("junction", Align::Point)
        .unit_column("");
    let total: f64 = run.elements.iter().map(|element| element.energy_j.max(0.0)).sum();
    let hottest = run
        .elements
        .iter()
        .map(|element| element.energy_j)
        .fold(0.0, f64::max);
    let strongest = run
        .elements
        .iter()
        .map(|element| element.peak_a)
        .fold(0.0, f64::max);
    for element in &run.elements {
        let look = if element.energy_j == hottest && hottest > 0.0 {
            Style::Strong
        } else {
            Style::Plain
        };
        let mut cells = vec![(look, element.name.clone())];
        let mut add = |value: Option<f64>, unit: &str| {
            let (texts, unit) = in_one_unit(&[value], unit);
            cells.extend(texts.into_iter().chain([unit]).map(|text| (Style::Plain, text)));
        };
        // What is a billionth of the largest is arithmetic.
        let clear = |value: f64, largest: f64| if value.abs() < 1e-9 * largest { 0.0 } else { value };
        add(Some(clear(element.peak_v, run.connector_peak_v)), "V");
        add(Some(clear(element.peak_a, strongest)), "A");
        add(Some(clear(element.energy_j, total)), "J");
        let share = (total > 0.0).then(|| percent(element.energy_j.max(0.0) / total));
        let unit = share.as_ref().map_or("", |_| "%").to_owned();
        cells.extend([share.unwrap_or_default(), unit].map(|text| (Style::Plain, text)));
        let (texts, unit) = in_one_unit(&[element.peak_junction_c], "°C");
        cells.extend(texts.into_iter().chain([unit]).map(|text| (Style::Plain, text)));
        table.row(cells);
    }
    table.write(page);
}

/// The highest of everything over all corners of a stress.
fn over_all(runs: &[&TransientResult]) -> String {
    let connector = runs.iter().map(|run| run.connector_peak_v).fold(0.0, f64::max);
    let (low, high) = runs.iter().fold((0.0f64, 0.0f64), |(low, high), run| {
        (low.min(run.pin_peak_v), high.max(run.pin_peak_v))
    });
    let mut text = format!("connector up to {}", Volts(connector).rounded(4));
    if high > 0.0 {
        text.push_str(&format!(", pin up to {}", Volts(high).rounded(4)));
    }
    if low < 0.0 {
        text.push_str(&format!(", pin down to {}", Volts(low).rounded(4)));
    }
    let hottest = runs
        .iter()
        .flat_map(|run| run.elements.iter().map(move |element| (run, element)))
        .filter_map(|(run, element)| Some((run, element, element.peak_junction_c?)))
        .max_by(|a, b| a.2.total_cmp(&b.2));
    if let Some((run, element, celsius)) = hottest {
        let (texts, unit) = in_one_unit(&[Some(celsius)], "°C");
        text.push_str(&format!(
            "; hottest junction {} {unit} in {} ({})",
            texts[0],
            element.name,
            corner_words(&run.corner)
        ));
    }
    text
}
