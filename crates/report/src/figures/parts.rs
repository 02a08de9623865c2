//! Parts side by side: clamping over temperature, and V-I bands.

use tidewall_assess::compare::{Compared, Comparison};
use tidewall_plot::number::quantity;
use tidewall_plot::{Axis, Band, Chart, Figure, Item, Naming, Panel, Style, Table, WIDTH, Words};

use super::text::list;

/// Voltage across each part against ambient, at the current that really flows through it, for each stress: the largest
/// over tolerances, polarities and supply.
pub fn clamp_over_temperature(comparison: &Comparison) -> Figure {
    let mut stresses: Vec<&str> = Vec::new();
    for under in comparison.parts.iter().flat_map(|part| &part.stresses) {
        if !stresses.contains(&under.stress.as_str()) {
            stresses.push(&under.stress);
        }
    }
    let mut table = Table::new(&[
        ("stress", ""),
        ("part", ""),
        ("family", ""),
        ("ambient", "°C"),
        ("voltage", "V"),
        ("current", "A"),
    ]);
    let mut panels = Vec::new();
    let mut alt = vec![format!(
        "Voltage across the part in {} against ambient temperature.",
        comparison.stage
    )];
    for stress in stresses {
        let mut panel = Panel::new(
            Axis::linear("Ambient", "°C"),
            Axis::linear("Voltage across the part", "V"),
        )
        .head(stress)
        .height(170.0);
        for (k, part) in comparison.parts.iter().enumerate() {
            let under: Vec<_> = part
                .stresses
                .iter()
                .filter(|under| under.stress == stress)
                .collect();
            for one in &under {
                table.row([
                    stress.into(),
                    part.part.clone().into(),
                    part.family.clone().into(),
                    one.ambient_c.into(),
                    one.clamp_v.into(),
                    one.current_a.into(),
                ]);
            }
            let currents = under.iter().map(|one| one.current_a);
            let most = currents.fold(0.0, f64::max);
            let name = format!("{} at {}", part.part, quantity(most, "A", 3));
            let points: Vec<(f64, f64)> = under.iter().map(|one| (one.ambient_c, one.clamp_v)).collect();
            if points.is_empty() {
                panel.note(format!("{}: unknown, no transient could be computed.", part.part));
                continue;
            }
            let told: Vec<String> = under
                .iter()
                .map(|one| {
                    format!(
                        "{} at {}",
                        quantity(one.clamp_v, "V", 3),
                        quantity(one.ambient_c, "°C", 3)
                    )
                })
                .collect();
            alt.push(format!(
                "{stress}, {} ({}, up to {}): {}.",
                part.part,
                part.family,
                quantity(most, "A", 3),
                list(&told)
            ));
            panel.curve(name, points, Style::nth_marked(k));
        }
        panels.push(panel);
    }
    let words = Words::new(
        "clamp-over-temperature",
        "Clamping voltage over temperature",
        format!(
            "Largest voltage across each part in the place of {}, at the current that flows through it in the stress, over ambient.",
            comparison.stage
        ),
        alt.join(" "),
    );
    let columns = if panels.len() > 1 { 2 } else { 1 };
    Chart {
        width: WIDTH,
        columns,
        panels,
    }
    .figure(words, table)
}

/// V-I band of each part, side by side on the same axes: from the lowest to the highest part, at each temperature.
pub fn v_i_bands(comparison: &Comparison) -> Figure {
    let points = || comparison.parts.iter().flat_map(|part| &part.band);
    let volts = || points().flat_map(|point| point.low_v.into_iter().chain(point.high_v));
    let lowest = volts().fold(f64::INFINITY, f64::min);
    let highest = volts().fold(0.0, f64::max);
    let top = points().map(|point| point.current_a).fold(0.0, f64::max);
    let mut table = Table::new(&[
        ("part", ""),
        ("junction", "°C"),
        ("current", "A"),
        ("voltage, low part", "V"),
        ("voltage, high part", "V"),
    ]);
    let mut panels = Vec::new();
    let mut alt = vec!["Voltage against current from the lowest to the highest part.".to_owned()];
    for part in &comparison.parts {
        for point in &part.band {
            table.row([
                part.part.clone().into(),
                point.temperature_c.into(),
                point.current_a.into(),
                point.low_v.into(),
                point.high_v.into(),
            ]);
        }
        panels.push(band_panel(part, (lowest, highest), top, &mut alt));
    }
    let words = Words::new(
        "v-i-bands",
        "V-I bands of the parts",
        "Steady characteristic of each part at a fixed junction temperature, from the lowest to the highest part of its tolerance.",
        alt.join(" "),
    );
    let columns = comparison.parts.len().clamp(1, 3);
    Chart {
        width: WIDTH,
        columns,
        panels,
    }
    .figure(words, table)
}

fn band_panel(part: &Compared, (lowest, highest): (f64, f64), top: f64, alt: &mut Vec<String>) -> Panel {
    let current = if top > 0.0 {
        Axis::log("Current", "A").range(top * 1e-6, top * 1.5)
    } else {
        Axis::log("Current", "A")
    };
    let voltage = Axis::linear("Voltage", "V");
    let voltage = if highest > 0.0 {
        let room = 0.08 * (highest - lowest).max(0.1 * highest);
        voltage.range((lowest - 2.0 * room).max(0.0), highest + room)
    } else {
        voltage
    };
    let mut panel = Panel::new(voltage, current)
        .head(format!("{}, {}", part.part, part.family))
        .height(260.0);
    let mut temperatures: Vec<f64> = Vec::new();
    for point in &part.band {
        if !temperatures.contains(&point.temperature_c) {
            temperatures.push(point.temperature_c);
        }
    }
    // Cold and hot; what lies between would only blur the picture, and is in the data.
    let shown: Vec<f64> = match temperatures.as_slice() {
        [first, .., last] => vec![*first, *last],
        few => few.to_vec(),
    };
    for (k, temperature) in shown.iter().enumerate() {
        let of = part
            .band
            .iter()
            .filter(|point| point.temperature_c == *temperature);
        let edge = |volts: fn(&tidewall_assess::compare::BandPoint) -> Option<f64>| -> Vec<(f64, f64)> {
            of.clone()
                .filter_map(|point| Some((volts(point)?, point.current_a)))
                .collect()
        };
        let (one, other) = (edge(|point| point.low_v), edge(|point| point.high_v));
        if let (Some(low), Some(high)) = (one.last(), other.last()) {
            alt.push(format!(
                "{} at {}: {} to {} at {}.",
                part.part,
                quantity(*temperature, "°C", 3),
                quantity(low.0, "V", 3),
                quantity(high.0, "V", 3),
                quantity(low.1, "A", 3)
            ));
        }
        panel.items.push(Item::Band(Band {
            name: quantity(*temperature, "°C", 3),
            one,
            other,
            style: Style {
                width: 1.3,
                ..Style::nth([1, 0][k % 2])
            },
            naming: Naming::Legend,
        }));
    }
    if part.band.is_empty() {
        let missing = part.missing.as_deref().unwrap_or("its data");
        panel.note(format!("No band: {missing}."));
        alt.push(format!("{} has no band: {missing}.", part.part));
    }
    panel
}
