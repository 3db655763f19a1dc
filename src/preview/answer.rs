//! What the server answers to which request.

use std::convert::Infallible;
use std::sync::Arc;
use std::time::Duration;

use http_body_util::combinators::UnsyncBoxBody;
use http_body_util::{BodyExt, Full, Limited};
use hyper::body::{Bytes, Incoming};
use hyper::header::{self, HeaderValue};
use hyper::{Method, Request, Response, StatusCode};
use serde::Deserialize;
use serde_json::Value;

use crate::preview::editor::Editor;
use crate::preview::marks::{Mark, Marks};
use crate::preview::sessions::Sessions;
use crate::preview::{assets, events, guard, state};
use crate::shop::watch::{DeskId, Map, Watch};

/// The most bytes of a request's body.
const MOST_BYTES: usize = 64 << 10;

/// The longest that a body may take to come.
const MOST_TIME: Duration = Duration::from_secs(5);

/// The most settings that a page may send, and the longest name or value (bytes).
const MOST_SETTINGS: usize = 200;
const LONGEST_SETTING: usize = 1000;

/// An answer's body.
pub type Body = UnsyncBoxBody<Bytes, Infallible>;

/// What answers are made from.
pub struct Desk {
    /// The script under watch.
    pub watch: Watch,
    /// Page loads.
    pub sessions: Sessions,
    /// What has happened.
    pub marks: Arc<Marks>,
    /// Rings when something has happened.
    pub bell: tokio::sync::watch::Sender<()>,
    /// The editor, where one was given.
    pub editor: Option<Editor>,
    /// The port that is listened on.
    pub port: u16,
}

impl Desk {
    /// The mark that holds for a page.
    pub fn mark(&self, id: DeskId) -> Mark {
        self.marks.of(id, self.watch.has_desk(id))
    }

    /// Forgets pages.
    pub fn forget(&self, gone: Vec<DeskId>) {
        for id in gone {
            self.watch.forget(id);
            self.marks.forget(id);
        }
    }
}

/// A refusal.
type No = StatusCode;

/// Answers a request.
pub async fn answer(
    desk: Arc<Desk>,
    request: Request<Incoming>,
) -> Result<Response<Body>, Infallible> {
    let mut response = match routed(&desk, request).await {
        Ok(response) => response,
        Err(no) => refusal(no),
    };
    guard::seal(response.headers_mut());
    Ok(response)
}

async fn routed(desk: &Arc<Desk>, request: Request<Incoming>) -> Result<Response<Body>, No> {
    if !guard::is_ours(request.headers(), desk.port) {
        return Err(StatusCode::FORBIDDEN);
    }
    let path = request.uri().path().to_string();
    let parts: Vec<&str> = path.split('/').skip(1).collect();
    match (request.method(), &parts[..]) {
        (&Method::GET, [""]) => index(desk),
        (&Method::GET, ["events" | "mesh" | "map" | "change" | "file", ..]) => {
            let token = query_token(request.uri().query()).ok_or(StatusCode::FORBIDDEN)?;
            let id = desk.sessions.find(token).ok_or(StatusCode::FORBIDDEN)?;
            data(desk, token, id, &parts).await
        }
        (&Method::POST, [what @ ("set" | "open")]) => {
            let token = request
                .headers()
                .get("x-token")
                .and_then(|t| t.to_str().ok());
            let id = token.and_then(|t| desk.sessions.find(t));
            let id = id.ok_or(StatusCode::FORBIDDEN)?;
            let body = body(request).await?;
            if *what == "set" {
                set(desk, id, &body)
            } else {
                open(desk, id, &body)
            }
        }
        (&Method::GET, _) => {
            let name = path.trim_start_matches('/');
            let found = assets::FILES.iter().find(|(file, _)| *file == name);
            let (name, text) = found.ok_or(StatusCode::NOT_FOUND)?;
            Ok(whole(text.as_bytes().into(), assets::media_type(name)))
        }
        _ => Err(StatusCode::METHOD_NOT_ALLOWED),
    }
}

fn refusal(no: No) -> Response<Body> {
    let text = no.canonical_reason().unwrap_or("no");
    let mut response = whole(
        Bytes::from_static(text.as_bytes()),
        "text/plain; charset=utf-8",
    );
    *response.status_mut() = no;
    response
}

fn whole(bytes: Bytes, media_type: &'static str) -> Response<Body> {
    let mut response = Response::new(Full::new(bytes).boxed_unsync());
    response
        .headers_mut()
        .insert(header::CONTENT_TYPE, HeaderValue::from_static(media_type));
    response
}

fn done() -> Response<Body> {
    let mut response = Response::new(Full::default().boxed_unsync());
    *response.status_mut() = StatusCode::NO_CONTENT;
    response
}

/// The page, with a token of its own.
fn index(desk: &Desk) -> Result<Response<Body>, No> {
    let opened = desk.sessions.open();
    let (token, gone) = opened.ok_or(StatusCode::INTERNAL_SERVER_ERROR)?;
    desk.forget(gone);
    let text = assets::INDEX.replace(assets::TOKEN, &token);
    Ok(whole(text.into(), "text/html; charset=utf-8"))
}

fn query_token(query: Option<&str>) -> Option<&str> {
    query?.split('&').find_map(|pair| pair.strip_prefix("s="))
}

/// Events, meshes and files.
async fn data(
    desk: &Arc<Desk>,
    token: &str,
    id: DeskId,
    parts: &[&str],
) -> Result<Response<Body>, No> {
    if let ["events"] = parts {
        if !desk.sessions.begin_stream(token) {
            return Err(StatusCode::TOO_MANY_REQUESTS);
        }
        let stream = events::begin(desk, token.to_string(), id);
        let mut response = Response::new(stream.boxed_unsync());
        response.headers_mut().insert(
            header::CONTENT_TYPE,
            HeaderValue::from_static("text/event-stream"),
        );
        return Ok(response);
    }
    let (kind, number) = match parts {
        [kind, number, ..] => (
            *kind,
            number.parse::<u64>().map_err(|_| StatusCode::NOT_FOUND)?,
        ),
        _ => return Err(StatusCode::NOT_FOUND),
    };
    let rest: Option<Vec<String>> = parts[2..].iter().map(|p| state::from_percent(p)).collect();
    let rest = rest.ok_or(StatusCode::NOT_FOUND)?;
    match (kind, &rest[..]) {
        ("mesh", [stage]) => {
            let good = desk.watch.find(id, number).ok_or(StatusCode::NOT_FOUND)?;
            let stage = stage.clone();
            let bytes = apart(move || good.view(&stage)).await?;
            Ok(whole(shared(bytes), "application/octet-stream"))
        }
        ("map", [map, stage]) => {
            let map = Map::named(map).ok_or(StatusCode::NOT_FOUND)?;
            let Some(good) = desk.watch.find(id, number) else {
                return Ok(done());
            };
            let stage = stage.clone();
            let bytes = apart(move || good.map(map, &stage)).await?;
            Ok(whole(shared(bytes), "application/octet-stream"))
        }
        ("change", [stage, which]) => {
            let change = desk.watch.shown(id).change.ok_or(StatusCode::NOT_FOUND)?;
            if change.build > number {
                // A newer build came since the page was told: there is nothing to show, and nothing wrong.
                return Ok(done());
            }
            if change.build < number {
                return Err(StatusCode::NOT_FOUND);
            }
            let bytes = change.view(stage, which);
            let bytes = bytes.ok_or(StatusCode::NOT_FOUND)?;
            Ok(whole(shared(bytes), "application/octet-stream"))
        }
        ("file", [name]) => {
            let good = desk.watch.find(id, number).ok_or(StatusCode::NOT_FOUND)?;
            let wanted = name.clone();
            let bytes = apart(move || good.file(&wanted)).await?;
            let mut response = whole(bytes.into(), assets::media_type(name));
            let kept = format!("attachment; filename*=UTF-8''{}", state::percent(name));
            if let Ok(kept) = HeaderValue::from_str(&kept) {
                response
                    .headers_mut()
                    .insert(header::CONTENT_DISPOSITION, kept);
            }
            Ok(response)
        }
        _ => Err(StatusCode::NOT_FOUND),
    }
}

/// Work that takes its time, away from the thread that answers.
async fn apart<T: Send + 'static>(
    work: impl FnOnce() -> Option<T> + Send + 'static,
) -> Result<T, No> {
    match tokio::task::spawn_blocking(work).await {
        Ok(Some(found)) => Ok(found),
        Ok(None) => Err(StatusCode::NOT_FOUND),
        Err(_) => Err(StatusCode::INTERNAL_SERVER_ERROR),
    }
}

/// Bytes that are held elsewhere too.
fn shared(bytes: Arc<Vec<u8>>) -> Bytes {
    struct Held(Arc<Vec<u8>>);
    impl AsRef<[u8]> for Held {
        fn as_ref(&self) -> &[u8] {
            &self.0
        }
    }
    Bytes::from_owner(Held(bytes))
}

async fn body(request: Request<Incoming>) -> Result<Bytes, No> {
    let body = Limited::new(request.into_body(), MOST_BYTES).collect();
    match tokio::time::timeout(MOST_TIME, body).await {
        Err(_) => Err(StatusCode::REQUEST_TIMEOUT),
        Ok(Err(_)) => Err(StatusCode::PAYLOAD_TOO_LARGE),
        Ok(Ok(collected)) => Ok(collected.to_bytes()),
    }
}

#[derive(Deserialize)]
struct SetWish {
    settings: serde_json::Map<String, Value>,
}

/// A page's own settings.
fn set(desk: &Desk, id: DeskId, body: &[u8]) -> Result<Response<Body>, No> {
    let wish: SetWish = serde_json::from_slice(body).map_err(|_| StatusCode::BAD_REQUEST)?;
    let mut overrides = Vec::new();
    for (name, value) in wish.settings {
        let value = match value {
            Value::String(text) => text,
            Value::Number(number) => number.to_string(),
            Value::Bool(flag) => flag.to_string(),
            _ => return Err(StatusCode::BAD_REQUEST),
        };
        if name.len() > LONGEST_SETTING || value.len() > LONGEST_SETTING {
            return Err(StatusCode::BAD_REQUEST);
        }
        overrides.push((name, value));
    }
    if overrides.len() > MOST_SETTINGS {
        return Err(StatusCode::BAD_REQUEST);
    }
    desk.watch.set(id, overrides);
    Ok(done())
}

#[derive(Deserialize)]
struct OpenWish {
    file: String,
    #[serde(default)]
    line: usize,
}

/// Opens a file that a build read.
fn open(desk: &Desk, id: DeskId, body: &[u8]) -> Result<Response<Body>, No> {
    let editor = desk.editor.as_ref().ok_or(StatusCode::NOT_FOUND)?;
    let wish: OpenWish = serde_json::from_slice(body).map_err(|_| StatusCode::BAD_REQUEST)?;
    let path = desk
        .watch
        .shown(id)
        .path_of(desk.watch.script(), &wish.file);
    let path = path.ok_or(StatusCode::NOT_FOUND)?;
    match editor.open(&path, wish.line.max(1)) {
        Ok(()) => Ok(done()),
        Err(_) => Err(StatusCode::INTERNAL_SERVER_ERROR),
    }
}
