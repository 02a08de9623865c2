//! What a ranking is asked for: values of a series stage, and weights.

use tidewall_assess::rank::Order;
use tidewall_units::{Ohms, parse};

use crate::failure::Failure;

/// Preferred numbers of IEC 60063 by their name.
const SERIES: [(&str, &[f64]); 3] = [
    ("E3", &[1.0, 2.2, 4.7]),
    ("E6", &[1.0, 1.5, 2.2, 3.3, 4.7, 6.8]),
    (
        "E12",
        &[1.0, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2],
    ),
];
const HINT: &str = "such as R1=1Ω,2.2Ω,4.7Ω or R1=E6:1Ω..47Ω";

/// `STAGE=VALUE,VALUE,…` or `STAGE=E6:LOW..HIGH`: the stage and resistances in ohms. `asked` is what the text is called where it
/// was asked for.
///
/// # Errors
/// A text of another form, or a range without a preferred number.
pub fn series(asked: &str, text: &str) -> Result<(String, Vec<f64>), Failure> {
    let bad = |what: String| Failure::usage(format!("{asked} {text}: {what}"), HINT);
    let (stage, values) = text
        .split_once('=')
        .ok_or_else(|| bad("a stage and its values are joined by `=`".to_owned()))?;
    let ohms = |text: &str| {
        parse::<Ohms>(text.trim())
            .map(|ohms| ohms.0)
            .map_err(|error| bad(error.to_string()))
    };
    let series = SERIES
        .iter()
        .find_map(|(name, numbers)| Some((numbers, values.trim().strip_prefix(name)?.strip_prefix(':')?)));
    if let (None, Some((name, _))) = (&series, values.split_once(':')) {
        let known: Vec<&str> = SERIES.iter().map(|(name, _)| *name).collect();
        return Err(bad(format!(
            "there is no series `{}` of preferred numbers, only {}",
            name.trim(),
            known.join(", ")
        )));
    }
    let list = match series {
        Some((numbers, range)) => {
            let (low, high) = range
                .split_once("..")
                .ok_or_else(|| bad("a range has `..` between its ends".to_owned()))?;
            between(numbers, ohms(low)?, ohms(high)?)
        }
        None => values.split(',').map(ohms).collect::<Result<Vec<_>, _>>()?,
    };
    if list.is_empty() {
        return Err(bad("no preferred number lies in that range".to_owned()));
    }
    Ok((stage.trim().to_owned(), list))
}

/// Preferred numbers from `low` to `high`, both included.
fn between(numbers: &[f64], low: f64, high: f64) -> Vec<f64> {
    if !(low > 0.0 && high.is_finite()) {
        return Vec::new();
    }
    let decades = low.log10().floor() as i32..=high.log10().ceil() as i32;
    decades
        // Through text, so that 4.7 in the decade of ten is 47 and not 47.00000000000001.
        .flat_map(|decade| {
            numbers
                .iter()
                .filter_map(move |number| format!("{number}e{decade}").parse().ok())
        })
        .filter(|value: &f64| *value >= low * (1.0 - 1e-9) && *value <= high * (1.0 + 1e-9))
        .collect()
}

/// `margin=1,let-through=1,area=0.5,cost=2,capacitance=0`; what is not named weighs nothing. `asked` as in [`series`].
///
/// # Errors
/// A text of another form, a weight that is none, or weights that are all zero.
pub fn order(asked: &str, text: &str) -> Result<Order, Failure> {
    let hint = "weights from 0 up, such as margin=1,let-through=1,cost=2,area=0.5,capacitance=0";
    let bad = |what: String| Failure::usage(format!("{asked} {text}: {what}"), hint);
    let (mut margin, mut let_through, mut area, mut cost, mut capacitance) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for piece in text.split(',') {
        let (key, weight) = piece
            .split_once('=')
            .ok_or_else(|| bad(format!("`{piece}` has no weight")))?;
        let place = match key.trim() {
            "margin" => &mut margin,
            "let-through" => &mut let_through,
            "area" => &mut area,
            "cost" => &mut cost,
            "capacitance" => &mut capacitance,
            other => return Err(bad(format!("`{other}` cannot be weighed"))),
        };
        *place = weight
            .trim()
            .parse()
            .ok()
            .filter(|weight: &f64| *weight >= 0.0 && weight.is_finite())
            .ok_or_else(|| bad(format!("`{weight}` is no weight")))?;
    }
    if margin + let_through + area + cost + capacitance == 0.0 {
        return Err(bad("all weights are zero".to_owned()));
    }
    Ok(Order::Weighted {
        margin,
        let_through,
        area,
        cost,
        capacitance,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn series_of_preferred_numbers() {
        assert_eq!(
            series("--series", "R1=E6:1Ω..10 Ω").unwrap(),
            ("R1".to_owned(), vec![1.0, 1.5, 2.2, 3.3, 4.7, 6.8, 10.0])
        );
        assert_eq!(series("--series", "R1=E3:0.47Ω..3Ω").unwrap().1, [0.47, 1.0, 2.2]);
        assert_eq!(series("--series", "R1 = 1Ω, 0.22Ω").unwrap().1, [1.0, 0.22]);
        for bad in ["R1", "R1=", "R1=E6:1Ω", "R1=E6:5Ω..1Ω", "R1=1V"] {
            assert!(series("--series", bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn weights() {
        let wanted = Order::Weighted {
            margin: 1.0,
            let_through: 0.0,
            area: 0.0,
            cost: 2.5,
            capacitance: 0.0,
        };
        assert_eq!(order("--prefer", "margin=1,cost=2.5").unwrap(), wanted);
        for bad in ["", "cost", "cost=-1", "price=1", "cost=0", "cost=x"] {
            assert!(order("--prefer", bad).is_err(), "{bad}");
        }
    }
}
