//! A measured clamping voltage into the parts library.

use tidewall_assess::correlate::result::Correlation;
use tidewall_devices::datasheet::{Firmness, RatingWave, Spread};
use tidewall_extract::waves::{Treated, readings};
use tidewall_parts::{Action, Change, Condition, Datum, PartRecord, Provenance, Value};
use tidewall_study::{Stage, Study};

use crate::failure::Failure;
use crate::library::{self, Place, now};

/// How far front and tail may lie off 8/20 and still be called so (IEC 61000-4-5: ±20 %).
const TOLERANCE: f64 = 0.2;

/// Puts what the capture says of the part into the library; says in words what was done.
pub fn keep(study: &Study, result: &Correlation, waves: &Treated, place: &Place) -> Result<String, Failure> {
    let refuse = |message: String, hint: &str| Failure::library(message, hint);
    let element = result.current_of.clone().ok_or_else(|| {
        refuse(
            "without a measured current there is no clamping voltage to keep".to_owned(),
            "name the column of the current with --current",
        )
    })?;
    let at = study.ladder.iter().position(|stage| stage.name() == element);
    let Some((at, Stage::Shunt(shunt))) = at.map(|at| (at, &study.ladder[at])) else {
        return Err(refuse(
            format!("`{element}` is no shunt part of {}", study.path),
            "name the part's place with --current-of",
        ));
    };
    let node = node_of(study, at);
    if result.voltage_at != node {
        return Err(refuse(
            format!(
                "the voltage was measured at {}, but {element} stands at {node}",
                result.voltage_at
            ),
            "a clamping voltage is measured at the part; nothing was kept",
        ));
    }
    let found = readings(&waves.voltage, waves.current.as_ref());
    let values = found.and_then(|r| Some((r.clamp_v?.abs(), r.peak_a?.0.abs(), r.front_s?, r.tail_s?)));
    let (clamp_v, peak_a, front_s, tail_s) = values.ok_or_else(|| {
        refuse(
            "the current has no front and tail, so the condition of the clamping voltage is unknown"
                .to_owned(),
            "capture the whole impulse; nothing was kept",
        )
    })?;
    let near = |value: f64, wanted: f64| (value / wanted - 1.0).abs() <= TOLERANCE;
    let wave = if near(front_s, 8e-6) && near(tail_s, 20e-6) {
        RatingWave::Surge8x20
    } else {
        RatingWave::FrontTail { front_s, tail_s }
    };
    let record = &result.capture;
    let text = |text: &Option<String>| text.clone().unwrap_or_default();
    let document = format!(
        "measured: specimen {}, {}",
        text(&record.specimen),
        text(&record.instrument)
    );
    let datum = Datum {
        key: "clamp",
        value: Value::Spread(Spread {
            typ: Some(clamp_v),
            ..Spread::default()
        }),
        condition: Condition {
            wave: Some(wave),
            current_a: Some(peak_a),
            ..Condition::default()
        },
        firmness: Firmness::Measured,
        source: Provenance {
            document: document.clone(),
            revision: text(&record.date),
            place: record.file.clone(),
        },
    };
    let mut library = library::open(place)?;
    let Some(known) = library.part(&shunt.part)? else {
        return Err(refuse(
            format!(
                "the part `{}` is not in the library; nothing was kept",
                shunt.part
            ),
            "tidewall parts add puts the parts of a parts file there",
        ));
    };
    let action = Action {
        what: format!("capture {}", record.file),
        document,
        at_unix_s: Some(now()),
    };
    let mut edit = library.begin(&action)?;
    let change = edit.put(&PartRecord {
        name: known.name,
        family: known.family,
        data: vec![datum],
    })?;
    edit.commit()?;
    Ok(match change {
        Change::Changed(changes) => {
            let words: Vec<String> = changes.iter().map(|change| change.in_words()).collect();
            format!("kept of {}: {}", shunt.part, words.join("; "))
        }
        Change::Added => format!("kept of {}, which is new", shunt.part),
        Change::Unchanged => format!("{} had that measurement already", shunt.part),
    })
}

/// Name of the node at which a stage stands.
fn node_of(study: &Study, at: usize) -> String {
    let series = |stage: &&Stage| matches!(stage, Stage::Series(_));
    if study.ladder[at..].iter().all(|stage| !series(&stage)) {
        return "pin".to_owned();
    }
    match study.ladder[..at].iter().rfind(series) {
        Some(stage) => format!("after {}", stage.name()),
        None => "connector".to_owned(),
    }
}
