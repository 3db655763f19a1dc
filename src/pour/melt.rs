//! Weights, and what to melt for them.

use crate::drawing::Part;
use crate::drawing::gating::GatingForm;
use crate::foundry::melt::{FILL, HEEL, SPARE, charge_kg, litres, melt_loss};
use crate::foundry::{Source, Sourced, metal_row};
use crate::pour::{Subject, growth};

/// The melt of a metal that no source gives is lighter than the solid by about this (share): what the table's aluminium
/// alloys show.
const LIQUID_SHARE: f64 = 0.9;

/// What the metal of a pour weighs (kg).
#[derive(Debug, Clone, PartialEq)]
pub struct Weights {
    /// One casting.
    pub casting_kg: f64,
    /// All castings of the tree.
    pub castings_kg: f64,
    /// Gates, runners, sprues and ties.
    pub gating_kg: f64,
    /// Feeders.
    pub feeders_kg: f64,
    /// What stays in the pouring cups.
    pub cup_kg: f64,
    /// All of it.
    pub poured_kg: f64,
    /// Castings over all of it.
    pub yield_share: f64,
    /// What each piece of the gating adds outside the pattern (mm³), by number in `part.gating.pieces`.
    pub pieces_mm3: Vec<f64>,
}

/// What to melt.
#[derive(Debug, Clone, PartialEq)]
pub struct Melt {
    /// What to charge: least and most (kg).
    pub charge_kg: [f64; 2],
    /// Melt loss (share).
    pub loss: Sourced,
    /// What is melted over the need (share).
    pub spare: Sourced,
    /// What stays in the crucible (share of what is melted).
    pub heel: Sourced,
    /// Density of the melt (kg/m³).
    pub liquid_kg_m3: Sourced,
    /// Litres of melt: least and most.
    pub litres: [f64; 2],
    /// Litres to the brim that a crucible wants, least and most: the most melt over how full one is worked.
    pub crucible_litres: [f64; 2],
    /// The crucible, where one is declared.
    pub crucible: Option<CrucibleFit>,
}

/// A declared crucible against the charge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CrucibleFit {
    /// What it takes, at the lowest and the highest working level (kg).
    pub takes_kg: [f64; 2],
    /// How full the greatest charge fills it (share of its brim), where litres are given.
    pub level: Option<f64>,
    /// What the least charge is too much (kg); 0 or less fits.
    pub short_kg: f64,
    /// What the greatest charge is too much (kg); 0 or less fits.
    pub tight_kg: f64,
}

/// Density of the melt (kg/m³): the table's, or estimated from the solid's.
pub(super) fn liquid(part: &Part) -> Sourced {
    let estimate = Sourced::one(
        part.metal.density_kg_m3 * LIQUID_SHARE,
        Source::Derived("0.9 of the solid's density"),
    );
    metal_row(&part.metal.name)
        .ok()
        .and_then(|row| row.liquid_kg_m3)
        .unwrap_or(estimate.doubtful())
}

pub(super) fn weights(subject: &Subject) -> Weights {
    let (part, gated) = (subject.part, subject.gated);
    let density = part.metal.density_kg_m3 * 1e-9;
    let mut pieces_mm3 = vec![0.0; part.gating.pieces.len()];
    for (laid, volume) in gated.laid.iter().zip(&gated.outside_mm3) {
        pieces_mm3[laid.piece] += volume;
    }
    let (mut gating, mut feeders, mut cup) = (0.0, 0.0, 0.0);
    for (piece, volume) in part.gating.pieces.iter().zip(&pieces_mm3) {
        match &piece.form {
            GatingForm::Feeder { .. } => feeders += volume,
            GatingForm::Sprue { cup: metal, .. } => {
                gating += volume;
                if let Some((dia, depth)) = metal {
                    cup += std::f64::consts::PI * dia * dia / 4.0 * depth;
                }
            }
            _ => gating += volume,
        }
    }
    let cold = density / growth(part);
    let casting_kg = subject.casting.volume_mm3 * density;
    let castings_kg = casting_kg * gated.copies as f64;
    let (gating_kg, feeders_kg) = (gating * cold, feeders * cold);
    let cup_kg = cup * 1e-9 * liquid(part).high;
    let poured_kg = castings_kg + gating_kg + feeders_kg + cup_kg;
    Weights {
        casting_kg,
        castings_kg,
        gating_kg,
        feeders_kg,
        cup_kg,
        poured_kg,
        yield_share: castings_kg / poured_kg,
        pieces_mm3,
    }
}

pub(super) fn melt(subject: &Subject, weights: &Weights) -> Melt {
    let part = subject.part;
    let (loss, liquid_kg_m3) = (melt_loss(&part.metal.name), liquid(part));
    let charge = [
        charge_kg(weights.poured_kg, SPARE.low, loss.low, HEEL.low),
        charge_kg(weights.poured_kg, SPARE.high, loss.high, HEEL.high),
    ];
    let melt_litres = [
        litres(charge[0], liquid_kg_m3.high),
        litres(charge[1], liquid_kg_m3.low),
    ];
    let crucible = part.gating.crucible.as_ref().map(|crucible| {
        let takes_kg = match (crucible.kg, crucible.litres) {
            (Some(kg), _) => [kg, kg],
            (None, brim) => {
                let full = brim.unwrap_or(0.0) * 1e-3;
                [
                    full * FILL.low * liquid_kg_m3.low,
                    full * FILL.high * liquid_kg_m3.high,
                ]
            }
        };
        CrucibleFit {
            takes_kg,
            level: crucible.litres.map(|brim| melt_litres[1] / brim),
            short_kg: charge[0] - takes_kg[1],
            tight_kg: charge[1] - takes_kg[0],
        }
    });
    Melt {
        charge_kg: charge,
        loss,
        spare: SPARE,
        heel: HEEL,
        liquid_kg_m3,
        litres: melt_litres,
        crucible_litres: [melt_litres[1] / FILL.high, melt_litres[1] / FILL.low],
        crucible,
    }
}
