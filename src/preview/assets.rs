//! The page's own files. A new module of the page is listed here, by the name that the page asks for.

/// The page itself.
pub const INDEX: &str = include_str!("page/index.html");

/// Where the page's token goes.
pub const TOKEN: &str = "{{TOKEN}}";

/// Everything else, by name.
pub const FILES: &[(&str, &str)] = &[
    ("page.css", include_str!("page/page.css")),
    ("alarm.js", include_str!("page/alarm.js")),
    ("block.js", include_str!("page/block.js")),
    ("camera.js", include_str!("page/camera.js")),
    ("changes.js", include_str!("page/changes.js")),
    ("chosen.js", include_str!("page/chosen.js")),
    ("cut.js", include_str!("page/cut.js")),
    ("figures.js", include_str!("page/figures.js")),
    ("hands.js", include_str!("page/hands.js")),
    ("hub.js", include_str!("page/hub.js")),
    ("ink.js", include_str!("page/ink.js")),
    ("keys.js", include_str!("page/keys.js")),
    ("link.js", include_str!("page/link.js")),
    ("list.js", include_str!("page/list.js")),
    ("main.js", include_str!("page/main.js")),
    ("maps.js", include_str!("page/maps.js")),
    ("measure.js", include_str!("page/measure.js")),
    ("mesh.js", include_str!("page/mesh.js")),
    ("pieces.js", include_str!("page/pieces.js")),
    ("pick.js", include_str!("page/pick.js")),
    ("place.js", include_str!("page/place.js")),
    ("settings.js", include_str!("page/settings.js")),
    ("shaders.js", include_str!("page/shaders.js")),
    ("space.js", include_str!("page/space.js")),
    ("still.js", include_str!("page/still.js")),
    ("tints.js", include_str!("page/tints.js")),
    ("view.js", include_str!("page/view.js")),
];

/// The type of a file by its ending.
pub fn media_type(name: &str) -> &'static str {
    match name.rsplit('.').next() {
        Some("css") => "text/css; charset=utf-8",
        Some("js") => "text/javascript; charset=utf-8",
        Some("svg") => "image/svg+xml",
        Some("json") => "application/json",
        Some("stl") => "model/stl",
        Some("3mf") => "model/3mf",
        Some("csv") => "text/csv; charset=utf-8",
        Some("dxf") => "image/vnd.dxf",
        Some("html") => "text/html; charset=utf-8",
        _ => "application/octet-stream",
    }
}
