//! The two clamp tables of a model as one curve.

use super::{Corner, Model, Row, TypMinMax};

/// Current into a pin over its voltage to ground, at one corner.
///
/// The currents of `[GND Clamp]` and `[POWER Clamp]` are added. The specification has each table swept over its own
/// side (ground clamp −VCC to VCC, power clamp VCC to 2 VCC; from memory), so the sides are cut as follows: towards
/// the other clamp's side the last current of a table is held, which is its leakage there; on its own clamping side
/// the curve **ends with the table**. Nothing is extrapolated: beyond [`ClampCurve::low_v`] and
/// [`ClampCurve::high_v`] the file says nothing.
#[derive(Clone, Debug, PartialEq)]
pub struct ClampCurve {
    /// Points (voltage to ground in V, current into the pin in A), rising voltage; at least two.
    pub points: Vec<(f64, f64)>,
    /// Supply in volts that the power clamp table is counted from, if the model has one.
    pub supply_v: Option<f64>,
    /// Whether the lower end is that of a ground clamp, so that a clamp towards ground is known.
    pub clamps_below: bool,
    /// Whether the upper end is that of a power clamp, so that a clamp towards the supply is known.
    pub clamps_above: bool,
}

/// Why a model has no clamp curve at a corner.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NoCurve {
    /// Neither `[GND Clamp]` nor `[POWER Clamp]`.
    NoTable,
    /// The column of this corner is `NA` in a table.
    NotAvailable,
    /// A power clamp without `[POWER Clamp Reference]` and `[Voltage Range]` at this corner.
    NoSupply,
}

impl std::fmt::Display for NoCurve {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::NoTable => "the model has neither [GND Clamp] nor [POWER Clamp]",
            Self::NotAvailable => "the column of this corner is NA in a clamp table",
            Self::NoSupply => {
                "the voltage of [POWER Clamp] counts from the supply, and neither [POWER Clamp Reference] nor \
                 [Voltage Range] gives it at this corner"
            }
        })
    }
}

impl std::error::Error for NoCurve {}

impl ClampCurve {
    /// Lowest voltage the tables reach, in volts.
    pub fn low_v(&self) -> f64 {
        self.points[0].0
    }

    /// Highest voltage the tables reach, in volts.
    pub fn high_v(&self) -> f64 {
        self.points[self.points.len() - 1].0
    }

    /// Current in amperes into the pin at a voltage in volts, straight between the points; `None` beyond them.
    pub fn current_a(&self, volts: f64) -> Option<f64> {
        (volts >= self.low_v() && volts <= self.high_v()).then(|| held(&self.points, volts))
    }
}

impl Model {
    /// The clamp curve at a corner.
    ///
    /// `V = V_table + [GND Clamp Reference]` for the ground clamp (0 V without that keyword) and
    /// `V = VCC − V_table` for the power clamp, with VCC from `[POWER Clamp Reference]`, else from `[Voltage Range]`
    /// (IBIS, IEC 62014-1).
    ///
    /// # Errors
    /// [`NoCurve`] says what is missing.
    pub fn clamp_curve(&self, corner: Corner) -> Result<ClampCurve, NoCurve> {
        let at = |columns: &Option<TypMinMax>| columns.as_ref().and_then(|columns| columns.at(corner));
        let ground = match self.ground_clamp.is_empty() {
            true => None,
            false => {
                let reference = match &self.ground_reference_v {
                    Some(columns) => columns.at(corner).ok_or(NoCurve::NotAvailable)?,
                    None => 0.0,
                };
                Some(column(&self.ground_clamp, corner, |v| v + reference)?)
            }
        };
        let mut supply_v = None;
        let power = match self.power_clamp.is_empty() {
            true => None,
            false => {
                let supply = at(&self.power_reference_v)
                    .or_else(|| at(&self.voltage_v))
                    .ok_or(NoCurve::NoSupply)?;
                supply_v = Some(supply);
                let mut points = column(&self.power_clamp, corner, |v| supply - v)?;
                points.reverse();
                Some(points)
            }
        };
        let points = match (&ground, &power) {
            (None, None) => return Err(NoCurve::NoTable),
            (Some(points), None) | (None, Some(points)) => points.clone(),
            (Some(ground), Some(power)) => join(ground, power),
        };
        if points.len() < 2 {
            return Err(NoCurve::NotAvailable);
        }
        Ok(ClampCurve {
            points,
            supply_v,
            clamps_below: ground.is_some(),
            clamps_above: power.is_some(),
        })
    }
}

/// One column of a table over the voltage to ground.
fn column(table: &[Row], corner: Corner, to_pad: impl Fn(f64) -> f64) -> Result<Vec<(f64, f64)>, NoCurve> {
    let index = match corner {
        Corner::Typ => 0,
        Corner::Min => 1,
        Corner::Max => 2,
    };
    let points: Vec<(f64, f64)> = table
        .iter()
        .filter_map(|row| Some((to_pad(row.table_v), row.current_a[index]?)))
        .collect();
    if points.len() < 2 {
        Err(NoCurve::NotAvailable)
    } else {
        Ok(points)
    }
}

/// The sum from the lower end of the ground clamp to the upper end of the power clamp.
fn join(ground: &[(f64, f64)], power: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let (low, high) = (ground[0].0, power[power.len() - 1].0);
    let mut volts: Vec<f64> = ground
        .iter()
        .chain(power)
        .map(|point| point.0)
        .filter(|v| (low..=high).contains(v))
        .collect();
    volts.sort_by(f64::total_cmp);
    volts.dedup();
    volts
        .into_iter()
        .map(|v| (v, held(ground, v) + held(power, v)))
        .collect()
}

/// Straight between points, the end currents held beyond them.
fn held(points: &[(f64, f64)], volts: f64) -> f64 {
    let after = points.partition_point(|point| point.0 <= volts);
    if after == 0 {
        return points[0].1;
    }
    if after == points.len() {
        return points[after - 1].1;
    }
    let (a, b) = (points[after - 1], points[after]);
    a.1 + (b.1 - a.1) * (volts - a.0) / (b.0 - a.0)
}
