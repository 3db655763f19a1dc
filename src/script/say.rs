//! Pieces of messages: what a value is, lists of names, "did you mean".

use rhai::{Array, Dynamic, ImmutableString, Map};

use crate::drawing::gating::GatingHandle;
use crate::drawing::given::{FaceRef, Handle};
use crate::drawing::outline::Outline;
use crate::script::nearest::nearest;
use crate::script::state::Broken;

/// Whether a value holds one that an earlier fault broke.
pub fn is_broken(value: &Dynamic) -> bool {
    if let Some(list) = value.read_lock::<Array>() {
        return list.iter().any(is_broken);
    }
    if let Some(map) = value.read_lock::<Map>() {
        return map.values().any(is_broken);
    }
    value.is::<Broken>()
}

/// `did you mean …?`, where a known word is near.
pub fn did_you_mean<'k>(word: &str, known: impl IntoIterator<Item = &'k str>) -> Vec<String> {
    nearest(word, known)
        .map(|near| format!("did you mean `{near}`?"))
        .into_iter()
        .collect()
}

/// Names in back ticks, comma between them.
pub fn listed<'k>(names: impl IntoIterator<Item = &'k str>) -> String {
    names
        .into_iter()
        .map(|n| format!("`{n}`"))
        .collect::<Vec<_>>()
        .join(", ")
}

/// `a`, `b` or `c`.
pub fn either(names: &[&str]) -> String {
    match names {
        [rest @ .., last] if !rest.is_empty() => {
            format!("{} or `{last}`", listed(rest.iter().copied()))
        }
        _ => listed(names.iter().copied()),
    }
}

/// What a value is, in words.
pub fn describe(value: &Dynamic) -> String {
    if let Some(text) = value.read_lock::<ImmutableString>() {
        let short: String = text.chars().take(30).collect();
        return format!("the text \"{short}\"");
    }
    if let Some(handle) = value.read_lock::<Handle>() {
        return format!("the feature \"{}\"", handle.name);
    }
    if let Some(handle) = value.read_lock::<GatingHandle>() {
        return format!("the gating \"{}\"", handle.name);
    }
    if let Some(list) = value.read_lock::<Array>() {
        return format!("a list of {}", list.len());
    }
    if value.is_int() || value.is_float() {
        return format!("the number {value}");
    }
    let kind = match () {
        () if value.is_bool() => "true or false",
        () if value.is_map() => "a map #{ … }",
        () if value.is_unit() => "nothing",
        () if value.is::<Outline>() => "an outline",
        () if value.is::<FaceRef>() => "a face",
        () if value.is_char() => "a letter in single quotes",
        () if value.is_fnptr() => "a function",
        () => "another kind of value",
    };
    kind.into()
}
