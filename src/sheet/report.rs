//! `report.json`: figures and findings for other programs. Keys carry their unit; what isn't computed is absent.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::drawing::Part;
use crate::drawing::part::SettingValue;
use crate::fault::{Finding, Span};
use crate::inspect::Change;
use crate::pattern::Stage;
use crate::pieces::{Boards, Pieces};
use crate::pour::Pour;
use crate::pour::fields::Outlook;
use crate::sheet::bill::{PieceRow, SplitRow, piece_rows, split_rows};
use crate::sheet::boards::{BoardRow, OffcutRow, board_rows, offcut_rows};
use crate::sheet::finding_key::finding_keys;
use crate::sheet::outlook::{OutlookRow, outlook_row};
use crate::sheet::pour::{PourRow, pour_row};
use crate::solid::Figures;

/// What a report is made from.
pub struct Source<'a> {
    /// The drawing.
    pub part: &'a Part,
    /// The script's file name, without folders.
    pub script: &'a str,
    /// Each stage with its figures, in order.
    pub stages: &'a [(Stage, Figures)],
    /// One a feature.
    pub changes: &'a [Change],
    /// The pattern's pieces, where there are any.
    pub pieces: Option<&'a Pieces>,
    /// The pour, where the script gates the pattern.
    pub pour: Option<&'a Pour>,
    /// How it is expected to fill and freeze, once that is known.
    pub outlook: Option<&'a Outlook>,
    /// The boards that they are laid on, once they are.
    pub boards: Option<&'a Boards>,
    /// In the order of reports.
    pub findings: &'a [Finding],
    /// Density of the foam that the pattern is cut from (kg/m³).
    pub foam_kg_m3: f64,
    /// Seconds of script, solids, checks and boards, where asked for.
    pub seconds: Option<[f64; 4]>,
}

/// The report, ready to be written as JSON.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)] // Field names are the report's own keys, described in its documentation.
pub struct Report {
    pub foamwright: &'static str,
    pub script: String,
    pub part: String,
    pub script_unit: &'static str,
    pub settings: serde_json::Map<String, serde_json::Value>,
    pub metal: MetalRow,
    pub stages: BTreeMap<Rank, StageRow>,
    pub weights_kg: BTreeMap<Rank, f64>,
    pub features: Vec<FeatureRow>,
    pub findings: Vec<FindingRow>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pieces: Option<Vec<PieceRow>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub splits: Option<Vec<SplitRow>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pour: Option<PourRow>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub outlook: Option<OutlookRow>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub boards: Option<Vec<BoardRow>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub offcuts: Option<Vec<OffcutRow>>,
    /// Files in folders of their own that this build or one before it wrote: what a later one may take away.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub files: Vec<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub seconds: Option<SecondsRow>,
}

/// A stage as a key: ordered as the stages are, written by name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Rank(pub Stage);

impl Serialize for Rank {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.0.name())
    }
}

/// The metal.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct MetalRow {
    pub name: String,
    pub shrink_percent: [f64; 3],
    pub density_kg_m3: f64,
}

/// A stage's figures.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct StageRow {
    pub volume_mm3: f64,
    pub area_mm2: f64,
    pub low_mm: [f64; 3],
    pub high_mm: [f64; 3],
    pub bodies: usize,
    pub handles: i64,
    pub triangles: usize,
}

/// A feature.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct FeatureRow {
    pub name: String,
    pub word: &'static str,
    pub at: String,
    pub added_mm3: f64,
    pub removed_mm3: f64,
}

/// A finding.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct FindingRow {
    pub code: &'static str,
    pub level: &'static str,
    pub text: String,
    pub remedy: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stage: Option<&'static str>,
    pub features: Vec<FeaturePlace>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at_mm: Option<[f64; 3]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub value: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limit: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub value_mm: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limit_mm: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub value_mm3: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub value_percent: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub allowed: Option<String>,
    pub key: String,
}

/// A feature that a finding names.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct FeaturePlace {
    pub name: String,
    pub at: String,
}

/// How long a build took.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct SecondsRow {
    pub script: f64,
    pub solids: f64,
    pub checks: f64,
    pub boards: f64,
}

/// The report of a build.
pub fn report(source: &Source) -> Report {
    let part = source.part;
    let laid = source.pieces.zip(source.boards);
    Report {
        foamwright: env!("CARGO_PKG_VERSION"),
        script: source.script.to_string(),
        part: part.name.clone(),
        script_unit: part.unit.symbol(),
        settings: settings(part),
        metal: MetalRow {
            name: part.metal.name.clone(),
            shrink_percent: part.metal.shrink_percent,
            density_kg_m3: part.metal.density_kg_m3,
        },
        stages: source
            .stages
            .iter()
            .map(|(stage, f)| (Rank(*stage), stage_row(f)))
            .collect(),
        weights_kg: source
            .stages
            .iter()
            .map(|(s, f)| (Rank(*s), weight_kg(source, *s, f)))
            .collect(),
        features: features(part, source.changes),
        findings: finding_rows(source.findings),
        pieces: source
            .pieces
            .map(|p| piece_rows(part, p, source.foam_kg_m3)),
        splits: source.pieces.map(|p| split_rows(part, p)),
        pour: source.pour.map(|p| pour_row(part, p)),
        outlook: source.outlook.map(|o| outlook_row(part, o)),
        boards: laid.map(|(p, b)| board_rows(part, p, b)),
        offcuts: laid.map(|(_, b)| offcut_rows(part, b)),
        files: Vec::new(),
        seconds: source
            .seconds
            .map(|[script, solids, checks, boards]| SecondsRow {
                script,
                solids,
                checks,
                boards,
            }),
    }
}

impl Report {
    /// The report as JSON, indented, ending in a line feed.
    pub fn json(&self) -> String {
        let mut text = serde_json::to_string_pretty(self).unwrap_or_default();
        text.push('\n');
        text
    }
}

/// The weight of a stage: metal, or foam for the pattern (kg).
fn weight_kg(source: &Source, stage: Stage, figures: &Figures) -> f64 {
    let density = if matches!(stage, Stage::Pattern | Stage::Gated) {
        source.foam_kg_m3
    } else {
        source.part.metal.density_kg_m3
    };
    figures.volume_mm3 * 1e-9 * density
}

fn settings(part: &Part) -> serde_json::Map<String, serde_json::Value> {
    part.settings
        .iter()
        .map(|s| {
            let value = match &s.value {
                SettingValue::Number(n) => serde_json::json!(n),
                SettingValue::Text(t) => serde_json::json!(t),
                SettingValue::Flag(f) => serde_json::json!(f),
            };
            (s.name.clone(), value)
        })
        .collect()
}

fn stage_row(f: &Figures) -> StageRow {
    StageRow {
        volume_mm3: f.volume_mm3,
        area_mm2: f.area_mm2,
        low_mm: f.low_mm.to_array(),
        high_mm: f.high_mm.to_array(),
        bodies: f.bodies,
        handles: f.handles,
        triangles: f.triangles,
    }
}

fn features(part: &Part, changes: &[Change]) -> Vec<FeatureRow> {
    part.features
        .iter()
        .zip(changes)
        .map(|(f, change)| FeatureRow {
            name: f.name.clone(),
            word: f.word,
            at: place(&f.site.span),
            added_mm3: change.added_mm3,
            removed_mm3: change.removed_mm3,
        })
        .collect()
}

/// A place as reports give it: the file without its folders.
pub(super) fn place(span: &Span) -> String {
    let file = span.file.rsplit(['/', '\\']).next().unwrap_or(&span.file);
    Span {
        file: file.into(),
        ..span.clone()
    }
    .to_string()
}

fn finding_rows(findings: &[Finding]) -> Vec<FindingRow> {
    let keys = finding_keys(findings);
    findings.iter().zip(keys).map(finding_row).collect()
}

fn finding_row((f, key): (&Finding, String)) -> FindingRow {
    // The unit of a finding's value goes by its code.
    let (mm, mm3, percent) = match f.code {
        "breaks-into" | "kept-open" | "no-sand" => (false, true, false),
        "crucible-small" | "cool-metal" | "heavy" | "hot-corner" | "misrun" => {
            (false, false, false)
        }
        "capped" => (false, false, true),
        "many-walls" | "loose-lump" => (false, false, false),
        _ => (true, false, false),
    };
    let bare = !(mm || mm3 || percent);
    FindingRow {
        code: f.code,
        level: f.level.word(),
        text: f.text.clone(),
        remedy: f.remedy.clone(),
        stage: f.stage,
        features: f
            .features
            .iter()
            .map(|(name, span)| FeaturePlace {
                name: name.clone(),
                at: place(span),
            })
            .collect(),
        at_mm: f.at_mm,
        value: f.value.filter(|_| bare),
        limit: f.limit.filter(|_| bare),
        value_mm: f.value.filter(|_| mm),
        limit_mm: f.limit.filter(|_| mm),
        value_mm3: f.value.filter(|_| mm3),
        value_percent: f.value.filter(|_| percent),
        allowed: f.allowed.clone(),
        key,
    }
}
