//! Who absorbs how much, and how hot it gets.

use tidewall_assess::result::{Assessment, CheckResult, TransientResult, Verdict};
use tidewall_plot::number::quantity;
use tidewall_plot::{Axis, Bar, Bars, Cell, Figure, Fill, Table, Words};
use tidewall_study::Study;

use super::text::{aligned, percent, short_corner};
use crate::words::number::corner_words;

/// Smallest share that has a row of its own.
const LEAST: f64 = 0.01;

/// The corner at which a stress leaves most heat in the port.
fn hottest<'a>(assessment: &'a Assessment, stress: &str) -> Option<&'a TransientResult> {
    let heat = |run: &TransientResult| run.elements.iter().map(|element| element.energy_j).sum::<f64>();
    assessment
        .transients
        .iter()
        .filter(|run| run.stress == stress && heat(run).is_finite())
        .fold(None, |best: Option<&TransientResult>, run| match best {
            Some(best) if heat(best) >= heat(run) => Some(best),
            _ => Some(run),
        })
}

/// Share of each element in the heat that a stress leaves in the port, at the corner with most of it. `None` without a
/// transient.
pub fn energy(study: &Study, assessment: &Assessment) -> Option<Figure> {
    let mut bars = Vec::new();
    let mut table = Table::new(&[
        ("stress", ""),
        ("element", ""),
        ("energy", "J"),
        ("share", ""),
        ("corner", ""),
    ]);
    let mut alt = Vec::new();
    let mut notes = Vec::new();
    for case in &study.stresses {
        let Some(run) = hottest(assessment, &case.id) else {
            notes.push(format!("{}: unknown, no transient could be computed.", case.id));
            continue;
        };
        let total: f64 = run.elements.iter().map(|element| element.energy_j).sum();
        let share = |energy: f64| if total > 0.0 { energy / total } else { 0.0 };
        let mut order: Vec<_> = run.elements.iter().collect();
        order.sort_by(|a, b| b.energy_j.total_cmp(&a.energy_j));
        for element in &order {
            table.row([
                case.id.clone().into(),
                element.name.clone().into(),
                element.energy_j.into(),
                share(element.energy_j).into(),
                corner_words(&run.corner).into(),
            ]);
        }
        let at = short_corner(&run.corner);
        let group = format!("{}: {} at {at}", case.id, quantity(total, "J", 3));
        let (large, small): (Vec<_>, Vec<_>) = order
            .into_iter()
            .partition(|element| share(element.energy_j) >= LEAST);
        let row = |label: String, energy: f64, fill: Fill| Bar {
            group: group.clone(),
            fill,
            number: aligned(share(energy)),
            ..Bar::new(label, Some(100.0 * share(energy)), quantity(energy, "J", 3))
        };
        let rest: f64 = small.iter().map(|element| element.energy_j).sum();
        for (k, element) in large.iter().enumerate() {
            let fill = if k == 0 { Fill::Accent } else { Fill::Light };
            bars.push(row(element.name.clone(), element.energy_j, fill));
        }
        if !small.is_empty() {
            let label = match small.as_slice() {
                [one] => one.name.clone(),
                several => format!("{} others", several.len()),
            };
            bars.push(row(label, rest, Fill::Light));
        }
        if let Some(first) = large.first() {
            alt.push(format!(
                "{}: {} in all, {} of it in {} ({}).",
                case.id,
                quantity(total, "J", 3),
                percent(share(first.energy_j)),
                first.name,
                corner_words(&run.corner)
            ));
        }
    }
    if bars.is_empty() {
        return None;
    }
    let axis = Axis::linear("Share of the heat left in the port", "%").range(0.0, 100.0);
    let mut chart = Bars::new(axis, bars);
    chart.notes = notes;
    let words = Words::new(
        "energy",
        "Who absorbs the energy",
        "Heat in each element of the port, for each stress at the corner with most of it; the sum stands in the heading.",
        alt.join(" "),
    );
    Some(chart.figure(words, table))
}

/// Three digits, but no more than a tenth of a kelvin.
fn kelvins(value: f64) -> String {
    if value.abs() < 0.05 {
        return "below 0.1 K".to_owned();
    }
    quantity((10.0 * value).round() / 10.0, "K", 3)
}

/// Rise of each part's junction against what its ratings allow, at the worst corner. `None` where no part has a junction
/// that is judged.
pub fn junctions(assessment: &Assessment) -> Option<Figure> {
    let checks: Vec<&CheckResult> = assessment
        .checks
        .iter()
        .filter(|check| check.check == "junction-rise")
        .collect();
    if checks.is_empty() {
        return None;
    }
    let mut table = Table::new(&[
        ("part", ""),
        ("stress", ""),
        ("rise", "K"),
        ("limit of the rise", "K"),
        ("ambient", "°C"),
        ("verdict", ""),
        ("corner", ""),
    ]);
    let mut bars = Vec::new();
    let mut alt = Vec::new();
    for check in &checks {
        let stress = check.stress.clone().unwrap_or_default();
        let ambient = check.corner.as_ref().map(|corner| corner.ambient_c);
        table.row([
            check.element.clone().into(),
            stress.clone().into(),
            check.value.into(),
            check.limit.into(),
            ambient.into(),
            check.verdict.word().into(),
            check
                .corner
                .as_ref()
                .map_or(Cell::Unknown, |at| corner_words(at).into()),
        ]);
        let text = match (check.value, check.limit) {
            (Some(value), Some(limit)) => {
                format!("{} of {}", kelvins(value), kelvins(limit))
            }
            (Some(value), None) => format!("{}, limit unknown", kelvins(value)),
            _ => {
                let missing = check.missing.as_deref().unwrap_or(&check.why);
                format!("{}: needs {missing}", check.verdict.word().to_uppercase())
            }
        };
        alt.push(format!(
            "{}, {stress}: {text}, {}.",
            check.element,
            check.verdict.word()
        ));
        bars.push(Bar {
            detail: check.corner.as_ref().map(short_corner).unwrap_or_default(),
            limit: check.limit,
            fill: match check.verdict {
                Verdict::Fail => Fill::Solid,
                Verdict::Marginal => Fill::Hatched,
                _ => Fill::Light,
            },
            bold: check.verdict == Verdict::Fail,
            ..Bar::new(format!("{}, {stress}", check.element), check.value, text)
        });
    }
    let mut chart = Bars::new(
        Axis::linear("Rise of the junction above ambient", "K").from_zero(),
        bars,
    );
    chart.notes.push(
        "Upright stroke: the rise that the part's own pulse rating, derated to this ambient, brings in the same model."
            .to_owned(),
    );
    let words = Words::new(
        "junctions",
        "Heating of the junctions",
        "Largest rise of each part's junction in a pulse against the rise that its ratings allow from there.",
        alt.join(" "),
    );
    Some(chart.figure(words, table))
}
