//! Exit statuses.

use std::process::ExitCode;

use tidewall_assess::result::Verdict;

use crate::interrupt;

/// How a run ends; ordered from good to bad, so that the worst of several is the greatest.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Status {
    /// Every study passes, marginally or clearly; or the command has done what it was asked.
    Pass,
    /// Some verdict is unknown, none is a failure.
    Unknown,
    /// Some study fails.
    Fail,
    /// An argument or a study cannot be used, or the output cannot be written.
    BadInput,
    /// The run was stopped from the keyboard before it had done all.
    Stopped,
}

impl From<Verdict> for Status {
    fn from(verdict: Verdict) -> Self {
        match verdict {
            Verdict::Pass | Verdict::Marginal => Status::Pass,
            Verdict::Unknown => Status::Unknown,
            Verdict::Fail => Status::Fail,
        }
    }
}

impl From<Status> for ExitCode {
    fn from(status: Status) -> Self {
        ExitCode::from(match status {
            Status::Pass => 0,
            Status::Fail => 1,
            Status::Unknown => 2,
            Status::BadInput => 3,
            Status::Stopped => interrupt::STATUS,
        })
    }
}
