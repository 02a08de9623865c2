//! Files that a page sent, kept in temporary files until they are imported or newer ones take their place.

use std::collections::VecDeque;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use axum::body::Body;
use futures_util::StreamExt;
use tempfile::TempDir;
use tidewall_desk::failure::Failure;

use crate::body::{discard, too_large, too_slow};
use crate::error::Refusal;

/// Largest file in bytes.
pub const LARGEST: usize = 64 << 20;
/// A piece of a file that takes longer to arrive ends it.
const PATIENCE: Duration = Duration::from_secs(15);
/// A file that takes longer to arrive as a whole is given up.
const PATIENCE_FOR_ALL: Duration = Duration::from_secs(600);
/// How many files are kept.
const KEPT: usize = 4;

/// A file that was sent.
#[derive(Debug)]
pub struct Upload {
    /// Its number.
    pub id: u64,
    /// The name it had where it came from.
    pub name: String,
    path: PathBuf,
    // The file goes with its folder.
    _folder: TempDir,
}

impl Upload {
    /// Where it is.
    pub fn path(&self) -> &Path {
        &self.path
    }
}

/// The files that were sent.
#[derive(Debug, Default)]
pub struct Uploads(Mutex<Held>);

#[derive(Debug, Default)]
struct Held {
    last: u64,
    files: VecDeque<Arc<Upload>>,
}

impl Uploads {
    /// Takes a body as a file, piece by piece; the oldest file goes when there are too many.
    ///
    /// # Errors
    /// For a body that is too large, too slow or broken off, and where no temporary file can be written.
    pub async fn take(
        &self,
        name: &str,
        declared: Option<usize>,
        body: Body,
    ) -> Result<Arc<Upload>, Refusal> {
        let mut pieces = body.into_data_stream();
        if declared.is_some_and(|length| length > LARGEST) {
            discard(pieces);
            return Err(too_large(LARGEST));
        }
        let unwritten = |error: std::io::Error| {
            Refusal::from(Failure::output(
                harmless_name(name),
                format!("cannot be kept in a temporary file: {}", error.kind()),
                "is there room on the disk?",
            ))
        };
        let folder = tempfile::Builder::new()
            .prefix("tidewall-import-")
            .tempdir()
            .map_err(unwritten)?;
        let path = folder.path().join("table");
        let mut file = std::fs::File::create(&path).map_err(unwritten)?;
        let receive = async {
            let mut length = 0;
            loop {
                let piece = match tokio::time::timeout(PATIENCE, pieces.next()).await {
                    Err(_) => return Err(too_slow()),
                    Ok(None) => return Ok(()),
                    Ok(Some(Err(_))) => return Err(broken()),
                    Ok(Some(Ok(piece))) => piece,
                };
                length += piece.len();
                if length > LARGEST {
                    return Err(too_large(LARGEST));
                }
                file.write_all(&piece).map_err(unwritten)?;
            }
        };
        let received = tokio::time::timeout(PATIENCE_FOR_ALL, receive).await;
        if let Err(refusal) = received.unwrap_or_else(|_| Err(too_slow())) {
            discard(pieces);
            return Err(refusal);
        }
        let mut held = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        held.last += 1;
        let upload = Arc::new(Upload {
            id: held.last,
            name: harmless_name(name),
            path,
            _folder: folder,
        });
        held.files.push_back(Arc::clone(&upload));
        if held.files.len() > KEPT {
            held.files.pop_front();
        }
        Ok(upload)
    }

    /// A file by its number.
    ///
    /// # Errors
    /// Where it is no longer kept.
    pub fn get(&self, id: u64) -> Result<Arc<Upload>, Refusal> {
        let held = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let found = held.files.iter().find(|upload| upload.id == id).cloned();
        found.ok_or_else(|| {
            Refusal::missing(
                "the table is no longer kept here",
                format!("send it again; the last {KEPT} are kept, and none through a new start"),
            )
        })
    }
}

fn broken() -> Refusal {
    Refusal::bad("the file did not arrive whole", "send it again")
}

/// The last piece of a name, as text for people: it is never part of a path.
fn harmless_name(name: &str) -> String {
    let last = name.rsplit(['/', '\\']).next().unwrap_or_default();
    let text: String = last.chars().filter(|c| !c.is_control()).take(120).collect();
    if text.trim().is_empty() {
        "table".to_owned()
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn the_last_few_are_kept_and_their_files_go() {
        let uploads = Uploads::default();
        let first = uploads
            .take("../a.csv", None, Body::from("1"))
            .await
            .expect("a file");
        assert_eq!(first.name, "a.csv");
        let path = first.path().to_owned();
        assert_eq!(std::fs::read(&path).expect("it is there"), b"1");
        drop(first);
        for k in 0..KEPT {
            let name = format!("{k}.csv");
            uploads
                .take(&name, Some(1), Body::from("2"))
                .await
                .expect("a file");
        }
        assert!(uploads.get(1).is_err() && uploads.get(2).is_ok());
        assert!(!path.exists());
    }

    #[tokio::test]
    async fn what_is_too_large_leaves_nothing() {
        let uploads = Uploads::default();
        let refused = uploads.take("a", Some(LARGEST + 1), Body::empty()).await;
        assert_eq!(
            refused.expect_err("a refusal").status,
            axum::http::StatusCode::PAYLOAD_TOO_LARGE
        );
        let piece = vec![b' '; 1 << 20];
        let pieces = (0..=64).map(move |_| Ok::<_, std::io::Error>(piece.clone()));
        let body = Body::from_stream(futures_util::stream::iter(pieces));
        let refused = uploads.take("a", None, body).await;
        assert_eq!(
            refused.expect_err("a refusal").status,
            axum::http::StatusCode::PAYLOAD_TOO_LARGE
        );
        assert!(uploads.get(1).is_err());
    }
}
