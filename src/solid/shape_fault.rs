//! Bodies that can't exist, told by the number that is wrong and the limit that it breaks.

use super::triangulate::Conflict;
use crate::drawing::outline::OutlineError;
use crate::measure::{Unit, Vec2};

/// A size that a script gave, with its key: `fillet`, `round` or `chamfer`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EdgeSize {
    /// The script's key.
    pub key: &'static str,
    /// Radius or leg (mm).
    pub mm: f64,
}

/// Why a body can't be built. Lengths are in mm, coordinates in the body's own frame.
#[derive(Debug, Clone, PartialEq)]
pub enum ShapeFault {
    /// The free end is not over the foot.
    NoHeight {
        /// The height, zero or less.
        height: f64,
    },
    /// A fillet and an edge that don't fit one over the other.
    TooTall {
        /// At the foot, or at the mouth of an opening.
        foot: Option<EdgeSize>,
        /// At the free end, or at the floor.
        free: Option<EdgeSize>,
        /// Height or depth that there is.
        height: f64,
        /// The largest that fits, of the one to change.
        fits: EdgeSize,
    },
    /// A draft that leaves nothing of the free end.
    DraftEats {
        /// Degrees, as given.
        draft_deg: f64,
        /// Degrees, the largest that leaves something.
        largest_deg: f64,
    },
    /// A draft of a right angle or more.
    DraftTooFlat {
        /// Degrees, as given.
        draft_deg: f64,
    },
    /// An edge that leaves nothing of the free end.
    EdgeEats {
        /// As given.
        edge: EdgeSize,
        /// The largest that leaves something.
        largest: f64,
    },
    /// The outline vanishes for another reason than a draft or an edge.
    OutlineVanishes {
        /// How far it is shrunk.
        by: f64,
        /// The farthest that leaves something.
        largest: f64,
    },
    /// The outline crosses or touches itself.
    OutlineCrosses {
        /// Near this place.
        near: Vec2,
    },
    /// The outline can't be worked out.
    OutlineFails {
        /// Why.
        error: OutlineError,
    },
    /// A path of fewer than two points, or with two points in one place.
    PathTooShort {
        /// The point, from 1.
        point: usize,
    },
    /// A path that turns straight back.
    TurnsBack {
        /// The point, from 1.
        point: usize,
    },
    /// A bend tighter than the section's reach towards its centre.
    BendTooTight {
        /// The point, from 1.
        point: usize,
        /// As given.
        bend: f64,
        /// The least that works.
        least: f64,
    },
    /// A leg shorter than the bends or mitres at its ends need.
    LegTooShort {
        /// The leg, from 1.
        leg: usize,
        /// Its length.
        length: f64,
        /// The least.
        needs: f64,
        /// Whether bends (and not mitres) need it.
        bent: bool,
    },
    /// A way that runs into itself.
    MeetsItself {
        /// The two legs, from 1.
        legs: (usize, usize),
    },
    /// A profile that goes behind its axis.
    ProfileBehindAxis {
        /// The least distance from the axis.
        r: f64,
        /// Height there.
        z: f64,
    },
    /// A profile that crosses or touches itself.
    ProfileCrosses {
        /// Distance from the axis.
        r: f64,
        /// Height.
        z: f64,
    },
    /// A profile that encloses nothing.
    ProfileEmpty,
    /// A size that is no finite number.
    NotFinite,
    /// A library that the mesh is made with gave up.
    Panic {
        /// What it said.
        what: String,
    },
}

impl ShapeFault {
    /// The script's key at fault, where one is.
    pub fn key(&self) -> Option<&'static str> {
        match self {
            ShapeFault::TooTall { fits, .. } => Some(fits.key),
            ShapeFault::DraftEats { .. } | ShapeFault::DraftTooFlat { .. } => Some("draft"),
            ShapeFault::EdgeEats { edge, .. } => Some(edge.key),
            ShapeFault::OutlineVanishes { .. }
            | ShapeFault::OutlineCrosses { .. }
            | ShapeFault::OutlineFails { .. } => Some("outline"),
            ShapeFault::BendTooTight { .. } => Some("bend"),
            ShapeFault::LegTooShort { bent: true, .. } => Some("bend"),
            ShapeFault::PathTooShort { .. }
            | ShapeFault::TurnsBack { .. }
            | ShapeFault::LegTooShort { .. }
            | ShapeFault::MeetsItself { .. } => Some("path"),
            ShapeFault::ProfileBehindAxis { .. }
            | ShapeFault::ProfileCrosses { .. }
            | ShapeFault::ProfileEmpty => Some("profile"),
            ShapeFault::NoHeight { .. } | ShapeFault::NotFinite | ShapeFault::Panic { .. } => None,
        }
    }

    /// One sentence in the script's unit, without a full stop.
    pub fn text(&self, unit: Unit) -> String {
        let show = |mm: f64| unit.show(mm);
        let sized = |s: &EdgeSize| format!("{} {}", s.key, show(s.mm));
        match self {
            ShapeFault::NoHeight { height } => {
                format!("there is no height left to build: {}", show(*height))
            }
            ShapeFault::TooTall {
                foot, free, height, ..
            } => {
                let both: Vec<String> = [foot, free].into_iter().flatten().map(sized).collect();
                let fit = if both.len() == 1 {
                    "doesn't fit"
                } else {
                    "don't fit"
                };
                format!(
                    "{} {fit} into a height of {}",
                    both.join(" and "),
                    show(*height)
                )
            }
            ShapeFault::DraftEats { draft_deg, .. } => {
                format!(
                    "draft {} degrees leaves nothing of the free end",
                    degrees(*draft_deg)
                )
            }
            ShapeFault::DraftTooFlat { draft_deg } => {
                format!("draft {} degrees is no draft", degrees(*draft_deg))
            }
            ShapeFault::EdgeEats { edge, .. } => {
                format!("{} leaves nothing of the free end", sized(edge))
            }
            ShapeFault::OutlineVanishes { by, .. } => {
                format!("the outline vanishes when it is shrunk by {}", show(*by))
            }
            ShapeFault::OutlineCrosses { near } => {
                format!(
                    "the outline crosses or touches itself near {}",
                    place(unit, near.x, near.y)
                )
            }
            ShapeFault::OutlineFails { error } => error.text(unit),
            ShapeFault::PathTooShort { point } => {
                format!("the way has no length at its point {point}")
            }
            ShapeFault::TurnsBack { point } => {
                format!("the way turns straight back at its point {point}")
            }
            ShapeFault::BendTooTight { point, bend, .. } => {
                format!(
                    "bend {} at point {point} is tighter than the section",
                    show(*bend)
                )
            }
            ShapeFault::LegTooShort {
                leg,
                length,
                needs,
                bent,
            } => {
                let what = if *bent { "bends" } else { "corners" };
                let (length, needs) = (show(*length), show(*needs));
                format!("leg {leg} of the way is {length} long, its {what} need {needs}")
            }
            ShapeFault::MeetsItself { legs: (a, b) } => {
                format!("the way runs into itself: legs {a} and {b} meet")
            }
            ShapeFault::ProfileBehindAxis { r, z } => {
                format!(
                    "the profile goes behind the axis: r = {} at {}",
                    show(*r),
                    show(*z)
                )
            }
            ShapeFault::ProfileCrosses { r, z } => {
                format!(
                    "the profile crosses or touches itself near {}",
                    place(unit, *r, *z)
                )
            }
            ShapeFault::ProfileEmpty => "the profile encloses nothing".into(),
            ShapeFault::NotFinite => "a size is no finite number".into(),
            ShapeFault::Panic { what } => format!("the mesh could not be made: {what}"),
        }
    }

    /// What to do about it, one line each, in the script's unit.
    pub fn hints(&self, unit: Unit) -> Vec<String> {
        let (most, least) = (
            |mm: f64| unit.show(down(unit, mm)),
            |mm: f64| unit.show(up(unit, mm)),
        );
        let one = match self {
            ShapeFault::TooTall { fits, .. } if fits.mm > 0.0 => {
                format!("the largest {} that fits is {}", fits.key, most(fits.mm))
            }
            ShapeFault::TooTall { .. } => "make it higher, or the other edge smaller".into(),
            ShapeFault::DraftEats { largest_deg, .. } => {
                format!(
                    "the largest draft that leaves something is {} degrees",
                    degrees((largest_deg * 100.0).floor() / 100.0)
                )
            }
            ShapeFault::DraftTooFlat { .. } => "a draft is a few degrees".into(),
            ShapeFault::EdgeEats { edge, largest } => {
                format!(
                    "the largest {} that leaves something is {}",
                    edge.key,
                    most(*largest)
                )
            }
            ShapeFault::OutlineVanishes { largest, .. } => {
                format!("it can be shrunk by {}", most(*largest))
            }
            ShapeFault::BendTooTight { least: bend, .. } => {
                format!("the least bend here is {}", least(*bend))
            }
            ShapeFault::LegTooShort { bent: true, .. } => {
                "make the leg longer or the bend smaller".into()
            }
            ShapeFault::LegTooShort { .. } => "make the leg longer, or give a bend".into(),
            ShapeFault::ProfileBehindAxis { .. } => {
                "r counts from the axis: keep every point and arc at r >= 0".into()
            }
            ShapeFault::Panic { .. } => {
                "a small change of a size or place often helps; please report it".into()
            }
            _ => return Vec::new(),
        };
        vec![one]
    }
}

impl From<OutlineError> for ShapeFault {
    fn from(error: OutlineError) -> ShapeFault {
        match error {
            OutlineError::Vanishes { by, fits } => {
                ShapeFault::OutlineVanishes { by, largest: fits }
            }
            OutlineError::CrossesItself { near } => ShapeFault::OutlineCrosses { near },
            error => ShapeFault::OutlineFails { error },
        }
    }
}

impl From<Conflict> for ShapeFault {
    fn from(conflict: Conflict) -> ShapeFault {
        ShapeFault::OutlineCrosses {
            near: conflict.near,
        }
    }
}

/// An angle as a person writes it.
fn degrees(deg: f64) -> String {
    let text = format!("{deg:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_string()
}

/// A place in a plane.
fn place(unit: Unit, a: f64, b: f64) -> String {
    format!("[{}, {}] {}", unit.number(a), unit.number(b), unit.symbol())
}

/// The last digit that [`Unit::number`] shows (mm).
fn digit(unit: Unit) -> f64 {
    match unit {
        Unit::Mm => 0.01,
        Unit::Inch => 0.0001 * unit.mm(),
    }
}

/// A largest size rounded down to what is shown, so that the quoted one fits.
fn down(unit: Unit, mm: f64) -> f64 {
    (mm / digit(unit) + 1e-6).floor() * digit(unit)
}

/// A least size rounded up to what is shown.
fn up(unit: Unit, mm: f64) -> f64 {
    (mm / digit(unit) - 1e-6).ceil() * digit(unit)
}
