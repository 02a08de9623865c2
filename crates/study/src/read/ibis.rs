//! What an IBIS file says of the pin: its own conduction and its capacitance.
//!
//! A pin conducts in the model above a threshold with a resistance; an IBIS clamp table is a curve. The line that
//! stands for it never errs on the comfortable side within the table:
//!
//! * **weak**: the line conducts no more than the table anywhere. Its resistance is that of the table's last piece, its
//!   threshold the highest of `V − I R` over the points. It lets the pin voltage rise the most.
//! * **strong**: the line conducts no less than the table wherever that carries at least a hundredth of its last
//!   current. Its resistance is the least of the pieces from there on, its threshold the lowest of `V − I R` over the points
//!   from there on. It takes the most current into the pin.
//!
//! The weak line of the minimum column is used, unless the study gives a failure current or energy: then the current
//! decides, and the strong line of the maximum column is used. `corner` chooses otherwise.

use tidewall_interchange::TextFault;
use tidewall_interchange::ibis::{self as format, ClampCurve, Corner, Ibis, Model, PinModel};
use tidewall_units::{Amps, Farads, Ohms, Quantity, Volts};

use crate::error::StudyError;
use crate::files::Files;
use crate::model::Conduction;
use tidewall_units::clip;

use crate::source::{Source, nearest};
use crate::table::{Item, Section};

/// Part of the last current of a table from which on a strong line holds.
const FOOT: f64 = 0.01;

/// What is known of the pin's electrical side: conduction above zero and below it.
pub(super) struct Electrical {
    pub(super) capacitance_f: Option<f64>,
    pub(super) conduction: (Option<Conduction>, Option<Conduction>),
}

/// Which way the line errs.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Lean {
    Weak,
    Strong,
}

const CORNERS: &[(&str, (Corner, Lean))] = &[
    ("weak", (Corner::Min, Lean::Weak)),
    ("typical", (Corner::Typ, Lean::Weak)),
    ("strong", (Corner::Max, Lean::Strong)),
];

/// Fills what `own` leaves open from the file that `ibis` names; what `own` holds stands, and the difference is told.
pub(super) fn fill(
    item: &Item<'_>,
    own: Electrical,
    current_counts: bool,
    files: &mut Files<'_>,
    assumptions: &mut Vec<String>,
) -> Result<Electrical, StudyError> {
    let section = item.table(&["file", "component", "pin", "model", "corner"])?;
    let name = section.require("file", "the name of the IBIS file")?;
    let source = files.text(&name)?;
    let file = format::read(&source.text).map_err(|fault| at(&source, &fault))?;
    let found = find(&section, &file, assumptions)?;
    let usual = if current_counts {
        (Corner::Max, Lean::Strong)
    } else {
        (Corner::Min, Lean::Weak)
    };
    let (corner, lean) = section
        .optional("corner", |item| item.choice(CORNERS))?
        .unwrap_or(usual);
    let place = format!(
        "{}, model {} (line {})",
        source.name, found.model.name, found.model.line
    );
    let c_f = capacitance(&found, &place, own.capacitance_f, assumptions);
    let mut sides = [own.conduction.0, own.conduction.1];
    let curve = match curve(item, found.model, corner, &place, assumptions) {
        Ok(curve) => curve,
        Err(_) if sides.iter().any(Option::is_some) => {
            assumptions.push(format!(
                "pin: {place} has no clamp curve to hold against the study's own conduction"
            ));
            return Ok(Electrical {
                capacitance_f: c_f,
                conduction: own.conduction,
            });
        }
        Err(error) => return Err(error),
    };
    for (side, sign) in sides.iter_mut().zip([1.0, -1.0]) {
        let which = if sign > 0.0 { "positive" } else { "negative" };
        match (side_of(item, &curve, sign, lean), *side) {
            (Ok(Some((_, words))), Some(_)) => assumptions.push(format!(
                "pin: its {which} conduction is the study's own, not that of {place}, which would be {words}"
            )),
            (Ok(Some((fitted, words))), None) => {
                *side = Some(fitted);
                assumptions.push(format!("pin: {which} conduction from {place}: {words}"));
            }
            (Err(_), Some(_)) => assumptions.push(format!(
                "pin: its {which} conduction is the study's own; the table of {place} is no clamp there"
            )),
            (Err(error), None) => return Err(error),
            (Ok(None), Some(_)) => {}
            (Ok(None), None) => assumptions.push(format!(
                "pin: {place} has no clamp on the {which} side, so the pin does not conduct there"
            )),
        }
    }
    if let Some(supply) = curve.supply_v {
        assumptions.push(format!(
            "pin: the clamp of {place} stands towards a supply of {}; unpowered it conducts earlier, which is not in the model",
            Volts(supply).rounded(4)
        ));
    }
    Ok(Electrical {
        capacitance_f: c_f,
        conduction: (sides[0], sides[1]),
    })
}

/// A fault of the file, as an error in that file.
fn at(source: &Source, fault: &TextFault) -> StudyError {
    source.error(fault.span.clone(), &fault.message, &fault.expected, &fault.hint)
}

/// A model with what the package adds to it.
struct Found<'f> {
    model: &'f Model,
    /// Capacitance in farads of the pin's package; `None` where no pin is named, or nothing is said.
    package_f: Option<f64>,
}

fn find<'f>(
    section: &Section<'_>,
    file: &'f Ibis,
    assumptions: &mut Vec<String>,
) -> Result<Found<'f>, StudyError> {
    let model = match section.get("model") {
        None => None,
        Some(item) => {
            let name = item.name()?;
            Some(file.model(name).ok_or_else(|| {
                item.error(
                    format!("the file has no model `{}`", clip(name)),
                    "the name of a [Model] of the file",
                    nearest(name, file.models.iter().map(|model| model.name.as_str())),
                )
            })?)
        }
    };
    let Some(item) = section.get("pin") else {
        if let Some(component) = section.get("component") {
            return Err(component.error("`component` without a pin", "`pin` beside it", "or `model` alone"));
        }
        return match model {
            Some(model) => Ok(Found {
                model,
                package_f: None,
            }),
            None => Err(section.error("`ibis` names no pin", "`component` and `pin`, or `model`", "")),
        };
    };
    let component = match (section.get("component"), file.components.as_slice()) {
        (Some(item), _) => {
            let name = item.name()?;
            file.component(name).ok_or_else(|| {
                item.error(
                    format!("the file has no component `{}`", clip(name)),
                    "the name of a [Component] of the file",
                    nearest(name, file.components.iter().map(|one| one.name.as_str())),
                )
            })?
        }
        (None, [only]) => only,
        (None, _) => {
            return Err(section.error(
                "the file has several components",
                "`component` with one of their names",
                nearest("", file.components.iter().map(|one| one.name.as_str())),
            ));
        }
    };
    let name = item.name()?;
    let pin = component.pin(name).ok_or_else(|| {
        item.error(
            format!(
                "the component {} has no pin `{}`",
                clip(&component.name),
                clip(name)
            ),
            "a pin of its [Pin] table",
            nearest(name, component.pins.iter().map(|pin| pin.name.as_str())),
        )
    })?;
    let package_f = component.pin_capacitance_f(pin);
    let own = match file.pin_model(pin) {
        Some(PinModel::Model(own)) => own,
        Some(PinModel::Default(own, selector)) => {
            if model.is_none() {
                assumptions.push(format!(
                    "pin: {} of the file chooses between models; its first, {}, is taken (the default of IBIS; key `model` chooses another)",
                    selector.name, own.name
                ));
            }
            let listed = |model: &&Model| selector.models.iter().any(|(name, _)| *name == model.name);
            match (model, section.get("model")) {
                (Some(model), Some(key)) if !listed(&model) => {
                    return Err(key.error(
                        format!("{} does not offer this model", selector.name),
                        "a model of the pin's [Model Selector]",
                        nearest(&model.name, selector.models.iter().map(|(name, _)| name.as_str())),
                    ));
                }
                _ => model.unwrap_or(own),
            }
        }
        _ => {
            return Err(item.error(
                format!("the pin `{}` is {}", clip(name), clip(&pin.model)),
                "a signal pin, which has a model",
                "",
            ));
        }
    };
    match (model, section.get("model")) {
        (Some(model), Some(key)) if file.selector(&pin.model).is_none() && model.name != own.name => Err(key
            .error(
                format!("the pin has the model {}, not this one", clip(&own.name)),
                "the pin's own model, or no `model`",
                "",
            )),
        _ => Ok(Found {
            model: model.unwrap_or(own),
            package_f,
        }),
    }
}

/// The study's capacitance, else the least C_comp and the package's: the least filters least.
fn capacitance(
    found: &Found<'_>,
    place: &str,
    own: Option<f64>,
    assumptions: &mut Vec<String>,
) -> Option<f64> {
    let text = |farads: f64| Farads(farads).rounded(4);
    let Some(die) = found.model.c_comp_f else {
        if own.is_none() {
            assumptions.push(format!(
                "pin: {place} gives no C_comp, so the capacitance is not known"
            ));
        }
        return own;
    };
    let (die_f, column) = match die.min {
        Some(min) => (min, "minimum"),
        None => (die.typ, "typical value, no minimum given"),
    };
    let sum = die_f + found.package_f.unwrap_or(0.0);
    let package = match found.package_f {
        Some(farads) => format!("{} of the pin", text(farads)),
        None => "nothing of the package".to_owned(),
    };
    let words = format!("{} = C_comp {} ({column}) and {package}", text(sum), text(die_f));
    assumptions.push(match own {
        Some(own) => format!(
            "pin: its capacitance is the study's own {}, not that of {place}, which would be {words}",
            text(own)
        ),
        None => format!("pin: capacitance from {place}: {words}"),
    });
    own.or(Some(sum))
}

/// The clamp curve at the corner, or at the typical one where the file has none there.
fn curve(
    item: &Item<'_>,
    model: &Model,
    corner: Corner,
    place: &str,
    assumptions: &mut Vec<String>,
) -> Result<ClampCurve, StudyError> {
    let refuse = |why: String| {
        item.error(
            format!("{place}: {why}"),
            "clamp tables over a known supply",
            "name another model, or write `conduction` and `capacitance` yourself",
        )
    };
    match model.clamp_curve(corner) {
        Ok(curve) => Ok(curve),
        Err(why) if corner != Corner::Typ => {
            let curve = model
                .clamp_curve(Corner::Typ)
                .map_err(|why| refuse(why.to_string()))?;
            assumptions.push(format!("pin: {place}, typical column taken: {why}"));
            Ok(curve)
        }
        Err(why) => Err(refuse(why.to_string())),
    }
}

/// The line of one side with its words; `None` where the file has no clamp on that side.
fn side_of(
    item: &Item<'_>,
    curve: &ClampCurve,
    sign: f64,
    lean: Lean,
) -> Result<Option<(Conduction, String)>, StudyError> {
    let known = if sign > 0.0 {
        curve.clamps_above
    } else {
        curve.clamps_below
    };
    // The side as if it were the positive one, from its foot outwards.
    let mut points: Vec<(f64, f64)> = curve.points.iter().map(|(v, i)| (sign * v, sign * i)).collect();
    if sign < 0.0 {
        points.reverse();
    }
    points.retain(|point| point.0 >= 0.0);
    let Some(&(end_v, end_a)) = points.last().filter(|end| known && end.1 > 0.0) else {
        return Ok(None);
    };
    let Some(line) = line(&points, lean).filter(|line| line.threshold_v > 0.0) else {
        let side = if sign > 0.0 { "above" } else { "below" };
        return Err(item.error(
            format!("the clamp table {side} zero is no clamp: no threshold and resistance stand for it"),
            "a current that is small near zero and rises to the end of the table",
            "write `conduction` yourself",
        ));
    };
    let words = format!(
        "threshold {} and {}, at equal current at most {} {} the table, which ends at {}, {}; the line goes on beyond it",
        Volts(sign * line.threshold_v).rounded(4),
        Ohms(line.resistance_ohm).rounded(3),
        Volts(residual_v(&points, line)).rounded(2),
        match lean {
            Lean::Weak => "above",
            Lean::Strong => "below",
        },
        Volts(sign * end_v).rounded(4),
        Amps(sign * end_a).rounded(3),
    );
    let fitted = Conduction {
        threshold_v: sign * line.threshold_v,
        resistance_ohm: line.resistance_ohm,
    };
    Ok(Some((fitted, words)))
}

/// The line through a side that leans one way; `None` if the current does not rise to the end.
fn line(points: &[(f64, f64)], lean: Lean) -> Option<Conduction> {
    let &(_, end_a) = points.last()?;
    let first = match lean {
        Lean::Weak => 0,
        // The last point below the foot belongs to it: the table is straight from there on.
        Lean::Strong => points
            .partition_point(|point| point.1 < FOOT * end_a)
            .saturating_sub(1),
    };
    let pieces: Vec<f64> = points[first..]
        .windows(2)
        .map(|pair| (pair[1].0 - pair[0].0) / (pair[1].1 - pair[0].1))
        .collect();
    let resistance_ohm = match lean {
        Lean::Weak => pieces.last().copied(),
        Lean::Strong => pieces.iter().copied().filter(|ohm| *ohm > 0.0).reduce(f64::min),
    }
    .filter(|ohm| *ohm > 0.0 && ohm.is_finite())?;
    let offset = |point: &(f64, f64)| point.0 - point.1 * resistance_ohm;
    let threshold_v = match lean {
        Lean::Weak => points
            .iter()
            .filter(|point| point.1 > 0.0)
            .map(offset)
            .reduce(f64::max),
        Lean::Strong => {
            // The foot itself, where the table crosses a hundredth of its last current.
            let foot_a = FOOT * end_a;
            let foot = points[first..].windows(2).find_map(|pair| {
                let (a, b) = (pair[0], pair[1]);
                (a.1 < foot_a && b.1 >= foot_a)
                    .then(|| (a.0 + (b.0 - a.0) * (foot_a - a.1) / (b.1 - a.1), foot_a))
            });
            let above = points.iter().copied().filter(|point| point.1 >= foot_a);
            foot.into_iter()
                .chain(above)
                .map(|point| offset(&point))
                .reduce(f64::min)
        }
    }?;
    Some(Conduction {
        threshold_v,
        resistance_ohm,
    })
}

/// Largest distance in volts between line and table at the currents of the table above its foot.
fn residual_v(points: &[(f64, f64)], line: Conduction) -> f64 {
    let end_a = points.last().map_or(0.0, |end| end.1);
    points
        .iter()
        .filter(|point| point.1 >= FOOT * end_a)
        .map(|point| (line.threshold_v + line.resistance_ohm * point.1 - point.0).abs())
        .fold(0.0, f64::max)
}
