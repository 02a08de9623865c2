//! What was written, for programs.

use schemars::JsonSchema;
use serde::Serialize;
use sha2::{Digest, Sha256};
use tidewall_assess::result::{StudyRef, Verdict};

/// Version of the contract.
pub const SCHEMA: &str = "tidewall/report/1";

/// A file that was written.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Written {
    /// Its path, as it was asked for.
    pub path: String,
    /// Its form: "pdf", "html" or "xlsx".
    pub form: &'static str,
    /// Its size in bytes.
    pub bytes: usize,
    /// SHA-256 of its content, in hexadecimal.
    pub sha256: String,
    /// Pages, of a PDF.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pages: Option<usize>,
}

impl Written {
    /// About a file with this content.
    pub fn new(path: &str, form: &'static str, content: &[u8]) -> Written {
        Written {
            path: path.to_owned(),
            form,
            bytes: content.len(),
            sha256: format!("{:x}", Sha256::digest(content)),
            pages: None,
        }
    }
}

/// What `report` says as JSON.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ReportOutput {
    /// Version of this contract.
    pub schema: &'static str,
    /// Version of the program.
    pub version: &'static str,
    /// The study.
    pub study: StudyRef,
    /// Verdict of the study; of a comparison that of its best part.
    pub verdict: Verdict,
    /// What was written.
    pub files: Vec<Written>,
}
