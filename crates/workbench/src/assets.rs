//! Script and style sheet: built from `web/`, kept in `static/`, and part of the program.

use std::sync::LazyLock;

use axum::extract::Path;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use sha2::{Digest, Sha256};

use crate::error::Refusal;

/// One file.
struct Asset {
    name: &'static str,
    kind: &'static str,
    bytes: &'static [u8],
}

const ASSETS: &[Asset] = &[
    Asset {
        name: "workbench.js",
        kind: "text/javascript; charset=utf-8",
        bytes: include_bytes!("../static/workbench.js"),
    },
    Asset {
        name: "workbench.css",
        kind: "text/css; charset=utf-8",
        bytes: include_bytes!("../static/workbench.css"),
    },
    Asset {
        name: "icon.svg",
        kind: "image/svg+xml",
        bytes: include_bytes!("../static/icon.svg"),
    },
];

/// Changes when script or style sheet do, so that no page meets a script of another version.
pub static VERSION: LazyLock<String> = LazyLock::new(|| {
    let mut hash = Sha256::new();
    for asset in ASSETS {
        hash.update(asset.bytes);
    }
    format!("{:x}", hash.finalize())[..12].to_owned()
});

/// `GET /static/NAME`
pub async fn asset(Path(name): Path<String>) -> Result<Response, Refusal> {
    let asset = ASSETS.iter().find(|asset| asset.name == name).ok_or_else(|| {
        Refusal::missing(
            "there is no such file",
            "it may belong to another version: reload the page",
        )
    })?;
    Ok(([(header::CONTENT_TYPE, asset.kind)], asset.bytes).into_response())
}

/// `GET /favicon.ico`, which browsers ask for behind documents that name no icon.
pub async fn icon() -> Result<Response, Refusal> {
    asset(Path("icon.svg".to_owned())).await
}
