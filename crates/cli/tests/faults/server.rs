//! The workbench as another process, and a client of it.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Stdio};
use std::sync::{Arc, Mutex};
use std::thread::JoinHandle;
use std::time::Duration;

use serde_json::{Value, json};
use sha2::{Digest, Sha256};

use crate::tools::with_library;

/// A workbench that listens.
pub struct Server {
    child: Arc<Mutex<Child>>,
    host: String,
    cookie: String,
    token: String,
}

impl Server {
    pub fn start(folder: &Path) -> Server {
        let mut child = with_library(Path::new("none.sqlite"))
            .args(["open", "--format", "json"])
            .arg(folder)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("the program starts");
        let mut lines = BufReader::new(child.stdout.take().expect("its output"));
        let mut text = String::new();
        while serde_json::from_str::<Value>(&text).is_err() {
            assert!(
                lines.read_line(&mut text).expect("a line") > 0,
                "it has ended: {text}"
            );
        }
        let opened: Value = serde_json::from_str(&text).expect("JSON");
        let url = opened["url"]
            .as_str()
            .expect("an address")
            .trim_start_matches("http://")
            .to_owned();
        let (host, path) = url.split_once('/').expect("a path");
        let mut server = Server {
            child: Arc::new(Mutex::new(child)),
            host: host.to_owned(),
            cookie: String::new(),
            token: String::new(),
        };
        let entered = server.ask("GET", &format!("/{path}"), "").expect("an answer");
        let cookie = entered
            .lines()
            .find_map(|line| line.strip_prefix("set-cookie: "))
            .expect("a cookie");
        server.cookie = cookie.split(';').next().unwrap_or_default().to_owned();
        let page = server.ask("GET", "/", "").expect("a page");
        let token = page
            .split("name=\"tidewall-token\" content=\"")
            .nth(1)
            .expect("a token");
        server.token = token.split('"').next().unwrap_or_default().to_owned();
        server
    }

    /// Kills it after a time.
    pub fn kill_after(&self, after: Duration) -> JoinHandle<()> {
        let child = Arc::clone(&self.child);
        std::thread::spawn(move || {
            std::thread::sleep(after);
            child.lock().expect("the child").kill().expect("it is killed");
        })
    }

    /// An answer as text, head and body; `None` if there is none, or not all of it.
    fn ask(&self, method: &str, address: &str, body: &str) -> Option<String> {
        let mut stream = TcpStream::connect(&self.host).ok()?;
        let head = format!(
            "{method} {address} HTTP/1.1\r\nhost: {host}\r\norigin: http://{host}\r\nsec-fetch-site: same-origin\r\n\
             cookie: {cookie}\r\nx-tidewall-token: {token}\r\ncontent-type: application/json\r\n\
             accept: text/html\r\ncontent-length: {length}\r\nconnection: close\r\n\r\n",
            host = self.host,
            cookie = self.cookie,
            token = self.token,
            length = body.len(),
        );
        stream.write_all(head.as_bytes()).ok()?;
        stream.write_all(body.as_bytes()).ok()?;
        let mut answer = String::new();
        stream.read_to_string(&mut answer).ok()?;
        (!answer.is_empty()).then_some(answer)
    }

    /// The revision by which the workbench knows a text.
    pub fn revision_of(&self, text: &str) -> String {
        format!("{:x}", Sha256::digest(text.as_bytes()))
    }

    /// Sends any change; status and body.
    pub fn post(&self, address: &str, body: &Value) -> Option<(String, Value)> {
        let answer = self.ask("POST", address, &body.to_string())?;
        let (head, body) = answer.split_once("\r\n\r\n")?;
        let status = head.split_whitespace().nth(1)?.to_owned();
        Some((status, serde_json::from_str(body).ok()?))
    }

    /// Changes the title of a study; the new revision, or `None` where the workbench is gone.
    pub fn set_title(&mut self, study: &str, base: &str, title: &str) -> Option<String> {
        let change = json!({
            "base": base,
            "label": "title",
            "edits": [{ "edit": "set", "at": "title", "value": title }],
        });
        let (status, answer) = self.post(&format!("/api/study/{study}/edit"), &change)?;
        assert_eq!(status, "200", "{answer}");
        answer["revision"].as_str().map(str::to_owned)
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        if let Ok(mut child) = self.child.lock() {
            let _ = child.kill();
            let _ = child.wait();
        }
    }
}
