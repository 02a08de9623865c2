//! The pages. Each file has its handlers and the markup of one page; `routes` lists them all.

pub mod candidates;
pub mod runs;
pub mod studies;
pub mod study;

use axum::Router;
use axum::routing::get;

use crate::state::App;

/// Every page and fragment.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/", get(studies::page))
        .route("/part/studies", get(studies::list))
        .route("/study/{name}", get(study::page))
        .route("/study/{name}/part/{part}", get(study::part))
        .route("/study/{name}/candidates", get(candidates::page))
        .route("/study/{name}/candidates/part/{part}", get(candidates::part))
}
