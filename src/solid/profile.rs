//! How far a band's wall stands off its outline at each height: draft, foot fillet, rounded edge, extensions.
//!
//! With draft a the wall stands off by w(z) = (holds - z) tan a. A foot fillet of radius r has its centre at
//! (z0 + r, w(z0 + r) + r / cos a) and sweeps 90° - a; a rounded edge of radius q at (z1 - q, w(z1 - q) - q / cos a):
//! both arcs touch the slanting wall and are square to their end plane. Arcs are chords with their ends on the true arc.

use std::f64::consts::FRAC_PI_2;

use super::shape_fault::{EdgeSize, ShapeFault};
use super::shell::Skin;
use crate::drawing::body::{Act, Band};
use crate::drawing::given::Edge;
use crate::drawing::outline::Outline;
use crate::measure::{EASE_MM, GRID_FROM_MM, GRID_MM, SAME_POINT_MM};

/// The section of a band at one height.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Level {
    /// Height.
    pub z: f64,
    /// How far it stands outside the outline; negative inside.
    pub d: f64,
    /// What the wall from here up to the next level is.
    pub skin: Skin,
}

/// How much of the facet the chords of a circle in plan may take. Every kind of body takes the same, so that
/// equal circles of two bodies have equal chords.
pub(super) const ARC_SHARE: f64 = 0.62;

/// How much of the facet the chords of a profile, or of a bend, may take; the two shares add up, with a little left.
pub(super) const PROFILE_SHARE: f64 = 0.36;

/// The same where the surface is a saddle: a flare about an outline that is nowhere hollow. The chords of its arc stand
/// off to one side and those of the outline to the other, so that the two don't add up.
pub const SADDLE_SHARE: f64 = 0.92;

/// How much of the facet a flare about an outline may take.
pub fn flare_share(outline: &Outline) -> f64 {
    if outline.is_convex() {
        SADDLE_SHARE
    } else {
        PROFILE_SHARE
    }
}

/// How many chords an arc takes so that none stands off it by more than `sag_mm`.
pub(super) fn chords(radius_mm: f64, sweep_rad: f64, sag_mm: f64) -> usize {
    let half = (1.0 - (sag_mm / radius_mm).min(0.3)).acos();
    ((sweep_rad.abs() / (2.0 * half)) - 1e-9).ceil().max(1.0) as usize
}

/// Into how many equal pieces a long run is cut.
pub(super) fn cuts(length_mm: f64) -> usize {
    if length_mm > GRID_FROM_MM {
        (length_mm / GRID_MM).ceil() as usize
    } else {
        1
    }
}

/// The draft, edges and heights of a band, checked.
pub(super) struct Profile<'a> {
    band: &'a Band,
    act: Act,
    tan: f64,
    sin: f64,
    cos: f64,
}

impl<'a> Profile<'a> {
    /// Checks a band's numbers.
    ///
    /// # Errors
    /// Where there is no height, or the edges don't fit into it.
    pub(super) fn new(band: &'a Band, act: Act) -> Result<Profile<'a>, ShapeFault> {
        let sizes = [
            band.holds,
            band.z0,
            band.z1,
            band.draft_deg,
            band.below,
            band.above,
        ];
        let edges = [mm_of(band.flare), mm_of(band.edge)];
        if !sizes.iter().chain(&edges).all(|s| s.is_finite()) {
            return Err(ShapeFault::NotFinite);
        }
        if band.draft_deg.abs() > 80.0 {
            return Err(ShapeFault::DraftTooFlat {
                draft_deg: band.draft_deg,
            });
        }
        let draft = band.draft_deg.to_radians();
        let profile = Profile {
            band,
            act,
            tan: draft.tan(),
            sin: draft.sin(),
            cos: draft.cos(),
        };
        profile.check_heights()?;
        Ok(profile)
    }

    fn check_heights(&self) -> Result<(), ShapeFault> {
        let height = self.band.z1 - self.band.z0;
        if height < SAME_POINT_MM {
            return Err(ShapeFault::NoHeight { height });
        }
        let (low, high) = (self.tall(self.band.flare), self.tall(self.band.edge));
        if low + high <= height + SAME_POINT_MM {
            return Ok(());
        }
        let (foot, free) = (self.foot(), self.free());
        // The foot gives way to the edge, unless the edge alone is too tall.
        let fits = match (foot, free) {
            (Some(foot), _) if high < height => EdgeSize {
                mm: (height - high) * foot.mm / low,
                ..foot
            },
            (_, Some(free)) => EdgeSize {
                mm: height * free.mm / high,
                ..free
            },
            _ => return Ok(()),
        };
        Err(ShapeFault::TooTall {
            foot,
            free,
            height,
            fits,
        })
    }

    /// How far the wall stands off at a height, edges aside.
    fn wall(&self, z: f64) -> f64 {
        (self.band.holds - z) * self.tan
    }

    /// How much of the height an edge takes.
    fn tall(&self, edge: Edge) -> f64 {
        match edge {
            Edge::Round(r) if r > 0.0 => r * (1.0 - self.sin),
            Edge::Chamfer(c) if c > 0.0 => c,
            _ => 0.0,
        }
    }

    /// The edge at the foot, by the script's key: a fillet of what is added, the mouth of what is cut.
    fn foot(&self) -> Option<EdgeSize> {
        named(
            self.band.flare,
            if self.act == Act::Add {
                "fillet"
            } else {
                "round"
            },
        )
    }

    /// The edge at the free end: the rim of what is added, the floor's fillet of what is cut.
    fn free(&self) -> Option<EdgeSize> {
        named(
            self.band.edge,
            if self.act == Act::Add {
                "round"
            } else {
                "fillet"
            },
        )
    }

    /// Where the foot's flare ends and the edge begins: the heights between which the wall is straight.
    pub(super) fn straight(&self) -> (f64, f64) {
        let Band {
            z0,
            z1,
            flare,
            edge,
            ..
        } = *self.band;
        (z0 + self.tall(flare), z1 - self.tall(edge))
    }

    /// The levels from the lowest to the highest.
    pub(super) fn levels(&self, facet_mm: f64) -> Vec<Level> {
        let mut levels = self.foot_levels(facet_mm * flare_share(&self.band.outline));
        let top = self.edge_levels(facet_mm * PROFILE_SHARE);
        self.extend_down(&mut levels, &top);
        levels.extend(top);
        self.extend_up(&mut levels);
        levels.dedup_by(|b, a| {
            let same = (b.z - a.z).abs() < 1e-9 && (b.d - a.d).abs() < 1e-9;
            if same {
                a.skin = b.skin;
            }
            same
        });
        cut_walls(levels)
    }

    /// From z0 to the top of the flare, or z0 alone; the last one starts the wall.
    fn foot_levels(&self, sag_mm: f64) -> Vec<Level> {
        let z0 = self.band.z0;
        let mut levels = match self.band.flare {
            Edge::Round(r) if r > 0.0 => {
                let (z, d) = (z0 + r, self.wall(z0 + r) + r / self.cos);
                let sweep = FRAC_PI_2 - self.band.draft_deg.to_radians();
                let n = chords(r, sweep, sag_mm).max(2);
                let at = |i: usize| FRAC_PI_2 - sweep * i as f64 / n as f64;
                let mut arc: Vec<Level> = (0..=n)
                    .map(|i| level(z - r * at(i).sin(), d - r * at(i).cos(), Skin::Flare))
                    .collect();
                arc[0] = level(z0, d, Skin::Flare);
                arc
            }
            Edge::Chamfer(c) if c > 0.0 => vec![
                level(z0, self.wall(z0) + c, Skin::Flare),
                level(z0 + c, self.wall(z0 + c), Skin::Flare),
            ],
            _ => vec![level(z0, self.wall(z0), Skin::Side)],
        };
        if let Some(last) = levels.last_mut() {
            last.skin = Skin::Side;
        }
        levels
    }

    /// From the top of the wall to z1.
    fn edge_levels(&self, sag_mm: f64) -> Vec<Level> {
        let z1 = self.band.z1;
        match self.band.edge {
            Edge::Round(q) if q > 0.0 => {
                let (z, d) = (z1 - q, self.wall(z1 - q) - q / self.cos);
                let draft = self.band.draft_deg.to_radians();
                let n = chords(q, FRAC_PI_2 - draft, sag_mm).max(2);
                let at = |i: usize| draft + (FRAC_PI_2 - draft) * i as f64 / n as f64;
                let mut arc: Vec<Level> = (0..=n)
                    .map(|i| level(z + q * at(i).sin(), d + q * at(i).cos(), Skin::Edge))
                    .collect();
                arc[n] = level(z1, d, Skin::Edge);
                arc
            }
            Edge::Chamfer(c) if c > 0.0 => vec![
                level(z1 - c, self.wall(z1 - c), Skin::Edge),
                level(z1, self.wall(z1) - c, Skin::Edge),
            ],
            _ => vec![level(z1, self.wall(z1), Skin::Side)],
        }
    }

    /// Straight on under the foot. A slope crosses the foot's plane first, see [`EASE_MM`].
    fn extend_down(&self, levels: &mut Vec<Level>, above: &[Level]) {
        let (first, below) = (levels[0], self.band.below);
        if below <= 0.0 {
            return;
        }
        let next = levels.get(1).or(above.first()).copied().unwrap_or(first);
        let skin = if first.skin == Skin::Flare {
            Skin::Flare
        } else {
            Skin::Side
        };
        if (first.d - next.d).abs() < 1e-9 {
            levels[0] = level(first.z - below, first.d, skin);
            return;
        }
        let ease = EASE_MM.min(below * 0.5);
        let d = first.d + (first.d - next.d) / (next.z - first.z) * ease;
        levels[0] = level(first.z - ease, d, first.skin);
        levels.insert(0, level(first.z - below, d, skin));
    }

    /// Straight on over a sharp free end, likewise.
    fn extend_up(&self, levels: &mut Vec<Level>) {
        let (above, n) = (self.band.above, levels.len());
        if above <= 0.0 || n < 2 || self.tall(self.band.edge) > 0.0 {
            return;
        }
        let (last, before) = (levels[n - 1], levels[n - 2]);
        if (last.d - before.d).abs() < 1e-9 {
            levels[n - 1].z += above;
            return;
        }
        let ease = EASE_MM.min(above * 0.5);
        let d = last.d + (last.d - before.d) / (last.z - before.z) * ease;
        levels[n - 1] = level(last.z + ease, d, Skin::Side);
        levels.push(level(last.z + above, d, Skin::Side));
    }

    /// The fault of a wall that vanishes at an inset, given the deepest inset that leaves something.
    pub(super) fn eaten(&self, by: f64, fits: f64) -> ShapeFault {
        let Band {
            holds,
            z1,
            draft_deg,
            edge,
            ..
        } = *self.band;
        let slanting = -self.wall(z1);
        if slanting > fits {
            let largest_deg = (fits / (z1 - holds)).atan().to_degrees();
            return ShapeFault::DraftEats {
                draft_deg,
                largest_deg,
            };
        }
        let largest = match edge {
            Edge::Round(_) => (fits - slanting) / (1.0 / self.cos - self.tan),
            _ => fits - slanting,
        };
        match self.free() {
            Some(edge) => ShapeFault::EdgeEats { edge, largest },
            None => ShapeFault::OutlineVanishes { by, largest: fits },
        }
    }
}

fn level(z: f64, d: f64, skin: Skin) -> Level {
    Level { z, d, skin }
}

/// Radius or leg; 0 where sharp.
fn mm_of(edge: Edge) -> f64 {
    match edge {
        Edge::Sharp => 0.0,
        Edge::Round(mm) | Edge::Chamfer(mm) => mm,
    }
}

/// An edge with the script's key; `round` is the key where it is round.
fn named(edge: Edge, round: &'static str) -> Option<EdgeSize> {
    match edge {
        Edge::Round(mm) if mm > 0.0 => Some(EdgeSize { key: round, mm }),
        Edge::Chamfer(mm) if mm > 0.0 => Some(EdgeSize { key: "chamfer", mm }),
        _ => None,
    }
}

/// Cuts tall walls into equal pieces.
fn cut_walls(levels: Vec<Level>) -> Vec<Level> {
    let mut cut = Vec::with_capacity(levels.len());
    for (i, &from) in levels.iter().enumerate() {
        cut.push(from);
        let Some(to) = levels.get(i + 1) else { break };
        let n = cuts(to.z - from.z);
        for k in 1..n {
            let t = k as f64 / n as f64;
            cut.push(level(
                from.z + (to.z - from.z) * t,
                from.d + (to.d - from.d) * t,
                from.skin,
            ));
        }
    }
    cut
}
