//! The pages. Each file has its handlers and the markup of one page; `routes` lists them all.

pub mod candidates;
pub mod compare;
pub mod curves;
pub mod draws;
pub mod import;
pub mod measured;
pub mod parts;
pub mod plan;
pub mod report;
pub mod runs;
pub mod studies;
pub mod study;

use axum::Router;
use axum::routing::get;

use crate::figures;
use crate::state::App;

/// Every page and fragment.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/", get(studies::page))
        .route("/part/studies", get(studies::list))
        .route("/parts", get(parts::page))
        .route("/parts-list", get(parts::list))
        .route("/parts-add", get(parts::add))
        .route("/parts/{name}", get(parts::one))
        .route("/parts/{name}/part", get(parts::one_part))
        .route("/import", get(import::page))
        .route("/import/{id}", get(import::table))
        .route("/curves", get(curves::page))
        .route("/figure/{key}/view", get(figures::view))
        .route("/figure/{key}/{file}", get(figures::file))
        .route("/study/{name}", get(study::page))
        .route("/study/{name}/part/{part}", get(study::part))
        .route("/study/{name}/candidates", get(candidates::page))
        .route("/study/{name}/candidates/part/{part}", get(candidates::part))
        .route("/study/{name}/compare", get(compare::page))
        .route("/study/{name}/compare/part", get(compare::part))
        .route("/study/{name}/draws", get(draws::page))
        .route("/study/{name}/draws/part/{part}", get(draws::part))
        .route("/study/{name}/plan", get(plan::page))
        .route("/study/{name}/plan/part", get(plan::part))
        .route("/study/{name}/plan/file.csv", get(plan::csv))
        .route("/study/{name}/plan/file.json", get(plan::json))
        .route("/study/{name}/measured", get(measured::page))
        .route("/study/{name}/measured/part/correlation", get(measured::part))
        .route("/study/{name}/report", get(report::page))
        .route("/study/{name}/report/part/report", get(report::part))
        .route("/study/{name}/report/{run}/note", get(report::note))
        .route("/study/{name}/report/{run}/note.html", get(report::html_file))
        .route("/study/{name}/report/{run}/note.pdf", get(report::pdf))
        .route("/study/{name}/report/{run}/data.xlsx", get(report::workbook))
}
