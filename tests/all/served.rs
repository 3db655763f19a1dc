//! A page without a browser: plain HTTP/1.1 over a socket, and the stream of events.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

use serde_json::Value;

/// How long a state is waited for: far longer than it takes.
pub const PATIENCE: Duration = Duration::from_secs(120);

/// An answer.
pub struct Answer {
    pub status: u16,
    pub head: String,
    pub body: Vec<u8>,
}

impl Answer {
    pub fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }
}

/// Sends bytes as they are and reads all that comes.
pub fn raw(port: u16, request: &[u8]) -> Answer {
    let mut stream = TcpStream::connect(("127.0.0.1", port)).unwrap();
    stream.set_read_timeout(Some(PATIENCE)).unwrap();
    // The server may close before all is sent.
    let _ = stream.write_all(request);
    let mut bytes = Vec::new();
    let _ = stream.read_to_end(&mut bytes);
    let end = bytes.windows(4).position(|w| w == b"\r\n\r\n");
    let end = end.unwrap_or(bytes.len().saturating_sub(4));
    let head = String::from_utf8_lossy(&bytes[..end]).into_owned();
    let status = head.split(' ').nth(1).and_then(|s| s.parse().ok());
    Answer {
        status: status.unwrap_or(0),
        head,
        body: bytes.get(end + 4..).unwrap_or(&[]).to_vec(),
    }
}

/// A request with a good `Host`, further head lines and a body.
pub fn ask(port: u16, method: &str, target: &str, head: &[&str], body: &str) -> Answer {
    let mut request =
        format!("{method} {target} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nConnection: close\r\n");
    if !body.is_empty() {
        request += &format!("Content-Length: {}\r\n", body.len());
    }
    for line in head {
        request += &format!("{line}\r\n");
    }
    request += "\r\n";
    request += body;
    raw(port, request.as_bytes())
}

/// A page load.
pub struct Page {
    pub port: u16,
    pub token: String,
    events: Receiver<(String, Value)>,
    /// The last state that came.
    pub state: Value,
}

impl Page {
    /// Loads the page and listens.
    pub fn load(port: u16) -> Page {
        let token = token(port);
        let mut stream = TcpStream::connect(("127.0.0.1", port)).unwrap();
        let request = format!("GET /events?s={token} HTTP/1.1\r\nHost: localhost:{port}\r\n\r\n");
        stream.write_all(request.as_bytes()).unwrap();
        let (to, events) = channel();
        std::thread::spawn(move || {
            let mut name = String::new();
            for line in BufReader::new(stream).lines().map_while(Result::ok) {
                if let Some(event) = line.strip_prefix("event: ") {
                    name = event.to_string();
                } else if let Some(data) = line.strip_prefix("data: ") {
                    let value = serde_json::from_str(data).expect("an event's data is JSON");
                    if to.send((name.clone(), value)).is_err() {
                        return;
                    }
                }
            }
        });
        Page {
            port,
            token,
            events,
            state: Value::Null,
        }
    }

    pub fn get(&self, target: &str) -> Answer {
        ask(
            self.port,
            "GET",
            &format!("{target}?s={}", self.token),
            &[],
            "",
        )
    }

    pub fn post(&self, target: &str, body: &Value) -> Answer {
        let token = format!("X-Token: {}", self.token);
        ask(self.port, "POST", target, &[&token], &body.to_string())
    }

    /// The next event.
    pub fn event(&mut self) -> (String, Value) {
        let (name, value) = self
            .events
            .recv_timeout(PATIENCE)
            .expect("an event in good time");
        if name == "state" {
            self.state = value.clone();
        }
        (name, value)
    }

    /// Waits for an event.
    pub fn until_event(&mut self, name: &str, fits: impl Fn(&Value) -> bool) -> Value {
        let end = Instant::now() + PATIENCE;
        while Instant::now() < end {
            let (got, value) = self.event();
            if got == name && fits(&value) {
                return value;
            }
        }
        panic!("no such {name}; the last state: {}", self.state);
    }

    /// Waits for a state.
    pub fn until(&mut self, fits: impl Fn(&Value) -> bool) -> Value {
        self.until_event("state", fits)
    }

    /// States that came meanwhile, without waiting.
    pub fn came(&mut self) -> Vec<Value> {
        let came = self.events.try_iter().filter(|(name, _)| name == "state");
        came.map(|(_, value)| value).collect()
    }
}

/// The token of a fresh page load.
pub fn token(port: u16) -> String {
    let page = ask(port, "GET", "/", &[], "").text();
    let (_, rest) = page
        .split_once("name=\"token\" content=\"")
        .expect("a token");
    rest.split('"').next().unwrap().to_string()
}

/// Length of the finished part in x (mm), as a state says.
pub fn length_mm(state: &Value) -> f64 {
    state["size_mm"][0].as_f64().unwrap_or(0.0)
}

/// A block with two settings; its finished length is the setting.
pub fn block(length: f64) -> String {
    format!(
        "part(\"block\");\nlet l = setting(\"length\", {length});\nlet bore = setting(\"bore\", 10);\n\
         let b = slab(\"body\", #{{ outline: rect(l, 30), height: 10 }});\n\
         bore(\"hole\", #{{ into: b.top, dia: bore, through: true }});\n"
    )
}
