//! `tidewall extract fit`.

use std::path::Path;

use tidewall_desk::curves::{Asked, Curve, Given, Points, fitted, keep};

use super::args::{FitArgs, FitFamily, VaristorLaw};
use crate::args::Format;
use crate::failure::Failure;
use crate::library::Place;
use crate::output;
use crate::sheet;
use crate::status::Status;

/// Fits a family to measured points.
pub fn run(args: &FitArgs, library: Option<&Path>, format: Format) -> Result<Status, Failure> {
    let curve = curve(args.family);
    let given = Given::of(curve, &asked(args), |field| format!("--{}", field.key))?;
    let points = if args.tlp {
        Points::read_tlp(&args.points, given.width_s())?
    } else {
        Points::read(&args.points)?
    };
    let fit = fitted(curve, &points, &given)?;
    let kept = match (&args.keep, &args.into_part) {
        (Some(document), Some(name)) => {
            let place = Place::new(library)?;
            let file = args.points.display().to_string();
            Some(keep(&fit, &file, name, document, &place)?)
        }
        _ => None,
    };
    match format {
        Format::Text => {
            let source = args.points.display().to_string();
            output::print(&sheet::fit::sheet(&fit, &source, args.into_part.as_deref()))?;
        }
        Format::Json => output::print_json(&fit)?,
    }
    if let Some(kept) = kept {
        for notice in &kept.notices {
            output::remark(&format!("note: {notice}"));
        }
        output::remark(&kept.words);
    }
    Ok(Status::Pass)
}

fn asked(args: &FitArgs) -> Asked {
    let law = args.law.map(|law| match law {
        VaristorLaw::Power => "power".to_owned(),
        VaristorLaw::Bulk => "bulk".to_owned(),
        VaristorLaw::Log => "log".to_owned(),
    });
    let fields = [
        ("wave", &args.wave),
        ("window", &args.window),
        ("breakdown", &args.breakdown),
        ("temperature-coefficient", &args.temperature_coefficient),
        ("law", &law),
        ("voltage", &args.voltage),
        ("rise", &args.rise),
        ("thermal-resistance", &args.thermal_resistance),
        ("built-in", &args.built_in),
        ("width", &args.width),
    ];
    let given = fields
        .into_iter()
        .filter_map(|(key, text)| Some((key, text.clone()?)));
    Asked {
        fields: given.collect(),
        robust: args.robust,
        seed: args.seed,
        tlp: args.tlp,
    }
}

fn curve(family: FitFamily) -> Curve {
    match family {
        FitFamily::Avalanche => Curve::Avalanche,
        FitFamily::FlatClamp => Curve::FlatClamp,
        FitFamily::Snapback => Curve::Snapback,
        FitFamily::SnapbackOnBranch => Curve::SnapbackOnBranch,
        FitFamily::Thyristor => Curve::Thyristor,
        FitFamily::ThyristorSurge => Curve::ThyristorSurge,
        FitFamily::Varistor => Curve::Varistor,
        FitFamily::GasTube => Curve::GasTube,
        FitFamily::Pin => Curve::Pin,
        FitFamily::Thermal => Curve::Thermal,
        FitFamily::Leakage => Curve::Leakage,
        FitFamily::Capacitance => Curve::Capacitance,
    }
}
