//! Every rule of who may ask, each by a request that breaks it alone.

use crate::bench::{Bench, PORT};
use axum::body::Body;
use axum::http::{Request, StatusCode};

fn empty(builder: axum::http::request::Builder) -> Request<Body> {
    builder.body(Body::empty()).expect("a request")
}

/// A request with one header changed (or, with `None`, without it).
fn changed(mut request: Request<Body>, name: &'static str, value: Option<&str>) -> Request<Body> {
    request.headers_mut().remove(name);
    if let Some(value) = value {
        request
            .headers_mut()
            .insert(name, value.parse().expect("a value"));
    }
    request
}

const EDIT: &str = "/api/study/sensor.toml/undo";

fn post(bench: &Bench) -> Request<Body> {
    let body = Body::from(r#"{"base":"none"}"#);
    bench.request("POST", EDIT).body(body).expect("a request")
}

#[tokio::test]
async fn a_page_of_this_start_may_read_and_change() {
    let bench = Bench::new();
    let page = bench.get("/").await;
    assert_eq!(page.status, StatusCode::OK);
    assert!(page.body.contains("sensor.toml"), "{}", page.body);
    // The request is let through, and the change refused for its own reason: there is no such revision.
    let answer = bench.send(post(&bench)).await;
    assert_eq!(answer.status, StatusCode::CONFLICT, "{}", answer.body);
}

#[tokio::test]
async fn a_foreign_host_gets_nothing() {
    let bench = Bench::new();
    for host in [
        "evil.example",
        "evil.example:4321",
        "127.0.0.1",
        "127.0.0.1:80",
        "localhost.evil.example:4321",
        "LOCALHOST:4321.",
        "[::1]:4321",
        "",
    ] {
        for path in [
            "/",
            "/study/sensor.toml",
            "/static/workbench.js",
            "/enter?key=x",
            "/events",
        ] {
            let request = changed(empty(bench.request("GET", path)), "host", Some(host));
            let answer = bench.send(request).await;
            assert_eq!(answer.status, StatusCode::FORBIDDEN, "{host} {path}");
            assert!(!answer.body.contains("sensor"), "{host} {path}");
        }
    }
    let none = changed(empty(bench.request("GET", "/")), "host", None);
    assert_eq!(bench.send(none).await.status, StatusCode::FORBIDDEN);
    let local = changed(empty(bench.request("GET", "/")), "host", Some("localhost:4321"));
    assert_eq!(bench.send(local).await.status, StatusCode::OK);
    let mut twice = empty(bench.request("GET", "/"));
    twice
        .headers_mut()
        .append("host", "evil.example".parse().expect("a value"));
    assert_eq!(bench.send(twice).await.status, StatusCode::BAD_REQUEST);
    let absolute = empty(bench.request("GET", "http://evil.example/"));
    assert_eq!(bench.send(absolute).await.status, StatusCode::FORBIDDEN);
}

#[tokio::test]
async fn another_page_gets_nothing() {
    let bench = Bench::new();
    for site in ["cross-site", "same-site", "?", ""] {
        for request in [empty(bench.request("GET", "/")), post(&bench)] {
            let answer = bench.send(changed(request, "sec-fetch-site", Some(site))).await;
            assert_eq!(answer.status, StatusCode::FORBIDDEN, "{site}");
        }
    }
    // Typed by the user: to read, not to change.
    let typed = changed(empty(bench.request("GET", "/")), "sec-fetch-site", Some("none"));
    assert_eq!(bench.send(typed).await.status, StatusCode::OK);
    let typed = changed(post(&bench), "sec-fetch-site", Some("none"));
    assert_eq!(bench.send(typed).await.status, StatusCode::FORBIDDEN);
    for origin in [
        "http://evil.example",
        "null",
        "https://127.0.0.1:4321",
        "http://127.0.0.1:4322",
        "http://localhost:4321",
        "http://127.0.0.1:4321.evil.example",
    ] {
        for request in [empty(bench.request("GET", "/")), post(&bench)] {
            let answer = bench.send(changed(request, "origin", Some(origin))).await;
            assert_eq!(answer.status, StatusCode::FORBIDDEN, "{origin}");
        }
    }
    let without = changed(post(&bench), "origin", None);
    assert_eq!(bench.send(without).await.status, StatusCode::FORBIDDEN);
}

#[tokio::test]
async fn a_browser_without_the_cookie_gets_nothing() {
    let bench = Bench::new();
    let token = bench.app.keys().token.clone();
    for cookie in [
        None,
        Some("tidewall-4321="),
        Some("tidewall-4321=0"),
        Some("tidewall-4322=0"),
        Some(token.as_str()),
    ] {
        for path in ["/", "/study/sensor.toml", "/events", "/nowhere"] {
            let answer = bench
                .send(changed(empty(bench.request("GET", path)), "cookie", cookie))
                .await;
            assert_eq!(answer.status, StatusCode::UNAUTHORIZED, "{cookie:?} {path}");
            assert!(!answer.body.contains(&token), "{path}");
        }
    }
}

#[tokio::test]
async fn the_printed_key_is_exchanged_for_the_cookie() {
    let bench = Bench::new();
    let keys = bench.app.keys().clone();
    let enter = |key: &str| {
        let request = bench.request("GET", &format!("/enter?key={key}"));
        let request = changed(empty(request), "cookie", None);
        changed(request, "sec-fetch-site", Some("none"))
    };
    let answer = bench.send(enter(&keys.entry)).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER);
    assert_eq!(answer.headers["location"], "/");
    assert_eq!(
        answer.headers["set-cookie"],
        format!(
            "tidewall-{PORT}={}; Path=/; HttpOnly; SameSite=Strict",
            keys.session
        )
    );
    for wrong in ["", "0", &keys.session, &keys.token, &keys.entry[1..]] {
        let answer = bench.send(enter(wrong)).await;
        assert_eq!(answer.status, StatusCode::UNAUTHORIZED, "{wrong}");
        assert!(!answer.headers.contains_key("set-cookie"));
    }
    let without = changed(empty(bench.request("GET", "/enter")), "cookie", None);
    assert_eq!(bench.send(without).await.status, StatusCode::UNAUTHORIZED);
    let another = Bench::new();
    assert_ne!(
        another.app.keys().entry,
        keys.entry,
        "each start has keys of its own"
    );
    assert_eq!(keys.entry.len(), 48);
}

#[tokio::test]
async fn a_change_needs_the_token() {
    let bench = Bench::new();
    let session = bench.app.keys().session.clone();
    for token in [None, Some(""), Some("0"), Some(session.as_str())] {
        let answer = bench.send(changed(post(&bench), "x-tidewall-token", token)).await;
        assert_eq!(answer.status, StatusCode::FORBIDDEN, "{token:?}");
    }
}

#[tokio::test]
async fn a_change_must_be_json() {
    let bench = Bench::new();
    for kind in [
        None,
        Some("text/plain"),
        Some("application/x-www-form-urlencoded"),
        Some("application/jsonx"),
    ] {
        let answer = bench.send(changed(post(&bench), "content-type", kind)).await;
        assert_eq!(answer.status, StatusCode::UNSUPPORTED_MEDIA_TYPE, "{kind:?}");
    }
}

#[tokio::test]
async fn only_three_methods_are_known() {
    let bench = Bench::new();
    for method in ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "CONNECT", "X"] {
        let answer = bench.send(empty(bench.request(method, "/"))).await;
        assert_eq!(answer.status, StatusCode::METHOD_NOT_ALLOWED, "{method}");
        assert!(!answer.headers.contains_key("access-control-allow-origin"));
    }
    let answer = bench.send(empty(bench.request("POST", "/"))).await;
    assert_eq!(answer.status, StatusCode::METHOD_NOT_ALLOWED);
}

#[tokio::test]
async fn every_answer_is_hardened() {
    let bench = Bench::new();
    let requests = [
        empty(bench.request("GET", "/")),
        empty(bench.request("GET", "/static/workbench.css")),
        empty(bench.request("GET", "/nowhere")),
        changed(empty(bench.request("GET", "/")), "host", Some("evil.example")),
        changed(empty(bench.request("GET", "/")), "cookie", None),
        post(&bench),
        empty(bench.request("PUT", "/")),
    ];
    for request in requests {
        let shown = format!("{} {}", request.method(), request.uri());
        let answer = bench.send(request).await;
        let header = |name: &str| answer.headers.get(name).and_then(|value| value.to_str().ok());
        let policy = header("content-security-policy").expect("a policy");
        for rule in [
            "default-src 'none'",
            "script-src 'self';",
            "style-src 'self';",
            "connect-src 'self'",
            "form-action 'self'",
            "frame-ancestors 'none'",
            "base-uri 'none'",
        ] {
            assert!(policy.contains(rule), "{shown}: {policy}");
        }
        assert!(!policy.contains("unsafe"), "{shown}");
        assert_eq!(header("x-content-type-options"), Some("nosniff"), "{shown}");
        assert_eq!(header("referrer-policy"), Some("no-referrer"), "{shown}");
        assert_eq!(header("cache-control"), Some("no-store"), "{shown}");
        assert_eq!(
            header("cross-origin-resource-policy"),
            Some("same-origin"),
            "{shown}"
        );
    }
}

#[tokio::test]
async fn a_refusal_is_a_page_for_readers_and_json_for_scripts() {
    let bench = Bench::new();
    let page = bench.get("/nowhere").await;
    assert_eq!(page.status, StatusCode::NOT_FOUND);
    assert_eq!(page.headers["content-type"], "text/html; charset=utf-8");
    assert!(page.body.contains("there is no such page"), "{}", page.body);
    let request = bench
        .request("GET", "/nowhere")
        .header("accept", "application/json");
    let json = bench.send(empty(request)).await;
    assert_eq!(json.headers["content-type"], "application/json");
    let read: serde_json::Value = serde_json::from_str(&json.body).expect("JSON");
    assert_eq!(read["error"]["message"], "there is no such page");
    assert!(read["error"]["hint"].is_string());
}
