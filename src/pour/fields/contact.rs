//! Where a gate or a feeder joins the casting.

use std::f64::consts::PI;

use crate::drawing::given::FeatureId;
use crate::measure::Vec3;

/// What joins there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Kind {
    /// A gate: what it can feed goes by its section, area over perimeter.
    Gate,
    /// A feeder.
    Feeder {
        /// Its own volume over cooled surface (mm).
        modulus_mm: f64,
    },
}

/// The form of a contact.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Foot {
    /// Half the diameter (mm).
    Disc(f64),
    /// The two half sides, square to each other (mm).
    Rect([Vec3; 2]),
}

/// A patch of the casting's surface that a gate or a feeder joins.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Contact {
    /// Its middle (mm).
    pub at: Vec3,
    /// Out of the casting (unit).
    pub normal: Vec3,
    /// Its area (mm²).
    pub area_mm2: f64,
    /// Its perimeter (mm).
    pub perimeter_mm: f64,
    /// What joins.
    pub kind: Kind,
    /// The gate or feeder, as whoever asks numbers them.
    pub feature: FeatureId,
    foot: Foot,
}

impl Contact {
    /// A round one.
    pub fn round(at: Vec3, normal: Vec3, dia_mm: f64, kind: Kind, feature: FeatureId) -> Contact {
        Contact {
            at,
            normal: normal.normalize_or(Vec3::Z),
            area_mm2: PI * dia_mm * dia_mm / 4.0,
            perimeter_mm: PI * dia_mm,
            kind,
            feature,
            foot: Foot::Disc(dia_mm / 2.0),
        }
    }

    /// A rectangle: `sides` are its whole sides, square to each other and to the normal (mm).
    pub fn rect(
        at: Vec3,
        normal: Vec3,
        sides: [Vec3; 2],
        kind: Kind,
        feature: FeatureId,
    ) -> Contact {
        let [a, b] = sides.map(Vec3::length);
        Contact {
            at,
            normal: normal.normalize_or(Vec3::Z),
            area_mm2: a * b,
            perimeter_mm: 2.0 * (a + b),
            kind,
            feature,
            foot: Foot::Rect(sides.map(|s| s / 2.0)),
        }
    }

    /// The modulus that it feeds with (mm): a gate's section over its perimeter, a feeder's own.
    pub fn modulus_mm(&self) -> f64 {
        match self.kind {
            Kind::Gate => self.area_mm2 / self.perimeter_mm,
            Kind::Feeder { modulus_mm } => modulus_mm,
        }
    }

    /// How much larger its modulus must be than that of the section which it feeds: 1.1 for a gate, as for a neck, 1.2
    /// for a feeder (from memory: the usual 1 : 1.1 : 1.2 of casting, neck and feeder).
    pub fn call(&self) -> f64 {
        match self.kind {
            Kind::Gate => 1.1,
            Kind::Feeder { .. } => 1.2,
        }
    }

    /// Its point nearest to another.
    pub fn nearest(&self, p: Vec3) -> Vec3 {
        let off = p - self.at;
        let flat = off - self.normal * off.dot(self.normal);
        match self.foot {
            Foot::Disc(radius) => self.at + flat.clamp_length_max(radius),
            Foot::Rect(halves) => halves.iter().fold(self.at, |at, half| {
                let share = flat.dot(*half) / half.length_squared().max(1e-12);
                at + *half * share.clamp(-1.0, 1.0)
            }),
        }
    }

    /// Whether it covers a point of the surface, to `within` mm.
    pub fn covers(&self, p: Vec3, within: f64) -> bool {
        let off = (p - self.at).dot(self.normal);
        let flat = p - self.normal * off;
        off.abs() < within && self.nearest(flat).distance(flat) < 1e-6
    }

    /// Whether it stands over a junction: the middle of the ball lies under its foot, no deeper than the ball is wide, and
    /// the foot is no narrower than the ball. Our own choice: a junction is hot by its form, not by volume over area.
    pub fn stands_over(&self, middle: Vec3, ball_mm: f64) -> bool {
        let depth = (self.at - middle).dot(self.normal);
        let foot = middle + self.normal * depth;
        let wide = match self.foot {
            Foot::Disc(radius) => 2.0 * radius,
            Foot::Rect([a, b]) => 2.0 * a.length().min(b.length()),
        };
        (0.0..=ball_mm).contains(&depth) && self.covers(foot, 1e-3) && wide >= ball_mm
    }

    /// How far it reaches from its middle (mm).
    pub fn reach_mm(&self) -> f64 {
        match self.foot {
            Foot::Disc(radius) => radius,
            Foot::Rect([a, b]) => a.length().hypot(b.length()),
        }
    }
}
