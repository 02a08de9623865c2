//! Bodies of requests, with a limit of size and of time.

use std::time::Duration;

use axum::body::{Body, BodyDataStream};
use axum::extract::{FromRequest, Request};
use axum::http::{StatusCode, header};
use futures_util::StreamExt;
use serde::de::DeserializeOwned;

use crate::error::Refusal;

/// Largest body of an ordinary request in bytes.
pub const LARGEST: usize = 1 << 20;
/// A body that takes longer to arrive is given up.
pub const PATIENCE: Duration = Duration::from_secs(15);

/// How much of a refused body is still read.
const LINGERING: usize = 16 << 20;
/// How long a refused body is still read.
const LINGERING_FOR: Duration = Duration::from_secs(3);

/// A JSON body.
#[derive(Clone, Debug)]
pub struct Json<T>(pub T);

impl<S: Send + Sync, T: DeserializeOwned> FromRequest<S> for Json<T> {
    type Rejection = Refusal;

    async fn from_request(request: Request, _state: &S) -> Result<Self, Refusal> {
        let kind = request.headers().get(header::CONTENT_TYPE);
        let json = kind
            .and_then(|kind| kind.to_str().ok())
            .is_some_and(|kind| kind.split(';').next().map(str::trim) == Some("application/json"));
        if !json {
            return Err(Refusal::new(
                StatusCode::UNSUPPORTED_MEDIA_TYPE,
                "the body of this request must be JSON",
                "send it with the content type application/json",
            ));
        }
        let bytes = whole(request.into_body()).await?;
        serde_json::from_slice(&bytes).map(Json).map_err(|error| {
            Refusal::bad(
                format!("the body of the request is not what belongs there: {error}"),
                "reload the page; the script may be of another version",
            )
        })
    }
}

/// The whole of a body of ordinary size.
///
/// # Errors
/// For one that is too large, too slow or broken off.
pub async fn whole(body: Body) -> Result<Vec<u8>, Refusal> {
    let mut pieces = body.into_data_stream();
    let mut bytes = Vec::new();
    let reading = async {
        while let Some(piece) = pieces.next().await {
            let piece = piece
                .map_err(|_| Refusal::bad("the body of the request did not arrive whole", "try again"))?;
            if bytes.len() + piece.len() > LARGEST {
                return Err(too_large(LARGEST));
            }
            bytes.extend_from_slice(&piece);
        }
        Ok(())
    };
    match tokio::time::timeout(PATIENCE, reading).await {
        Ok(Ok(())) => Ok(bytes),
        Ok(Err(refusal)) => {
            discard(pieces);
            Err(refusal)
        }
        Err(_) => Err(too_slow()),
    }
}

/// Goes on reading a body that was refused, for a while and without keeping it: a connection that is closed while the other
/// side still sends loses the answer.
pub fn discard(mut rest: BodyDataStream) {
    tokio::spawn(async move {
        let reading = async {
            let mut left = LINGERING;
            while let Some(Ok(piece)) = rest.next().await {
                left = left.saturating_sub(piece.len());
                if left == 0 {
                    break;
                }
            }
        };
        let _ = tokio::time::timeout(LINGERING_FOR, reading).await;
    });
}

/// The refusal of a body beyond `limit` bytes.
pub fn too_large(limit: usize) -> Refusal {
    Refusal::new(
        StatusCode::PAYLOAD_TOO_LARGE,
        format!("the body of the request is larger than {} MB", limit >> 20),
        "send less at once",
    )
}

/// The refusal of a body that does not come.
pub fn too_slow() -> Refusal {
    Refusal::new(
        StatusCode::REQUEST_TIMEOUT,
        "the body of the request did not arrive in time",
        "try again",
    )
}
