//! What a word was given, checked and turned into the part's own terms: lengths in mm.

use std::collections::BTreeMap;

use rhai::Dynamic;

use crate::drawing::given::{FaceRef, Handle, ProfilePoint, Spot, WayPoint};
use crate::drawing::outline::{Outline, PathStep};
use crate::drawing::threads::HoleFor;
use crate::measure::{Vec2, Vec3};

/// One checked value.
#[derive(Debug, Clone)]
pub enum Given {
    /// A length (mm), a number, degrees.
    Number(f64),
    /// The diameter of a hole for a thread (mm).
    Hole(f64, HoleFor),
    /// A whole number.
    Count(i64),
    /// Yes or no.
    Flag(bool),
    /// A text or name.
    Text(String),
    /// A number, text or flag as the script has it.
    Scalar(Dynamic),
    /// A flat shape.
    Outline(Outline),
    /// One face.
    Face(FaceRef),
    /// Faces, one an instance.
    Faces(Vec<FaceRef>),
    /// One feature.
    Feature(Handle),
    /// Several features.
    Features(Vec<Handle>),
    /// Features by name.
    Names(Vec<String>),
    /// Points (mm).
    Points(Vec<Vec2>),
    /// Places, and whether they were written as a list.
    Spots(Vec<Spot>, bool),
    /// A point (mm) or a direction in space.
    Space(Vec3),
    /// Circles: centre and diameter (mm).
    Circles(Vec<(Vec2, f64)>),
    /// A start and steps of lines and arcs.
    ArcPath(Vec2, Vec<PathStep>),
    /// A turned profile.
    Profile(Vec<ProfilePoint>),
    /// Points of a tunnel's way.
    Way(Vec<WayPoint>),
    /// Two lengths (mm).
    Pair(f64, f64),
    /// Three percentages.
    Percents([f64; 3]),
    /// A map.
    Map(Values),
}

/// Checked values by the names that the word declares. An accessor gives `None` where the key was left out.
#[derive(Debug, Clone, Default)]
pub struct Values(BTreeMap<&'static str, Given>);

impl Values {
    /// Puts a value in.
    pub fn put(&mut self, name: &'static str, value: Given) {
        match value {
            // The keys of a word's map stand beside its arguments.
            Given::Map(values) if name == KEYS => self.0.extend(values.0),
            value => {
                self.0.insert(name, value);
            }
        }
    }

    /// Whether a key was given.
    pub fn has(&self, name: &str) -> bool {
        self.0.contains_key(name)
    }

    /// A length (mm), number or angle.
    pub fn number(&self, name: &str) -> Option<f64> {
        match self.0.get(name)? {
            Given::Number(n) | Given::Hole(n, _) => Some(*n),
            _ => None,
        }
    }

    /// What a script asked a diameter for: the thread of the hole.
    pub fn hole_for(&self, name: &str) -> Option<HoleFor> {
        match self.0.get(name)? {
            Given::Hole(_, hole) => Some(*hole),
            _ => None,
        }
    }

    /// A whole number.
    pub fn count(&self, name: &str) -> Option<i64> {
        match self.0.get(name)? {
            Given::Count(n) => Some(*n),
            _ => None,
        }
    }

    /// A yes or no.
    pub fn flag(&self, name: &str) -> Option<bool> {
        match self.0.get(name)? {
            Given::Flag(f) => Some(*f),
            _ => None,
        }
    }

    /// A text.
    pub fn text(&self, name: &str) -> Option<String> {
        match self.0.get(name)? {
            Given::Text(t) => Some(t.clone()),
            _ => None,
        }
    }

    /// A number, text or flag as the script has it.
    pub fn scalar(&self, name: &str) -> Option<Dynamic> {
        match self.0.get(name)? {
            Given::Scalar(d) => Some(d.clone()),
            _ => None,
        }
    }

    /// A flat shape.
    pub fn outline(&self, name: &str) -> Option<Outline> {
        match self.0.get(name)? {
            Given::Outline(o) => Some(o.clone()),
            _ => None,
        }
    }

    /// One face.
    pub fn face(&self, name: &str) -> Option<FaceRef> {
        match self.0.get(name)? {
            Given::Face(f) => Some(f.clone()),
            _ => None,
        }
    }

    /// Faces.
    pub fn faces(&self, name: &str) -> Option<Vec<FaceRef>> {
        match self.0.get(name)? {
            Given::Faces(f) => Some(f.clone()),
            _ => None,
        }
    }

    /// One feature.
    pub fn feature(&self, name: &str) -> Option<Handle> {
        match self.0.get(name)? {
            Given::Feature(h) => Some(h.clone()),
            _ => None,
        }
    }

    /// Features.
    pub fn features(&self, name: &str) -> Option<Vec<Handle>> {
        match self.0.get(name)? {
            Given::Features(h) => Some(h.clone()),
            _ => None,
        }
    }

    /// Features by name.
    pub fn names(&self, name: &str) -> Option<Vec<String>> {
        match self.0.get(name)? {
            Given::Names(n) => Some(n.clone()),
            _ => None,
        }
    }

    /// Points (mm).
    pub fn points(&self, name: &str) -> Option<Vec<Vec2>> {
        match self.0.get(name)? {
            Given::Points(p) => Some(p.clone()),
            _ => None,
        }
    }

    /// Places, and whether they were written as a list.
    pub fn spots(&self, name: &str) -> Option<(Vec<Spot>, bool)> {
        match self.0.get(name)? {
            Given::Spots(s, listed) => Some((s.clone(), *listed)),
            _ => None,
        }
    }

    /// A point (mm) or direction in space.
    pub fn space(&self, name: &str) -> Option<Vec3> {
        match self.0.get(name)? {
            Given::Space(p) => Some(*p),
            _ => None,
        }
    }

    /// Circles: centre and diameter (mm).
    pub fn circles(&self, name: &str) -> Option<Vec<(Vec2, f64)>> {
        match self.0.get(name)? {
            Given::Circles(c) => Some(c.clone()),
            _ => None,
        }
    }

    /// A start and steps of lines and arcs.
    pub fn arc_path(&self, name: &str) -> Option<(Vec2, Vec<PathStep>)> {
        match self.0.get(name)? {
            Given::ArcPath(start, steps) => Some((*start, steps.clone())),
            _ => None,
        }
    }

    /// A turned profile.
    pub fn profile(&self, name: &str) -> Option<Vec<ProfilePoint>> {
        match self.0.get(name)? {
            Given::Profile(p) => Some(p.clone()),
            _ => None,
        }
    }

    /// Points of a tunnel's way.
    pub fn way(&self, name: &str) -> Option<Vec<WayPoint>> {
        match self.0.get(name)? {
            Given::Way(w) => Some(w.clone()),
            _ => None,
        }
    }

    /// Two lengths (mm).
    pub fn pair(&self, name: &str) -> Option<(f64, f64)> {
        match self.0.get(name)? {
            Given::Pair(a, b) => Some((*a, *b)),
            _ => None,
        }
    }

    /// Three percentages.
    pub fn percents(&self, name: &str) -> Option<[f64; 3]> {
        match self.0.get(name)? {
            Given::Percents(p) => Some(*p),
            _ => None,
        }
    }

    /// A map of its own.
    pub fn map(&self, name: &str) -> Option<&Values> {
        match self.0.get(name)? {
            Given::Map(m) => Some(m),
            _ => None,
        }
    }
}

/// The name of a feature word's map argument.
pub const KEYS: &str = "keys";
