//! Results as text.

use std::fmt::Write;

use crate::transient::{CircuitReport, LIMIT, Point, Report, TIDEWALL};

/// Columns with two spaces between; the first to the left, the others to the right.
pub fn columns(rows: &[Vec<String>]) -> String {
    let count = rows.iter().map(Vec::len).max().unwrap_or(0);
    let width = |k: usize| {
        let cells = rows.iter().filter_map(|row| row.get(k));
        cells.map(|cell| cell.chars().count()).max().unwrap_or(0)
    };
    let widths: Vec<usize> = (0..count).map(width).collect();
    let mut text = String::new();
    for row in rows {
        let mut line = String::new();
        for (k, cell) in row.iter().enumerate() {
            let pad = " ".repeat(widths[k] - cell.chars().count());
            let gap = if k == 0 { "" } else { "  " };
            if k == 0 {
                line += &format!("{cell}{pad}");
            } else {
                line += &format!("{gap}{pad}{cell}");
            }
        }
        text += line.trim_end();
        text.push('\n');
    }
    text
}

/// A time in the unit that fits.
pub fn time(seconds: f64) -> String {
    match seconds {
        s if s < 1e-3 => format!("{} µs", digits(1e6 * s)),
        s if s < 1.0 => format!("{} ms", digits(1e3 * s)),
        s => format!("{} s", digits(s)),
    }
}

/// Three significant digits without a power of ten, for numbers from a hundredth to some thousands.
pub fn digits(value: f64) -> String {
    match value.abs() {
        v if v >= 99.95 => format!("{value:.0}"),
        v if v >= 9.995 => format!("{value:.1}"),
        _ => format!("{value:.2}"),
    }
}

/// A share in percent, with what is too small to be told from nothing said so.
pub fn percent(share: f64) -> String {
    match 100.0 * share {
        p if p < 1e-4 => "< 0.0001".into(),
        p => format!("{p:.4}"),
    }
}

/// The whole comparison.
pub fn transient(report: &Report) -> String {
    let mut out = String::new();
    let limit = 100.0 * LIMIT;
    writeln!(out, "One transient, one core. {}", report.machine.line()).ok();
    writeln!(out, "Beside it: {}", report.versions.join(", ")).ok();
    writeln!(
        out,
        "Deviations in % from Tidewall's method at a relative tolerance of 1e-9; an independent method at 1e-8 agrees\n\
         with that within the share under `independent`.\n"
    )
    .ok();
    out += &columns(&default_rows(report));
    writeln!(
        out,
        "\nEvery solver at its quickest tolerance (`rtol`) that meets {limit} % in every quantity, if the next one does so too.\n\
         Times as multiples of Tidewall's at its default options, and at its own quickest tolerance.\n"
    )
    .ok();
    out += &columns(&solver_rows(report));
    writeln!(
        out,
        "\nWork of an accepted step in operations, and how far a transient is above that work at {:.1} thousand million\n\
         operations per second (multiplications and additions in registers, measured in this run).\n",
        1e-9 * report.machine.flops_per_s
    )
    .ok();
    out += &columns(&work_rows(report));
    out
}

fn header(names: &[&str]) -> Vec<String> {
    names.iter().map(|name| (*name).to_owned()).collect()
}

fn default_rows(report: &Report) -> Vec<Vec<String>> {
    let mut rows = vec![header(&[
        "circuit",
        "states",
        "steps",
        "rejected",
        "time",
        "per step",
        "voltage",
        "current",
        "energy",
        "independent",
        "",
    ])];
    for circuit in &report.circuits {
        let point = &circuit.default;
        let mut row = vec![circuit.key.clone(), circuit.states.to_string()];
        match point.deviation(&circuit.reference) {
            Some(deviation) => {
                row.extend([
                    point.steps.to_string(),
                    circuit.rejections.to_string(),
                    time(point.seconds),
                    time(point.seconds / point.steps as f64),
                    percent(deviation.volts),
                    percent(deviation.amps),
                    percent(deviation.joules),
                    percent(circuit.independent.worst()),
                ]);
                if deviation.worst() > LIMIT {
                    row.push("MISSES".into());
                }
            }
            None => row.push(point.failure.clone().unwrap_or_default()),
        }
        rows.push(row);
    }
    rows
}

fn solver_rows(report: &Report) -> Vec<Vec<String>> {
    let mut rows = vec![header(&[
        "circuit",
        "solver",
        "rtol",
        "steps",
        "time",
        "of default",
        "of its best",
        "worst",
    ])];
    for circuit in &report.circuits {
        let own = &circuit.default;
        rows.push(solver_row(circuit, "tidewall, default", own));
        for sweep in &circuit.sweeps {
            match sweep.quickest(&circuit.reference) {
                Some(point) => rows.push(solver_row(circuit, &sweep.solver, point)),
                None => rows.push(vec![
                    circuit.key.clone(),
                    sweep.solver.clone(),
                    "—".into(),
                    "—".into(),
                    "—".into(),
                    "—".into(),
                    "—".into(),
                    why_not(circuit, &sweep.points),
                ]),
            }
        }
    }
    rows
}

fn solver_row(circuit: &CircuitReport, solver: &str, point: &Point) -> Vec<String> {
    let worst = point
        .deviation(&circuit.reference)
        .map_or_else(String::new, |deviation| percent(deviation.worst()));
    let own = circuit.sweeps.iter().find(|sweep| sweep.solver == TIDEWALL);
    let quickest = own.and_then(|sweep| sweep.quickest(&circuit.reference));
    vec![
        circuit.key.clone(),
        solver.to_owned(),
        format!("{:.0e}", point.relative),
        point.steps.to_string(),
        time(point.seconds),
        digits(point.seconds / circuit.default.seconds),
        quickest.map_or_else(|| "—".into(), |own| digits(point.seconds / own.seconds)),
        worst,
    ]
}

fn why_not(circuit: &CircuitReport, points: &[Point]) -> String {
    let Some(last) = points.last() else {
        return "not run".into();
    };
    match (&last.failure, last.deviation(&circuit.reference)) {
        (Some(failure), _) => format!("not met: {failure}"),
        (None, Some(deviation)) => format!(
            "not met: {} % at {:.0e}, {}",
            percent(deviation.worst()),
            last.relative,
            time(last.seconds)
        ),
        (None, None) => "not met".into(),
    }
}

fn work_rows(report: &Report) -> Vec<Vec<String>> {
    let mut rows = vec![header(&[
        "circuit",
        "factor",
        "6 solves",
        "6 rhs",
        "Jacobian",
        "stages",
        "booking",
        "step",
        "least time",
        "above it",
    ])];
    for circuit in &report.circuits {
        let flops = circuit.flops;
        let least = least_s(report, circuit);
        rows.push(vec![
            circuit.key.clone(),
            flops.factor.to_string(),
            (6 * flops.solve).to_string(),
            (6 * flops.rhs).to_string(),
            flops.jacobian.to_string(),
            flops.stages.to_string(),
            flops.booking.to_string(),
            flops.step().to_string(),
            time(least),
            format!("{}×", digits(circuit.default.seconds / least)),
        ]);
    }
    rows
}

/// Time of a transient if a core did nothing but its counted operations.
fn least_s(report: &Report, circuit: &CircuitReport) -> f64 {
    let flops = circuit.flops;
    let work = circuit.default.steps * flops.step() + circuit.rejections * flops.attempt();
    work as f64 / report.machine.flops_per_s
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_stand_below_each_other() {
        let rows = [header(&["a", "bb", "c"]), header(&["long", "µ", "1"])];
        assert_eq!(columns(&rows), "a     bb  c\nlong   µ  1\n");
    }

    #[test]
    fn times_have_three_digits() {
        assert_eq!(time(1.234e-6), "1.23 µs");
        assert_eq!(time(12.34e-3), "12.3 ms");
        assert_eq!(time(456.7), "457 s");
    }
}
