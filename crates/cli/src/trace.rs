//! Waveforms as CSV.

use std::io::{self, Write};

use tidewall_assess::corners::Case;
use tidewall_assess::result::{Assessment, Corner, Polarity, TransientResult};
use tidewall_assess::simulate::{CaseOutcome, simulate};
use tidewall_stress::catalogue::Sign;
use tidewall_study::Study;
use tidewall_transient::{Options, Recording};

use crate::corner;
use crate::failure::Failure;
use crate::output::Target;

/// Writes the waveforms of each stress at its worst let-through; says in words which corners these are.
pub fn write(
    study: &Study,
    result: &Assessment,
    options: &Options,
    target: &Target,
) -> Result<Vec<String>, Failure> {
    let recording = Options {
        record: true,
        ..*options
    };
    let mut tables = Vec::new();
    for index in 0..study.stresses.len() {
        let Some(case) = worst(study, result, index) else {
            continue;
        };
        let outcome = simulate(study, &case, &recording)
            .map_err(|error| Failure::usage(format!("no waveforms: {error}"), ""))?;
        tables.push((corner::text(study, &case), outcome));
    }
    if tables.is_empty() {
        return Err(Failure::usage(
            "there are no waveforms to write: no transient could be computed",
            "the sheet says which data are missing",
        ));
    }
    target.write(|out| csv(study, &tables, out))?;
    Ok(tables.into_iter().map(|(text, _)| text).collect())
}

/// The corner of a stress's worst let-through check. Where that check has no limit no corner is worse than another;
/// then it is the corner of the highest voltage at the pin.
pub fn worst_transient<'a>(result: &'a Assessment, stress: &str) -> Option<&'a TransientResult> {
    let of_stress = || result.transients.iter().filter(|run| run.stress == stress);
    let checked = result
        .checks
        .iter()
        .find(|check| check.stress.as_deref() == Some(stress) && check.check.starts_with("let-through"))
        .filter(|check| check.margin.is_some())
        .and_then(|check| of_stress().find(|run| Some(run.corner) == check.corner));
    checked.or_else(|| of_stress().max_by(|a, b| a.pin_peak_v.abs().total_cmp(&b.pin_peak_v.abs())))
}

fn worst(study: &Study, result: &Assessment, stress: usize) -> Option<Case> {
    let run = worst_transient(result, &study.stresses[stress].id)?;
    let Corner {
        ambient_c,
        part,
        stress_tolerance,
        stress_factor,
        polarity,
        supply_v,
    } = run.corner;
    Some(Case {
        stress,
        ambient_c,
        parts: part?,
        tolerance: stress_tolerance?,
        factor: stress_factor?,
        sign: if polarity? == Polarity::Negative {
            Sign::Negative
        } else {
            Sign::Positive
        },
        supply_v,
    })
}

fn csv(study: &Study, tables: &[(String, CaseOutcome)], out: &mut dyn Write) -> io::Result<()> {
    let mut writer = csv::Writer::from_writer(out);
    // Every corner is the same port, so the first one's columns are everyone's.
    if let Some((_, outcome)) = tables.first() {
        writer.write_record(header(outcome))?;
    }
    for (text, outcome) in tables {
        let stress = &study.stresses[outcome.case.stress].id;
        let Some(recording) = &outcome.outcome.recording else {
            continue;
        };
        for sample in 0..recording.times_s.len() {
            let mut row = vec![stress.clone(), text.clone(), number(recording.times_s[sample])];
            row.extend(
                series(outcome, recording)
                    .iter()
                    .map(|values| number(values[sample])),
            );
            writer.write_record(row)?;
        }
    }
    writer.flush()
}

/// Shortest text that is the same number when read back.
fn number(value: f64) -> String {
    format!("{value:e}")
}

/// Elements with a thermal model, whose junction temperature says something.
fn has_junction(outcome: &CaseOutcome, element: usize) -> bool {
    outcome
        .protector(&outcome.names[element])
        .is_some_and(|protector| !protector.thermal.is_empty())
}

fn header(outcome: &CaseOutcome) -> Vec<String> {
    let mut names: Vec<String> = ["stress", "corner", "time_s"].map(str::to_owned).to_vec();
    let mut add = |name: String| {
        // Two elements of one name would make two columns of one name.
        let mut unique = name.clone();
        let mut count = 1;
        while names.contains(&unique) {
            count += 1;
            unique = format!("{name}_{count}");
        }
        names.push(unique);
    };
    for probe in &outcome.assembly.probes {
        add(format!("{}_v", column(&probe.name)));
    }
    for &element in &outcome.assembly.elements {
        let name = column(&outcome.names[element]);
        add(format!("{name}_voltage_v"));
        add(format!("{name}_current_a"));
        if has_junction(outcome, element) {
            add(format!("{name}_junction_c"));
        }
    }
    names
}

/// Columns in the order of [`header`], after the first three.
fn series<'a>(outcome: &CaseOutcome, recording: &'a Recording) -> Vec<&'a [f64]> {
    let mut columns: Vec<&[f64]> = recording.probes_v.iter().map(Vec::as_slice).collect();
    for &element in &outcome.assembly.elements {
        columns.push(&recording.elements_v[element]);
        columns.push(&recording.elements_a[element]);
        if has_junction(outcome, element) {
            columns.push(&recording.junctions_c[element]);
        }
    }
    columns
}

/// A name without spaces.
fn column(name: &str) -> String {
    name.split_whitespace().collect::<Vec<_>>().join("_")
}
