//! Parts side by side in words.

use tidewall_assess::compare::{Compared, Span, UnderStress};
use tidewall_units::{Amps, Celsius, Farads, Joules, Quantity, Volts};

use super::number::percent;

/// What the labels of the rows of the V-I band begin with.
pub const BAND_ROWS: &str = "V-I";
/// Label of the row of verdicts.
pub const VERDICT_ROW: &str = "verdict";

/// Rows of a table with a column for each part: a label and the cells. Rows in which no part has anything are left out; "–"
/// stands for what one of them lacks.
pub fn rows(parts: &[Compared]) -> Vec<(String, Vec<String>)> {
    let mut rows = Vec::new();
    let mut row = |label: &str, cell: &dyn Fn(&Compared) -> String| {
        let cells: Vec<String> = parts.iter().map(cell).collect();
        if cells.iter().all(String::is_empty) {
            return;
        }
        let shown = |cell: String| if cell.is_empty() { "–".to_owned() } else { cell };
        rows.push((label.to_owned(), cells.into_iter().map(shown).collect()));
    };
    let some = |value: Option<f64>, print: fn(f64) -> String| value.map_or(String::new(), print);
    row("family", &|part| part.family.clone());
    row(VERDICT_ROW, &|part| part.verdict.word().to_uppercase());
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
    let Some(first) = parts.first() else {
        return rows;
    };
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
            let label = format!("{BAND_ROWS}, {}, {label}", Celsius(temperature_c).rounded(3));
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
    rows
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
