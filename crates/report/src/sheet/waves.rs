//! Sheets of waves, each with a chart.

use rust_xlsxwriter::{Chart, ChartType, Workbook, XlsxError};
use tidewall_assess::simulate::CaseOutcome;
use tidewall_study::Study;

use super::{begin, write};
use crate::words::harmless;
use crate::words::number::corner_words;

/// Most samples in a sheet; of longer recordings the extremes of each piece are kept.
const SAMPLES: usize = 4000;

/// The waves of one run: probes, then voltage and current of each element.
pub fn sheet(book: &mut Workbook, study: &Study, outcome: &CaseOutcome) -> Result<(), XlsxError> {
    let Some(recording) = &outcome.outcome.recording else {
        return Ok(());
    };
    let mut columns: Vec<(String, &[f64])> = vec![("time / s".to_owned(), &recording.times_s)];
    for (probe, volts) in outcome.assembly.probes.iter().zip(&recording.probes_v) {
        columns.push((format!("{} / V", harmless(&probe.name)), volts));
    }
    let probes = columns.len() - 1;
    for &element in &outcome.assembly.elements {
        let name = harmless(&outcome.names[element]);
        columns.push((format!("{name} / V"), &recording.elements_v[element]));
        columns.push((format!("{name} / A"), &recording.elements_a[element]));
        if outcome.has_junction(element) {
            columns.push((format!("{name} / °C"), &recording.junctions_c[element]));
        }
    }
    // A number and no id: ids may hold what the name of a sheet must not.
    let name = format!("Waves {}", outcome.case.stress + 1);
    let heads: Vec<&str> = columns.iter().map(|(head, _)| head.as_str()).collect();
    let sheet = begin(book, &name, &heads)?;
    let kept = kept(&recording.probes_v, recording.times_s.len());
    for (row, &sample) in (1u32..).zip(&kept) {
        let cells = columns.iter().map(|(_, series)| series[sample].into());
        write(sheet, row, cells.collect())?;
    }
    let id = harmless(&study.stresses[outcome.case.stress].id);
    let mut chart = Chart::new(ChartType::ScatterStraight);
    let last = kept.len() as u32;
    for probe in 1..=probes {
        let column = probe as u16;
        chart
            .add_series()
            .set_name((name.as_str(), 0, column))
            .set_categories((name.as_str(), 1, 0, last, 0))
            .set_values((name.as_str(), 1, column, last, column));
    }
    chart
        .title()
        .set_name(&format!("{id}: {}", corner_words(&outcome.case.corner())));
    chart
        .title()
        .set_font(rust_xlsxwriter::ChartFont::new().set_size(11));
    chart.x_axis().set_name("time / s");
    chart.y_axis().set_name("voltage / V");
    chart.set_width(900).set_height(420);
    sheet.insert_chart(1, columns.len() as u16 + 1, &chart)?;
    Ok(())
}

/// The samples to keep, rising: all, or of each piece those where some series has its least and largest.
fn kept(series: &[Vec<f64>], samples: usize) -> Vec<usize> {
    if samples <= SAMPLES || series.is_empty() {
        return (0..samples).collect();
    }
    let pieces = (SAMPLES / (2 * series.len())).max(1);
    let mut kept = vec![0, samples - 1];
    for piece in 0..pieces {
        let range = piece * samples / pieces..(piece + 1) * samples / pieces;
        for values in series {
            let by_value = |a: &usize, b: &usize| values[*a].total_cmp(&values[*b]);
            kept.extend(range.clone().min_by(by_value));
            kept.extend(range.clone().max_by(by_value));
        }
    }
    kept.sort_unstable();
    kept.dedup();
    kept
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_wave_keeps_its_extremes() {
        let mut wave: Vec<f64> = (0..100_000).map(|k| f64::from(k % 7)).collect();
        wave[54_321] = 1e3;
        wave[54_322] = -1e3;
        let kept = kept(&[wave], 100_000);
        assert!(kept.len() <= SAMPLES + 2, "{}", kept.len());
        assert!(kept.contains(&54_321) && kept.contains(&54_322));
        assert!(kept.is_sorted());
    }
}
