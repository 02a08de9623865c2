//! Other ranges and scales of a chart that exists: what a reader looks closer at.

use super::{Chart, Item, Panel};
use crate::scale::{Axis, Scale};

/// What is shown of one panel. Panels above and below it have the same time, say, and follow it across where they say that
/// they share their axis.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct View {
    /// Number of the panel, as `data-panel` has it.
    pub panel: usize,
    /// Ends across, in the unit of the data; `None` leaves them as they are.
    pub x: Option<(f64, f64)>,
    /// Ends upwards; `None` takes them from what is shown.
    pub y: Option<(f64, f64)>,
    /// Whether the axis across is logarithmic; `None` leaves it as it is.
    pub x_log: Option<bool>,
    /// The same upwards.
    pub y_log: Option<bool>,
}

/// Below this share of the largest size an axis that holds zero or both signs is even rather than logarithmic.
const EVEN: f64 = 1e-3;

impl Chart {
    /// The chart with other ranges and scales. What cannot be (a range that is empty or not finite, a panel that is not
    /// there) changes nothing.
    #[must_use]
    pub fn viewed(&self, views: &[View]) -> Chart {
        let mut chart = self.clone();
        for view in views {
            let Some(panel) = self.panels.get(view.panel) else {
                continue;
            };
            let columns = self.columns.max(1);
            for (k, other) in chart.panels.iter_mut().enumerate() {
                let alike = k % columns == view.panel % columns && self.panels[k].x == panel.x;
                if k != view.panel && !alike {
                    continue;
                }
                if let Some(log) = view.x_log {
                    other.x.scale = scale(&self.panels[k], &self.panels[k].x, true, log);
                }
                if let Some(range) = view.x.filter(|range| usable(other.x.scale, *range)) {
                    other.head = head(&self.panels[k], range);
                    other.x.range = Some(range);
                    // What is in sight, and no more than that.
                    other.y.range = None;
                    other.y.with_zero &= k != view.panel || view.y.is_none();
                }
                if k != view.panel {
                    continue;
                }
                if let Some(log) = view.y_log {
                    other.y.scale = scale(panel, &panel.y, false, log);
                }
                if let Some(range) = view.y.filter(|range| usable(other.y.scale, *range)) {
                    other.y.range = Some(range);
                }
            }
        }
        chart
    }
}

/// The heading of a panel that shows another range: one that was made for the first one would be wrong beyond it.
fn head(panel: &Panel, (from, to): (f64, f64)) -> String {
    let within = |value: f64| {
        let first = panel.x.range.unwrap_or((f64::NEG_INFINITY, f64::INFINITY));
        (first.0.min(first.1)..=first.0.max(first.1)).contains(&value)
    };
    if panel.head.is_empty() || !within(from) || !within(to) {
        String::new()
    } else {
        format!("{}, part of it", panel.head)
    }
}

fn usable(scale: Scale, (from, to): (f64, f64)) -> bool {
    let (from, to) = (scale.forward(from), scale.forward(to));
    // Closer than this the marks of the axis could not be told apart.
    from.is_finite() && to.is_finite() && (to - from).abs() > 1e-9 * from.abs().max(to.abs())
}

/// The scale asked for; where values are zero or of both signs the logarithm of their size.
fn scale(panel: &Panel, axis: &Axis, across: bool, log: bool) -> Scale {
    if !log {
        return Scale::Linear;
    }
    if axis.scale != Scale::Linear {
        return axis.scale;
    }
    let (mut least, mut most) = (f64::INFINITY, 0.0f64);
    let range = axis.range.into_iter().flat_map(|(from, to)| [from, to]);
    let values = values(panel, across).chain(range);
    for value in values.filter(|value| value.is_finite()) {
        least = least.min(value);
        most = most.max(value.abs());
    }
    if least > 0.0 {
        Scale::Log
    } else if most > 0.0 {
        Scale::Symlog(EVEN * most)
    } else {
        Scale::Linear
    }
}

fn values(panel: &Panel, across: bool) -> impl Iterator<Item = f64> + '_ {
    panel.items.iter().flat_map(move |item| {
        let points: &[(f64, f64)] = match item {
            Item::Curve(curve) => &curve.points,
            Item::Band(band) => &band.one,
            _ => &[],
        };
        points.iter().map(move |(x, y)| if across { *x } else { *y })
    })
}
