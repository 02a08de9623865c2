//! Verdict and recommendation: all that a reader in a hurry needs.

use tidewall_assess::explain;
use tidewall_assess::rank::Standing;
use tidewall_assess::result::{Assessment, CheckResult, Verdict};
use tidewall_study::{Stage, Study};
use tidewall_units::{Henries, Quantity};

use super::{Form, tone};
use crate::document::{Block, Section, Text, Verdict as Callout};
use crate::english as say;
use crate::gather::Material;
use crate::words::finding::{self, line, place};
use crate::words::number::{corner_words, percent};
use crate::words::sentence;

/// Checks told one by one before the rest is counted.
const TOLD: usize = 4;

pub fn section(study: &Study, material: &Material, form: &Form) -> Section {
    let result = &material.result;
    let mut section = Section::new("summary", say::SUMMARY);
    section.blocks.push(Block::Verdict(Callout {
        word: word(result.verdict).to_owned(),
        tone: tone(result.verdict),
        sentence: says(result.verdict).into(),
    }));
    section.blocks.push(Block::Terms(decides(study, result)));
    section.heading(say::RECOMMENDED);
    let points = recommendation(study, material);
    section.list(points);
    if let Some(words) = form.template.introduction() {
        section.blocks.extend(words);
    }
    section
}

fn word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Pass => say::verdict::PASS,
        Verdict::Marginal => say::verdict::MARGINAL,
        Verdict::Unknown => say::verdict::UNKNOWN,
        Verdict::Fail => say::verdict::FAIL,
    }
}

fn says(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Pass => say::verdict::PASS_SAYS,
        Verdict::Marginal => say::verdict::MARGINAL_SAYS,
        Verdict::Unknown => say::verdict::UNKNOWN_SAYS,
        Verdict::Fail => say::verdict::FAIL_SAYS,
    }
}

/// The check that decides, its value against its limit, and its corner.
fn decides(study: &Study, result: &Assessment) -> Vec<(String, Text)> {
    let mut terms = Vec::new();
    if let Some(worst) = result.checks.first() {
        let label = if worst.verdict == Verdict::Pass {
            say::WORST_MARGIN
        } else {
            say::DECIDES
        };
        let mut text = Text::default().strong(place(worst));
        if let Some(value) = against(worst) {
            text = text.plain(format!(": {value}"));
        }
        terms.push((
            label.to_owned(),
            text.plain(format!(". {}", sentence(&worst.why))),
        ));
        if let Some(corner) = &worst.corner {
            terms.push((say::AT.to_owned(), corner_words(corner).into()));
        }
    }
    let counts = finding::counts(result);
    let checked = say::checked(&counts, result.transients.len(), study.stresses.len());
    terms.push((say::CHECKED.to_owned(), checked.into()));
    terms
}

/// "72.1 V, limit ≤ 60 V, margin −20.2 %".
fn against(check: &CheckResult) -> Option<String> {
    let line = line(check);
    check.value?;
    let unit = |text: &str| format!("{text} {}", line.unit).trim_end().to_owned();
    let mut text = unit(&line.value);
    if check.limit.is_some() {
        text.push_str(&format!(", limit {}", unit(&line.limit)));
    }
    if let Some(margin) = check.margin {
        text.push_str(&format!(", margin {} %", percent(margin)));
    }
    Some(text)
}

fn recommendation(study: &Study, material: &Material) -> Vec<Text> {
    let result = &material.result;
    let mut points = Vec::new();
    match result.verdict {
        Verdict::Pass => points.push(build(study)),
        Verdict::Marginal => {
            points.push(build(study));
            points.extend(advice(result, Verdict::Marginal, say::MORE_MARGIN));
        }
        Verdict::Unknown => {
            for (datum, places) in finding::missing(result) {
                let wanted = say::wanted_for(&places.join("; "));
                points.push(
                    Text::default()
                        .strong(say::ASK_FOR)
                        .plain(format!("{datum}{wanted}")),
                );
            }
        }
        Verdict::Fail => {
            points.extend(would_hold(material));
            points.extend(advice(result, Verdict::Fail, say::CHANGE));
        }
    }
    points
}

/// What to build, with the paths that the result rests on.
fn build(study: &Study) -> Text {
    let paths = study.ladder.iter().filter_map(|stage| match stage {
        Stage::Shunt(shunt) => Some(say::lead(&shunt.name, &Henries(shunt.lead_h).rounded(3))),
        Stage::Capacitor(capacitor) => {
            Some(say::lead(&capacitor.name, &Henries(capacitor.lead_h).rounded(3)))
        }
        Stage::Series(_) => None,
    });
    let paths: Vec<String> = paths.collect();
    Text::from(format!("{}{}.", say::BUILD_AS_STUDIED, paths.join(", ")))
}

/// Of each check with this verdict the worst place, its reason and what to change.
fn advice(result: &Assessment, verdict: Verdict, change: &str) -> Vec<Text> {
    let mut told: Vec<&CheckResult> = Vec::new();
    for check in result.checks.iter().filter(|check| check.verdict == verdict) {
        if !told.iter().any(|known| known.check == check.check) {
            told.push(check);
        }
    }
    let mut points: Vec<Text> = told
        .iter()
        .take(TOLD)
        .map(|check| {
            let text = Text::default()
                .strong(place(check))
                .plain(format!(": {} ", sentence(&check.why)));
            match explain::find(check.check) {
                Some(rule) => text.strong(change).plain(rule.change),
                None => text,
            }
        })
        .collect();
    if told.len() > TOLD {
        points.push(say::more(told.len() - TOLD).into());
    }
    points
}

/// Parts that hold where the chosen one does not.
fn would_hold(material: &Material) -> Vec<Text> {
    let mut points = Vec::new();
    for tried in &material.alternatives {
        let hold: Vec<String> = tried
            .ranking
            .ranked
            .iter()
            .filter_map(|candidate| match &candidate.standing {
                Standing::Ranked {
                    verdict: verdict @ (Verdict::Pass | Verdict::Marginal),
                    worst_margin,
                    ..
                } => {
                    let part = candidate.placed.first()?.part.as_ref()?;
                    let margin = worst_margin.map_or(String::new(), |m| format!(", margin {} %", percent(m)));
                    Some(format!("{part} ({}{margin})", verdict.word()))
                }
                _ => None,
            })
            .take(TOLD)
            .collect();
        if !hold.is_empty() {
            let text = Text::default().strong(say::would_hold(&tried.stage, &tried.chosen));
            points.push(text.plain(format!("{}{}.", say::HOLD, hold.join(", "))));
        }
    }
    points
}
