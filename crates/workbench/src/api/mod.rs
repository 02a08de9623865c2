//! What scripts ask for: changes, and answers in JSON.

use axum::Router;

use crate::state::App;

/// Every route below `/api`.
pub fn routes() -> Router<App> {
    Router::new()
}
