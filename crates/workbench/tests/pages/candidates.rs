//! Ranking, comparing, and putting a part into the study.

use serde_json::json;
use tidewall_assess::rank::{Candidate, Counts, Placed, RANKING_SCHEMA, Ranking, Standing};
use tidewall_assess::result::{StudyRef, Verdict};
use tidewall_workbench::asked::Asked;
use tidewall_workbench::jobs::{Kind, Stage, Wish, start};
use tidewall_workbench::product::{Product, Ranked};

use crate::bench::{Bench, STUDY};
use crate::{post, ran};

/// Family words keep the runs short.
fn avalanche() -> serde_json::Value {
    json!({ "stage": ["D1"], "from": ["study"], "family": ["avalanche"] })
}

/// Names of the ranked, best first.
fn ranked(bench: &Bench, id: u64) -> Vec<String> {
    let Stage::Done(product) = bench.app.jobs().get(id).expect("a run").stage() else {
        panic!("not done");
    };
    let Product::Ranking(ranked) = &*product else {
        panic!("no ranking");
    };
    let parts = ranked.ranking.ranked.iter();
    parts
        .map(|candidate| candidate.placed[0].part.clone().expect("a part"))
        .collect()
}

#[tokio::test]
async fn a_ranked_part_is_put_into_the_study() {
    let bench = Bench::new();
    let path = bench.folder.path().join("sensor.toml");
    // A part of too much capacitance stands in the stage; of the study's own only one holds.
    let before = STUDY.replace("\"birch-36\"", "\"alder-36\"");
    std::fs::write(&path, &before).expect("a file");
    let id = ran(&bench, "ranking", &avalanche()).await;
    assert_eq!(ranked(&bench, id), ["birch-36"]);
    let page = bench
        .get(&format!("/study/sensor.toml/candidates?run={id}"))
        .await;
    assert_eq!(page.status, 200);
    assert!(
        page.body.contains("aria-label=\"Use in D1: birch-36\""),
        "{}",
        page.body
    );
    assert!(page.body.contains("<h2 id=\"rejected\">"), "the others fail");

    let base = bench
        .app
        .reading("sensor.toml")
        .expect("a study")
        .snapshot
        .revision;
    let take = json!({ "base": base, "run": id, "row": 0 });
    let answer = post(&bench, "/api/study/sensor.toml/use", &take).await;
    assert_eq!(answer.status, 200, "{}", answer.body);
    let text = std::fs::read_to_string(&path).expect("a file");
    assert_eq!(text, STUDY, "the name alone has changed");

    // The same press from a page that has not heard of it is a conflict, and changes nothing.
    let answer = post(&bench, "/api/study/sensor.toml/use", &take).await;
    assert_eq!(answer.status, 409, "{}", answer.body);
    assert_eq!(std::fs::read_to_string(&path).expect("a file"), text);
    let page = bench
        .get(&format!("/study/sensor.toml/candidates?run={id}"))
        .await;
    assert!(
        page.body.contains("have changed since"),
        "the ranking is of the text before"
    );
    assert!(page.body.contains("stands there"), "{}", page.body);
    for wrong in [
        json!({ "base": base, "run": id, "row": 4000 }),
        json!({ "base": base, "run": 1, "row": 0 }),
    ] {
        let answer = post(&bench, "/api/study/sensor.toml/use", &wrong).await;
        assert_eq!(answer.status, 404, "{wrong}");
    }
}

/// A ranking that holds one candidate of that name.
fn ranking_of(name: &str) -> Ranking {
    let candidate = Candidate {
        fingerprint: String::new(),
        placed: vec![Placed {
            stage: "D1".to_owned(),
            part: Some(name.to_owned()),
            family: Some("avalanche diode".to_owned()),
            resistance_ohm: None,
        }],
        area_m2: None,
        cost: None,
        capacitance_f: None,
        transients: 0,
        standing: Standing::Ranked {
            verdict: Verdict::Pass,
            worst_margin: None,
            let_through_margin: None,
            checks: Vec::new(),
        },
    };
    Ranking {
        schema: RANKING_SCHEMA,
        version: "0",
        study: StudyRef {
            title: String::new(),
            digest: String::new(),
        },
        positions: vec!["D1".to_owned()],
        complete: true,
        counts: Counts::default(),
        order: String::new(),
        ranked: vec![candidate],
        rejected: Vec::new(),
        short_list: None,
    }
}

#[tokio::test]
async fn a_class_is_ranked_but_cannot_be_used() {
    let bench = Bench::new();
    let classes = tidewall_parts::generic::all();
    let name = classes.first().expect("a class").name.clone();
    let wish = Wish {
        study: "sensor.toml".to_owned(),
        kind: Kind::Ranking,
        asked: Asked::default(),
        digest: String::new(),
    };
    let ranking = ranking_of(&name);
    let generic = std::iter::once(name.clone()).collect();
    let job = start(&bench.app, wish, move |_| {
        Ok(Product::Ranking(Ranked { ranking, generic }))
    })
    .expect("a run");
    crate::ended(&job).await;
    let id = job.id;
    let base = bench
        .app
        .reading("sensor.toml")
        .expect("a study")
        .snapshot
        .revision;
    let page = bench
        .get(&format!("/study/sensor.toml/candidates?run={id}"))
        .await;
    assert!(page.body.contains("a class, no part") && !page.body.contains("data-use"));
    let take = json!({ "base": base, "run": id, "row": 0 });
    let answer = post(&bench, "/api/study/sensor.toml/use", &take).await;
    assert_eq!(answer.status, 422, "{}", answer.body);
    assert!(answer.body.contains(&*name), "{}", answer.body);
    let text = std::fs::read_to_string(bench.folder.path().join("sensor.toml")).expect("a file");
    assert_eq!(text, STUDY);
}

#[tokio::test]
async fn rows_are_sorted_and_narrowed() {
    let bench = Bench::new();
    let asked = json!({ "stage": ["R1"], "from": ["study"] });
    let refused = post(
        &bench,
        "/api/study/sensor.toml/run/ranking",
        &json!({ "stage": ["connector"] }),
    )
    .await;
    assert_eq!(refused.status, 400);
    assert!(refused.body.contains("no values to try"), "{}", refused.body);
    let resistors = ran(&bench, "ranking", &asked).await;
    assert!(!ranked(&bench, resistors).is_empty());

    let values = json!({ "stage": ["connector"], "values:connector": ["5mΩ, 1Ω, 10Ω"] });
    let id = ran(&bench, "ranking", &values).await;
    let shown = async |query: &str| {
        let page = bench
            .get(&format!("/study/sensor.toml/candidates?run={id}{query}"))
            .await;
        let rows = page
            .body
            .split("<table class=\"ranking\">")
            .nth(1)
            .map(str::to_owned);
        (page.body.clone(), rows.unwrap_or_default())
    };
    let (page, rows) = shown("&sort=part").await;
    assert!(page.contains("aria-sort=\"ascending\"") && page.contains("value=\"part-down\""));
    let place = |text: &str, what: &str| text.find(what).unwrap_or_else(|| panic!("{what} in {text}"));
    assert!(place(&rows, "5 mΩ") < place(&rows, "10 Ω"));
    let (_, rows) = shown("&sort=part-down").await;
    assert!(place(&rows, "10 Ω") < place(&rows, "5 mΩ"));
    let (page, _) = shown("&margin=1000").await;
    assert!(page.contains("0 of 3 that hold are shown"), "{page}");
    let (page, _) = shown("&capacitance=rubbish").await;
    assert!(page.contains("capacitance: "), "what cannot be read is said");
}

#[tokio::test]
async fn parts_stand_side_by_side() {
    let bench = Bench::new();
    let address = "/study/sensor.toml/compare?stage=D1&part=birch-36&part=beech-35";
    let page = bench.get(address).await;
    assert_eq!(page.status, 200);
    assert!(page.body.contains("Under way, comparison"), "{}", page.body);
    let job = bench
        .app
        .jobs()
        .latest("sensor.toml", Kind::Comparison)
        .expect("a run");
    crate::ended(&job).await;
    let page = bench.get(address).await;
    assert!(page.body.contains("birch-36") && page.body.contains("beech-35"));
    assert_eq!(page.body.matches("<svg").count(), 2, "two figures");
    assert!(!page.body.contains("style="), "the policy blocks inline styles");
    // The same question is not computed again.
    let again = bench
        .app
        .jobs()
        .latest("sensor.toml", Kind::Comparison)
        .expect("a run");
    assert_eq!(job.id, again.id);
    let page = bench.get("/study/sensor.toml/compare?part=nothing").await;
    assert!(page.body.contains("there is no part `nothing`"), "{}", page.body);
    let page = bench.get("/study/sensor.toml/compare?part=rowan-10").await;
    assert!(
        page.body.contains("no candidate") || page.body.contains("cannot stand"),
        "{}",
        page.body
    );
}

#[tokio::test]
async fn what_a_part_must_be_is_said() {
    let bench = Bench::new();
    let id = ran(&bench, "requirement", &json!({ "stage": ["D1"] })).await;
    let page = bench
        .get(&format!("/study/sensor.toml/candidates?run={id}"))
        .await;
    assert!(
        page.body.contains("What must a part be?") && page.body.contains("stand-off"),
        "{}",
        page.body
    );
    let none = post(
        &bench,
        "/api/study/sensor.toml/run/requirement",
        &json!({ "stage": ["R1"] }),
    )
    .await;
    assert_eq!(none.status, 400);
}
