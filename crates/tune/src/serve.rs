//! The page on loopback.
//!
//! `GET` gives the page, its style, script and design; `POST try` a trial,
//! `POST write` writes the recipe. Every answer forbids the browser to keep,
//! frame or guess at anything. Requests are answered by a few threads, so that
//! two settings side by side do not wait for each other.

use crate::access::{Access, Refused};
use crate::design::Design;
use crate::edit::Change;
use crate::trial::{TuneError, Tuner};
use serde::Deserialize;
use serde_json::{Value, json};
use std::io::Read as _;
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::JoinHandle;
use tiny_http::{Header, Method, Request, Response, Server};

const PAGE: &str = include_str!("page/tune.html");
const STYLE: &str = include_str!("page/tune.css");
const SCRIPT: &str = include_str!("page/tune.js");

/// Requests answered at the same time.
const THREADS: usize = 3;

/// No request is longer, bytes.
const LONGEST: u64 = 1 << 20;

/// What the page may do: nothing but talk to where it comes from.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src data:; connect-src 'self'; \
                      base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

/// Reads the recipe's text as it stands in its file.
type Read = Box<dyn Fn() -> Result<String, String> + Send + Sync>;

/// Writes a recipe: given the text it replaces and the new one.
type Write = Box<dyn FnMut(&str, &str) -> Result<(), String> + Send>;

/// A page that is being served. Dropped, it stops.
pub struct Serving {
    url: String,
    server: Arc<Server>,
    threads: Vec<JoinHandle<()>>,
}

/// What `try` and `write` are asked with.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Asked {
    changes: Vec<Change>,
}

/// All that answers need.
struct Desk {
    access: Access,
    tuner: Tuner,
    read: Read,
    write: Mutex<Write>,
}

/// Serves the page of a tuner on a free port of loopback. `read` gives the recipe's text as it stands in its file: it is
/// asked whenever the page is loaded. `write` is given that text before and after, and writes it or says why not.
///
/// # Errors
/// When there is no port, or the system has no random numbers.
pub fn serve(
    tuner: Tuner,
    read: impl Fn() -> Result<String, String> + Send + Sync + 'static,
    write: impl FnMut(&str, &str) -> Result<(), String> + Send + 'static,
) -> Result<Serving, TuneError> {
    let fault = |what: &str, error: String| TuneError(format!("{what}: {error}"));
    let server = Server::http(("127.0.0.1", 0)).map_err(|error| fault("no port to serve on", error.to_string()))?;
    let port = server.server_addr().to_ip().map(|address| address.port());
    let port = port.ok_or_else(|| fault("no port to serve on", "it has no number".into()))?;
    let access = Access::new(port).map_err(|error| fault("no random numbers", error.to_string()))?;
    let url = access.url();
    let desk = Arc::new(Desk { access, tuner, read: Box::new(read), write: Mutex::new(Box::new(write)) });
    let server = Arc::new(server);
    let answer_all = |_| {
        let (server, desk) = (server.clone(), desk.clone());
        std::thread::spawn(move || {
            while let Ok(request) = server.recv() {
                desk.answer(request);
            }
        })
    };
    let threads = (0..THREADS).map(answer_all).collect();
    Ok(Serving { url, server: server.clone(), threads })
}

impl Serving {
    /// The address to open; who knows it may use the page.
    pub fn url(&self) -> &str {
        &self.url
    }

    /// Waits for as long as the page is served.
    pub fn wait(mut self) {
        for thread in std::mem::take(&mut self.threads) {
            let _ = thread.join();
        }
    }
}

impl Drop for Serving {
    fn drop(&mut self) {
        self.threads.iter().for_each(|_| self.server.unblock());
    }
}

impl Desk {
    fn answer(&self, mut request: Request) {
        let response = match self.path(&request) {
            Err(refused) => text(403, "text/plain", refused.to_string()),
            Ok(path) => self.response(&path, &mut request),
        };
        let response =
            HEADERS.iter().filter_map(|(name, value)| header(name, value)).fold(response, Response::with_header);
        let _ = request.respond(response); // a browser that has gone away is no error
    }

    /// The path below the token, if the request may ask for it.
    fn path(&self, request: &Request) -> Result<String, Refused> {
        let of = |name: &'static str| request.headers().iter().find(|header| header.field.equiv(name));
        let (host, origin) = (of("Host").map(|h| h.value.as_str()), of("Origin").map(|h| h.value.as_str()));
        let changes = *request.method() != Method::Get;
        self.access.check(request.url(), host, origin, changes).map(str::to_owned)
    }

    fn response(&self, path: &str, request: &mut Request) -> Response<std::io::Cursor<Vec<u8>>> {
        match (request.method(), path) {
            (Method::Get, "") => text(200, "text/html", PAGE.into()),
            (Method::Get, "tune.css") => text(200, "text/css", STYLE.into()),
            (Method::Get, "tune.js") => text(200, "text/javascript", SCRIPT.into()),
            (Method::Get, "design") => said(self.design()),
            (Method::Post, "try") => said(asked(request).and_then(|asked| self.tuner.trial(&asked.changes))),
            (Method::Post, "write") => said(asked(request).and_then(|asked| self.write(&asked.changes))),
            _ => text(404, "text/plain", "there is nothing here".into()),
        }
    }

    /// The design of the recipe as it stands in its file.
    fn design(&self) -> Result<Design, TuneError> {
        // Nobody writes meanwhile: what is read is not older than what is kept.
        let _writing = self.write.lock().unwrap_or_else(PoisonError::into_inner);
        self.tuner.reread((self.read)().map_err(TuneError)?)?;
        self.tuner.design()
    }

    fn write(&self, changes: &[Change]) -> Result<Value, TuneError> {
        let mut write = self.write.lock().unwrap_or_else(PoisonError::into_inner);
        self.tuner.write(changes, |before, after| write(before, after))?;
        Ok(json!({ "written": true }))
    }
}

const HEADERS: [(&str, &str); 5] = [
    ("Content-Security-Policy", POLICY),
    ("Cache-Control", "no-store"),
    ("Referrer-Policy", "no-referrer"),
    ("X-Content-Type-Options", "nosniff"),
    ("Cross-Origin-Resource-Policy", "same-origin"),
];

fn header(name: &str, value: &str) -> Option<Header> {
    Header::from_bytes(name, value).ok()
}

fn text(status: u16, kind: &str, body: String) -> Response<std::io::Cursor<Vec<u8>>> {
    let response = Response::from_string(body).with_status_code(status);
    match header("Content-Type", &format!("{kind}; charset=utf-8")) {
        Some(kind) => response.with_header(kind),
        None => response,
    }
}

/// A result as JSON, or what is wrong as `{"error": ...}`.
fn said(result: Result<impl serde::Serialize, TuneError>) -> Response<std::io::Cursor<Vec<u8>>> {
    let found = result.and_then(|value| serde_json::to_string(&value).map_err(|error| TuneError(error.to_string())));
    match found {
        Ok(body) => text(200, "application/json", body),
        Err(error) => text(422, "application/json", json!({ "error": error.to_string() }).to_string()),
    }
}

fn asked(request: &mut Request) -> Result<Asked, TuneError> {
    let mut body = Vec::new();
    let read = request.as_reader().take(LONGEST + 1).read_to_end(&mut body);
    read.map_err(|error| TuneError(error.to_string()))?;
    if body.len() as u64 > LONGEST {
        return Err(TuneError("the request is too long".into()));
    }
    serde_json::from_slice(&body).map_err(|error| TuneError(format!("the request cannot be read: {error}")))
}
