//! Clients that send too much, too slowly or nonsense, and what breaks within.

use std::convert::Infallible;
use std::time::Duration;

use axum::body::{Body, Bytes};
use axum::http::StatusCode;
use futures_util::stream;
use tidewall_workbench::serve::accept;
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::{TcpListener, TcpStream};

use crate::bench::Bench;

const EDIT: &str = "/api/study/sensor.toml/edit";

#[tokio::test]
async fn a_body_of_more_than_a_megabyte_is_refused() {
    let bench = Bench::new();
    for length in [(1 << 20) + 1, 5 << 20] {
        let body = Body::from(vec![b' '; length]);
        let answer = bench
            .send(bench.request("POST", EDIT).body(body).expect("a request"))
            .await;
        assert_eq!(answer.status, StatusCode::PAYLOAD_TOO_LARGE, "{}", answer.body);
        assert!(answer.body.contains("larger than 1 MB"));
    }
    // One that never says how long it is and never ends.
    let endless = stream::unfold((), |()| async {
        Some((Ok::<_, Infallible>(Bytes::from(vec![b' '; 1 << 16])), ()))
    });
    let request = bench
        .request("POST", EDIT)
        .body(Body::from_stream(endless))
        .expect("a request");
    assert_eq!(bench.send(request).await.status, StatusCode::PAYLOAD_TOO_LARGE);
}

#[tokio::test(start_paused = true)]
async fn a_body_that_does_not_come_is_given_up() {
    let bench = Bench::new();
    let drip = stream::unfold((), |()| async {
        tokio::time::sleep(Duration::from_secs(2)).await;
        Some((Ok::<_, Infallible>(Bytes::from_static(b" ")), ()))
    });
    let request = bench
        .request("POST", EDIT)
        .body(Body::from_stream(drip))
        .expect("a request");
    let before = tokio::time::Instant::now();
    assert_eq!(bench.send(request).await.status, StatusCode::REQUEST_TIMEOUT);
    assert!(before.elapsed() < Duration::from_secs(20));
}

/// A server on a free port, with its address; it ends with the sender.
async fn served(
    bench: &Bench,
) -> (
    std::net::SocketAddr,
    tokio::sync::oneshot::Sender<()>,
    tokio::task::JoinHandle<()>,
) {
    let listener = TcpListener::bind("127.0.0.1:0").await.expect("a port");
    let address = listener.local_addr().expect("an address");
    let (stop, stopped) = tokio::sync::oneshot::channel();
    let app = bench.app.clone();
    let server = tokio::spawn(async move {
        let stop = async {
            let _ = stopped.await;
        };
        accept(&app, listener, stop).await;
    });
    (address, stop, server)
}

async fn answer_to(address: std::net::SocketAddr, bytes: &[u8]) -> String {
    let mut stream = TcpStream::connect(address).await.expect("a connection");
    stream.write_all(bytes).await.expect("sent");
    let mut answer = Vec::new();
    // A connection that is reset has been closed too.
    let _ = stream.read_to_end(&mut answer).await;
    String::from_utf8_lossy(&answer).into_owned()
}

#[tokio::test(start_paused = true)]
async fn a_header_that_does_not_come_closes_the_connection() {
    let bench = Bench::new();
    let (address, _stop, _server) = served(&bench).await;
    for beginning in ["", "GET / HT", "GET / HTTP/1.1\r\nhost: 127.0.0.1:4321\r\nx: "] {
        let answer = answer_to(address, beginning.as_bytes()).await;
        assert!(!answer.contains("200 OK"), "{answer}");
    }
}

#[tokio::test]
async fn what_is_no_request_is_refused() {
    let bench = Bench::new();
    let (address, _stop, _server) = served(&bench).await;
    let long = format!(
        "GET /{} HTTP/1.1\r\nhost: 127.0.0.1:4321\r\n\r\n",
        "a".repeat(100_000)
    );
    let many = format!("GET / HTTP/1.1\r\n{}\r\n", "x: y\r\n".repeat(5000));
    for nonsense in [
        "\0\0\0\0\r\n\r\n",
        "GET\r\n\r\n",
        "GET / HTTP/9.9\r\n\r\n",
        "GET / HTTP/1.1\r\nhost 127\r\n\r\n",
        "POST / HTTP/1.1\r\nhost: 127.0.0.1:4321\r\ncontent-length: -5\r\n\r\n",
        "POST / HTTP/1.1\r\nhost: 127.0.0.1:4321\r\ncontent-length: 5\r\ncontent-length: 6\r\n\r\nabcdef",
        long.as_str(),
        many.as_str(),
    ] {
        let answer = answer_to(address, nonsense.as_bytes()).await;
        assert!(
            answer.is_empty() || answer.starts_with("HTTP/1.1 4"),
            "{nonsense:.60}: {answer:.200}"
        );
    }
}

#[tokio::test]
async fn the_end_closes_open_pages() {
    let bench = Bench::new();
    let (address, stop, server) = served(&bench).await;
    let keys = bench.app.keys();
    let request = format!(
        "GET /events HTTP/1.1\r\nhost: 127.0.0.1:{}\r\ncookie: tidewall-{}={}\r\n\r\n",
        keys.port, keys.port, keys.session
    );
    let page = tokio::spawn(async move { answer_to(address, request.as_bytes()).await });
    tokio::time::sleep(Duration::from_millis(200)).await;
    stop.send(()).expect("the server runs");
    tokio::time::timeout(Duration::from_secs(5), server)
        .await
        .expect("the server ends")
        .expect("and does not panic");
    let heard = page.await.expect("a page");
    assert!(heard.starts_with("HTTP/1.1 200"), "{heard}");
    assert!(heard.contains("ending"), "{heard}");
    assert!(TcpStream::connect(address).await.is_err());
}
