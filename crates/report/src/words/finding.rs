//! What an assessment found, in words.

use tidewall_assess::result::{Assessment, Bound, CheckResult, CounterResult, Verdict};
use tidewall_study::Study;
use tidewall_units::{Quantity, Ratio, Volts};

use super::number::{in_one_unit, percent, significant};

/// Walls of the design window.
pub fn window(result: &Assessment) -> String {
    let level = |volts: Option<f64>| volts.map_or("unknown".to_owned(), |volts| Volts(volts).rounded(4));
    format!(
        "must not conduct up to {}, withstand of the pin {}",
        level(result.window.must_not_conduct_v),
        level(result.window.withstand_v)
    )
}

/// What the port is: its title, its profile and its lines.
pub fn port(study: &Study) -> String {
    let mut port = Vec::new();
    if !study.port.title.is_empty() {
        port.push(study.port.title.clone());
    }
    if let Some(profile) = &study.port.profile {
        port.push(format!("profile {profile}"));
    }
    port.push(match study.port.lines {
        1 => "one line and return".to_owned(),
        lines => format!("{lines} lines and earth"),
    });
    port.join(", ")
}

/// Check, stress and element of a result.
pub fn place(check: &CheckResult) -> String {
    match &check.stress {
        Some(stress) => format!("{}, {stress}, {}", check.check, check.element),
        None => format!("{}, {}", check.check, check.element),
    }
}

/// The verdict's reason in one line: the worst check, or the tightest of those that hold.
pub fn reason(result: &Assessment) -> String {
    let Some(worst) = result.checks.first() else {
        return "there is nothing to check".to_owned();
    };
    match worst.verdict {
        Verdict::Pass => match worst.margin {
            Some(margin) => format!(
                "every check holds; the closest is {} with {} to spare",
                place(worst),
                percent_text(margin)
            ),
            None => "every check holds".to_owned(),
        },
        _ => format!("{}: {}", place(worst), worst.why),
    }
}

/// A share in percent with its sign.
pub fn percent_text(share: f64) -> String {
    format!("{} %", percent(share))
}

/// How many checks have each verdict, worst first.
pub fn counts(result: &Assessment) -> String {
    let count = |verdict| {
        let checks = result.checks.iter();
        checks.filter(|check| check.verdict == verdict).count()
    };
    format!(
        "{} fail, {} unknown, {} marginal, {} pass",
        count(Verdict::Fail),
        count(Verdict::Unknown),
        count(Verdict::Marginal),
        count(Verdict::Pass)
    )
}

/// Value, limit and margin of a check as texts that stand beside each other.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// The value; "?" where it is not known.
    pub value: String,
    /// The limit behind its sign; empty where there is none, "?" where it is not known.
    pub limit: String,
    /// Unit of both.
    pub unit: String,
    /// The margin in percent, without its sign; empty where there is none.
    pub margin: String,
    /// "%" with a margin, else empty.
    pub margin_unit: &'static str,
}

/// A check as a line of a table.
pub fn line(check: &CheckResult) -> Line {
    let (texts, unit) = in_one_unit(&[check.value, check.limit], check.unit);
    let sign = match check.bound {
        Bound::AtMost => "≤",
        Bound::AtLeast => "≥",
    };
    Line {
        value: if texts[0].is_empty() { "?" } else { &texts[0] }.to_owned(),
        limit: match check.limit {
            Some(_) => format!("{sign} {}", texts[1]),
            None if check.verdict == Verdict::Unknown => "?".to_owned(),
            None => String::new(),
        },
        unit,
        margin: check.margin.map(percent).unwrap_or_default(),
        margin_unit: check.margin.map_or("", |_| "%"),
    }
}

/// What to provide so that nothing is unknown: each datum once, with the places that want it.
pub fn missing(result: &Assessment) -> Vec<(&str, Vec<String>)> {
    let mut wanted: Vec<(&str, Vec<String>)> = Vec::new();
    for check in &result.checks {
        let Some(datum) = &check.missing else {
            continue;
        };
        match wanted.iter_mut().find(|(known, _)| *known == datum.as_str()) {
            Some((_, places)) => places.push(place(check)),
            None => wanted.push((datum, vec![place(check)])),
        }
    }
    wanted
}

/// What the integrator did, in sum.
pub fn computed(result: &Assessment) -> String {
    let runs = &result.transients;
    let sum = |of: fn(&CounterResult) -> u64| -> u64 { runs.iter().map(|run| of(&run.counters)).sum() };
    let audit = runs.iter().map(|run| run.audit.residual).reduce(f64::max);
    let audit = audit.map_or(String::new(), |residual| {
        format!(
            "; worst energy audit {} of the energy (limit {})",
            Ratio(residual).rounded(2),
            Ratio(tidewall_transient::Audit::LIMIT).rounded(2)
        )
    });
    format!(
        "{} transients, {} steps ({} rejected), {} changes of state{audit}; Tidewall {}",
        runs.len(),
        significant(sum(|counters| counters.steps) as f64, 12),
        sum(|counters| counters.rejections),
        sum(|counters| counters.events),
        result.version
    )
}

/// a, b, … z, aa, ab, …
pub fn letters(number: usize) -> String {
    let letter = char::from(b'a' + (number % 26) as u8);
    match number / 26 {
        0 => letter.to_string(),
        more => format!("{}{letter}", letters(more - 1)),
    }
}
