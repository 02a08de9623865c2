//! Choosing corners in words.

use tidewall_assess::corners::{Case, cases};
use tidewall_assess::result::{PartSet, StressSet};
use tidewall_stress::catalogue::Sign;
use tidewall_study::Study;
use tidewall_units::{Celsius, Quantity, Volts, parse};

use crate::failure::Failure;
use tidewall_desk::names::nearest;

const KEYS: &[&str] = &["stress", "ambient", "part", "tolerance", "polarity", "supply"];

/// One condition.
#[derive(Clone, Debug, PartialEq)]
enum Condition {
    Stress(String),
    Ambient(f64),
    Part(PartSet),
    Tolerance(StressSet),
    Polarity(Sign),
    Supply(Option<f64>),
}

impl Condition {
    fn holds(&self, study: &Study, case: &Case) -> bool {
        match self {
            Condition::Stress(id) => study.stresses[case.stress].id == *id,
            Condition::Ambient(celsius) => same(case.ambient_c, *celsius),
            Condition::Part(set) => case.parts == *set,
            Condition::Tolerance(set) => case.tolerance == *set,
            Condition::Polarity(sign) => case.sign == *sign,
            Condition::Supply(None) => case.supply_v.is_none(),
            Condition::Supply(Some(volts)) => case.supply_v.is_some_and(|supply| same(supply, *volts)),
        }
    }

    fn key(&self) -> &'static str {
        match self {
            Condition::Stress(_) => "stress",
            Condition::Ambient(_) => "ambient",
            Condition::Part(_) => "part",
            Condition::Tolerance(_) => "tolerance",
            Condition::Polarity(_) => "polarity",
            Condition::Supply(_) => "supply",
        }
    }
}

/// People type rounded numbers: 28.8 is meant for 28.799999999999997.
fn same(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-3 * a.abs().max(b.abs()) + 1e-9
}

/// A choice of corners: those at which every condition holds.
#[derive(Clone, Debug, PartialEq)]
struct Spec {
    text: String,
    conditions: Vec<Condition>,
}

/// A choice of corners: those that fit any of the specs.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    specs: Vec<Spec>,
}

impl Choice {
    /// Reads the texts of `--corner`; `None` if there are none.
    pub fn read(texts: &[String]) -> Result<Option<Choice>, Failure> {
        let specs = texts
            .iter()
            .map(|text| spec(text))
            .collect::<Result<Vec<_>, _>>()?;
        Ok(Some(Choice { specs }).filter(|choice| !choice.specs.is_empty()))
    }

    /// Whether a corner is chosen.
    pub fn keeps(&self, study: &Study, case: &Case) -> bool {
        self.specs.iter().any(|spec| {
            spec.conditions
                .iter()
                .all(|condition| condition.holds(study, case))
        })
    }

    /// The texts it was read from.
    pub fn texts(&self) -> Vec<String> {
        self.specs.iter().map(|spec| spec.text.clone()).collect()
    }

    /// Refuses a choice that no corner of the study can fit, and says which there are.
    pub fn check(&self, study: &Study) -> Result<(), Failure> {
        let all = cases(study);
        self.specs.iter().try_for_each(|spec| spec.check(study, &all))
    }
}

impl Spec {
    fn check(&self, study: &Study, all: &[Case]) -> Result<(), Failure> {
        // A blind spot is known only after a search; its other conditions are those of a regular corner.
        let conditions: Vec<&Condition> = self
            .conditions
            .iter()
            .filter(|condition| **condition != Condition::Tolerance(StressSet::BlindSpot))
            .collect();
        let fits = |wanted: &[&Condition]| {
            all.iter()
                .any(|case| wanted.iter().all(|condition| condition.holds(study, case)))
        };
        for condition in &conditions {
            if !fits(&[condition]) {
                let key = condition.key();
                return Err(Failure::usage(
                    format!(
                        "no corner of {} fits `{key}` in `--corner {}`",
                        study.path, self.text
                    ),
                    format!("{key} may be {}", values(study, all, key)),
                ));
            }
        }
        if fits(&conditions) {
            return Ok(());
        }
        Err(Failure::usage(
            format!("no corner of {} fits all of `--corner {}`", study.path, self.text),
            "each key fits some corner, but no corner fits them all; leave one out".to_owned(),
        ))
    }
}

/// The values that a key takes in a study, in words.
fn values(study: &Study, all: &[Case], key: &str) -> String {
    let mut words: Vec<String> = Vec::new();
    for case in all {
        let word = value(study, case, key);
        if !words.contains(&word) {
            words.push(word);
        }
    }
    words.join(", ")
}

fn value(study: &Study, case: &Case, key: &str) -> String {
    match key {
        "stress" => study.stresses[case.stress].id.clone(),
        "ambient" => number(case.ambient_c),
        "part" => case.parts.word().to_owned(),
        "tolerance" => tolerance_word(case.tolerance).to_owned(),
        "polarity" => match case.sign {
            Sign::Positive => "+".to_owned(),
            Sign::Negative => "-".to_owned(),
        },
        _ => case.supply_v.map_or("none".to_owned(), number),
    }
}

fn tolerance_word(set: StressSet) -> &'static str {
    match set {
        StressSet::BlindSpot => "blind-spot",
        other => other.word(),
    }
}

/// A number as `--corner` takes it.
fn number(value: f64) -> String {
    let rounded = (value * 1e4).round() / 1e4;
    format!("{}", if rounded == 0.0 { 0.0 } else { rounded })
}

/// The text that chooses exactly this corner.
pub fn text(study: &Study, case: &Case) -> String {
    let pairs: Vec<String> = KEYS
        .iter()
        .map(|key| format!("{key}={}", value(study, case, key)))
        .collect();
    pairs.join(",")
}

fn spec(text: &str) -> Result<Spec, Failure> {
    let refuse =
        |message: String, hint: String| Failure::usage(format!("{message} in `--corner {text}`"), hint);
    let mut conditions: Vec<Condition> = Vec::new();
    for pair in text.split(',') {
        let Some((key, value)) = pair.split_once('=') else {
            return Err(refuse(
                format!("`{}` is not KEY=VALUE", pair.trim()),
                format!("keys are {}", KEYS.join(", ")),
            ));
        };
        let (key, value) = (key.trim(), value.trim());
        let condition = condition(key, value).map_err(|(message, hint)| refuse(message, hint))?;
        if conditions.iter().any(|other| other.key() == condition.key()) {
            return Err(refuse(
                format!("`{key}` stands twice"),
                "give --corner twice to run corners that fit either".to_owned(),
            ));
        }
        conditions.push(condition);
    }
    Ok(Spec {
        text: text.to_owned(),
        conditions,
    })
}

fn condition(key: &str, value: &str) -> Result<Condition, (String, String)> {
    let one_of = |words: &str| {
        (
            format!("`{value}` is not a value of `{key}`"),
            format!("{key} may be {words}"),
        )
    };
    match key {
        "stress" if value.is_empty() => Err(one_of("the id of a stress of the study")),
        "stress" => Ok(Condition::Stress(value.to_owned())),
        "ambient" => quantity::<Celsius>(value)
            .map(Condition::Ambient)
            .ok_or_else(|| one_of("a temperature such as 70 or 70 °C")),
        "part" => [
            PartSet::Low,
            PartSet::High,
            PartSet::Crossed,
            PartSet::UnlikeLines,
            PartSet::UnlikeLinesMirrored,
        ]
        .into_iter()
        .find(|set| set.word() == value)
        .map(Condition::Part)
        .ok_or_else(|| one_of("low, high, crossed, unlike-lines or unlike-lines-mirrored")),
        "tolerance" => [
            StressSet::Low,
            StressSet::Nominal,
            StressSet::High,
            StressSet::BlindSpot,
        ]
        .into_iter()
        .find(|set| tolerance_word(*set) == value)
        .map(Condition::Tolerance)
        .ok_or_else(|| one_of("low, nominal, high or blind-spot")),
        "polarity" => match value {
            "+" | "positive" => Ok(Condition::Polarity(Sign::Positive)),
            "-" | "−" | "negative" => Ok(Condition::Polarity(Sign::Negative)),
            _ => Err(one_of("+ or -")),
        },
        "supply" if value == "none" => Ok(Condition::Supply(None)),
        "supply" => quantity::<Volts>(value)
            .map(|volts| Condition::Supply(Some(volts)))
            .ok_or_else(|| one_of("none (unpowered) or a voltage such as 28.8 or 28.8 V")),
        _ => {
            let hint = nearest(key, KEYS.iter().copied());
            Err((
                format!("`{key}` is not a key"),
                hint.unwrap_or_else(|| format!("keys are {}", KEYS.join(", "))),
            ))
        }
    }
}

/// A quantity with its unit, or a bare number in SI units.
fn quantity<Q: Quantity>(text: &str) -> Option<f64> {
    parse::<Q>(text)
        .or_else(|_| parse::<Q>(&format!("{text} {}", Q::SYMBOL)))
        .ok()
        .map(Q::si)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fails(text: &str) -> String {
        spec(text).expect_err("a bad spec").to_string()
    }

    #[test]
    fn every_key_is_read_with_and_without_unit() {
        let read =
            spec("stress=surge-earth,ambient=−40 °C,part=high,tolerance=blind-spot,polarity=-,supply=28.8 V");
        let conditions = read.expect("a good spec").conditions;
        assert_eq!(
            conditions,
            [
                Condition::Stress("surge-earth".to_owned()),
                Condition::Ambient(-40.0),
                Condition::Part(PartSet::High),
                Condition::Tolerance(StressSet::BlindSpot),
                Condition::Polarity(Sign::Negative),
                Condition::Supply(Some(28.8)),
            ]
        );
        let bare = spec(" ambient = 70 , supply = none ")
            .expect("a good spec")
            .conditions;
        assert_eq!(bare, [Condition::Ambient(70.0), Condition::Supply(None)]);
    }

    #[test]
    fn a_bad_spec_says_what_may_stand_there() {
        assert!(fails("ambiant=70").contains("did you mean `ambient`?"));
        assert!(fails("weather=wet").contains("keys are stress, ambient"));
        assert!(
            fails("part=medium")
                .contains("part may be low, high, crossed, unlike-lines or unlike-lines-mirrored")
        );
        assert!(fails("ambient=70 V").contains("temperature"));
        assert!(fails("ambient=NaN").contains("temperature"));
        assert!(fails("supply=inf").contains("voltage"));
        assert!(fails("part=low,part=high").contains("stands twice"));
        assert!(fails("part").contains("not KEY=VALUE"));
        assert!(fails("").contains("not KEY=VALUE"));
    }
}
