//! What a request is answered with when it cannot be done: a page for a reader, JSON for a script.

use axum::extract::Request;
use axum::http::{HeaderMap, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use maud::html;
use serde::Serialize;
use tidewall_desk::failure::{ErrorReport, Failure, Kind};
use tidewall_parts::LibraryError;
use tidewall_study::StudyError;

use crate::html::bare_page;

/// A refusal: status, what is wrong and what to do. Return it from any handler; [`negotiate`] gives it the form that the
/// request wants.
#[derive(Clone, Debug, PartialEq)]
pub struct Refusal {
    /// Status.
    pub status: StatusCode,
    /// What is wrong.
    pub report: Box<ErrorReport>,
}

impl Refusal {
    /// A refusal in words.
    pub fn new(status: StatusCode, message: impl Into<String>, hint: impl Into<String>) -> Refusal {
        Refusal {
            status,
            report: Box::new(Failure::usage(message, hint).pieces().clone()),
        }
    }

    /// Something that is not there.
    pub fn missing(message: impl Into<String>, hint: impl Into<String>) -> Refusal {
        Refusal::new(StatusCode::NOT_FOUND, message, hint)
    }

    /// A request that does not make sense.
    pub fn bad(message: impl Into<String>, hint: impl Into<String>) -> Refusal {
        Refusal::new(StatusCode::BAD_REQUEST, message, hint)
    }

    /// A defect of the workbench itself.
    pub fn internal() -> Refusal {
        Refusal::new(
            StatusCode::INTERNAL_SERVER_ERROR,
            "the workbench failed at this request",
            "nothing that was accepted before is lost; reload the page, and report what you did",
        )
    }
}

impl From<Failure> for Refusal {
    fn from(failure: Failure) -> Refusal {
        let status = match failure.pieces().kind {
            Kind::Output => StatusCode::CONFLICT,
            Kind::Study | Kind::Points | Kind::Capture | Kind::Table | Kind::Template => {
                StatusCode::UNPROCESSABLE_ENTITY
            }
            Kind::Usage => StatusCode::BAD_REQUEST,
            Kind::Library => StatusCode::SERVICE_UNAVAILABLE,
        };
        Refusal {
            status,
            report: Box::new(failure.pieces().clone()),
        }
    }
}

impl From<StudyError> for Refusal {
    fn from(error: StudyError) -> Refusal {
        Failure::from(error).into()
    }
}

impl From<LibraryError> for Refusal {
    fn from(error: LibraryError) -> Refusal {
        Failure::from(error).into()
    }
}

/// The form of a refusal for scripts.
#[derive(Serialize)]
struct Body<'r> {
    error: &'r ErrorReport,
}

impl IntoResponse for Refusal {
    fn into_response(self) -> Response {
        let mut response = (self.status, axum::Json(Body { error: &self.report })).into_response();
        response.extensions_mut().insert(self);
        response
    }
}

/// True for a request that a browser makes to show a page.
pub fn wants_page(headers: &HeaderMap) -> bool {
    let accept = headers.get(header::ACCEPT).and_then(|value| value.to_str().ok());
    accept.is_some_and(|accept| accept.contains("text/html"))
}

/// Turns a refusal into a page where a page was asked for.
pub async fn negotiate(request: Request, next: Next) -> Response {
    let page = wants_page(request.headers());
    let response = next.run(request).await;
    match response.extensions().get::<Refusal>() {
        Some(refusal) if page => {
            let refusal = refusal.clone();
            (refusal.status, page_of(&refusal)).into_response()
        }
        _ => response,
    }
}

fn page_of(refusal: &Refusal) -> impl IntoResponse {
    let report = &refusal.report;
    let title = match refusal.status {
        StatusCode::NOT_FOUND => "Not there",
        StatusCode::UNAUTHORIZED => "Not yet known here",
        StatusCode::INTERNAL_SERVER_ERROR => "Something broke",
        _ => "That cannot be done",
    };
    bare_page(
        title,
        &html! {
            h1 { (title) }
            p.message { (report.message) }
            @if let Some(expected) = &report.expected { p { "Expected: " (expected) } }
            @if let Some(hint) = &report.hint { p.hint { (hint) } }
            p { a href="/" { "To the studies" } }
        },
    )
}
