//! The parts nearest to a given one.

use std::sync::Arc;

use tidewall_devices::datasheet::Datasheet;
use tidewall_study::Study;

use super::result::{Compared, EQUIVALENTS_SCHEMA, Equivalent, Equivalents};
use super::{add_bands, fits, judged};
use crate::rank::{CheckLine, Position, RankError, RankOptions, Standing, rank};
use crate::result::Verdict;
use crate::text::{amps, celsius, farads, joules, kelvins, percent, seconds, volts};

/// Differences of values below this share are not worth a word.
const ALIKE: f64 = 0.02;

/// Parts that can stand for `reference` in the place of a shunt stage, nearest first, `most` of them in detail.
///
/// The distance is taken in what this port asks: the margins of all its checks. A part that fails a check here stands
/// for nothing, whatever its likeness.
///
/// # Errors
/// The ladder has no such shunt stage, or no candidate can stand in it.
pub fn equivalents(
    study: &Study,
    stage: &str,
    reference: &Arc<Datasheet>,
    candidates: &[Arc<Datasheet>],
    most: usize,
    options: &RankOptions<'_>,
) -> Result<Equivalents, RankError> {
    let others: Vec<Arc<Datasheet>> = candidates
        .iter()
        .filter(|part| part.name != reference.name)
        .cloned()
        .collect();
    fits(study, stage, reference)?;
    let base = judged(study, stage, reference, options.memo, &options.transient);
    let ranking = rank(study, &[Position::of_parts(study, stage, &others)?], options)?;
    let mut near: Vec<(bool, f64, String)> = ranking
        .ranked
        .iter()
        .filter_map(|candidate| match &candidate.standing {
            Standing::Ranked { checks, verdict, .. } => {
                let name = candidate.placed.first()?.part.clone()?;
                let unknown = *verdict == Verdict::Unknown;
                Some((unknown, distance(&base.checks, checks), name))
            }
            Standing::Rejected { .. } => None,
        })
        .collect();
    // A part that lacks data has few margins to be apart in: near by ignorance, not by likeness.
    near.sort_by(|a, b| {
        let order = a.0.cmp(&b.0).then(a.1.total_cmp(&b.1));
        order.then_with(|| a.2.cmp(&b.2))
    });
    near.truncate(most);
    let chosen: Vec<Arc<Datasheet>> = std::iter::once(reference)
        .chain(
            near.iter()
                .filter_map(|(_, _, name)| others.iter().find(|part| *part.name == **name)),
        )
        .cloned()
        .collect();
    let mut compared = vec![base];
    compared.extend(
        chosen[1..]
            .iter()
            .map(|part| judged(study, stage, part, options.memo, &options.transient)),
    );
    add_bands(study, &chosen, &mut compared);
    let reference = compared.remove(0);
    let equivalents = near
        .into_iter()
        .zip(compared)
        .map(|((_, distance, _), part)| Equivalent {
            distance,
            differences: differences(&reference, &part),
            part,
        })
        .collect();
    Ok(Equivalents {
        schema: EQUIVALENTS_SCHEMA,
        version: env!("CARGO_PKG_VERSION"),
        study: ranking.study,
        stage: stage.to_owned(),
        reference,
        complete: ranking.complete,
        candidates: ranking.counts.judged,
        rejected: ranking.rejected.len(),
        equivalents,
    })
}

/// Margin of a check, limited to ±1.
fn margin(check: &CheckLine) -> Option<f64> {
    check.margin.map(|margin| margin.clamp(-1.0, 1.0))
}

fn same(a: &CheckLine, b: &CheckLine) -> bool {
    a.check == b.check && a.stress == b.stress && a.element == b.element
}

/// Pairs of margins of the checks that speak of both parts. The audit speaks of the calculation.
fn pairs<'c>(
    a: &'c [CheckLine],
    b: &'c [CheckLine],
) -> impl Iterator<Item = (&'c CheckLine, &'c CheckLine, f64)> {
    a.iter()
        .filter(|check| check.check != "energy-audit")
        .filter_map(move |own| {
            let other = b.iter().find(|other| same(own, other))?;
            Some((own, other, margin(other)? - margin(own)?))
        })
}

/// Root mean square of the differences of margins.
fn distance(a: &[CheckLine], b: &[CheckLine]) -> f64 {
    let (count, sum) = pairs(a, b).fold((0usize, 0.0), |(count, sum), (_, _, apart)| {
        (count + 1, sum + apart * apart)
    });
    if count == 0 {
        f64::INFINITY
    } else {
        (sum / count as f64).sqrt()
    }
}

/// What differs, in words: kind first, then margins by size, then what no check asks for.
pub fn differences(reference: &Compared, part: &Compared) -> Vec<String> {
    let mut words = Vec::new();
    if part.family != reference.family {
        words.push(format!("{} in place of {}", part.family, reference.family));
    }
    if let (Some(own), Some(other)) = (reference.bidirectional, part.bidirectional)
        && own != other
    {
        let word = |both: bool| {
            if both {
                "blocks both ways"
            } else {
                "blocks one way only"
            }
        };
        words.push(format!("{}, where {} {}", word(other), reference.part, word(own)));
    }
    if part.verdict != reference.verdict {
        words.push(format!(
            "verdict {} in place of {}",
            part.verdict.word(),
            reference.verdict.word()
        ));
    }
    let unknown = part
        .checks
        .iter()
        .filter(|check| check.verdict == Verdict::Unknown);
    if let Some(missing) = unknown.filter_map(|check| check.missing.as_ref()).next() {
        words.push(format!("lacks {missing}"));
    }
    let mut apart: Vec<(f64, String)> = pairs(&reference.checks, &part.checks)
        .filter(|(_, _, apart)| apart.abs() >= ALIKE)
        .map(|(own, other, apart)| (apart.abs(), in_words(own, other, apart)))
        .collect();
    apart.sort_by(|a, b| b.0.total_cmp(&a.0));
    words.extend(apart.into_iter().map(|(_, text)| text));
    beside(reference, part, &mut words);
    if words.is_empty() {
        words.push("no difference of note in this port".to_owned());
    }
    words
}

fn in_words(own: &CheckLine, other: &CheckLine, apart: f64) -> String {
    // The same check may be met in different quantities: one part blocks a level, another survives it.
    let print = |value: f64, unit: &str| match unit {
        "V" => volts(value),
        "A" => amps(value),
        "J" => joules(value),
        "F" => farads(value),
        "K" => kelvins(value),
        "°C" => celsius(value),
        "s" => seconds(value),
        "A²s" => format!("{value:.3} A²s"),
        // Counts are whole; shares lie below one.
        "1" if value.fract() == 0.0 => format!("{value}"),
        "1" => percent(value),
        unit => format!("{value:.3} {unit}"),
    };
    // A limit that comes from the part differs with it, and then says more than the value.
    let limits_differ = match (own.limit, other.limit) {
        (Some(a), Some(b)) => own.unit != other.unit || (a - b).abs() > 1e-6 * a.abs(),
        _ => false,
    };
    let print = |check: &CheckLine| {
        let print = |value| print(value, &check.unit);
        let value = check.value.map_or("an unknown value".to_owned(), print);
        match check.limit.filter(|_| limits_differ) {
            Some(limit) => format!("{value} against {}", print(limit)),
            None => value,
        }
    };
    let of = match &own.stress {
        Some(stress) => format!("{}, {stress}", own.check),
        None => own.check.clone(),
    };
    format!(
        "{of}: {} in place of {}, margin {} by {}",
        print(other),
        print(own),
        if apart > 0.0 { "larger" } else { "smaller" },
        percent(apart.abs())
    )
}

/// What no check of this port has a limit for.
fn beside(reference: &Compared, part: &Compared, words: &mut Vec<String>) {
    let mut compare = |what: &str, own: Option<f64>, other: Option<f64>, print: &dyn Fn(f64) -> String| match (
        own, other,
    ) {
        (Some(own), Some(other)) if (other - own).abs() > ALIKE * own.abs() => {
            words.push(format!("{what} {} in place of {}", print(other), print(own)));
        }
        (Some(own), None) => words.push(format!("{what} not stated, in place of {}", print(own))),
        _ => {}
    };
    compare("stand-off", reference.stand_off_v, part.stand_off_v, &volts);
    compare(
        "capacitance",
        reference.capacitance_f,
        part.capacitance_f,
        &farads,
    );
    compare("area", reference.area_m2, part.area_m2, &|area| {
        format!("{:.1} mm²", area * 1e6)
    });
    compare("cost", reference.cost, part.cost, &|cost| format!("{cost}"));
}
