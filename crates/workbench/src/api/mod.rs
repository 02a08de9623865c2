//! What scripts ask for: changes, and answers in JSON.

pub mod edit;

use axum::Router;
use axum::routing::post;

use crate::state::App;

/// Every route below `/api`.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/api/study/{name}/edit", post(edit::edit))
        .route("/api/study/{name}/undo", post(edit::undo))
        .route("/api/study/{name}/redo", post(edit::redo))
}
