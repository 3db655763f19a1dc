//! How a casting fills and freezes, as `report.json` and the shop sheet have it. All of it is estimated.

use serde::Serialize;

use crate::drawing::Part;
use crate::foundry::freezing::MOULD_S_CM2;
use crate::foundry::gating::FRONT_MM_S;
use crate::pour::fields::{Outlook, REPOSE_DEG};
use crate::sheet::pour_card::{PourFigure, range};

/// The sections and seams that a sheet lists: more bury the worst.
const LISTED: usize = 5;

/// The outlook. Keys carry their unit; two numbers are a least and a most.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)] // Field names are the report's own keys.
pub struct OutlookRow {
    pub cell_mm: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub last_filled: Option<LastRow>,
    pub seams: Vec<SeamRow>,
    pub sections: Vec<SectionRow>,
    pub unfilled_by_sand_mm3: f64,
}

/// The last place to fill.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct LastRow {
    pub at_mm: [f64; 3],
    pub travel_mm: f64,
    pub fill_s: [f64; 2],
}

/// Where fronts meet.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct SeamRow {
    pub at_mm: [f64; 3],
    pub area_mm2: f64,
    pub travel_mm: [f64; 2],
    pub from: Vec<String>,
}

/// A section that freezes after what is round it.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct SectionRow {
    pub features: Vec<String>,
    pub at_mm: [f64; 3],
    pub modulus_mm: f64,
    pub ball_mm: f64,
    pub freezes_s: [f64; 2],
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fed_by: Option<String>,
    pub way_share: f64,
    pub neck_mm: f64,
}

/// The outlook as a row.
pub(super) fn outlook_row(part: &Part, outlook: &Outlook) -> OutlookRow {
    let joins = |contact: usize| {
        let piece = outlook.contacts.get(contact)?.feature;
        Some(part.gating.pieces.get(piece)?.name.clone())
    };
    let seams = outlook.meetings.iter().map(|m| {
        let mut from: Vec<String> = m
            .contacts
            .iter()
            .filter_map(|c| joins(usize::from(*c)))
            .collect();
        from.dedup();
        SeamRow {
            at_mm: m.at.to_array(),
            area_mm2: m.area_mm2,
            travel_mm: [m.nearest_mm, m.farthest_mm],
            from,
        }
    });
    let spots = outlook.spots.iter().zip(&outlook.freezing_s).enumerate();
    let sections = spots.map(|(number, (spot, freezes))| {
        let fed = outlook.fed.iter().find(|f| f.spot == number);
        let named = spot.features.iter().filter_map(|f| part.features.get(*f));
        SectionRow {
            features: named.take(2).map(|f| f.name.clone()).collect(),
            at_mm: spot.at.to_array(),
            modulus_mm: spot.modulus_mm,
            ball_mm: spot.ball_mm,
            freezes_s: *freezes,
            fed_by: fed.and_then(|f| f.contact).and_then(joins),
            way_share: fed.map_or(0.0, |f| f.ratio),
            neck_mm: fed.map_or(0.0, |f| f.neck_mm),
        }
    });
    OutlookRow {
        cell_mm: outlook.fields.grid.cell_mm,
        last_filled: outlook.last.as_ref().map(|last| LastRow {
            at_mm: last.at.to_array(),
            travel_mm: last.travel_mm,
            fill_s: last.seconds,
        }),
        seams: seams.collect(),
        sections: sections.collect(),
        unfilled_by_sand_mm3: outlook.hollows.iter().map(|h| h.volume_mm3).sum(),
    }
}

/// The outlook as figures of the sheet.
pub(super) fn outlook_figures(part: &Part, outlook: &Outlook) -> Vec<PourFigure> {
    let row = outlook_row(part, outlook);
    let show = |mm: f64| part.unit.show(mm);
    let at = |p: [f64; 3]| format!("[{}]", p.map(|x| part.unit.number(x)).join(", "));
    let mut out = Vec::new();
    let mut put = |name, value: String, how: String| out.push(PourFigure { name, value, how });
    if let Some(last) = &row.last_filled {
        put(
            "fills in",
            format!("{}, last at {}", range(last.fill_s, 0, "s"), at(last.at_mm)),
            format!(
                "estimate: {} of travel through the foam by the shortest way inside the metal, at {} mm/s ({})",
                show(last.travel_mm),
                FRONT_MM_S.text(),
                FRONT_MM_S.source
            ),
        );
    }
    for seam in row.seams.iter().take(LISTED) {
        put(
            "fronts meet",
            format!("at {}, over {:.0} mm²", at(seam.at_mm), seam.area_mm2),
            format!(
                "estimate: {} to {} from {}; look there for folds",
                show(seam.travel_mm[0]),
                show(seam.travel_mm[1]),
                seam.from.join(" and ")
            ),
        );
    }
    for section in row.sections.iter().take(LISTED) {
        put(
            "freezes late",
            format!(
                "{}: {}",
                section.features.join(" and "),
                range(section.freezes_s, 0, "s")
            ),
            format!(
                "estimate: Chvorinov's rule, modulus {} by local volume over area on cells of {}, B {} s/cm² ({})",
                show(section.modulus_mm),
                show(row.cell_mm),
                MOULD_S_CM2.text(),
                MOULD_S_CM2.source
            ),
        );
    }
    put(
        "sand by vibration only",
        format!("{:.0} ml", row.unfilled_by_sand_mm3 / 1e3),
        format!(
            "estimate: hollows that sand at an angle of repose of {}° leaves empty; the angle is this program's own choice",
            REPOSE_DEG[0]
        ),
    );
    out
}
