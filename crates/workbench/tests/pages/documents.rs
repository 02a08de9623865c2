//! Test plan, report and draws: what is shown, and what is downloaded.

use serde_json::json;
use tidewall_transient::Options;
use tidewall_workbench::jobs::Kind;

use crate::bench::{Bench, STUDY};
use crate::{ended, ran};

#[tokio::test]
async fn a_plan_is_shown_and_downloaded() {
    let bench = Bench::new();
    let early = bench.get("/study/sensor.toml/plan/file.csv").await;
    assert_eq!(early.status, 409, "not finished yet");
    let job = bench.app.jobs().latest("sensor.toml", Kind::Plan).expect("a run");
    ended(&job).await;
    let page = bench.get("/study/sensor.toml/plan").await;
    assert!(
        page.body.contains("In the laboratory") && page.body.contains("generators"),
        "{}",
        page.body
    );
    let study = bench
        .app
        .reading("sensor.toml")
        .expect("a study")
        .study
        .expect("it reads");
    let plan = tidewall_assess::plan::plan(&study, &Options::default(), &|_, _| {});
    let mut table = Vec::new();
    tidewall_desk::plan::csv(&plan, &mut table).expect("a table");
    let csv = bench.get("/study/sensor.toml/plan/file.csv").await;
    assert_eq!(csv.body.as_bytes(), table);
    assert_eq!(
        csv.headers["content-disposition"],
        "attachment; filename=\"sensor-plan.csv\""
    );
    let json = bench.get("/study/sensor.toml/plan/file.json").await;
    let read: serde_json::Value = serde_json::from_str(&json.body).expect("JSON");
    assert_eq!(read, serde_json::to_value(&plan).expect("JSON"));
}

#[tokio::test]
async fn a_report_is_read_under_its_own_policy_and_downloaded() {
    let bench = Bench::new();
    let id = ran(&bench, "report", &json!({ "date": ["5 May <i>"] })).await;
    let page = bench.get(&format!("/study/sensor.toml/report?run={id}")).await;
    let note = format!("/study/sensor.toml/report/{id}/note");
    assert!(page.body.contains(&format!("href=\"{note}\"")), "{}", page.body);
    let read = bench.get(&note).await;
    assert_eq!(read.status, 200);
    let policy = read.headers["content-security-policy"].to_str().expect("text");
    assert!(
        policy.starts_with("default-src 'none'; style-src 'sha256-"),
        "{policy}"
    );
    assert!(
        policy.ends_with("frame-ancestors 'none'") && !policy.contains("script-src"),
        "{policy}"
    );
    assert!(
        read.body.contains("5&#160;May") || read.body.contains("5\u{a0}May"),
        "the date"
    );
    assert!(!read.body.contains("<i>") && !read.body.contains("<script"));
    let file = bench.get(&format!("{note}.html")).await;
    assert_eq!(file.body, read.body);
    assert_eq!(
        file.headers["content-disposition"],
        "attachment; filename=\"sensor-report.html\""
    );
    let workbook = bench
        .get(&format!("/study/sensor.toml/report/{id}/data.xlsx"))
        .await;
    assert!(workbook.body.starts_with("PK"), "a zip archive");
    let pdf = bench.get(&format!("{note}.pdf")).await;
    if cfg!(feature = "pdf") {
        assert!(pdf.body.starts_with("%PDF"));
    } else {
        assert_eq!(pdf.status, 409);
        assert!(page.body.contains("This build has no PDF"));
    }
    assert_eq!(bench.get("/study/other.toml/report/7/note").await.status, 404);
}

#[tokio::test]
async fn draws_and_levels_are_shown() {
    let bench = Bench::new();
    let draws = ran(&bench, "draws", &json!({ "draws": ["20"], "seed": ["3"] })).await;
    let levels = ran(&bench, "levels", &json!({})).await;
    assert_ne!(draws, levels);
    let page = bench.get("/study/sensor.toml/draws").await;
    assert!(
        page.body.contains("of 20 draws") && page.body.contains("seed 3"),
        "{}",
        page.body
    );
    assert!(page.body.contains("Highest survived level") && page.body.contains("What decides"));
    assert!(!page.body.contains("style="), "the policy blocks inline styles");
}

/// What stands outside tags.
fn shown(body: &str) -> String {
    let mut within = false;
    let outside = body.chars().filter(|c| {
        match c {
            '<' => within = true,
            '>' => within = false,
            _ => {}
        }
        !within
    });
    outside.collect()
}

#[tokio::test]
async fn names_are_shown_and_never_run() {
    let bench = Bench::new();
    let nasty = "<script>alert(1)</script>\\u202e\\\"'&";
    let text = STUDY
        .replacen("title = \"", &format!("title = \"{nasty}"), 1)
        .replacen("name = \"D1\"", &format!("name = \"D1{nasty}\""), 1)
        .replacen("id = \"esd\"", &format!("id = \"esd{nasty}\""), 1);
    std::fs::write(bench.folder.path().join("sensor.toml"), &text).expect("a file");
    let job = {
        bench.get("/study/sensor.toml/plan").await;
        bench.app.jobs().latest("sensor.toml", Kind::Plan).expect("a run")
    };
    ended(&job).await;
    for page in ["candidates", "compare", "draws", "plan", "report"] {
        let answer = bench.get(&format!("/study/sensor.toml/{page}")).await;
        assert_eq!(answer.status, 200, "{page}: {}", answer.body);
        assert!(!answer.body.contains("<script>a"), "{page}");
        // In the value of a field a name stays what it is, or it would not be found again.
        assert!(!shown(&answer.body).contains('\u{202e}'), "{page}");
        assert_eq!(answer.body.matches("<script").count(), 1, "{page}");
    }
}

#[tokio::test]
async fn a_capture_is_set_against_the_prediction() {
    let bench = Bench::new();
    let none = bench.get("/study/sensor.toml/measured").await;
    assert!(none.body.contains("There is no CSV file"), "{}", none.body);
    let measured = include_bytes!("../../../../demo/river-gauge/measured/level-sensor-esd.csv");
    std::fs::create_dir(bench.folder.path().join("measured")).expect("a folder");
    std::fs::write(bench.folder.path().join("measured/esd.csv"), measured).expect("a file");
    let id = ran(
        &bench,
        "correlation",
        &json!({ "capture": ["measured/esd.csv"], "stress": ["esd"] }),
    )
    .await;
    let page = bench.get(&format!("/study/sensor.toml/measured?run={id}")).await;
    // The capture was made with a longer lead of D1, which is what must be found.
    assert!(
        page.body.contains("one explains") && page.body.contains("D1"),
        "{}",
        page.body
    );
    assert!(page.body.contains("<svg") && !page.body.contains("style="));
    for capture in ["../outside.csv", "nowhere.csv", ".hidden.csv"] {
        let asked = json!({ "capture": [capture] });
        let answer = crate::post(&bench, "/api/study/sensor.toml/run/correlation", &asked).await;
        assert_eq!(answer.status, 400, "{capture}: {}", answer.body);
    }
}
