//! The finding `dash-fraction`: `2-3/8` in a script's text is 1.625, not two and three eighths.

use crate::fault::{Finding, Level};
use crate::script::text::{Text, is_word};

/// Every dash fraction written as a shop writes one: whole number, dash, proper fraction over
/// 2, 4, 8, 16, 32 or 64, without blanks, outside strings and comments.
pub fn dash_fractions(text: &Text) -> Vec<Finding> {
    let chars = text.chars();
    let mut findings = Vec::new();
    let mut i = 0;
    while i < chars.len() {
        if let Some(end) = text.past_opaque(i) {
            i = end;
            continue;
        }
        if !is_word(chars[i]) {
            i += 1;
            continue;
        }
        let fresh = i == 0 || chars[i - 1] != '.';
        match fraction_at(chars, i).filter(|_| fresh) {
            Some((end, [whole, top, bottom])) => {
                findings.push(finding(text, i, end, whole, top, bottom));
                i = end;
            }
            None => i = text.word_end(i),
        }
    }
    findings
}

/// Reads `2-3/8` at `i`: where it ends, and its three numbers.
fn fraction_at(chars: &[char], i: usize) -> Option<(usize, [u64; 3])> {
    let (after_whole, whole) = digits(chars, i)?;
    let (after_top, top) = digits(chars, sign(chars, after_whole, '-')?)?;
    let (end, bottom) = digits(chars, sign(chars, after_top, '/')?)?;
    let ends = !chars
        .get(end)
        .is_some_and(|c| is_word(*c) || *c == '.' || *c == '/');
    let shop = matches!(bottom, 2 | 4 | 8 | 16 | 32 | 64) && top > 0 && top < bottom;
    (ends && shop).then_some((end, [whole, top, bottom]))
}

fn sign(chars: &[char], at: usize, wanted: char) -> Option<usize> {
    (chars.get(at) == Some(&wanted)).then_some(at + 1)
}

fn digits(chars: &[char], at: usize) -> Option<(usize, u64)> {
    let text: String = chars
        .get(at..)?
        .iter()
        .take_while(|c| c.is_ascii_digit())
        .collect();
    Some((at + text.len(), text.parse().ok()?))
}

fn finding(text: &Text, start: usize, end: usize, whole: u64, top: u64, bottom: u64) -> Finding {
    let written = text.slice(&(start..end));
    let value = whole as f64 - top as f64 / bottom as f64;
    let mut finding = Finding::new(
        "dash-fraction",
        Level::Look,
        format!("{written} reads as {whole} less {top}/{bottom}, which is {value}"),
        format!("write {whole} + {top}/{bottom}, or \"{written}\" in quotes"),
    );
    finding.features.push((written, text.span(&(start..end))));
    finding.value = Some(value);
    finding
}
