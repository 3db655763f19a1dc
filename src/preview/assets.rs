//! The page's own files. A new module of the page is listed here, by the name that the page asks for.

/// The page itself.
pub const INDEX: &str = include_str!("page/index.html");

/// Where the page's token goes.
pub const TOKEN: &str = "{{TOKEN}}";

/// Everything else, by name.
pub const FILES: &[(&str, &str)] = &[
    ("page.css", include_str!("page/page.css")),
    ("page.js", include_str!("page/page.js")),
];

/// The type of a file by its ending.
pub fn media_type(name: &str) -> &'static str {
    match name.rsplit('.').next() {
        Some("css") => "text/css; charset=utf-8",
        Some("js") => "text/javascript; charset=utf-8",
        Some("svg") => "image/svg+xml",
        Some("json") => "application/json",
        Some("stl") => "model/stl",
        _ => "application/octet-stream",
    }
}
