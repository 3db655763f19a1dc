//! The sprue's height, the choke, and the speeds that an open channel would give; sections and moduli of the gates.

use std::collections::BTreeMap;

use crate::drawing::gating::GatingForm;
use crate::foundry::freezing::bar_modulus_mm;
use crate::foundry::gating::{fall_m_s, flow_m3_s, taper};
use crate::measure::Vec3;
use crate::pattern::LaidPlace;
use crate::pour::Subject;

/// The sprue and what it gives.
#[derive(Debug, Clone, PartialEq)]
pub struct SprueFigures {
    /// Its number in `part.gating.pieces`.
    pub piece: usize,
    /// How far its top stands over the castings' highest point (mm); negative lies lower.
    pub over_mm: f64,
    /// From its top down to the gates' mean level (mm).
    pub head_mm: f64,
    /// The narrowest section on the way.
    pub choke: Choke,
    /// Section of the choke (mm²).
    pub choke_mm2: f64,
    /// Speed at the choke of a free fall through the head: √(2 g h) (m/s).
    pub choke_m_s: f64,
    /// Mean speed at the gates by the choke's flow (m/s); `None` without a gate.
    pub gate_m_s: Option<f64>,
    /// What an open channel would pass (cm³/s).
    pub flow_cm3_s: f64,
    /// How long an open channel would take to fill castings and gating (s).
    pub open_s: f64,
    /// The foot that the stream fills by its own taper, √(h1 / h2), under a cup of the depth given (mm); `None` where the
    /// script gives no cup.
    pub foot_mm: Option<f64>,
}

/// Where a way is narrowest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Choke {
    /// At the sprue's foot.
    Sprue,
    /// In a runner.
    Runner,
    /// At the gates, taken together.
    Gates,
}

impl Choke {
    /// In words.
    pub const fn text(self) -> &'static str {
        match self {
            Choke::Sprue => "the sprue's foot",
            Choke::Runner => "the runner",
            Choke::Gates => "the gates together",
        }
    }
}

/// A gate's figures.
#[derive(Debug, Clone, PartialEq)]
pub struct GateFigures {
    /// Its number in `part.gating.pieces`.
    pub piece: usize,
    /// Its section (mm²).
    pub section_mm2: f64,
    /// Its modulus as a long bar: section over perimeter (mm).
    pub modulus_mm: f64,
    /// Its length from the raw face (mm).
    pub length_mm: f64,
    /// How deep its foot goes under the face (mm).
    pub sink_mm: f64,
    /// The runner or sprue that its end meets, by number.
    pub meets: Option<usize>,
}

pub(super) fn gates(subject: &Subject) -> Vec<GateFigures> {
    let laid = subject.gated.laid.iter().filter(|l| l.copy == 0);
    let figures = laid.filter_map(|l| match &l.place {
        LaidPlace::Stub {
            section,
            length,
            sink,
            meets,
            ..
        } if is_gate(subject, l.piece) => Some(GateFigures {
            piece: l.piece,
            section_mm2: section.area_mm2(),
            modulus_mm: bar_modulus_mm(section.area_mm2(), section.perimeter_mm()),
            length_mm: *length,
            sink_mm: *sink,
            meets: *meets,
        }),
        _ => None,
    });
    figures.collect()
}

fn is_gate(subject: &Subject, piece: usize) -> bool {
    let form = &subject.part.gating.pieces[piece].form;
    matches!(form, GatingForm::Gate { .. })
}

pub(super) fn sprue(subject: &Subject) -> Option<SprueFigures> {
    let up = subject.part.gating.up();
    let laid = &subject.gated.laid;
    let (piece, top, foot_dia) = laid
        .iter()
        .filter_map(|l| match l.place {
            LaidPlace::Sprue { top, dia, .. } => Some((l.piece, up.dot(top), dia[1])),
            _ => None,
        })
        .max_by(|a, b| a.1.total_cmp(&b.1))?;
    let highest = |points: &mut dyn Iterator<Item = Vec3>| {
        points.map(|p| up.dot(p)).fold(f64::NEG_INFINITY, f64::max)
    };
    let own = subject.part.features.len();
    let whole = subject.whole;
    let mut of_castings = whole
        .triangles
        .iter()
        .zip(&whole.features)
        .filter(|(_, f)| **f < own)
        .flat_map(|(t, _)| t.map(|i| whole.points[i as usize]));
    let over_mm = top - highest(&mut of_castings);
    let gates: Vec<(f64, f64)> = laid
        .iter()
        .filter(|l| is_gate(subject, l.piece))
        .filter_map(|l| match &l.place {
            LaidPlace::Stub { frame, section, .. } => {
                Some((section.area_mm2(), up.dot(frame.origin)))
            }
            _ => None,
        })
        .collect();
    let gates_mm2: f64 = gates.iter().map(|g| g.0).sum();
    let level = if gates.is_empty() {
        top - over_mm
    } else {
        gates.iter().map(|g| g.0 * g.1).sum::<f64>() / gates_mm2
    };
    let head_mm = (top - level).max(0.0);
    let foot_mm2 = std::f64::consts::PI * foot_dia * foot_dia / 4.0;
    // A runner goes off to both sides of its sprue.
    let mut runners: BTreeMap<usize, f64> = BTreeMap::new();
    for one in laid {
        if let LaidPlace::Bar {
            section,
            riser: false,
            ..
        } = &one.place
        {
            // Of a stepped one its widest stretch.
            let most = runners.entry(one.piece).or_default();
            *most = most.max(2.0 * section.area_mm2());
        }
    }
    let runner_mm2: f64 = runners.values().sum();
    let mut choke = (Choke::Sprue, foot_mm2);
    for (at, area) in [(Choke::Runner, runner_mm2), (Choke::Gates, gates_mm2)] {
        if area > 0.0 && area < choke.1 {
            choke = (at, area);
        }
    }
    let flow = flow_m3_s(choke.1 * 1e-6, head_mm * 1e-3);
    let filled_m3 = subject.whole_figures.volume_mm3 * 1e-9;
    Some(SprueFigures {
        piece,
        over_mm,
        head_mm,
        choke: choke.0,
        choke_mm2: choke.1,
        choke_m_s: fall_m_s(head_mm * 1e-3),
        gate_m_s: (gates_mm2 > 0.0).then(|| flow / (gates_mm2 * 1e-6)),
        flow_cm3_s: flow * 1e6,
        open_s: filled_m3 / flow,
        foot_mm: foot_by_taper(subject, piece),
    })
}

/// The foot that a stream under the cup's depth fills: the section goes as √(h1 / h2), the diameter as its root.
fn foot_by_taper(subject: &Subject, piece: usize) -> Option<f64> {
    match &subject.part.gating.pieces[piece].form {
        GatingForm::Sprue {
            cup: Some((_, depth)),
            height,
            top,
            ..
        } => Some(top * taper(*depth, depth + height).sqrt()),
        _ => None,
    }
}
