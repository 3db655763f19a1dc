//! Cards for the preview page: features with their sizes, settings with the line that keeps them, findings with a key
//! that outlives edits. From data only; lengths in texts are in the script's unit.

use serde::Serialize;

use crate::drawing::Part;
use crate::drawing::part::{Setting, SettingValue};
use crate::fault::{Finding, Span};
use crate::inspect::Change;
use crate::sheet::finding_key::finding_keys;
use crate::sheet::sizes::sizes;

/// Gives a file as the page shows it (beside the script, not from where the program was started).
pub type Shown<'a> = &'a dyn Fn(&str) -> String;

/// A feature; its place in the list is its number in meshes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FeatureCard {
    /// Its name.
    pub name: String,
    /// The word that made it.
    pub word: &'static str,
    /// Sizes as name and text.
    pub sizes: Vec<[String; 2]>,
    /// The script file that it stands in.
    pub file: String,
    /// Its line there.
    pub line: usize,
    /// Its column there.
    pub column: usize,
    /// Metal that it added to the finished part (mm³).
    pub added_mm3: f64,
    /// Metal that it removed from the finished part (mm³).
    pub removed_mm3: f64,
}

/// A setting.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SettingCard {
    /// Its name.
    pub name: String,
    /// `number`, `text` or `flag`.
    pub kind: &'static str,
    /// Its value in this build.
    pub value: String,
    /// The script's own value.
    pub default: String,
    /// The file that it stands in.
    pub file: String,
    /// Its line there.
    pub line: usize,
    /// The line to write in the script to keep this build's value.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub write: Option<String>,
}

/// A finding.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FindingCard {
    /// Its code.
    pub code: &'static str,
    /// `stop`, `look` or `note`.
    pub level: &'static str,
    /// What is wrong.
    pub text: String,
    /// What to do.
    pub remedy: String,
    /// The stage, where it belongs to one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stage: Option<&'static str>,
    /// Numbers of the features that it names.
    pub features: Vec<usize>,
    /// Where (mm), where it has one place.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at_mm: Option<[f64; 3]>,
    /// The file of the first feature.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub file: Option<String>,
    /// The line of the first feature.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub line: Option<usize>,
    /// Why it was allowed, where it was.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub allowed: Option<String>,
    /// The same for the same finding in the next build, whatever lines moved.
    pub key: String,
}

/// One card a feature.
pub fn feature_cards(part: &Part, changes: &[Change], shown: Shown) -> Vec<FeatureCard> {
    let changes = changes
        .iter()
        .copied()
        .map(Some)
        .chain(std::iter::repeat(None));
    let card = |(feature, change): (&crate::drawing::feature::Feature, Option<Change>)| {
        let at = feature.site.script();
        let change = change.unwrap_or_default();
        FeatureCard {
            name: feature.name.clone(),
            word: feature.word,
            sizes: sizes(feature, part.unit),
            file: shown(&at.file),
            line: at.line,
            column: at.column,
            added_mm3: change.added_mm3,
            removed_mm3: change.removed_mm3,
        }
    };
    part.features.iter().zip(changes).map(card).collect()
}

/// One card a setting; `line_of` gives a file's line by number.
pub fn setting_cards(
    part: &Part,
    shown: Shown,
    line_of: &dyn Fn(&Span) -> Option<String>,
) -> Vec<SettingCard> {
    let card = |setting: &Setting| {
        let at = &setting.site.span;
        SettingCard {
            name: setting.name.clone(),
            kind: match setting.value {
                SettingValue::Number(_) => "number",
                SettingValue::Text(_) => "text",
                SettingValue::Flag(_) => "flag",
            },
            value: plain(&setting.value),
            default: plain(&setting.default),
            file: shown(&at.file),
            line: at.line,
            write: line_of(at).and_then(|line| kept_line(&line, at.column, &setting.value)),
        }
    };
    part.settings.iter().map(card).collect()
}

/// One card a finding, in their order.
pub fn finding_cards(part: &Part, findings: &[Finding], shown: Shown) -> Vec<FindingCard> {
    let card = |(f, key): (&Finding, String)| {
        let names = f.features.iter().map(|(n, _)| n.as_str());
        let first = f.features.first().map(|(_, span)| span);
        FindingCard {
            code: f.code,
            level: f.level.word(),
            text: f.text.clone(),
            remedy: f.remedy.clone(),
            stage: f.stage,
            features: names.filter_map(|n| part.find(n)).collect(),
            at_mm: f.at_mm,
            file: first.map(|span| shown(&span.file)),
            line: first.map(|span| span.line),
            allowed: f.allowed.clone(),
            key,
        }
    };
    findings
        .iter()
        .zip(finding_keys(findings))
        .map(card)
        .collect()
}

/// A value as a person types it into a field.
fn plain(value: &SettingValue) -> String {
    match value {
        SettingValue::Number(n) => n.to_string(),
        SettingValue::Text(t) => t.clone(),
        SettingValue::Flag(f) => f.to_string(),
    }
}

/// A value as a script writes it.
fn written(value: &SettingValue) -> String {
    match value {
        SettingValue::Text(t) => {
            let escaped: String = t
                .chars()
                .map(|c| match c {
                    '"' => "\\\"".to_string(),
                    '\\' => "\\\\".to_string(),
                    '\n' => "\\n".to_string(),
                    '\t' => "\\t".to_string(),
                    '\r' => "\\r".to_string(),
                    c => c.to_string(),
                })
                .collect();
            format!("\"{escaped}\"")
        }
        other => plain(other),
    }
}

/// The script's line with the second argument of the call at `column` replaced; none where the call isn't on one line.
fn kept_line(line: &str, column: usize, value: &SettingValue) -> Option<String> {
    let chars: Vec<char> = line.chars().collect();
    let at = column.checked_sub(1)?;
    let open = at + chars.get(at..)?.iter().position(|c| *c == '(')?;
    let (mut depth, mut quote, mut comma) = (0usize, None, None);
    let mut i = open + 1;
    let close = loop {
        let c = *chars.get(i)?;
        match (quote, c) {
            (Some(_), '\\') => i += 1,
            (Some(q), c) if c == q => quote = None,
            (Some(_), _) => {}
            (None, '"' | '`' | '\'') => quote = Some(c),
            (None, '(' | '[' | '{') => depth += 1,
            (None, ')') if depth == 0 => break i,
            (None, ')' | ']' | '}') => depth = depth.checked_sub(1)?,
            (None, ',') if depth == 0 && comma.is_none() => comma = Some(i),
            _ => {}
        }
        i += 1;
    };
    let comma = comma?;
    let blank = chars[comma + 1..close]
        .iter()
        .take_while(|c| c.is_whitespace())
        .count();
    let mut out: String = chars[..comma + 1 + blank].iter().collect();
    out.push_str(&written(value));
    out.extend(&chars[close..]);
    Some(out)
}
