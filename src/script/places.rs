//! Places in scripts: from the engine's positions and call frames to spans and call chains.

use rhai::debugger::CallStackFrame;
use rhai::{NativeCallContext, Position};

use crate::fault::{Site, Span};
use crate::script::state::State;

/// Where a native call stands, with the calls that led there, innermost first.
pub fn site(context: &NativeCallContext, state: &State) -> Site {
    let position = context.call_position();
    let file = context.call_source().unwrap_or_default();
    let frames = context.debugger().map_or(&[][..], |d| d.call_stack());
    // The engine gives a native call a frame of its own.
    let own = frames
        .last()
        .is_some_and(|f| f.pos == position && f.fn_name == context.fn_name());
    let frames = &frames[..frames.len() - usize::from(own)];
    Site {
        span: span(state, file, position),
        calls: chain(state, frames),
    }
}

/// The span of the word at an engine position.
pub fn span(state: &State, file: &str, position: Position) -> Span {
    let (line, column) = (
        position.line().unwrap_or(0),
        position.position().unwrap_or(0),
    );
    match state.text(file) {
        Some(text) if line > 0 && column > 0 => text.span_at(line, column),
        _ => Span {
            file: file.into(),
            line,
            column,
            length: 1,
        },
    }
}

/// The chain of open calls and imports, innermost first.
pub fn chain(state: &State, frames: &[CallStackFrame]) -> Vec<Span> {
    let mut calls = Vec::new();
    let imports_at = |depth: usize| state.imports.iter().rev().filter(move |i| i.depth == depth);
    calls.extend(imports_at(frames.len()).map(|i| i.span.clone()));
    for (n, frame) in frames.iter().enumerate().rev() {
        if !frame.pos.is_none() {
            calls.push(span(state, caller(state, frames, n), frame.pos));
        }
        calls.extend(imports_at(n).map(|i| i.span.clone()));
    }
    calls.dedup();
    calls
}

/// The file in which the call of frame `n` is written.
fn caller<'a>(state: &'a State, frames: &'a [CallStackFrame], n: usize) -> &'a str {
    let import = state.imports.iter().rev().find(|i| i.depth == n);
    let outer = n.checked_sub(1).and_then(|n| frames[n].source.as_deref());
    let module = import.map(|i| i.file.as_str());
    module.or(outer).unwrap_or(&state.main)
}
