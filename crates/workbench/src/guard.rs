//! Who may ask: this machine's user, from a page of this start.
//!
//! The server listens on the loopback interface only, but every page of every site in the user's browser, and every
//! program on the machine, can reach that. So each request must name this server as its host (no rebinding of names),
//! must not come from another site or port, must carry the cookie that the printed address was exchanged for, and, where
//! it changes something, the token of a page of this start.

use axum::extract::rejection::QueryRejection;
use axum::extract::{Query, Request, State};
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use serde::Deserialize;

use crate::error::Refusal;
use crate::state::App;

/// Header that carries the token of a page.
pub const TOKEN_HEADER: &str = "x-tidewall-token";

/// What pages may load and do: their own script, style sheet and requests, pictures of their own, and nothing else.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; \
                      form-action 'self'; frame-ancestors 'none'; base-uri 'none'";

/// The secrets of one start.
#[derive(Clone, Debug)]
pub struct Keys {
    /// In the address that is printed.
    pub entry: String,
    /// In the cookie.
    pub session: String,
    /// In every page, sent back with every change.
    pub token: String,
    /// The port, which is part of the cookie's name: browsers do not keep ports apart.
    pub port: u16,
}

impl Keys {
    /// New secrets from the system's source of randomness.
    ///
    /// # Errors
    /// Where the system has none.
    pub fn new(port: u16) -> Result<Keys, getrandom::Error> {
        let secret = || -> Result<String, getrandom::Error> {
            let mut bytes = [0u8; 24];
            getrandom::fill(&mut bytes)?;
            Ok(bytes.iter().map(|byte| format!("{byte:02x}")).collect())
        };
        Ok(Keys {
            entry: secret()?,
            session: secret()?,
            token: secret()?,
            port,
        })
    }

    fn cookie_name(&self) -> String {
        format!("tidewall-{}", self.port)
    }

    /// Hosts by which this server may be called.
    fn hosts(&self) -> [String; 2] {
        [
            format!("127.0.0.1:{}", self.port),
            format!("localhost:{}", self.port),
        ]
    }
}

/// Compares without telling by time how much is alike.
fn same(left: &str, right: &str) -> bool {
    let (left, right) = (left.as_bytes(), right.as_bytes());
    left.len() == right.len() && left.iter().zip(right).fold(0, |all, (a, b)| all | (a ^ b)) == 0
}

fn text<'h>(headers: &'h HeaderMap, name: &str) -> Option<&'h str> {
    headers.get(name).map(|value| value.to_str().unwrap_or("?"))
}

/// The one header of that name: two of them are refused, since others might look at the other one.
fn single<'h>(headers: &'h HeaderMap, name: &str) -> Result<Option<&'h str>, Refusal> {
    if headers.get_all(name).iter().count() > 1 {
        return Err(Refusal::bad(format!("the header {name} stands twice"), ""));
    }
    Ok(text(headers, name))
}

fn foreign(message: &str) -> Refusal {
    Refusal::new(
        StatusCode::FORBIDDEN,
        message,
        "open the address that `tidewall open` printed, in a window of its own",
    )
}

/// Lets through what passes every rule.
pub async fn check(State(app): State<App>, request: Request, next: Next) -> Response {
    match allowed(app.keys(), &request) {
        Ok(()) => next.run(request).await,
        Err(refusal) => refusal.into_response(),
    }
}

fn allowed(keys: &Keys, request: &Request) -> Result<(), Refusal> {
    let headers = request.headers();
    let host = single(headers, "host")?.unwrap_or_default();
    if !keys.hosts().iter().any(|own| own == host) {
        return Err(foreign("this server is not called by that name"));
    }
    if let Some(authority) = request.uri().authority()
        && authority.as_str() != host
    {
        return Err(foreign("the request is meant for another server"));
    }
    let changes = match *request.method() {
        Method::GET | Method::HEAD => false,
        Method::POST => true,
        _ => {
            return Err(Refusal::new(
                StatusCode::METHOD_NOT_ALLOWED,
                "only GET, HEAD and POST are known here",
                "",
            ));
        }
    };
    // A browser says where a request comes from; another port of this machine is "same-site" and as foreign as any.
    if let Some(site) = single(headers, "sec-fetch-site")?
        && site != "same-origin"
        && (site != "none" || changes)
    {
        return Err(foreign("the request comes from another page"));
    }
    match single(headers, "origin")? {
        Some(origin) if origin != format!("http://{host}") => {
            return Err(foreign("the request comes from another page"));
        }
        None if changes => return Err(foreign("the request does not say which page it comes from")),
        _ => {}
    }
    let path = request.uri().path();
    if path == "/enter" || path.starts_with("/static/") {
        return Ok(());
    }
    let name = keys.cookie_name();
    let cookies = headers.get_all(header::COOKIE).iter();
    let known = cookies
        .filter_map(|line| line.to_str().ok())
        .flat_map(|line| line.split(';'))
        .filter_map(|pair| pair.trim().split_once('='))
        .any(|(key, value)| key == name && same(value, &keys.session));
    if !known {
        return Err(Refusal::new(
            StatusCode::UNAUTHORIZED,
            "this browser does not have the key of this workbench",
            "open the address that `tidewall open` printed when it was started; each start has a new one",
        ));
    }
    if changes && !single(headers, TOKEN_HEADER)?.is_some_and(|token| same(token, &keys.token)) {
        return Err(foreign(
            "the request does not carry the token of a page of this start",
        ));
    }
    Ok(())
}

/// The key in the printed address.
#[derive(Deserialize)]
pub struct Entry {
    key: String,
}

/// `GET /enter?key=…`: exchanges the key of the address for the cookie.
pub async fn enter(
    State(app): State<App>,
    entry: Result<Query<Entry>, QueryRejection>,
) -> Result<Response, Refusal> {
    let keys = app.keys();
    if !entry.is_ok_and(|Query(entry)| same(&entry.key, &keys.entry)) {
        return Err(Refusal::new(
            StatusCode::UNAUTHORIZED,
            "that is not the key of this workbench",
            "each start of `tidewall open` prints a new address: take the latest one",
        ));
    }
    let cookie = format!(
        "{}={}; Path=/; HttpOnly; SameSite=Strict",
        keys.cookie_name(),
        keys.session
    );
    Ok((
        StatusCode::SEE_OTHER,
        [(header::SET_COOKIE, cookie), (header::LOCATION, "/".to_owned())],
    )
        .into_response())
}

/// A content security policy that an answer has in place of the usual one: a document of another make, such as a note with its
/// style sheet within. Framing stays forbidden.
#[derive(Clone, Debug)]
pub struct OwnPolicy(pub String);

/// Sets the headers that every answer has.
pub async fn harden(request: Request, next: Next) -> Response {
    let mut response = next.run(request).await;
    let own = response
        .extensions()
        .get::<OwnPolicy>()
        .and_then(|policy| HeaderValue::from_str(&format!("{}; frame-ancestors 'none'", policy.0)).ok());
    let headers = response.headers_mut();
    let mut set = |name: header::HeaderName, value: &'static str| {
        headers.insert(name, HeaderValue::from_static(value));
    };
    set(header::CONTENT_SECURITY_POLICY, POLICY);
    set(header::X_CONTENT_TYPE_OPTIONS, "nosniff");
    set(header::REFERRER_POLICY, "no-referrer");
    set(header::CACHE_CONTROL, "no-store");
    set(header::X_FRAME_OPTIONS, "DENY");
    let named = |name: &'static str| header::HeaderName::from_static(name);
    set(named("cross-origin-opener-policy"), "same-origin");
    set(named("cross-origin-resource-policy"), "same-origin");
    if let Some(own) = own {
        headers.insert(header::CONTENT_SECURITY_POLICY, own);
    }
    response
}
