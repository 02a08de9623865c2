//! Listening, time-outs and the end.

use std::net::{Ipv4Addr, SocketAddr};
use std::panic::AssertUnwindSafe;
use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use axum::extract::Request;
use axum::middleware::{self, Next};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use futures_util::FutureExt;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use tidewall_desk::failure::Failure;
use tidewall_desk::folder::Folder;
use tokio::net::TcpListener;
use tokio::sync::Semaphore;

use crate::error::{Refusal, negotiate};
use crate::guard::{self, Keys};
use crate::state::App;
use crate::{Opened, Options, api, assets, demo, events, pages};

/// A connection that has not sent the header of its next request within this time is closed.
const HEADER_PATIENCE: Duration = Duration::from_secs(20);
/// Connections at once.
const CONNECTIONS: usize = 256;
/// How long running answers may take once the end is asked for.
const FAREWELL: Duration = Duration::from_secs(3);

/// Every route, with every rule of safety around it.
pub fn router(app: &App) -> Router {
    Router::new()
        .route("/enter", get(guard::enter))
        .route("/events", get(events::stream))
        .route("/static/{name}", get(assets::asset))
        .route("/favicon.ico", get(assets::icon))
        .merge(pages::routes())
        .merge(api::routes())
        .fallback(|| async {
            Refusal::missing(
                "there is no such page",
                "the list of studies is a good place to begin",
            )
        })
        .method_not_allowed_fallback(|| async {
            Refusal::new(
                axum::http::StatusCode::METHOD_NOT_ALLOWED,
                "that cannot be done with this address",
                "",
            )
        })
        .with_state(app.clone())
        .layer(middleware::from_fn(survive))
        .layer(middleware::from_fn_with_state(app.clone(), guard::check))
        .layer(middleware::from_fn(negotiate))
        .layer(middleware::from_fn(guard::harden))
}

/// A panic of a handler is answered like any failure, and ends nothing else.
async fn survive(request: Request, next: Next) -> Response {
    AssertUnwindSafe(next.run(request))
        .catch_unwind()
        .await
        .unwrap_or_else(|_| Refusal::internal().into_response())
}

/// Serves until interrupted.
///
/// # Errors
/// Where the folder cannot be opened or the port cannot be listened on.
pub async fn run(options: &Options, ready: &dyn Fn(&Opened)) -> Result<(), Failure> {
    // The copy of the demo goes with this value.
    let copy = match options.folder {
        Some(_) => None,
        None => Some(demo::copy()?),
    };
    let path = copy.as_ref().map(|copy| copy.path());
    let path = path.or(options.folder.as_deref()).unwrap_or(".".as_ref());
    let folder = Folder::open(path)?;
    let address = SocketAddr::from((Ipv4Addr::LOCALHOST, options.port));
    let unheard = |error: std::io::Error| {
        Failure::usage(
            format!("the workbench cannot listen on {address}: {}", error.kind()),
            "--port names another port; without it a free one is taken",
        )
    };
    let listener = TcpListener::bind(address).await.map_err(unheard)?;
    let port = listener.local_addr().map_err(unheard)?.port();
    let keys = Keys::new(port)
        .map_err(|error| Failure::usage(format!("the system gives no random numbers: {error}"), ""))?;
    let opened = Opened {
        url: format!("http://127.0.0.1:{port}/enter?key={}", keys.entry),
        folder: folder.root().to_owned(),
        demo: copy.is_some(),
    };
    let app = App::new(folder, options.library.clone(), copy.is_some(), keys);
    let watching = tokio::spawn(events::watch(app.clone()));
    let stop = interrupted();
    ready(&opened);
    accept(&app, listener, stop).await;
    let _ = watching.await;
    Ok(())
}

/// Ends when the process is asked to.
async fn interrupted() {
    let interrupt = tokio::signal::ctrl_c();
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        if let Ok(mut term) = signal(SignalKind::terminate()) {
            tokio::select! {
                _ = interrupt => {}
                _ = term.recv() => {}
            }
            return;
        }
    }
    let _ = interrupt.await;
}

/// Answers connections until `stop` ends; then tells the pages, and waits a little for answers under way.
pub async fn accept(app: &App, listener: TcpListener, stop: impl Future<Output = ()>) {
    let router = router(app);
    let permits = Arc::new(Semaphore::new(CONNECTIONS));
    tokio::pin!(stop);
    loop {
        let Ok(permit) = Arc::clone(&permits).acquire_owned().await else {
            break;
        };
        let stream = tokio::select! {
            () = &mut stop => break,
            accepted = listener.accept() => match accepted {
                Ok((stream, _)) => stream,
                Err(_) => {
                    // Out of file handles or the like: give others time to close theirs.
                    tokio::time::sleep(Duration::from_millis(50)).await;
                    continue;
                }
            },
        };
        // Edits are small: waiting for more of them to send together would be felt.
        let _ = stream.set_nodelay(true);
        let service = TowerToHyperService::new(router.clone());
        let connection = http1::Builder::new()
            .timer(TokioTimer::new())
            .header_read_timeout(HEADER_PATIENCE)
            .max_buf_size(64 * 1024)
            .serve_connection(TokioIo::new(stream), service);
        let mut ending = app.events().ending();
        tokio::spawn(async move {
            let _permit = permit;
            tokio::pin!(connection);
            // A connection that breaks is the other side's affair.
            tokio::select! {
                _ = connection.as_mut() => return,
                _ = ending.wait_for(|ending| *ending) => connection.as_mut().graceful_shutdown(),
            }
            let _ = tokio::time::timeout(FAREWELL, connection).await;
        });
    }
    drop(listener);
    app.jobs().stop_all();
    app.events().end();
    let all = u32::try_from(CONNECTIONS).unwrap_or(u32::MAX);
    let _ = tokio::time::timeout(FAREWELL, permits.acquire_many(all)).await;
}
