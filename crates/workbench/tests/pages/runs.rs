//! The registry of runs.

use std::sync::mpsc::channel;
use std::time::Duration;

use serde_json::json;
use tidewall_desk::failure::Failure;
use tidewall_workbench::asked::Asked;
use tidewall_workbench::jobs::{Kind, Stage, Wish, start};

use crate::bench::Bench;
use crate::{ended, post};

fn wish(study: &str, kind: Kind) -> Wish {
    Wish {
        study: study.to_owned(),
        kind,
        asked: Asked::default(),
        digest: "none".to_owned(),
    }
}

/// A run that goes on until it is stopped.
fn endless(bench: &Bench, study: &str, kind: Kind) -> std::sync::Arc<tidewall_workbench::jobs::Job> {
    start(&bench.app, wish(study, kind), |run| {
        loop {
            run.show_or_stop("pieces", 3, 10);
            std::thread::sleep(Duration::from_millis(2));
        }
    })
    .expect("a run")
}

#[tokio::test(flavor = "multi_thread")]
async fn a_run_is_followed_and_stopped() {
    let bench = Bench::new();
    let job = endless(&bench, "sensor.toml", Kind::Report);
    let page = "/study/sensor.toml/report";
    let going = async {
        loop {
            let answer = bench.get(page).await;
            if answer.body.contains("3 of 10") {
                return answer;
            }
            tokio::time::sleep(Duration::from_millis(5)).await;
        }
    };
    let answer = tokio::time::timeout(crate::PATIENCE, going)
        .await
        .expect("progress");
    assert!(answer.body.contains(&format!("data-stop=\"{}\"", job.id)));
    assert!(answer.body.contains("A stop keeps nothing"));
    let stop = format!("/api/runs/{}/stop", job.id);
    let stopped = post(&bench, &stop, &json!({})).await;
    assert_eq!(
        (stopped.status.as_u16(), stopped.body.contains("true")),
        (200, true)
    );
    ended(&job).await;
    assert!(
        bench
            .get(page)
            .await
            .body
            .contains("Stopped before there was a result")
    );
    let again = post(&bench, &stop, &json!({})).await;
    assert!(again.body.contains("false"), "it had ended: {}", again.body);
    assert_eq!(post(&bench, "/api/runs/7/stop", &json!({})).await.status, 404);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_newer_run_of_the_same_kind_stops_the_older() {
    let bench = Bench::new();
    let first = endless(&bench, "sensor.toml", Kind::Report);
    let other = endless(&bench, "other.toml", Kind::Report);
    let second = endless(&bench, "sensor.toml", Kind::Report);
    ended(&first).await;
    assert!(matches!(first.stage(), Stage::Stopped));
    assert!(!other.is_stopping() && !second.is_stopping());
    bench.app.jobs().stop_all();
    ended(&second).await;
    ended(&other).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn only_so_many_wait() {
    let bench = Bench::new();
    let mut last = None;
    for number in 0..100 {
        let name = format!("{number}.toml");
        let begun = start(&bench.app, wish(&name, Kind::Plan), |run| {
            loop {
                run.show_or_stop("pieces", 0, 1);
                std::thread::sleep(Duration::from_millis(2));
            }
        });
        if let Err(refusal) = begun {
            last = Some(refusal);
            break;
        }
    }
    assert_eq!(last.expect("a refusal").status, 429);
    bench.app.jobs().stop_all();
}

#[tokio::test(flavor = "multi_thread")]
async fn what_goes_wrong_in_a_run_ends_nothing_else() {
    let bench = Bench::new();
    let (tell, told) = channel();
    let broken = start(&bench.app, wish("sensor.toml", Kind::Report), move |_| {
        tell.send(()).expect("somebody listens");
        panic!("a defect")
    });
    let broken = broken.expect("a run");
    told.recv().expect("it ran");
    ended(&broken).await;
    let page = bench.get("/study/sensor.toml/report").await;
    assert!(
        page.body.contains("that is a defect of the workbench"),
        "{}",
        page.body
    );
    let failed = start(&bench.app, wish("sensor.toml", Kind::Report), |_| {
        Err(Failure::usage("<b>no", "try <i>"))
    });
    ended(&failed.expect("a run")).await;
    let page = bench.get("/study/sensor.toml/report").await;
    assert!(page.body.contains("&lt;b&gt;no") && !page.body.contains("<b>no"));
}

#[tokio::test]
async fn a_run_of_an_earlier_start_is_said_to_be_lost() {
    let bench = Bench::new();
    for page in ["candidates", "draws", "report"] {
        let answer = bench
            .get(&format!("/study/sensor.toml/{page}?run=1700000000000"))
            .await;
        assert!(
            answer.body.contains("is lost; nothing else is"),
            "{page}: {}",
            answer.body
        );
    }
}

#[tokio::test]
async fn what_makes_no_sense_is_refused_before_it_begins() {
    let bench = Bench::new();
    let kinds = [
        ("ranking", json!({ "stage": ["nowhere"], "from": ["study"] })),
        ("ranking", json!({ "stage": ["D1"], "from": ["/etc/passwd"] })),
        (
            "ranking",
            json!({ "stage": ["D1", "D1"], "from": ["study"], "prefer": ["weights"] }),
        ),
        ("ranking", json!({ "stage": ["D1"], "draws": ["many"] })),
        ("ranking", json!({})),
        ("draws", json!({ "draws": ["-1"] })),
        ("draws", json!({ "distribution": ["odd"] })),
        ("report", json!({ "draws": ["1e9"] })),
    ];
    for (kind, asked) in kinds {
        let answer = post(&bench, &format!("/api/study/sensor.toml/run/{kind}"), &asked).await;
        assert_eq!(answer.status, 400, "{kind} {asked}: {}", answer.body);
        assert!(!answer.body.contains("root:"), "{}", answer.body);
    }
    let answer = post(&bench, "/api/study/sensor.toml/run/nothing", &json!({})).await;
    assert_eq!(answer.status, 404);
    let answer = post(&bench, "/api/study/nowhere.toml/run/draws", &json!({})).await;
    assert_eq!(answer.status, 404);
}
