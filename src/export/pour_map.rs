//! Maps of the pour, in the layout of [`super::surface_map`]: how long each place stays hot, how large a ball lies inside
//! the metal there, and how far the metal has come through the foam when it gets there. All are estimates, and their
//! legends say so.
//!
//! A place stays hot as long as a plate of twice its local volume over area, which is what it is coloured by (mm); a ball
//! is told by its diameter (mm). The metal's travel has a second value: 1 in a seam where fronts meet, 0 elsewhere. Where no metal is, as on the gating, or
//! no gate leads, the value is [`UNKNOWN`].
//!
//! The legend is JSON: `most_mm` (the end of the colours), `ends` (four texts: nothing, a third, two thirds and the whole
//! of it, with its range of times where one goes with it), `about`, and `marks` (`at_mm` in the stage's coordinates, `text`).

use std::io::{self, Write};

use serde::Serialize;

use crate::drawing::Part;
use crate::drawing::given::FeatureId;
use crate::export::surface_map;
use crate::foundry::freezing::{MOULD_S_CM2, freezing_s};
use crate::foundry::gating::{FRONT_MM_S, front_s};
use crate::measure::Vec3;
use crate::pattern::{Gated, Stage};
use crate::pour::fields::{CORNER_FROM, Outlook};
use crate::solid::Solid;

/// Stands where nothing is known.
pub const UNKNOWN: f64 = -1e6;

/// So many hot spots or junctions are marked: more would hide what they stand on.
const MARKED: usize = 5;

/// What the maps are of.
pub struct Subject<'a> {
    /// The drawing.
    pub part: &'a Part,
    /// How the casting fills and freezes.
    pub outlook: &'a Outlook,
    /// How the gating and the patterns of a tree lie.
    pub gated: &'a Gated,
    /// Which stage's surface is coloured.
    pub stage: Stage,
}

/// A legend; see the module.
#[derive(Serialize)]
struct Legend {
    most_mm: f64,
    ends: [String; 4],
    about: String,
    marks: Vec<Mark>,
}

/// A place in the picture.
#[derive(Serialize)]
struct Mark {
    at_mm: [f64; 3],
    text: String,
}

/// Writes how long each place of a stage's surface stays hot.
///
/// # Errors
/// As [`surface_map::write`].
pub fn heat(subject: &Subject, solid: &Solid, to: &mut dyn Write) -> io::Result<()> {
    let &Subject { part, outlook, .. } = subject;
    let fields = &outlook.fields;
    let value = |p: Vec3, inward: Vec3| {
        let modulus = subject.at(p, inward, &|p, inward| fields.modulus_at(p, inward));
        [modulus.map_or(UNKNOWN, |m| 2.0 * m)]
    };
    let hottest = outlook.spots.first().map(|s| s.modulus_mm);
    let most_mm = 2.0 * hottest.unwrap_or_else(|| fields.usual_modulus_mm());
    let seconds =
        |wall: f64| [MOULD_S_CM2.low, MOULD_S_CM2.high].map(|b| freezing_s(b, wall / 2.0));
    let marks = outlook.spots.iter().take(MARKED).enumerate();
    let marks = marks.map(|(rank, spot)| {
        let name = subject.first_of(&spot.features);
        subject.mark(spot.at, format!("{} {name}", rank + 1))
    });
    let legend = Legend {
        most_mm,
        ends: ends(part, most_mm, Some(&seconds)),
        about: format!(
            "Estimate: it stays hot as long as a wall this thick, which is twice the local volume over area. Times by Chvorinov's rule, B {} to {} s/cm²",
            MOULD_S_CM2.low, MOULD_S_CM2.high
        ),
        marks: marks.collect(),
    };
    surface_map::write(solid, &value, &legend.text(), to)
}

/// Writes how large a ball lies inside the metal at each place of a stage's surface, and where junctions are.
///
/// # Errors
/// As [`surface_map::write`].
pub fn ball(subject: &Subject, solid: &Solid, to: &mut dyn Write) -> io::Result<()> {
    let &Subject { part, outlook, .. } = subject;
    let fields = &outlook.fields;
    let value = |p: Vec3, inward: Vec3| {
        let ball = subject.at(p, inward, &|p, inward| fields.ball_at(p, inward));
        [ball.unwrap_or(UNKNOWN)]
    };
    let largest = fields.girth_mm().iter().copied().fold(0.0, f32::max);
    let most_mm = f64::from(largest);
    let marks = outlook.corners.iter().take(MARKED).map(|corner| {
        let name = subject.first_of(&corner.features);
        subject.mark(corner.at, format!("{:.1} × wall {name}", corner.ratio()))
    });
    let legend = Legend {
        most_mm,
        ends: ends(part, most_mm, None),
        about: format!(
            "Estimate: diameter of the largest ball inside the metal there. Marked: junctions over {CORNER_FROM} times the walls beside them, where sand stays hot"
        ),
        marks: marks.collect(),
    };
    surface_map::write(solid, &value, &legend.text(), to)
}

/// Writes how far the metal has come when it gets to each place of a stage's surface, and where fronts meet.
///
/// # Errors
/// As [`surface_map::write`].
pub fn travel(subject: &Subject, solid: &Solid, to: &mut dyn Write) -> io::Result<()> {
    let &Subject { part, outlook, .. } = subject;
    let (fields, front) = (&outlook.fields, &outlook.front);
    let seams = fields.seams(&outlook.meetings);
    let value = |p: Vec3, inward: Vec3| {
        let travel = subject.at(p, inward, &|p, inward| fields.travel_at(front, p, inward));
        let seam = subject.at(p, inward, &|p, inward| {
            fields.just_inside(p, inward, &|slot| seams[slot])
        });
        [travel.unwrap_or(UNKNOWN), seam.unwrap_or(0.0)]
    };
    let reached = front.travel_mm.iter().filter(|t| t.is_finite());
    let most_mm = reached.fold(0.0, |most: f64, t| most.max(f64::from(*t)));
    let mut marks: Vec<Mark> = Vec::new();
    if let Some(last) = &outlook.last {
        marks.push(subject.mark(last.at, "last to fill".into()));
    }
    if subject.stage != Stage::Gated {
        marks.extend(outlook.contacts.iter().filter_map(|c| {
            let piece = part.gating.pieces.get(c.feature)?;
            Some(subject.mark(c.at, piece.name.clone()))
        }));
    }
    let seams = match outlook.meetings.len() {
        0 => "Nowhere do fronts meet",
        _ => "Striped: fronts meet; look there for folds",
    };
    let legend = Legend {
        most_mm,
        ends: ends(part, most_mm, Some(&front_s)),
        about: format!(
            "Estimate: the metal's travel through the foam from the gates, by the shortest way inside it, at {} to {} {}/s. {seams}",
            figures(FRONT_MM_S.low / part.unit.mm(), 2.0),
            figures(FRONT_MM_S.high / part.unit.mm(), 2.0),
            part.unit.symbol()
        ),
        marks,
    };
    surface_map::write(solid, &value, &legend.text(), to)
}

/// What gives the least and greatest time that goes with a length (s).
type Seconds<'a> = &'a dyn Fn(f64) -> [f64; 2];

/// What stands under the colours: a length, and its range of times.
fn ends(part: &Part, most_mm: f64, seconds: Option<Seconds>) -> [String; 4] {
    std::array::from_fn(|k| {
        let mm = most_mm * k as f64 / 3.0;
        let length = figures(mm / part.unit.mm(), 100.0);
        let Some(seconds) = seconds else {
            return format!("{length} {}", part.unit.symbol());
        };
        let [least, most] = seconds(mm).map(|s| figures(s, 10.0));
        let time = if least == most {
            least
        } else {
            format!("{least}–{most}")
        };
        format!("{length} {}\n{time} s", part.unit.symbol())
    })
}

/// A number without decimals from `whole` on, else with one, or two under a tenth of it; nothing is `0`.
fn figures(x: f64, whole: f64) -> String {
    let decimals = match x {
        x if x == 0.0 || x >= whole => 0,
        x if x >= whole / 10.0 => 1,
        _ => 2,
    };
    format!("{x:.decimals$}")
}

impl Legend {
    fn text(&self) -> String {
        serde_json::to_string(self).unwrap_or_default()
    }
}

impl Subject<'_> {
    /// A value of the casting at a point of the stage's surface: of whichever pattern of a tree has metal there.
    fn at(&self, p: Vec3, inward: Vec3, value: &dyn Fn(Vec3, Vec3) -> Option<f64>) -> Option<f64> {
        let grow = self.part.metal.growth();
        match self.stage {
            Stage::Finished | Stage::Casting => value(p, inward),
            Stage::Pattern => value(p / grow, inward),
            Stage::Gated => self.gated.places.iter().find_map(|place| {
                let [p, ahead] = [p, p + inward].map(|p| place.back(p));
                value(p / grow, ahead - p)
            }),
        }
    }

    /// The name of the first of some features.
    fn first_of(&self, features: &[FeatureId]) -> &str {
        let first = features.first().and_then(|f| self.part.features.get(*f));
        first.map_or("", |f| &f.name)
    }

    /// A mark at a place of the casting.
    fn mark(&self, at: Vec3, text: String) -> Mark {
        let grow = match self.stage {
            Stage::Finished | Stage::Casting => Vec3::ONE,
            Stage::Pattern | Stage::Gated => self.part.metal.growth(),
        };
        Mark {
            at_mm: (at * grow).to_array(),
            text,
        }
    }
}
