//! Parts side by side as text.

use tidewall_assess::compare::{Compared, Comparison, Equivalents, Span, UnderStress};
use tidewall_study::Study;
use tidewall_units::{Amps, Celsius, Farads, Joules, Quantity, Volts};

use super::number::percent;
use super::page::{Page, Style};
use super::style;
use super::table::{Align, Table};

/// Most parts that stand side by side in one table.
const ABREAST: usize = 4;

/// The sheet of a comparison.
pub fn comparison(study: &Study, comparison: &Comparison) -> String {
    let mut page = Page::for_terminal();
    page.line(&[(Style::Strong, &comparison.study.title)]);
    page.entry("study    ", &study.path);
    page.entry("place    ", &comparison.stage);
    side_by_side(&mut page, &comparison.parts);
    decided(&mut page, &comparison.parts);
    page.finish()
}

/// The sheet of the parts that can stand for another.
pub fn equivalents(study: &Study, found: &Equivalents) -> String {
    let mut page = Page::for_terminal();
    page.line(&[(Style::Strong, &found.study.title)]);
    page.entry("study    ", &study.path);
    page.entry("place    ", &found.stage);
    let reference = &found.reference;
    page.entry(
        "in place ",
        &format!(
            "of {} ({}), whose verdict here is {}",
            reference.part,
            reference.family,
            reference.verdict.word()
        ),
    );
    page.entry(
        "tried    ",
        &format!(
            "{} candidates{}, of which {} fail here",
            found.candidates,
            if found.complete { "" } else { " (stopped)" },
            found.rejected
        ),
    );
    if found.equivalents.is_empty() {
        page.heading("No part can stand for it here");
        return page.finish();
    }
    page.heading("Nearest first: distance in the margins of this port, 0 % is alike");
    for equivalent in &found.equivalents {
        page.styled_entry(
            style(equivalent.part.verdict),
            &format!("{}  ", equivalent.part.part),
            &format!(
                "{} % away, {}",
                percent(equivalent.distance),
                equivalent.part.verdict.word()
            ),
        );
        for difference in &equivalent.differences {
            page.entry("    – ", difference);
        }
    }
    let mut all = vec![found.reference.clone()];
    all.extend(found.equivalents.iter().map(|equivalent| equivalent.part.clone()));
    side_by_side(&mut page, &all);
    page.finish()
}

fn side_by_side(page: &mut Page, parts: &[Compared]) {
    for abreast in parts.chunks(ABREAST) {
        page.blank();
        let mut table = Table::default().column("", Align::Left);
        for part in abreast {
            table = table.column(&part.part, Align::Left);
        }
        rows(&mut table, abreast);
        table.write(page);
    }
}

fn rows(table: &mut Table, parts: &[Compared]) {
    let mut row = |label: &str, cell: &dyn Fn(&Compared) -> String| {
        let cells: Vec<String> = parts.iter().map(cell).collect();
        if cells.iter().all(String::is_empty) {
            return;
        }
        let mut line = vec![(Style::Plain, label.to_owned())];
        line.extend(
            cells
                .into_iter()
                .map(|cell| (Style::Plain, if cell.is_empty() { "–".to_owned() } else { cell })),
        );
        table.row(line);
    };
    let some = |value: Option<f64>, print: fn(f64) -> String| value.map_or(String::new(), print);
    row("family", &|part| part.family.clone());
    row("verdict", &|part| part.verdict.word().to_uppercase());
    row("worst margin", &|part| {
        part.worst_margin
            .map_or(String::new(), |margin| format!("{} %", percent(margin)))
    });
    row("blocks", &|part| match part.bidirectional {
        Some(true) => "both ways".to_owned(),
        Some(false) => "one way".to_owned(),
        None => String::new(),
    });
    row("stand-off", &|part| some(part.stand_off_v, volts));
    row("breakdown 25 °C", &|part| span(&part.breakdown_v));
    row("capacitance", &|part| {
        some(part.capacitance_f, |farads| Farads(farads).rounded(3))
    });
    row("leakage, hot", &|part| some(part.leakage_a, amps));
    row("area", &|part| {
        some(part.area_m2, |area| format!("{:.1} mm²", area * 1e6))
    });
    row("cost", &|part| some(part.cost, |cost| format!("{cost}")));
    let Some(first) = parts.first() else { return };
    for stress in &first.stresses {
        let at = |part: &Compared| -> Option<UnderStress> {
            let mut own = part.stresses.iter();
            own.find(|other| other.stress == stress.stress && other.ambient_c == stress.ambient_c)
                .cloned()
        };
        let label = format!("{}, {}", stress.stress, Celsius(stress.ambient_c).rounded(3));
        row(&label, &|part| {
            at(part).map_or(String::new(), |s| {
                format!("{} at {}", volts(s.clamp_v), amps(s.current_a))
            })
        });
        row("  pin", &|part| {
            at(part).map_or(String::new(), |s| volts(s.let_through_v))
        });
        row("  energy", &|part| {
            at(part).map_or(String::new(), |s| Joules(s.energy_j).rounded(3))
        });
        row("  junction", &|part| {
            some(at(part).and_then(|s| s.junction_c), |c| Celsius(c).rounded(3))
        });
    }
    for (current, label) in [(1.0, "at the largest current"), (0.1, "at a tenth of it")] {
        for (temperature_c, current_a) in steady_points(first, current) {
            let label = format!("V-I, {}, {label}", Celsius(temperature_c).rounded(3));
            row(&label, &|part| {
                let mut band = part.band.iter();
                let point =
                    band.find(|point| point.temperature_c == temperature_c && point.current_a == current_a);
                point.map_or(String::new(), |point| match (point.low_v, point.high_v) {
                    (Some(low), Some(high)) => format!("{} to {}", volts(low), volts(high)),
                    _ => String::new(),
                })
            });
        }
    }
}

/// Temperatures of a band with the current nearest to a share of its largest.
fn steady_points(part: &Compared, share: f64) -> Vec<(f64, f64)> {
    let top = part.band.iter().map(|point| point.current_a).fold(0.0, f64::max);
    let mut temperatures: Vec<f64> = part.band.iter().map(|point| point.temperature_c).collect();
    temperatures.dedup();
    let nearest = part
        .band
        .iter()
        .map(|point| point.current_a)
        .min_by(|a, b| (a - share * top).abs().total_cmp(&(b - share * top).abs()));
    let Some(current_a) = nearest else {
        return Vec::new();
    };
    temperatures
        .into_iter()
        .map(|temperature_c| (temperature_c, current_a))
        .collect()
}

fn decided(page: &mut Page, parts: &[Compared]) {
    page.heading("What decides");
    for part in parts {
        let Some(worst) = part.checks.first() else {
            continue;
        };
        let place = match &worst.stress {
            Some(stress) => format!("{}, {stress}", worst.check),
            None => worst.check.clone(),
        };
        page.styled_entry(
            style(part.verdict),
            &format!("{}: {}  ", part.part, part.verdict.word()),
            &format!("{place}: {}", worst.why),
        );
        if let Some(missing) = &part.missing {
            page.entry("    no V-I band: ", missing);
        }
    }
}

fn volts(volts: f64) -> String {
    Volts(volts).rounded(3)
}

fn amps(amps: f64) -> String {
    Amps(amps).rounded(3)
}

fn span(span: &Span) -> String {
    match (span.min, span.typ, span.max) {
        (Some(min), _, Some(max)) => format!("{} to {}", volts(min), volts(max)),
        (Some(min), None, None) => format!("from {}", volts(min)),
        (None, None, Some(max)) => format!("up to {}", volts(max)),
        (_, Some(typ), _) => format!("typically {}", volts(typ)),
        (None, None, None) => String::new(),
    }
}
