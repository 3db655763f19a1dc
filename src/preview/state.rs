//! The state of a page as JSON: all that it shows besides the meshes.

use serde::Serialize;
use serde_json::{Value, json};

use crate::fault::{Fault, Span};
use crate::shop::watch::{Broken, Changed, Good, Shown, beside};
use std::path::Path;

/// The state as one JSON object.
pub fn state(script: &Path, shown: &Shown, editor: bool) -> String {
    let name = script
        .file_name()
        .map_or_else(String::new, |n| n.to_string_lossy().into_owned());
    let mut errors: Vec<Value> = Vec::new();
    if let Some(broken) = &shown.broken {
        errors.extend(
            broken
                .failure
                .faults
                .0
                .iter()
                .map(|f| error(script, f, Some(broken))),
        );
    }
    errors.extend(shown.trouble.iter().map(|f| error(script, f, None)));
    let mut all = json!({
        "build": shown.good.as_ref().map_or(0, |g| g.number),
        "stale": shown.broken.is_some(),
        "proved": shown.good.as_ref().is_none_or(|g| g.proved),
        "errors": errors,
        "script": name,
        "editor": editor,
    });
    if let (Some(into), Value::Object(of)) = (
        all.as_object_mut(),
        shown.good.as_deref().map_or_else(nothing, built),
    ) {
        into.extend(of);
    }
    all.to_string()
}

/// The state before the first good build.
fn nothing() -> Value {
    json!({
        "part": "", "unit": "mm", "metal": "", "size_mm": [0.0, 0.0, 0.0], "weights_kg": {}, "seconds": 0.0,
        "stages": [], "features": [], "findings": [], "settings": [], "files": [],
    })
}

/// What a good build shows.
fn built(good: &Good) -> Value {
    let stages: Vec<Value> = good
        .build
        .stages
        .iter()
        .map(|b| {
            json!({
                "name": b.stage.name(),
                "triangles": b.figures.triangles,
                "low_mm": b.figures.low_mm.to_array(),
                "high_mm": b.figures.high_mm.to_array(),
                "volume_mm3": b.figures.volume_mm3,
                "area_mm2": b.figures.area_mm2,
            })
        })
        .collect();
    let size = good
        .build
        .stages
        .first()
        .map(|b| b.figures.high_mm - b.figures.low_mm);
    let files: Vec<Value> = good
        .files
        .iter()
        .map(|f| {
            json!({
                "name": f.name,
                "bytes": f.bytes,
                "size": size_text(f.bytes),
                "url": format!("/file/{}/{}", good.number, percent(&f.name)),
            })
        })
        .collect();
    json!({
        "part": good.build.part.name,
        "unit": good.build.part.unit.symbol(),
        "min_wall_mm": {
            "finished": good.build.part.min_wall_finished_mm(),
            "casting": good.build.part.min_wall_mm(),
            "pattern": good.build.part.min_wall_mm(),
        },
        "metal": good.report.metal.name,
        "size_mm": size.unwrap_or_default().to_array(),
        "weights_kg": good.report.weights_kg,
        "seconds": good.seconds,
        "stages": stages,
        "features": good.features,
        "findings": good.findings,
        "settings": good.settings,
        "files": files,
        "foam": good.foam,
        "poured": good.build.outlook.is_some(),
    })
}

/// A file's size as a page shows it.
fn size_text(bytes: Option<u64>) -> String {
    match bytes {
        None => "made when asked for".to_string(),
        Some(n) if n < 1_000_000 => format!("{} kB", n.div_ceil(1000)),
        Some(n) => format!("{:.1} MB", n as f64 / 1e6),
    }
}

/// A place in a file.
#[derive(Serialize)]
struct Place {
    file: String,
    #[serde(skip_serializing_if = "is_zero")]
    line: usize,
    #[serde(skip_serializing_if = "is_zero")]
    column: usize,
    #[serde(skip_serializing_if = "is_zero")]
    length: usize,
}

fn is_zero(n: &usize) -> bool {
    *n == 0
}

fn place(script: &Path, span: &Span) -> Place {
    Place {
        file: beside(script, &span.file),
        line: span.line,
        column: span.column,
        length: if span.column == 0 { 0 } else { span.length },
    }
}

/// An error with the script's own line where it has one.
#[derive(Serialize)]
struct Error<'a> {
    text: &'a str,
    #[serde(flatten)]
    place: Option<Place>,
    #[serde(skip_serializing_if = "Option::is_none")]
    source: Option<&'a str>,
    hints: &'a [String],
    calls: Vec<Place>,
}

fn error(script: &Path, fault: &Fault, broken: Option<&Broken>) -> Value {
    let span = fault.span.as_ref();
    let error = Error {
        text: &fault.text,
        place: span.map(|s| place(script, s)),
        source: span.and_then(|s| broken?.line(&s.file, s.line)),
        hints: &fault.hints,
        calls: fault.calls.iter().map(|s| place(script, s)).collect(),
    };
    serde_json::to_value(error).unwrap_or_default()
}

/// What a build changed, as one JSON object. The volumes at the top are the finished part's.
pub fn change(changed: &Changed) -> String {
    let mut stages = serde_json::Map::new();
    let mut whole = [0.0, 0.0];
    for (name, differences) in &changed.stages {
        let volumes = [0, 1].map(|i| differences[i].volume_mm3);
        if *name == "finished" {
            whole = volumes;
        }
        let row = json!({
            "added": differences[0].view.is_some(),
            "removed": differences[1].view.is_some(),
            "added_mm3": volumes[0],
            "removed_mm3": volumes[1],
        });
        stages.insert((*name).to_string(), row);
    }
    json!({
        "build": changed.build,
        "added_mm3": whole[0],
        "removed_mm3": whole[1],
        "stages": stages,
    })
    .to_string()
}

/// A name as part of an address (RFC 3986: all but the unreserved characters as %XX).
pub fn percent(name: &str) -> String {
    let mut out = String::new();
    for byte in name.bytes() {
        if byte.is_ascii_alphanumeric() || b"-._~".contains(&byte) {
            out.push(char::from(byte));
        } else {
            out.push_str(&format!("%{byte:02X}"));
        }
    }
    out
}

/// The text that a part of an address stands for; none where it isn't text.
pub fn from_percent(part: &str) -> Option<String> {
    let mut bytes = Vec::new();
    let mut rest = part.as_bytes();
    while let [first, after @ ..] = rest {
        if *first == b'%' {
            let hex = after.get(..2).and_then(|h| std::str::from_utf8(h).ok())?;
            bytes.push(u8::from_str_radix(hex, 16).ok()?);
            rest = &after[2..];
        } else {
            bytes.push(*first);
            rest = after;
        }
    }
    String::from_utf8(bytes).ok()
}
