//! The protected pin: threshold and resistance of its conduction in each polarity.

use super::branch::{above, pick};
use super::data::Datum;
use super::draft::{Draft, Told};
use super::input::{Sign, check};
use super::line::straight;
use super::{CurvePoint, Fit, Point, Refusal, Settings};

/// Share of the highest current of a polarity below which a point belongs to the corner (a choice).
pub const CORNER_SHARE: f64 = 0.05;

const NEEDS: &str = "measure points at currents 3 : 1 apart or more in that polarity";

const fn told(key: &'static str, meaning: &'static str, unit: &'static str) -> Told {
    Told {
        key,
        meaning,
        unit,
        needs: NEEDS,
    }
}

const POSITIVE: [Told; 2] = [
    told(
        "positive_threshold",
        "voltage from which the pin conducts, positive",
        "V",
    ),
    told("positive_resistance", "resistance above it", "Ω"),
];
const NEGATIVE: [Told; 2] = [
    told(
        "negative_threshold",
        "size of the voltage from which the pin conducts, negative",
        "V",
    ),
    told("negative_resistance", "resistance below it", "Ω"),
];

/// `|V| = V0 + R |I|` in each polarity that has points, by least squares over the points above 5 % of its highest current.
/// Currents and voltages with their signs.
///
/// # Errors
/// [`Refusal`]: unusable numbers, a point with current against the voltage, or fewer than two usable points in a
/// polarity that has any.
pub fn fit(points: &[CurvePoint], settings: &Settings) -> Result<Fit, Refusal> {
    let points: Vec<Point> = points.iter().map(|&p| p.into()).collect();
    check(&points, ("current", Sign::Any), ("voltage", Sign::Any))?;
    if points.is_empty() {
        return Err(Refusal::TooFew {
            what: "either side of the pin",
            have: 0,
            need: 2,
        });
    }
    if let Some(k) = points.iter().position(|p| p.x * p.y < 0.0) {
        return Err(Refusal::Unusable {
            point: k + 1,
            why: "current flows against the voltage, which no passive pin does",
        });
    }
    let mut draft = Draft::new(
        "pin",
        "|V| = V0 + R |I| in each polarity",
        ("size of the current", "A"),
        ("size of the voltage", "V"),
        "V",
    );
    let mut sides = [None, None];
    for (side, sign) in [1.0, -1.0].into_iter().enumerate() {
        let (of, told) = if sign > 0.0 {
            ("the positive side", &POSITIVE)
        } else {
            ("the negative side", &NEGATIVE)
        };
        let places: Vec<usize> = (0..points.len()).filter(|&k| points[k].x * sign > 0.0).collect();
        if places.is_empty() {
            continue;
        }
        let sized: Vec<Point> = places
            .iter()
            .map(|&k| Point {
                x: points[k].x.abs(),
                y: points[k].y.abs(),
                sigma: points[k].sigma,
            })
            .collect();
        let branches = above(&sized, CORNER_SHARE);
        for &k in &branches.off {
            let why = "below 5 % of the highest current: in the corner";
            draft.rejected(places[k] + 1, of, (sized[k].x, sized[k].y), why);
        }
        let (used, mut numbers) = pick(&sized, &branches.on);
        numbers
            .iter_mut()
            .for_each(|number| *number = places[*number - 1] + 1);
        let outcome = straight(&mut draft, of, &used, &numbers, told, settings)?;
        sides[side] = Some((outcome.values[0], outcome.values[1]));
    }
    for (k, point) in points.iter().enumerate().filter(|(_, p)| p.x == 0.0) {
        draft.rejected(k + 1, "none", (0.0, point.y.abs()), "no current");
    }
    if sides == [None, None] {
        return Err(Refusal::TooFew {
            what: "either side of the pin, with current",
            have: 0,
            need: 2,
        });
    }
    draft.datum(Datum::Conduction(sides[0], sides[1]));
    draft.finish(
        "Each polarity by itself: points below 5 % of its highest current rejected as lying in the corner, least squares of \
         |V| = V0 + R |I| over the others, equal weights unless standard deviations are given.",
    )
}
