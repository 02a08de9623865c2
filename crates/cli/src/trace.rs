//! Waveforms as CSV.

use std::io::{self, Write};

use tidewall_assess::result::Assessment;
use tidewall_assess::simulate::CaseOutcome;
use tidewall_assess::traces::worst_runs;
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
    let traces = worst_runs(study, result, options);
    if let Some((_, error)) = traces.failures.first() {
        return Err(Failure::usage(format!("no waveforms: {error}"), ""));
    }
    let tables: Vec<(String, CaseOutcome)> = traces
        .outcomes
        .into_iter()
        .map(|outcome| (corner::text(study, &outcome.case), outcome))
        .collect();
    if tables.is_empty() {
        return Err(Failure::usage(
            "there are no waveforms to write: no transient could be computed",
            "the sheet says which data are missing",
        ));
    }
    target.write(|out| csv(study, &tables, out))?;
    Ok(tables.into_iter().map(|(text, _)| text).collect())
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
        if outcome.has_junction(element) {
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
        if outcome.has_junction(element) {
            columns.push(&recording.junctions_c[element]);
        }
    }
    columns
}

/// A name without spaces.
fn column(name: &str) -> String {
    name.split_whitespace().collect::<Vec<_>>().join("_")
}
