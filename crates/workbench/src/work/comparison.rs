//! Parts side by side, and the parts nearest to one.

use std::sync::Arc;

use tidewall_assess::compare::{compare, equivalents};
use tidewall_assess::rank::RankOptions;
use tidewall_desk::candidates;
use tidewall_desk::failure::Failure;
use tidewall_study::Study;
use tidewall_transient::Options;

use super::{Work, chosen, everything, position, refused, shunt_stage};
use crate::asked::Asked;
use crate::product::Product;
use crate::state::App;

/// Most parts side by side.
const MOST: usize = 8;

pub(super) fn work(app: &App, study: Arc<Study>, asked: &Asked) -> Result<Work, Failure> {
    let stage = shunt_stage(&study, asked)?;
    let mut names = asked.all("part");
    let mut seen = std::collections::BTreeSet::new();
    names.retain(|name| seen.insert(name.clone()));
    if names.len() > MOST {
        return Err(Failure::usage(
            format!("more than {MOST} parts are named"),
            "take fewer; a ranking looks at many",
        ));
    }
    if names.is_empty() {
        return Err(Failure::usage(
            "no part is named",
            "name the parts to lay side by side",
        ));
    }
    let parts = candidates::named(&everything(app, &study)?, &names)?;
    for part in &parts {
        position(&study, &stage, std::slice::from_ref(part))?;
    }
    Ok(Box::new(move |run| {
        let show = |done: usize, all: usize| run.show_or_stop("parts", done, all);
        show(0, parts.len());
        let found = compare(&study, &stage, &parts, &Options::default(), &show).map_err(refused)?;
        Ok(Product::Comparison(found))
    }))
}

pub(super) fn equivalents_work(app: &App, study: Arc<Study>, asked: &Asked) -> Result<Work, Failure> {
    let stage = shunt_stage(&study, asked)?;
    let Some(name) = asked.one("of") else {
        return Err(Failure::usage("no part is named", "name the part to be replaced"));
    };
    let all = everything(app, &study)?;
    let reference = candidates::named(&all, &[name.to_owned()])?.remove(0);
    position(&study, &stage, std::slice::from_ref(&reference))?;
    let others = chosen(app, &study, asked)?;
    position(&study, &stage, &others)?;
    let most = asked.whole("top", 5, 1..=20)? as usize;
    Ok(Box::new(move |run| {
        let known = run.app().jobs().known();
        let options = RankOptions {
            known: &|fingerprint| known.get(fingerprint),
            judged: &|candidate, done, all| {
                known.keep(candidate);
                run.show("candidates", done as u64, all as u64);
            },
            stop: &|| run.stopping(),
            ..RankOptions::default()
        };
        let found = equivalents(&study, &stage, &reference, &others, most, &options).map_err(refused)?;
        Ok(Product::Equivalents(found))
    }))
}
