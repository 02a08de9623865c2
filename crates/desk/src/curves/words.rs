//! A fit in words.

use tidewall_extract::family::{Fit, Standing};
use tidewall_units::{
    Amps, Celsius, Farads, KelvinPerWatt, Kelvins, Ohms, PerKelvin, Quantity, Volts, VoltsPerSecond, Watts,
    significant,
};

/// How a value stands.
pub fn standing(standing: Standing) -> &'static str {
    match standing {
        Standing::Estimated => "fitted",
        Standing::NotTestable => "not testable",
        Standing::NotIdentified => "not identified",
        Standing::Given => "given",
        Standing::Observed => "seen",
    }
}

/// How many points were used, and of what.
pub fn points(fit: &Fit, source: &str) -> String {
    let quality = &fit.quality;
    let left_out = match quality.rejected {
        0 => String::new(),
        some => format!(", {some} left out"),
    };
    format!("{} used{left_out}, of {source}", quality.points)
}

/// How the points scatter about the curve.
pub fn scatter(fit: &Fit) -> String {
    let quality = &fit.quality;
    let text = match (quality.scatter, quality.residuals_in.strip_prefix("ln ")) {
        (Some(scatter), Some(_)) => format!("{:.2} % of a reading", 100.0 * scatter),
        (Some(scatter), None) => format!("{} in a reading", shown(scatter, &quality.residuals_in)),
        (None, _) => match quality.reduced_chi_square {
            Some(chi) => format!("as given; reduced chi-square {chi:.2} (1 if the deviations are right)"),
            None => "not known: as many points as unknowns".to_owned(),
        },
    };
    let plural = if quality.degrees_of_freedom == 1 { "" } else { "s" };
    format!("{text}, {} degree{plural} of freedom", quality.degrees_of_freedom)
}

/// Where the values are from, with their intervals, in one line.
pub fn origin(fit: &Fit, source: &str) -> String {
    let values: Vec<String> = fit
        .estimates
        .iter()
        .filter_map(|estimate| {
            let [low, high] = estimate.interval?;
            let end = |x: Option<f64>| x.map_or("no end".to_owned(), |x| shown(x, &estimate.unit));
            Some(format!("{} {} to {}", estimate.key, end(low), end(high)))
        })
        .collect();
    let intervals = if values.is_empty() {
        "not testable".to_owned()
    } else {
        format!("95 % intervals: {}", values.join(", "))
    };
    format!(
        "{source}, {} points, fit of {}; {intervals}",
        fit.quality.points, fit.law
    )
}

/// A value with its unit, four digits.
pub fn shown(value: f64, unit: &str) -> String {
    match unit {
        "V" => Volts(value).rounded(4),
        "A" => Amps(value).rounded(4),
        "Ω" => Ohms(value).rounded(4),
        "F" => Farads(value).rounded(4),
        "W" => Watts(value).rounded(4),
        "K" => Kelvins(value).rounded(4),
        "°C" => Celsius(value).rounded(4),
        "K/W" => KelvinPerWatt(value).rounded(4),
        "1/K" => PerKelvin(value).rounded(4),
        "V/s" => VoltsPerSecond(value).rounded(4),
        other => {
            let number = significant(value, 4);
            if other.is_empty() {
                number
            } else {
                format!("{number} {other}")
            }
        }
    }
}
