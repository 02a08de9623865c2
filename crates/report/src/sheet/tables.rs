//! Sheets of results.

use rust_xlsxwriter::{Chart, ChartType, Workbook, XlsxError};
use tidewall_assess::rank::Standing;
use tidewall_assess::result::{Corner, Polarity};
use tidewall_study::Study;

use super::{Cell, begin, write};
use crate::content::program;
use crate::gather::Material;

/// Headings of a corner.
const CORNER: [&str; 6] = [
    "ambient / °C",
    "parts",
    "generator",
    "amplitude / nominal",
    "polarity",
    "line / V",
];

fn corner(corner: Option<&Corner>) -> Vec<Cell> {
    let sign = |polarity| match polarity {
        Polarity::Positive => "positive",
        Polarity::Negative => "negative",
    };
    vec![
        corner.map(|corner| corner.ambient_c).into(),
        corner
            .and_then(|corner| corner.part)
            .map(|part| part.word())
            .into(),
        corner
            .and_then(|corner| corner.stress_tolerance)
            .map(|set| set.word())
            .into(),
        corner.and_then(|corner| corner.stress_factor).into(),
        corner.and_then(|corner| corner.polarity).map(sign).into(),
        corner.and_then(|corner| corner.supply_v).into(),
    ]
}

fn heads<'a>(before: &[&'a str], after: &[&'a str]) -> Vec<&'a str> {
    [before, &CORNER, after].concat()
}

/// What the workbook is of.
pub fn study(book: &mut Workbook, study: &Study, material: &Material) -> Result<(), XlsxError> {
    let sheet = begin(book, "Study", &["what", "value"])?;
    sheet.set_column_width(0, 40)?;
    sheet.set_column_width(1, 80)?;
    let result = &material.result;
    let lines: [(&str, String); 5] = [
        ("title", study.title.clone()),
        ("verdict", result.verdict.word().to_owned()),
        ("SHA-256 of the study and its files", result.study.digest.clone()),
        ("program", program()),
        ("margin asked for", study.margin.to_string()),
    ];
    let lines = lines.into_iter().map(|(what, value)| (what.to_owned(), value));
    let cautions = result
        .cautions
        .iter()
        .map(|line| ("caution".to_owned(), line.clone()));
    let assumed = result
        .assumptions
        .iter()
        .map(|line| ("assumed".to_owned(), line.clone()));
    for (row, (what, value)) in (1u32..).zip(lines.chain(cautions).chain(assumed)) {
        write(sheet, row, vec![what.into(), value.into()])?;
    }
    Ok(())
}

/// Every check, with a chart of the margins.
pub fn checks(book: &mut Workbook, material: &Material) -> Result<(), XlsxError> {
    let heads = heads(
        &[
            "check", "stress", "element", "value", "limit", "unit", "margin", "verdict",
        ],
        &["why", "missing", "origin of the limit"],
    );
    let sheet = begin(book, "Checks", &heads)?;
    let checks = &material.result.checks;
    let mut charted = 0u32;
    for (row, check) in (1u32..).zip(checks) {
        let mut cells = vec![
            check.check.into(),
            check.stress.as_deref().into(),
            check.element.as_str().into(),
            check.value.into(),
            check.limit.into(),
            check.unit.into(),
            check.margin.into(),
            check.verdict.word().into(),
        ];
        cells.extend(corner(check.corner.as_ref()));
        cells.push(check.why.as_str().into());
        cells.push(check.missing.as_deref().into());
        cells.push(check.limit_origin.as_deref().into());
        write(sheet, row, cells)?;
        // Margins beyond the limit itself would flatten all others; the checks stand worst first.
        if check.margin.is_some_and(|margin| margin < 0.999) {
            charted = row;
        }
    }
    if charted > 0 {
        let mut chart = Chart::new(ChartType::Bar);
        chart
            .add_series()
            .set_name("margin")
            .set_categories(("Checks", 1, 0, charted, 2))
            .set_values(("Checks", 1, 6, charted, 6));
        chart.title().set_name("Margins, worst first");
        chart.x_axis().set_name("margin as a share of the limit");
        chart.y_axis().set_reverse();
        chart.legend().set_hidden();
        chart.set_width(900).set_height(180 + 18 * charted.min(60));
        sheet.insert_chart(checks.len() as u32 + 3, 0, &chart)?;
    }
    Ok(())
}

/// Every transient.
pub fn transients(book: &mut Workbook, material: &Material) -> Result<(), XlsxError> {
    let heads = heads(
        &["stress"],
        &[
            "connector peak / V",
            "pin peak / V",
            "pin peak / A",
            "delivered / J",
            "dissipated / J",
            "stored / J",
            "residual of the audit",
        ],
    );
    let sheet = begin(book, "Transients", &heads)?;
    for (row, run) in (1u32..).zip(&material.result.transients) {
        let mut cells = vec![run.stress.as_str().into()];
        cells.extend(corner(Some(&run.corner)));
        cells.extend([
            run.connector_peak_v.into(),
            run.pin_peak_v.into(),
            run.pin_peak_a.into(),
            run.audit.delivered_j.into(),
            run.audit.dissipated_j.into(),
            run.audit.stored_j.into(),
            run.audit.residual.into(),
        ]);
        write(sheet, row, cells)?;
    }
    Ok(())
}

/// Every element in every transient.
pub fn elements(book: &mut Workbook, material: &Material) -> Result<(), XlsxError> {
    let heads = heads(
        &["stress"],
        &[
            "element",
            "peak / V",
            "peak / A",
            "energy / J",
            "∫i²dt / A²s",
            "junction / °C",
        ],
    );
    let sheet = begin(book, "Elements", &heads)?;
    let mut row = 1;
    for run in &material.result.transients {
        for element in &run.elements {
            let mut cells = vec![run.stress.as_str().into()];
            cells.extend(corner(Some(&run.corner)));
            cells.extend([
                element.name.as_str().into(),
                element.peak_v.into(),
                element.peak_a.into(),
                element.energy_j.into(),
                element.i2t_a2s.into(),
                element.peak_junction_c.into(),
            ]);
            write(sheet, row, cells)?;
            row += 1;
        }
    }
    Ok(())
}

/// What a longer path costs.
pub fn leads(book: &mut Workbook, material: &Material) -> Result<(), XlsxError> {
    let heads = [
        "stress",
        "stage",
        "own path / H",
        "pin peak / V",
        "pin peak with 1 nH more / V",
    ];
    let sheet = begin(book, "Paths", &heads)?;
    for (row, lead) in (1u32..).zip(&material.paths) {
        let cells = vec![
            lead.stress.as_str().into(),
            lead.stage.as_str().into(),
            lead.lead_h.into(),
            lead.pin_v.into(),
            lead.with_more_v.into(),
        ];
        write(sheet, row, cells)?;
    }
    Ok(())
}

/// What else could stand in each stage.
pub fn alternatives(book: &mut Workbook, material: &Material) -> Result<(), XlsxError> {
    let heads = [
        "stage",
        "part",
        "family",
        "verdict",
        "worst margin",
        "check",
        "stress",
        "why",
    ];
    let sheet = begin(book, "Alternatives", &heads)?;
    let mut row = 1;
    for tried in &material.alternatives {
        for candidate in tried.ranking.ranked.iter().chain(&tried.ranking.rejected) {
            let placed = candidate.placed.first();
            let (verdict, margin, check) = match &candidate.standing {
                Standing::Ranked {
                    verdict,
                    worst_margin,
                    checks,
                    ..
                } => (verdict.word(), *worst_margin, checks.first()),
                Standing::Rejected { reason, .. } => ("fail", reason.margin, Some(&**reason)),
            };
            let cells = vec![
                tried.stage.as_str().into(),
                placed.and_then(|placed| placed.part.as_deref()).into(),
                placed.and_then(|placed| placed.family.as_deref()).into(),
                verdict.into(),
                margin.into(),
                check.map(|check| check.check.as_str()).into(),
                check.and_then(|check| check.stress.as_deref()).into(),
                check.map(|check| check.why.as_str()).into(),
            ];
            write(sheet, row, cells)?;
            row += 1;
        }
    }
    Ok(())
}

/// Where values come from.
pub fn origins(book: &mut Workbook, material: &Material) -> Result<(), XlsxError> {
    let sheet = begin(book, "Origins", &["what", "value", "origin"])?;
    for (row, origin) in (1u32..).zip(&material.result.origins) {
        let cells = vec![
            origin.what.as_str().into(),
            origin.value.as_str().into(),
            origin.origin.as_str().into(),
        ];
        write(sheet, row, cells)?;
    }
    Ok(())
}
