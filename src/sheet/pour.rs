//! The pour as `report.json` has it.

use serde::Serialize;

use crate::drawing::Part;
use crate::pour::Pour;

/// The pour. Keys carry their unit; two numbers are a least and a most.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)] // Field names are the report's own keys.
pub struct PourRow {
    pub copies: usize,
    pub casting_kg: f64,
    pub castings_kg: f64,
    pub gating_kg: f64,
    pub feeders_kg: f64,
    pub cup_kg: f64,
    pub poured_kg: f64,
    #[serde(rename = "yield")]
    pub yield_share: f64,
    pub charge_kg: f64,
    pub charge_range_kg: [f64; 2],
    pub melt_litres: f64,
    pub melt_range_litres: [f64; 2],
    pub melt_loss_share: [f64; 2],
    #[serde(skip_serializing_if = "Option::is_none")]
    pub crucible: Option<CrucibleRow>,
    pub crucible_range_litres: [f64; 2],
    pub flask: FlaskRow,
    pub hold_down_kg: f64,
    pub hold_down_range_kg: [f64; 2],
    pub metal_lifts_kg: f64,
    pub weigh_down_kg: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sprue: Option<SprueRow>,
    pub pieces: Vec<GatingRow>,
    pub saw_passes: Vec<SawRow>,
}

/// The crucible.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct CrucibleRow {
    pub takes_kg: [f64; 2],
    #[serde(skip_serializing_if = "Option::is_none")]
    pub level_share: Option<f64>,
    pub fits: bool,
}

/// The flask.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct FlaskRow {
    #[serde(skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub inside_mm: Vec<f64>,
    pub pattern_mm: [f64; 3],
    pub needs_dia_mm: f64,
    pub needs_height_mm: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fits: Option<bool>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub turn_deg: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub smallest: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sand_kg: Option<[f64; 2]>,
}

/// The sprue, by the formulas of an open channel.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct SprueRow {
    pub name: String,
    pub over_casting_mm: f64,
    pub head_mm: f64,
    pub choke: &'static str,
    pub choke_mm2: f64,
    pub choke_m_s: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gates_m_s: Option<f64>,
    pub open_channel_cm3_s: f64,
    pub open_channel_s: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub foot_by_taper_mm: Option<f64>,
}

/// A piece of the gating.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct GatingRow {
    pub name: String,
    pub word: &'static str,
    pub at: String,
    pub volume_mm3: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub section_mm2: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub modulus_mm: Option<f64>,
}

/// A pass of the saw.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct SawRow {
    pub pieces: Vec<String>,
    pub toward: [f64; 3],
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rides_on: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub distance_mm: Option<f64>,
    pub grind_mm: f64,
    pub room_mm: f64,
    pub clashes: Vec<String>,
}

/// The pour's figures as rows.
pub(super) fn pour_row(part: &Part, pour: &Pour) -> PourRow {
    let (weights, melt, lift) = (&pour.weights, &pour.melt, &pour.lift);
    PourRow {
        copies: pour.copies,
        casting_kg: weights.casting_kg,
        castings_kg: weights.castings_kg,
        gating_kg: weights.gating_kg,
        feeders_kg: weights.feeders_kg,
        cup_kg: weights.cup_kg,
        poured_kg: weights.poured_kg,
        yield_share: weights.yield_share,
        charge_kg: melt.charge_kg[1],
        charge_range_kg: melt.charge_kg,
        melt_litres: melt.litres[1],
        melt_range_litres: melt.litres,
        melt_loss_share: [melt.loss.low, melt.loss.high],
        crucible: melt.crucible.map(|fit| CrucibleRow {
            takes_kg: fit.takes_kg,
            level_share: fit.level,
            fits: fit.short_kg <= 0.0,
        }),
        crucible_range_litres: melt.crucible_litres,
        flask: flask_row(pour),
        hold_down_kg: lift.hold_down_kg[1],
        hold_down_range_kg: lift.hold_down_kg,
        metal_lifts_kg: lift.metal_lifts_kg,
        weigh_down_kg: lift.weigh_down_kg,
        sprue: sprue_row(part, pour),
        pieces: gating_rows(part, pour),
        saw_passes: pour.passes.iter().map(|p| saw_row(part, p)).collect(),
    }
}

fn flask_row(pour: &Pour) -> FlaskRow {
    let fit = &pour.flask;
    let declared = !fit.flask_mm.is_empty();
    FlaskRow {
        name: fit.name.clone(),
        inside_mm: fit.flask_mm.clone(),
        pattern_mm: fit.size_mm,
        needs_dia_mm: fit.need_mm[0],
        needs_height_mm: fit.need_mm[1],
        fits: declared.then(|| fit.short_mm.iter().all(|short| *short <= 0.0)),
        turn_deg: fit.turn_deg,
        smallest: fit.smallest,
        sand_kg: fit.sand_kg,
    }
}

fn sprue_row(part: &Part, pour: &Pour) -> Option<SprueRow> {
    let sprue = pour.sprue.as_ref()?;
    Some(SprueRow {
        name: part.gating.pieces[sprue.piece].name.clone(),
        over_casting_mm: sprue.over_mm,
        head_mm: sprue.head_mm,
        choke: sprue.choke.text(),
        choke_mm2: sprue.choke_mm2,
        choke_m_s: sprue.choke_m_s,
        gates_m_s: sprue.gate_m_s,
        open_channel_cm3_s: sprue.flow_cm3_s,
        open_channel_s: sprue.open_s,
        foot_by_taper_mm: sprue.foot_mm,
    })
}

fn gating_rows(part: &Part, pour: &Pour) -> Vec<GatingRow> {
    let pieces = part.gating.pieces.iter().zip(&pour.weights.pieces_mm3);
    pieces
        .enumerate()
        .map(|(number, (piece, volume))| {
            let gate = pour.gates.iter().find(|g| g.piece == number);
            GatingRow {
                name: piece.name.clone(),
                word: piece.word,
                at: super::report::place(&piece.site.span),
                volume_mm3: *volume,
                section_mm2: gate.map(|g| g.section_mm2),
                modulus_mm: gate.map(|g| g.modulus_mm),
            }
        })
        .collect()
}

fn saw_row(part: &Part, pass: &crate::pour::SawPass) -> SawRow {
    let feature = |id: usize| part.features[id].name.clone();
    SawRow {
        pieces: pass
            .pieces
            .iter()
            .map(|&p| part.gating.pieces[p].name.clone())
            .collect(),
        toward: pass.toward.to_array(),
        rides_on: pass.ride.map(|r| feature(r.feature)),
        distance_mm: pass.ride.map(|r| r.distance_mm),
        grind_mm: pass.grind_mm,
        room_mm: pass.room_mm,
        clashes: pass.clashes.iter().map(|(id, _)| feature(*id)).collect(),
    }
}
