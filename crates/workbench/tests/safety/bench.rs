//! A workbench over a temporary folder, and plain requests to it.

use axum::Router;
use axum::body::Body;
use axum::http::{HeaderMap, Request, StatusCode};
use http_body_util::BodyExt;
use tempfile::TempDir;
use tidewall_desk::folder::Folder;
use tidewall_workbench::guard::Keys;
use tidewall_workbench::serve::router;
use tidewall_workbench::state::App;
use tower::ServiceExt;

/// A study that is quick to judge.
pub const STUDY: &str = include_str!("../../../../demo/river-gauge/level-sensor-io-link.toml");
const PARTS: &str = include_str!("../../../../demo/river-gauge/parts.toml");

/// The port that the tests pretend to listen on.
pub const PORT: u16 = 4321;

/// A workbench.
pub struct Bench {
    /// Its folder.
    pub folder: TempDir,
    /// Its state.
    pub app: App,
    router: Router,
}

/// An answer, read whole.
pub struct Answer {
    /// Status.
    pub status: StatusCode,
    /// Headers.
    pub headers: HeaderMap,
    /// Body.
    pub body: String,
}

impl Bench {
    /// One over a folder with `sensor.toml` and its parts.
    pub fn new() -> Bench {
        let folder = tempfile::tempdir().expect("a folder");
        std::fs::write(folder.path().join("sensor.toml"), STUDY).expect("a file");
        std::fs::write(folder.path().join("parts.toml"), PARTS).expect("a file");
        Bench::over(folder)
    }

    /// One over a folder as it is.
    pub fn over(folder: TempDir) -> Bench {
        let library = folder.path().join("library.sqlite");
        let opened = Folder::open(folder.path()).expect("a folder");
        let app = App::new(opened, Some(library), false, Keys::new(PORT).expect("keys"));
        Bench {
            router: router(&app),
            folder,
            app,
        }
    }

    /// A request as the browser sends it from a page of this start.
    pub fn request(&self, method: &str, address: &str) -> axum::http::request::Builder {
        let keys = self.app.keys();
        let builder = Request::builder()
            .method(method)
            .uri(address)
            .header("host", format!("127.0.0.1:{PORT}"))
            .header("sec-fetch-site", "same-origin")
            .header("cookie", format!("other=1; tidewall-{PORT}={}", keys.session));
        if method == "POST" {
            builder
                .header("origin", format!("http://127.0.0.1:{PORT}"))
                .header("x-tidewall-token", &keys.token)
                .header("content-type", "application/json")
        } else {
            builder
        }
    }

    /// Sends any request.
    pub async fn send(&self, request: Request<Body>) -> Answer {
        let response = self.router.clone().oneshot(request).await.expect("an answer");
        let (parts, body) = response.into_parts();
        let bytes = body.collect().await.expect("a body").to_bytes();
        Answer {
            status: parts.status,
            headers: parts.headers,
            body: String::from_utf8_lossy(&bytes).into_owned(),
        }
    }

    /// A page.
    pub async fn get(&self, address: &str) -> Answer {
        let request = self.request("GET", address).header("accept", "text/html");
        self.send(request.body(Body::empty()).expect("a request")).await
    }
}
