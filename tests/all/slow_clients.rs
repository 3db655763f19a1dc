//! Callers that send half of what they should, or take nothing of what they get, lose their place.

use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::Instant;

use crate::preview::serve;
use crate::served::{PATIENCE, ask, block, raw, token};

/// The server's own limit.
const MOST: usize = 64;

fn joined(port: u16, bytes: &[u8]) -> TcpStream {
    let mut stream = TcpStream::connect(("127.0.0.1", port)).unwrap();
    stream.set_read_timeout(Some(PATIENCE)).unwrap();
    stream.set_write_timeout(Some(PATIENCE)).unwrap();
    stream.write_all(bytes).unwrap();
    stream
}

/// Every place is taken by a caller that never ends its request's head; the page comes in all the same, while they
/// still hold on.
#[test]
fn half_a_request_holds_no_place_for_long() {
    let served = serve(&block(40.0));
    let port = served.port();
    let mut half: Vec<TcpStream> = (0..MOST)
        .map(|_| joined(port, b"GET / HTTP/1.1\r\nHost: 127"))
        .collect();
    let end = Instant::now() + PATIENCE;
    while ask(port, "GET", "/", &[], "").status != 0 {
        assert!(Instant::now() < end, "the places are never taken");
    }
    while ask(port, "GET", "/", &[], "").status != 200 {
        assert!(Instant::now() < end, "half a request holds its place");
    }
    // Each was let go by the server.
    let mut rest = Vec::new();
    let ended = half[0].read_to_end(&mut rest);
    assert!(ended.is_ok() || ended.is_err_and(|e| e.kind() == std::io::ErrorKind::ConnectionReset));
}

/// Half a body: the head says that more comes.
#[test]
fn half_a_body_is_not_waited_for() {
    let served = serve(&block(40.0));
    let port = served.port();
    let token = token(port);
    let head = format!(
        "POST /set HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nX-Token: {token}\r\nConnection: close\r\nContent-Length: 90\r\n\r\n{{\"set"
    );
    assert_eq!(raw(port, head.as_bytes()).status, 408);
}

/// A caller asks for far more than the system holds for it, and reads none of it: the server lets it go.
#[test]
fn what_is_not_read_is_not_waited_for() {
    const ASKED: usize = 4000;
    let served = serve(&block(40.0));
    let port = served.port();
    let once = format!("GET /view.js HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\n\r\n");
    let answer = ask(port, "GET", "/view.js", &[], "").body.len();
    let mut stream = TcpStream::connect(("127.0.0.1", port)).unwrap();
    stream.set_nonblocking(true).unwrap();
    let all = once.repeat(ASKED).into_bytes();
    let (mut sent, end) = (0, Instant::now() + PATIENCE);
    // What goes out of our side stops as the server stops reading; once it has let go, writing fails.
    let gone = loop {
        assert!(
            Instant::now() < end,
            "a caller that reads nothing is held on to"
        );
        match stream.write(
            all.get(sent..)
                .filter(|rest| !rest.is_empty())
                .unwrap_or(b"\r\n"),
        ) {
            Ok(n) => sent += n,
            Err(e) if e.kind() == std::io::ErrorKind::WouldBlock => {}
            Err(e) => break e.kind(),
        }
        std::thread::sleep(std::time::Duration::from_millis(20));
    };
    use std::io::ErrorKind::{BrokenPipe, ConnectionAborted, ConnectionReset};
    assert!(
        [BrokenPipe, ConnectionAborted, ConnectionReset].contains(&gone),
        "{gone:?}"
    );
    assert!(
        answer * ASKED > 50 << 20,
        "{answer} bytes an answer are no burden"
    );
    // Others go on being served.
    assert_eq!(ask(port, "GET", "/", &[], "").status, 200);
}
