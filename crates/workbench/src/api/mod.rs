//! What scripts ask for: changes, and answers in JSON.

pub mod curves;
pub mod edit;
pub mod import;
pub mod library;
pub mod new;
pub mod runs;

use axum::Router;
use axum::routing::{get, post};

use crate::state::App;

/// Every route below `/api`.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/api/new", post(new::new))
        .route("/api/demo/keep", post(new::keep))
        .route("/api/study/{name}/copy", post(new::copy))
        .route("/api/study/{name}/sheet", get(edit::sheet))
        .route("/api/study/{name}/edit", post(edit::edit))
        .route("/api/study/{name}/undo", post(edit::undo))
        .route("/api/study/{name}/redo", post(edit::redo))
        .route("/api/study/{name}/use", post(runs::take))
        .route("/api/study/{name}/run/{kind}", post(runs::begin))
        .route("/api/runs/{id}/stop", post(runs::stop))
        .route("/api/parts/add", post(library::add))
        .route("/api/parts/retire", post(library::retire))
        .route("/api/import", post(import::send))
        .route("/api/import/{id}", post(import::run))
        .route("/api/curves/fit", post(curves::fit))
        .route("/api/curves/keep", post(curves::keep))
}
