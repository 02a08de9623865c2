//! Measurements: fitted curves with their bands, and a measured wave against the prediction.

use tidewall_assess::correlate::result::{Correlation, Overlay};
use tidewall_extract::family::{BandPoint, Fit};
use tidewall_plot::number::quantity;
use tidewall_plot::{
    Axis, Band, Cell, Chart, Curve, Dash, Figure, Item, Marker, Naming, Panel, Points, Style, Table, Tone,
    Words,
};

use super::text::{count, percent};
use crate::words::number::corner_words;
use crate::words::{capital, sentence};

/// Measured points, the fitted curve through them and its 95 % band.
pub fn fit(fit: &Fit) -> Figure {
    let mut branches: Vec<&str> = Vec::new();
    let names = fit.bands.iter().map(|point| point.of.as_str());
    for name in names.chain(fit.points.iter().map(|point| point.of.as_str())) {
        if !branches.contains(&name) {
            branches.push(name);
        }
    }
    let mut panel = Panel::new(
        axis(
            &capital(&fit.x.name),
            &fit.x.unit,
            fit.points.iter().map(|point| point.x),
        ),
        axis(
            &capital(&fit.y.name),
            &fit.y.unit,
            fit.points.iter().map(|point| point.y),
        ),
    )
    .height(300.0);
    for (k, branch) in branches.iter().enumerate() {
        branch_items(&mut panel, fit, branch, k, branches.len() > 1);
    }
    let rejected: Vec<_> = fit
        .points
        .iter()
        .filter(|point| point.rejected.is_some())
        .map(|point| (point.x, point.y, String::new()))
        .collect();
    if !rejected.is_empty() {
        panel.items.push(Item::Points(Points {
            name: "left out of the fit".to_owned(),
            points: rejected,
            style: Style::markers(Tone::Mute, Marker::Cross),
            naming: Naming::Legend,
        }));
    }
    for warning in fit.warnings.iter().take(4) {
        panel.note(sentence(&warning.text));
    }
    let words = Words::new(
        "fit",
        format!("Fit of {}", fit.family),
        format!("{}. Shaded: 95 % interval of the curve.", fit.law),
        fit_alt(fit),
    );
    Chart::of(vec![panel]).figure(words, fit_table(fit))
}

/// Logarithmic where the values are all above zero and span more than two decades.
fn axis(name: &str, unit: &str, values: impl Iterator<Item = f64> + Clone) -> Axis {
    let low = values.clone().fold(f64::INFINITY, f64::min);
    let high = values.fold(f64::NEG_INFINITY, f64::max);
    if low > 0.0 && high > 100.0 * low {
        Axis::log(name, unit)
    } else {
        Axis::linear(name, unit)
    }
}

fn branch_items(panel: &mut Panel, fit: &Fit, branch: &str, k: usize, several: bool) {
    let style = Style::nth(k);
    let named = |what: &str| {
        if several && !branch.is_empty() {
            format!("{branch}: {what}")
        } else {
            what.to_owned()
        }
    };
    let band: Vec<&BandPoint> = fit.bands.iter().filter(|point| point.of == branch).collect();
    let edge = |end: usize| -> Vec<(f64, f64)> {
        band.iter()
            .filter_map(|point| Some((point.x, point.curve?[end])))
            .collect()
    };
    let (one, other) = (edge(0), edge(1));
    if !one.is_empty() {
        panel.items.push(Item::Band(Band {
            name: named("95 % interval"),
            one,
            other,
            style: Style { dash: None, ..style },
            naming: Naming::Legend,
        }));
    }
    if !band.is_empty() {
        panel.items.push(Item::Curve(Curve {
            name: named("fitted"),
            points: band.iter().map(|point| (point.x, point.value)).collect(),
            style,
            naming: Naming::Legend,
        }));
    }
    let used: Vec<_> = fit
        .points
        .iter()
        .filter(|point| point.of == branch && point.rejected.is_none())
        .map(|point| (point.x, point.y, String::new()))
        .collect();
    if !used.is_empty() {
        panel.items.push(Item::Points(Points {
            name: named("measured"),
            points: used,
            style: Style::markers(
                Tone::Ink,
                [Marker::Ring, Marker::Frame, Marker::Diamond, Marker::Plus][k % 4],
            ),
            naming: Naming::Legend,
        }));
    }
}

fn fit_alt(fit: &Fit) -> String {
    let mut text = format!(
        "{} of {} over {}, {} left out.",
        count(fit.quality.points, "measured point", "measured points"),
        fit.y.name.to_lowercase(),
        fit.x.name.to_lowercase(),
        fit.quality.rejected
    );
    for estimate in &fit.estimates {
        let Some(value) = estimate.value else {
            text.push_str(&format!(" {}: not identified.", estimate.meaning));
            continue;
        };
        text.push_str(&format!(
            " {}: {}",
            estimate.meaning,
            quantity(value, &estimate.unit, 4)
        ));
        if let Some([Some(low), Some(high)]) = estimate.interval {
            text.push_str(&format!(
                " ({} to {})",
                quantity(low, &estimate.unit, 4),
                quantity(high, &estimate.unit, 4)
            ));
        }
        text.push('.');
    }
    if let Some(scatter) = fit.quality.scatter {
        let scatter = quantity(scatter, &fit.quality.residuals_in, 2);
        text.push_str(&format!(" Scatter of one point: {scatter}."));
    }
    text
}

fn fit_table(fit: &Fit) -> Table {
    let mut table = Table::new(&[
        ("what", ""),
        ("branch", ""),
        (&fit.x.name, &fit.x.unit),
        (&fit.y.name, &fit.y.unit),
        ("lower end of the curve", &fit.y.unit),
        ("upper end of the curve", &fit.y.unit),
        ("left out because", ""),
    ]);
    for point in &fit.points {
        table.row([
            "measured".into(),
            point.of.clone().into(),
            point.x.into(),
            point.y.into(),
            Cell::Unknown,
            Cell::Unknown,
            point.rejected.clone().map_or(Cell::Unknown, Cell::Text),
        ]);
    }
    for point in &fit.bands {
        table.row([
            "fitted".into(),
            point.of.clone().into(),
            point.x.into(),
            point.value.into(),
            point.curve.map(|ends| ends[0]).into(),
            point.curve.map(|ends| ends[1]).into(),
        ]);
    }
    table
}

/// A measured wave and its prediction on one time axis, with the prediction after the fit of the parameter that explains
/// most, and what is left between them.
pub fn correlation(result: &Correlation) -> Figure {
    let overlay = &result.overlay;
    let points = |values: &[f64]| -> Vec<(f64, f64)> {
        overlay
            .times_s
            .iter()
            .copied()
            .zip(values.iter().copied())
            .collect()
    };
    let mut volts = Panel::new(
        time_axis(overlay),
        Axis::linear(format!("Voltage, {}", result.voltage_at), "V"),
    )
    .height(220.0);
    let measured = Style::stroke(Tone::Ink, Dash::Solid, 1.0);
    volts.curve(
        "predicted",
        points(&overlay.predicted_v),
        Style::stroke(Tone::Accent, Dash::Dashed, 1.8),
    );
    let first = result.candidates.first();
    if let (Some(fitted), Some(first)) = (&overlay.fitted_v, first) {
        volts.curve(
            format!(
                "predicted with {} of {}",
                first.parameter,
                quantity(first.fitted, &shown_unit(first.unit), 3)
            ),
            points(fitted),
            Style::stroke(Tone::Accent, Dash::Solid, 2.4),
        );
    }
    // On top, and thin: the others are wider and stay visible below it.
    volts.curve("measured", points(&overlay.measured_v), measured);
    volts.note(sentence(&result.finding.text));
    let left: Vec<f64> = overlay
        .measured_v
        .iter()
        .zip(&overlay.predicted_v)
        .map(|(measured, predicted)| measured - predicted)
        .collect();
    let mut rest = Panel::new(
        time_axis(overlay),
        Axis::linear("Measured less predicted", "V").from_zero(),
    )
    .height(90.0);
    rest.items.push(Item::Curve(Curve {
        name: "measured less predicted".to_owned(),
        points: points(&left).into(),
        style: measured,
        naming: Naming::None,
    }));
    let mut panels = vec![volts, rest];
    if let (Some(measured_a), Some(predicted_a)) = (&overlay.measured_a, &overlay.predicted_a) {
        let of = result.current_of.as_deref().unwrap_or("");
        let mut amps =
            Panel::new(time_axis(overlay), Axis::linear(format!("Current, {of}"), "A")).height(150.0);
        amps.curve(
            "predicted",
            points(predicted_a),
            Style::stroke(Tone::Accent, Dash::Dashed, 1.8),
        );
        amps.curve("measured", points(measured_a), measured);
        panels.push(amps);
    }
    let words = Words::new(
        "correlation",
        "Measured and predicted",
        format!(
            "{}, {}: measured wave of {} and the prediction, brought together in time by {}.",
            result.stress,
            corner_words(&result.corner),
            result.capture.file,
            quantity(result.alignment.shift_s, "s", 3)
        ),
        correlation_alt(result),
    );
    Chart::of(panels).figure(words, correlation_table(result))
}

/// The span of the overlay.
fn time_axis(overlay: &Overlay) -> Axis {
    let axis = Axis::linear("Time", "s");
    match overlay.times_s.as_slice() {
        [first, .., last] => axis.range(*first, *last),
        _ => axis,
    }
}

/// A share has no unit to print.
fn shown_unit(unit: &str) -> String {
    if unit == "1" {
        String::new()
    } else {
        unit.to_owned()
    }
}

fn correlation_alt(result: &Correlation) -> String {
    let mut text = format!(
        "{} Root mean square of the difference: {}.",
        sentence(&result.finding.text),
        quantity(result.residual_v, "V", 3)
    );
    for deviation in &result.deviations {
        if let (Some(measured), Some(predicted)) = (deviation.measured, deviation.predicted) {
            let unit = shown_unit(deviation.unit);
            text.push_str(&format!(
                " {}: measured {}, predicted {}",
                deviation.quantity,
                quantity(measured, &unit, 3),
                quantity(predicted, &unit, 3)
            ));
            if let Some(share) = deviation.share {
                text.push_str(&format!(" ({})", percent(share)));
            }
            text.push('.');
        }
    }
    text
}

fn correlation_table(result: &Correlation) -> Table {
    let overlay = &result.overlay;
    let optional = [
        (
            "voltage predicted with the first candidate",
            "V",
            &overlay.fitted_v,
        ),
        ("current measured", "A", &overlay.measured_a),
        ("current predicted", "A", &overlay.predicted_a),
    ];
    let there: Vec<_> = optional
        .iter()
        .filter_map(|(name, unit, values)| Some((*name, *unit, values.as_ref()?)))
        .collect();
    let mut columns = vec![
        ("time", "s"),
        ("voltage measured", "V"),
        ("voltage predicted", "V"),
    ];
    columns.extend(there.iter().map(|(name, unit, _)| (*name, *unit)));
    let mut table = Table::new(&columns);
    for (k, time) in overlay.times_s.iter().enumerate() {
        let known = [Some(time), overlay.measured_v.get(k), overlay.predicted_v.get(k)];
        let more = there.iter().map(|(_, _, values)| values.get(k));
        table.row(known.into_iter().chain(more).map(|value| value.copied().into()));
    }
    table
}
