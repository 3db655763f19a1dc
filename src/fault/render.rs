//! The one place where a fault becomes text: message, place, the script's own line with a caret line
//! under the very characters, hints, and the chain of calls. Plain text, no colour.

use std::fmt::Write;

use super::{Fault, Faults, Span};

/// The widest script line that is shown whole, in characters; a longer one is cut round the caret.
const WIDEST_LINE: usize = 110;

/// One fault as text, ending in a line feed. `sources` gives the text of a file by the name that spans
/// carry; without it the place stands alone.
pub fn render(fault: &Fault, sources: &dyn Fn(&str) -> Option<String>) -> String {
    let mut out = format!("error: {}\n", harmless(&fault.text));
    if let Some(span) = &fault.span {
        place(&mut out, "-->", span, sources);
    }
    for call in &fault.calls {
        place(&mut out, "called from", call, sources);
    }
    for hint in &fault.hints {
        out.push_str(&format!("  hint: {}\n", harmless(hint)));
    }
    out
}

/// Several faults, a blank line between them.
pub fn render_all(faults: &Faults, sources: &dyn Fn(&str) -> Option<String>) -> String {
    let texts: Vec<String> = faults.0.iter().map(|f| render(f, sources)).collect();
    texts.join("\n")
}

/// A text whose control characters, and the marks that turn the direction of writing, are shown as
/// escapes, so that a name from a script can't move the cursor or hide what follows it.
pub fn harmless(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        let turns = matches!(c, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
        match c {
            '\n' => out.push_str("\\n"),
            '\t' => out.push_str("\\t"),
            '\r' => out.push_str("\\r"),
            c if c.is_control() || turns || c == '\u{feff}' => {
                out.push_str(&format!("\\u{{{:x}}}", u32::from(c)));
            }
            c => out.push(c),
        }
    }
    out
}

/// A text for files of markup, in which nothing of it is markup; characters that XML has no place for are left out.
pub fn no_markup(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            c if c.is_control() => out.push(' '),
            '\u{fffe}' | '\u{ffff}' => {}
            c => out.push(c),
        }
    }
    out
}

/// The arrow line, then the script's line and the caret line where the text is at hand.
fn place(out: &mut String, lead: &str, span: &Span, sources: &dyn Fn(&str) -> Option<String>) {
    out.push_str(&format!("  {lead} {}\n", harmless(&span.to_string())));
    let text = sources(&span.file);
    let line = text
        .as_deref()
        .and_then(|t| t.lines().nth(span.line.checked_sub(1)?));
    let Some(line) = line else { return };
    let number = span.line.to_string();
    let gutter = " ".repeat(number.len());
    let (shown, before, under) = around(line, span);
    // Writing to a String never fails.
    let _ = writeln!(out, "  {number} | {shown}");
    if span.column > 0 {
        let _ = writeln!(
            out,
            "  {gutter} | {}{}",
            " ".repeat(before),
            "^".repeat(under)
        );
    }
}

/// The line as shown, how many blanks go before the carets, and how many carets.
/// Tabs become one blank each, so that the carets stand under the very characters.
fn around(line: &str, span: &Span) -> (String, usize, usize) {
    let plain = |c: char| if c == '\t' { ' ' } else { c };
    let chars: Vec<char> = line.trim_end().chars().map(plain).collect();
    let at = span.column.saturating_sub(1).min(chars.len());
    let length = span
        .length
        .max(1)
        .min(chars.len().saturating_sub(at).max(1));
    let start = if chars.len() <= WIDEST_LINE {
        0
    } else {
        at.saturating_sub(WIDEST_LINE / 3)
    };
    let end = chars.len().min(start + WIDEST_LINE);
    let shown: String = chars[start..end]
        .iter()
        .map(|c| if c.is_control() { '?' } else { *c })
        .collect();
    let lead = if start > 0 { "… " } else { "" };
    let tail = if end < chars.len() { " …" } else { "" };
    let before = lead.chars().count() + at - start;
    (
        format!("{lead}{}{tail}", harmless(&shown)),
        before,
        length.min(end.saturating_sub(at).max(1)),
    )
}
