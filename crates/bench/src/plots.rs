//! Work-precision plots: time against deviation of every solver, one figure for each circuit.

use tidewall_plot::{
    At, Axis, Chart, Dash, Figure, Item, Mark, Marker, Naming, Panel, Points, Style, Table, Tone, Words,
};

use crate::table::time;
use crate::transient::{CircuitReport, LIMIT, Point, Report, Sweep};

/// The figure of each circuit, with the circuit's key.
pub fn figures(report: &Report) -> Vec<(String, Figure)> {
    let circuits = report.circuits.iter();
    circuits
        .map(|circuit| (circuit.key.clone(), figure(circuit)))
        .collect()
}

fn figure(circuit: &CircuitReport) -> Figure {
    let mut panel = Panel::new(
        Axis::log("Largest deviation of voltage, current and energy, as a share", ""),
        Axis::log("Processor time of one transient", "s"),
    )
    .height(300.0);
    panel.items.push(Item::Mark(Mark {
        label: "0.1 %".into(),
        at: At::X(LIMIT),
        span: None,
        style: Style::stroke(Tone::Mute, Dash::Short, 1.0),
    }));
    for (k, sweep) in circuit.sweeps.iter().enumerate() {
        panel.curve(&sweep.solver, places(circuit, sweep), Style::nth_marked(k));
    }
    if let Some(deviation) = circuit.default.deviation(&circuit.reference) {
        panel.items.push(Item::Points(Points {
            name: "tidewall, default tolerance".into(),
            points: vec![(deviation.worst(), circuit.default.seconds, String::new())],
            style: Style::markers(Tone::Accent, Marker::Ring),
            naming: Naming::Legend,
        }));
    }
    for sweep in circuit
        .sweeps
        .iter()
        .filter(|sweep| places(circuit, sweep).is_empty())
    {
        panel.note(format!("{}: no run came to an end.", sweep.solver));
    }
    let title = format!("Work and precision: {}", circuit.title);
    let words = Words::new(
        format!("work-precision-{}", circuit.key),
        &title,
        "Time against deviation from a tight reference; each line is one solver over its tolerances.",
        format!(
            "Log-log plot of processor time against the largest deviation. {}",
            in_words(circuit)
        ),
    );
    let mut data = Table::new(&[
        ("solver", ""),
        ("relative tolerance", ""),
        ("largest deviation", ""),
        ("processor time", "s"),
    ]);
    for sweep in &circuit.sweeps {
        for point in &sweep.points {
            let worst = point
                .deviation(&circuit.reference)
                .map_or(f64::NAN, |d| d.worst());
            data.row([
                sweep.solver.as_str().into(),
                point.relative.into(),
                worst.into(),
                point.seconds.into(),
            ]);
        }
    }
    Chart::of(vec![panel]).figure(words, data)
}

/// The runs of a solver that came to an end, as (deviation, time).
fn places(circuit: &CircuitReport, sweep: &Sweep) -> Vec<(f64, f64)> {
    let ended = |point: &Point| {
        let worst = point.deviation(&circuit.reference)?.worst();
        (worst.is_finite() && worst > 0.0).then_some((worst, point.seconds))
    };
    sweep.points.iter().filter_map(ended).collect()
}

/// What the plot shows, for those who do not see it.
fn in_words(circuit: &CircuitReport) -> String {
    let said = |sweep: &Sweep| match sweep.quickest(&circuit.reference) {
        Some(point) => format!("{} needs {} for 0.1 %.", sweep.solver, time(point.seconds)),
        None => format!("{} does not reach 0.1 %.", sweep.solver),
    };
    circuit.sweeps.iter().map(said).collect::<Vec<_>>().join(" ")
}
