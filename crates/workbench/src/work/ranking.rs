//! Rankings.

use std::sync::Arc;

use tidewall_assess::draws;
use tidewall_assess::rank::{Choice, Order, Position, RankOptions, draw_best, rank};
use tidewall_desk::failure::Failure;
use tidewall_desk::ranking::{order, series};
use tidewall_devices::datasheet::Firmness;
use tidewall_study::{Stage, Study};
use tidewall_transient::Options;

use super::{Work, chosen, is_plain, position, refused};
use crate::asked::Asked;
use crate::product::{Product, Ranked};
use crate::state::App;

/// Combinations that a page may ask for at once; the command line goes further.
const MOST: usize = 50_000;
/// Draws of each of the best.
const MOST_DRAWS: u64 = 100_000;

pub(super) fn work(app: &App, study: Arc<Study>, asked: &Asked) -> Result<Work, Failure> {
    let positions = positions(app, &study, asked)?;
    let combinations = positions
        .iter()
        .try_fold(1usize, |all, position| all.checked_mul(position.choices.len()));
    if combinations.is_none_or(|all| all > MOST) {
        return Err(Failure::usage(
            format!("there are more than {MOST} combinations"),
            "take fewer families or values, or `tidewall rank` on the command line, which can go on after a stop",
        ));
    }
    let order = weights(asked)?;
    let best = asked.whole("best", 5, 1..=50)? as usize;
    let draws = match asked.whole("draws", 0, 0..=MOST_DRAWS)? {
        0 => None,
        count => Some(super::draws::plan(asked, count)?),
    };
    let generic = positions
        .iter()
        .flat_map(|position| &position.choices)
        .filter_map(|choice| match choice {
            Choice::Part(part) if part.firmness == Some(Firmness::Generic) => Some(part.name.to_string()),
            _ => None,
        })
        .collect();
    Ok(Box::new(move |run| {
        let known = run.app().jobs().known();
        let options = RankOptions {
            transient: Options::default(),
            order,
            screen: true,
            memo: None,
            known: &|fingerprint| known.get(fingerprint),
            judged: &|candidate, done, all| {
                known.keep(candidate);
                run.show("candidates", done as u64, all as u64);
            },
            stop: &|| run.stopping(),
        };
        let mut ranking = rank(&study, &positions, &options).map_err(refused)?;
        if let Some(plan) = draws
            && !run.stopping()
        {
            let best = &ranking.ranked[..ranking.ranked.len().min(best)];
            let show = |done, all| run.show("draws", done, all);
            let list = draw_best(
                &study,
                &positions,
                best,
                &plan,
                &Options::default(),
                &show,
                run.stop(),
            );
            ranking.short_list = Some(list);
        }
        Ok(Product::Ranking(Ranked { ranking, generic }))
    }))
}

/// Plan of the draws of the best, or of a study.
pub(super) fn distribution(asked: &Asked) -> Result<draws::Distribution, Failure> {
    match asked.one("distribution") {
        None | Some("uniform") => Ok(draws::Distribution::Uniform),
        Some("normal") => Ok(draws::Distribution::Normal),
        Some(other) => Err(Failure::usage(
            format!("`{other}` is no distribution"),
            "uniform or normal",
        )),
    }
}

fn positions(app: &App, study: &Study, asked: &Asked) -> Result<Vec<Position>, Failure> {
    let stages = asked.all("stage");
    if stages.is_empty() {
        return Err(Failure::usage(
            "no stage is chosen",
            "tick the stage that is to be filled",
        ));
    }
    let plain = |name: &str| {
        let mut ladder = study.ladder.iter();
        ladder.any(|stage: &Stage| stage.name() == name && is_plain(stage))
    };
    let parts = if stages.iter().all(|stage| plain(stage)) {
        Vec::new()
    } else {
        chosen(app, study, asked)?
    };
    let place = |stage: &String| {
        if !plain(stage) {
            return position(study, stage, &parts);
        }
        let values = asked.one(&format!("values:{stage}")).ok_or_else(|| {
            Failure::usage(
                format!("no values to try are given for {stage}"),
                "such as 1Ω,2.2Ω,4.7Ω or E6:1Ω..47Ω",
            )
        })?;
        let (_, ohms) = series("values", &format!("{stage}={values}"))?;
        Position::of_ohms(study, stage, &ohms).map_err(refused)
    };
    stages.iter().map(place).collect()
}

fn weights(asked: &Asked) -> Result<Order, Failure> {
    if asked.one("prefer") != Some("weights") {
        return Ok(Order::InTurn);
    }
    let weights = asked.below("weight:");
    let pairs: Vec<String> = weights
        .iter()
        .map(|(name, weight)| format!("{name}={}", weight.replace(',', ".")))
        .collect();
    if pairs.is_empty() {
        return Err(Failure::usage(
            "no weight is given",
            "give at least one above zero",
        ));
    }
    order("weights", &pairs.join(","))
}
