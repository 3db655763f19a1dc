//! Who may ask, and what every answer says of itself.

use hyper::header::{self, HeaderMap, HeaderName, HeaderValue};

/// What the page may load: its own files, and nothing from elsewhere.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; \
    connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

/// The names under which the loopback address is asked for.
const HOSTS: [&str; 3] = ["127.0.0.1", "localhost", "[::1]"];

/// Whether a request was meant for this server and comes from its own page, or from no page at all.
pub fn is_ours(headers: &HeaderMap, port: u16) -> bool {
    let ours = |authority: &str| HOSTS.iter().any(|h| authority == format!("{h}:{port}"));
    let one = |name: HeaderName| {
        let mut all = headers.get_all(name).iter();
        let first = all.next().map(|v| v.to_str().unwrap_or(""));
        (first, all.next().is_some())
    };
    let (host, more_hosts) = one(header::HOST);
    let (origin, more_origins) = one(header::ORIGIN);
    let host_fits = host.is_some_and(ours);
    let origin_fits = origin.is_none_or(|o| o.strip_prefix("http://").is_some_and(ours));
    host_fits && origin_fits && !more_hosts && !more_origins
}

/// Puts on what every answer carries.
pub fn seal(headers: &mut HeaderMap) {
    let fixed: [(HeaderName, &'static str); 7] = [
        (header::CONTENT_SECURITY_POLICY, POLICY),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::X_FRAME_OPTIONS, "DENY"),
        (header::REFERRER_POLICY, "no-referrer"),
        (header::CACHE_CONTROL, "no-store"),
        (
            HeaderName::from_static("cross-origin-resource-policy"),
            "same-origin",
        ),
        (
            HeaderName::from_static("cross-origin-opener-policy"),
            "same-origin",
        ),
    ];
    for (name, value) in fixed {
        headers.insert(name, HeaderValue::from_static(value));
    }
}
