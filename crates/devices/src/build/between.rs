//! Between the corners: the model of one specimen, blended from those at the ends of its type's tolerance.
//!
//! A corner is more than its data: where a type gives no lowest clamping voltage, its low corner takes the slope of the
//! highest curve, and so on. So the finished models of both corners are blended, parameter by parameter, and not the
//! data they are made of: at either end the blend is that corner's model, bit by bit, whatever it had to fall back on.

use super::{Built, MissingDatum};
use crate::datasheet::{Datasheet, PartCorner};
use crate::law::{Avalanche, Crowbar, FlatClamp, GasTube, Law, Varistor};
use crate::protector::Protector;
use crate::thermal::Foster;

/// Models of a type at both ends of its tolerance and of a range of ambient temperature.
///
/// Every parameter of the laws is a straight line in the ambient, so nothing is lost by building at its ends alone
/// (a test holds every family to that).
#[derive(Clone, Debug, PartialEq)]
pub struct ModelRange {
    /// Low corner, then high corner; each cold, then hot.
    corners: [[Built; 2]; 2],
    cold_c: f64,
    hot_c: f64,
}

impl ModelRange {
    /// Builds the models of a shunt protector at the ends of its tolerance and of an ambient range in °C.
    ///
    /// # Errors
    /// The datum that one of the models lacks.
    pub fn new(sheet: &Datasheet, cold_c: f64, hot_c: f64) -> Result<ModelRange, MissingDatum> {
        let at = |corner| -> Result<[Built; 2], MissingDatum> {
            Ok([sheet.protector(corner, cold_c)?, sheet.protector(corner, hot_c)?])
        };
        Ok(ModelRange {
            corners: [at(PartCorner::Low)?, at(PartCorner::High)?],
            cold_c,
            hot_c,
        })
    }

    /// Model of the specimen at a position in the tolerance, 0 at the low corner and 1 at the high one, and at an
    /// ambient in °C within the range.
    pub fn at(&self, position: f64, ambient_c: f64) -> Built {
        let warmth = if self.hot_c > self.cold_c {
            (ambient_c - self.cold_c) / (self.hot_c - self.cold_c)
        } else {
            0.0
        };
        let [low, high] = &self.corners;
        between(
            &between(&low[0], &low[1], warmth),
            &between(&high[0], &high[1], warmth),
            position,
        )
    }

    /// True when position in the tolerance changes nothing in the model.
    pub fn is_alike(&self) -> bool {
        let [low, high] = &self.corners;
        low.iter()
            .zip(high)
            .all(|(low, high)| low.protector == high.protector && low.rated_rise_k == high.rated_rise_k)
    }
}

/// Straight between `a` at 0 and `b` at 1; exact at both ends and where they are equal.
pub fn blend(a: f64, b: f64, x: f64) -> f64 {
    if a == b { a } else { (1.0 - x) * a + x * b }
}

fn between(a: &Built, b: &Built, x: f64) -> Built {
    let poles = Foster::between(&a.poles, &b.poles, x);
    let thermal = if poles == a.poles {
        a.protector.thermal.clone()
    } else if poles == b.poles {
        b.protector.thermal.clone()
    } else {
        poles.to_ladder()
    };
    let mut assumptions = a.assumptions.clone();
    for assumed in &b.assumptions {
        if !assumptions.contains(assumed) {
            assumptions.push(assumed.clone());
        }
    }
    let rated_rise_k = match (a.rated_rise_k, b.rated_rise_k) {
        (Some(a), Some(b)) => Some(blend(a, b, x)),
        _ => None,
    };
    Built {
        protector: Protector {
            law: law_between(&a.protector.law, &b.protector.law, x),
            series_ohm: blend(a.protector.series_ohm, b.protector.series_ohm, x),
            package_h: blend(a.protector.package_h, b.protector.package_h, x),
            thermal,
        },
        poles,
        assumptions,
        rated_rise_k,
    }
}

/// A law of one kind with the numbers blended, and what is no number taken from the first.
macro_rules! blended {
    ($kind:ident, $a:expr, $b:expr, $x:expr, [$($number:ident),+], [$($same:ident),*]) => {
        Law::$kind($kind {
            $($number: blend($a.$number, $b.$number, $x),)+
            $($same: $a.$same,)*
        })
    };
}

fn law_between(a: &Law, b: &Law, x: f64) -> Law {
    match (a, b) {
        (Law::Avalanche(a), Law::Avalanche(b)) => blended!(
            Avalanche,
            a,
            b,
            x,
            [
                vbr25_v,
                alpha_per_k,
                r_ohm,
                knee_v,
                forward_v,
                forward_ohm,
                c0_f,
                built_in_v,
                grading
            ],
            [bidirectional]
        ),
        (Law::FlatClamp(a), Law::FlatClamp(b)) => blended!(
            FlatClamp,
            a,
            b,
            x,
            [
                trigger_v,
                on_v,
                alpha_per_k,
                reference_c,
                r_ohm,
                delay_s,
                settle_s,
                off_v,
                saturation_a,
                breakdown_v,
                breakdown_ohm,
                forward_v,
                forward_ohm,
                knee_v,
                c0_f,
                built_in_v,
                grading
            ],
            [trigger, bidirectional]
        ),
        (Law::Crowbar(a), Law::Crowbar(b)) => blended!(
            Crowbar,
            a,
            b,
            x,
            [
                trigger_v,
                trigger_a,
                alpha_per_k,
                off_ohm,
                on_v,
                on_ohm,
                hold_a,
                hold_per_k,
                transition_s,
                forward_v,
                forward_ohm,
                knee_v,
                c_f
            ],
            [bidirectional]
        ),
        (Law::Varistor(a), Law::Varistor(b)) => {
            blended!(
                Varistor,
                a,
                b,
                x,
                [v1ma_v, alpha, v1ma_per_k, linear_above_a, c_f],
                []
            )
        }
        (Law::GasTube(a), Law::GasTube(b)) => blended!(
            GasTube,
            a,
            b,
            x,
            [
                dc_v,
                slope_coefficient_v,
                slope_exponent,
                glow_v,
                glow_to_arc_a,
                arc_v,
                arc_ohm,
                arc_to_glow_a,
                extinction_a,
                drop_s,
                c_f,
                insulation_ohm
            ],
            []
        ),
        // A measured table is the same at both corners.
        _ => a.clone(),
    }
}
