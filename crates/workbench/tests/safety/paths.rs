//! No name leads out of the folder, and no text of a file becomes markup.

use crate::bench::{Bench, STUDY};
use axum::http::StatusCode;

#[tokio::test]
async fn names_stay_in_the_folder() {
    let bench = Bench::new();
    let outside = tempfile::tempdir().expect("a folder");
    std::fs::write(outside.path().join("secret.toml"), STUDY).expect("a file");
    std::fs::write(bench.folder.path().join(".hidden.toml"), STUDY).expect("a file");
    let secret = outside.path().join("secret.toml");
    let escaped = |text: &str| text.replace('/', "%2F");
    let absolute = escaped(&secret.display().to_string());
    let upwards = escaped(&format!(
        "../{}/secret.toml",
        outside
            .path()
            .file_name()
            .and_then(|name| name.to_str())
            .expect("a name")
    ));
    for name in [
        absolute.as_str(),
        upwards.as_str(),
        "..%2F..%2F..%2Fetc%2Fpasswd",
        "%2E%2E%2Fsensor.toml",
        "sub%2F..%2Fsensor.toml",
        ".hidden.toml",
        "sensor.toml%00.toml",
        "..%5Csensor.toml",
        "C:%5Csensor.toml",
        "parts.sqlite",
        "nowhere.toml",
        "%FF.toml",
    ] {
        let answer = bench.get(&format!("/study/{name}")).await;
        assert!(
            answer.status == StatusCode::NOT_FOUND || answer.status == StatusCode::BAD_REQUEST,
            "{name}: {} {}",
            answer.status,
            answer.body
        );
        assert!(!answer.body.contains("io-link"), "{name}");
    }
    let list = bench.get("/").await.body;
    assert!(!list.contains("hidden"), "{list}");
}

#[cfg(unix)]
#[tokio::test]
async fn links_that_lead_out_are_refused() {
    use std::os::unix::fs::symlink;
    let bench = Bench::new();
    let outside = tempfile::tempdir().expect("a folder");
    let root = bench.folder.path();
    std::fs::write(outside.path().join("secret.toml"), STUDY).expect("a file");
    symlink(outside.path().join("secret.toml"), root.join("linked.toml")).expect("a link");
    symlink(outside.path(), root.join("folder")).expect("a link");
    symlink(root.join("sensor.toml"), root.join("inside.toml")).expect("a link");
    assert_eq!(
        bench.get("/study/linked.toml").await.status,
        StatusCode::NOT_FOUND
    );
    assert_eq!(
        bench.get("/study/folder%2Fsecret.toml").await.status,
        StatusCode::NOT_FOUND
    );
    assert_eq!(bench.get("/study/inside.toml").await.status, StatusCode::OK);
    let list = bench.get("/").await.body;
    assert!(
        list.contains("inside.toml") && !list.contains("linked") && !list.contains("secret"),
        "{list}"
    );
    // A parts file that is such a link is not read either.
    std::fs::remove_file(root.join("parts.toml")).expect("removed");
    std::fs::write(
        outside.path().join("parts.toml"),
        "[[part]]\nname = \"secret-1\"\n",
    )
    .expect("a file");
    symlink(outside.path().join("parts.toml"), root.join("parts.toml")).expect("a link");
    let page = bench.get("/study/sensor.toml").await;
    assert!(
        page.body.contains("leads out of the opened folder"),
        "{}",
        page.body
    );
    assert!(!page.body.contains("secret-1"));
}

#[tokio::test]
async fn texts_are_shown_and_never_run() {
    let bench = Bench::new();
    let nasty = "<script>alert(1)</script>\\u202e\\\"'&";
    let text = STUDY.replacen("title = \"", &format!("title = \"{nasty}"), 1);
    assert_ne!(text, STUDY);
    std::fs::write(bench.folder.path().join("nasty.toml"), text).expect("a file");
    std::fs::write(bench.folder.path().join("<b>.toml"), "[port]\n<script>").expect("a file");
    for page in ["/", "/study/nasty.toml", "/study/%3Cb%3E.toml"] {
        let answer = bench.get(page).await;
        assert_eq!(answer.status, StatusCode::OK, "{page}: {}", answer.body);
        assert!(!answer.body.contains("<script>a"), "{page}");
        assert!(!answer.body.contains("<b>"), "{page}");
        assert!(!answer.body.contains('\u{202e}'), "{page}");
        assert!(
            !answer.body.contains("style="),
            "{page}: the policy blocks inline styles"
        );
        assert_eq!(answer.body.matches("<script").count(), 1, "{page}");
    }
}
