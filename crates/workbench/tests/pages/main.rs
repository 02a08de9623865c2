//! Pages with long runs, against the server as it is.

#[path = "../safety/bench.rs"]
mod bench;
mod candidates;
mod documents;
mod runs;

use std::time::Duration;

use axum::body::Body;
use bench::{Answer, Bench};
use tidewall_workbench::jobs::Job;

/// How long a run may take on a busy machine.
const PATIENCE: Duration = Duration::from_secs(240);

/// Sends a change with a JSON body.
async fn post(bench: &Bench, address: &str, body: &serde_json::Value) -> Answer {
    let body = Body::from(body.to_string());
    bench
        .send(bench.request("POST", address).body(body).expect("a request"))
        .await
}

/// Begins a run and waits for its end; its number.
async fn ran(bench: &Bench, kind: &str, asked: &serde_json::Value) -> u64 {
    let answer = post(bench, &format!("/api/study/sensor.toml/run/{kind}"), asked).await;
    assert_eq!(answer.status, 200, "{}", answer.body);
    let begun: serde_json::Value = serde_json::from_str(&answer.body).expect("JSON");
    let id = begun["run"].as_u64().expect("a number");
    ended(&bench.app.jobs().get(id).expect("a run")).await;
    id
}

/// Waits for the end of a run.
async fn ended(job: &Job) {
    let wait = async {
        while !job.ended() {
            tokio::time::sleep(Duration::from_millis(5)).await;
        }
    };
    tokio::time::timeout(PATIENCE, wait).await.expect("the run ends");
}
