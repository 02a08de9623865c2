//! Requests to the workbench.
//!
//! A request is text: a method and an address, headers, an empty line, the body. The keys of the start are put in for it,
//! so that the attack reaches what stands behind the guard; those that come with keys of their own are sent as they are.

use std::cell::RefCell;

use axum::Router;
use axum::body::Body;
use axum::http::{HeaderName, HeaderValue, Request, StatusCode};
use http_body_util::BodyExt;
use tempfile::TempDir;
use tidewall_desk::file::digest;
use tidewall_desk::folder::Folder;
use tidewall_workbench::guard::Keys;
use tidewall_workbench::serve::router;
use tidewall_workbench::state::App;
use tokio::runtime::Runtime;
use tower::ServiceExt;

/// Words of requests.
pub const WORDS: &[&str] = &[
    "GET /",
    "POST /",
    "/api/study/sensor/edit",
    "/api/new",
    "/api/import",
    "/api/curves/fit",
    "/api/parts/add",
    "/api/study/sensor/run/rank",
    "/study/sensor/part/checks",
    "/study/sensor",
    "/parts",
    "/static/",
    "..%2f",
    "%00",
    "?",
    "&",
    "=",
    "\n\n",
    "{",
    "}",
    "[",
    "]",
    "\"",
    ":",
    "null",
    "true",
    "-1",
    "1e999",
    "99999999999999999999",
    "content-type: application/json",
    "content-type: multipart/form-data",
    "accept: text/html",
    "revision",
    "path",
    "value",
    "text",
    "name",
];

const STUDY: &str = include_str!("../../../demo/river-gauge/level-sensor-io-link.toml");
const PARTS: &str = include_str!("../../../demo/river-gauge/parts.toml");
/// The port that is pretended to be listened on.
const PORT: u16 = 4321;
/// Stands for the revision of the study in a body.
const REVISION: &str = "REVISION";
/// Requests after which a new folder is begun, so that studies do not pile up.
const FRESH_AFTER: u32 = 200;

struct Bench {
    // Goes last: the state writes into it.
    app: App,
    router: Router,
    runtime: Runtime,
    folder: TempDir,
    asked: u32,
}

impl Bench {
    fn new() -> Bench {
        let folder = tempfile::tempdir().expect("a folder");
        std::fs::write(folder.path().join("sensor.toml"), STUDY).expect("a file");
        std::fs::write(folder.path().join("parts.toml"), PARTS).expect("a file");
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_all()
            .build()
            .expect("a runtime");
        let library = folder.path().join("library.sqlite");
        let opened = Folder::open(folder.path()).expect("a folder");
        let app = App::new(opened, Some(library), false, Keys::new(PORT).expect("keys"));
        Bench {
            router: router(&app),
            app,
            runtime,
            folder,
            asked: 0,
        }
    }

    /// The body with the study's revision where it asks for it, so that edits are not all refused as late ones.
    fn with_revision(&self, body: &[u8]) -> Vec<u8> {
        match std::str::from_utf8(body) {
            Ok(body) if body.contains(REVISION) => {
                let study =
                    std::fs::read_to_string(self.folder.path().join("sensor.toml")).unwrap_or_default();
                body.replace(REVISION, &digest(&study)).into_bytes()
            }
            _ => body.to_vec(),
        }
    }

    fn made(&self, text: &[u8]) -> Option<Request<Body>> {
        let split = text
            .windows(2)
            .position(|pair| pair == b"\n\n")
            .unwrap_or(text.len());
        let (head, body) = (&text[..split], text.get(split + 2..).unwrap_or_default());
        let body = self.with_revision(body);
        let head = String::from_utf8_lossy(head);
        let mut lines = head.lines();
        let mut first = lines.next()?.split_whitespace();
        let (method, address) = (first.next()?, first.next()?);
        let mut request = Request::builder().method(method).uri(address);
        let keys = self.app.keys();
        let own = [
            ("host", format!("127.0.0.1:{PORT}")),
            ("sec-fetch-site", "same-origin".to_owned()),
            ("cookie", format!("tidewall-{PORT}={}", keys.session)),
            ("origin", format!("http://127.0.0.1:{PORT}")),
            ("x-tidewall-token", keys.token.clone()),
            ("content-type", "application/json".to_owned()),
        ];
        let mut stated = Vec::new();
        for line in lines {
            let Some((name, value)) = line.split_once(':') else {
                continue;
            };
            let name = HeaderName::from_bytes(name.trim().as_bytes()).ok()?;
            request = request.header(&name, HeaderValue::from_bytes(value.trim().as_bytes()).ok()?);
            stated.push(name.as_str().to_owned());
        }
        for (name, value) in own {
            if !stated.iter().any(|stated| stated == name) {
                request = request.header(name, value);
            }
        }
        request.body(Body::from(body)).ok()
    }

    fn send(&mut self, text: &[u8]) {
        let Some(request) = self.made(text) else { return };
        // The stream of events has no end; runs go on for minutes in threads of their own.
        let path = request.uri().path();
        if path == "/events" || path.contains("/run/") {
            return;
        }
        self.asked += 1;
        let what = format!("{} {}", request.method(), request.uri());
        let router = self.router.clone();
        let (status, body) = self.runtime.block_on(async move {
            let response = match router.oneshot(request).await {
                Ok(response) => response,
                Err(never) => match never {},
            };
            let status = response.status();
            let body = response.into_body().collect().await.map(|body| body.to_bytes());
            (status, body)
        });
        let body = body.unwrap_or_else(|error| panic!("{what}: {error}"));
        assert_ne!(
            status,
            StatusCode::INTERNAL_SERVER_ERROR,
            "{what}: {}",
            String::from_utf8_lossy(&body)
        );
        if status.is_client_error() {
            assert!(
                !body.is_empty() || status == StatusCode::METHOD_NOT_ALLOWED,
                "{what}: {status} without a word"
            );
        }
        assert!(self.folder.path().is_dir(), "{what} took the folder away");
    }
}

/// One request.
pub fn request(bytes: &[u8]) {
    thread_local! {
        static BENCH: RefCell<Option<Bench>> = const { RefCell::new(None) };
    }
    let mut bench = BENCH
        .take()
        .filter(|bench| bench.asked < FRESH_AFTER)
        .unwrap_or_else(Bench::new);
    bench.send(bytes);
    BENCH.set(Some(bench));
}
