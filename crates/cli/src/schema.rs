//! `tidewall schema`.

use schemars::schema_for;
use tidewall_assess::compare::{Comparison, Equivalents};
use tidewall_assess::correlate::result::Correlation;
use tidewall_assess::plan::TestPlan;
use tidewall_assess::rank::Ranking;
use tidewall_extract::family::Fit;
use tidewall_parts::wire::PartsExport;
use tidewall_report::outputs::ReportOutput;

use crate::args::{Output, SchemaArgs};
use crate::check::CheckOutput;
use crate::explain::ExplainOutput;
use crate::extract::read::CaptureOutput;
use crate::failure::{ErrorReport, Failure};
use crate::manual::ManualOutput;
use crate::new::NewOutput;
use crate::open::OpenOutput;
use crate::output;
use crate::parts::{ImportOutput, PartsOutput};
use crate::rank::RequirementOutput;
use crate::status::Status;

/// Prints a schema. It is JSON whatever the format.
pub fn run(args: &SchemaArgs) -> Result<Status, Failure> {
    let schema = match args.output {
        Output::Check => schema_for!(CheckOutput),
        Output::Rank => schema_for!(Ranking),
        Output::Requirement => schema_for!(RequirementOutput),
        Output::Compare => schema_for!(Comparison),
        Output::Equivalents => schema_for!(Equivalents),
        Output::Capture => schema_for!(CaptureOutput),
        Output::Correlation => schema_for!(Correlation),
        Output::Fit => schema_for!(Fit),
        Output::Plan => schema_for!(TestPlan),
        Output::Report => schema_for!(ReportOutput),
        Output::New => schema_for!(NewOutput),
        Output::Open => schema_for!(OpenOutput),
        Output::Explain => schema_for!(ExplainOutput),
        Output::Parts => schema_for!(PartsOutput),
        Output::PartsFile => schema_for!(PartsExport),
        Output::Import => schema_for!(ImportOutput),
        Output::Manual => schema_for!(ManualOutput),
        Output::Error => schema_for!(ErrorReport),
    };
    output::print_json(&schema)?;
    Ok(Status::Pass)
}
