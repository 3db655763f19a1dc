//! What carries the metal to the pattern: gates, runners, sprue, feeders, ties, the tree; and what the pour has to fit.
//!
//! Places are the finished part's, and move with stock and shrink; sizes are as cut.

use crate::drawing::given::{FaceKey, FaceRef, FeatureId};
use crate::drawing::outline::Outline;
use crate::fault::Site;
use crate::measure::{Frame, Plane, Vec2, Vec3};

/// What a gating word returns: its name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GatingHandle {
    /// The name as the script gave it; that of all instances.
    pub name: String,
}

/// A section, as cut (mm).
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Section {
    /// A rectangle: width along u, height along v.
    Rect {
        /// Along u.
        width: f64,
        /// Along v.
        height: f64,
    },
    /// A disc.
    Round {
        /// Diameter.
        dia: f64,
    },
}

impl Section {
    /// As an outline about its middle.
    pub fn outline(&self) -> Outline {
        match *self {
            Section::Rect { width, height } => Outline::rect(width, height),
            Section::Round { dia } => Outline::disc(dia),
        }
    }

    /// Its area (mm²).
    pub fn area_mm2(&self) -> f64 {
        match *self {
            Section::Rect { width, height } => width * height,
            Section::Round { dia } => std::f64::consts::PI * dia * dia / 4.0,
        }
    }

    /// Its perimeter (mm).
    pub fn perimeter_mm(&self) -> f64 {
        match *self {
            Section::Rect { width, height } => 2.0 * (width + height),
            Section::Round { dia } => std::f64::consts::PI * dia,
        }
    }

    /// How far it reaches from its middle along a direction of its plane (mm).
    pub fn half(&self, along: Vec2) -> f64 {
        match *self {
            Section::Rect { width, height } => {
                along.x.abs() * width / 2.0 + along.y.abs() * height / 2.0
            }
            Section::Round { dia } => along.length() * dia / 2.0,
        }
    }

    /// How far its farthest point lies from its middle (mm).
    pub fn reach(&self) -> f64 {
        match *self {
            Section::Rect { width, height } => width.hypot(height) / 2.0,
            Section::Round { dia } => dia / 2.0,
        }
    }
}

/// A place on a face of the finished part.
#[derive(Debug, Clone, PartialEq)]
pub struct Seat {
    /// The feature whose face it is; `None` for a level or a free face.
    pub host: Option<(FeatureId, FaceKey)>,
    /// Origin at the place, z outward.
    pub frame: Frame,
}

/// How far a gate goes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum GateReach {
    /// This far from the raw face, as cut (mm).
    Length(f64),
    /// To a plane of the finished part, of the feature's face where it has one.
    UpTo(Plane),
}

/// Where a runner runs.
#[derive(Debug, Clone, PartialEq)]
pub enum RunnerWay {
    /// Along points of the finished part.
    Path(Vec<Vec3>),
    /// From gate to gate, by their names (of single instances).
    Joins(Vec<String>),
}

/// An end of a tie.
#[derive(Debug, Clone, PartialEq)]
pub enum TieEnd {
    /// A point of the finished part.
    Point(Vec3),
    /// A place on a face.
    Seat(Seat),
}

/// What a piece of the gating is.
#[derive(Debug, Clone, PartialEq)]
pub enum GatingForm {
    /// `gate`.
    Gate {
        /// Where it stands.
        seat: Seat,
        /// Its section in the seat's x and y.
        section: Section,
        /// How far it goes.
        reach: GateReach,
    },
    /// `runner`.
    Runner {
        /// Its section, v as near up as it goes; or one for each stretch from stub to stub.
        sections: Vec<Section>,
        /// Where it runs.
        way: RunnerWay,
    },
    /// `sprue`.
    Sprue {
        /// The runner or gate that it stands on, by name.
        on: String,
        /// Where on the runner, in the finished part's plan; its middle if left out.
        xy: Option<Vec2>,
        /// Height over the upper side of what it stands on (mm).
        height: f64,
        /// Diameter at its top (mm).
        top: f64,
        /// Diameter at its foot (mm).
        foot: f64,
        /// Diameter and depth of the metal that stays in the pouring cup (mm).
        cup: Option<(f64, f64)>,
    },
    /// `feeder`.
    Feeder {
        /// Where it stands.
        seat: Seat,
        /// Diameter (mm).
        dia: f64,
        /// Height over the raw face (mm).
        height: f64,
    },
    /// `tie`.
    Tie {
        /// From where to where.
        ends: [TieEnd; 2],
        /// Its section.
        section: Section,
    },
}

/// One piece of the gating.
#[derive(Debug, Clone, PartialEq)]
pub struct GatingPiece {
    /// Its own name: `g.2` for an instance of several.
    pub name: String,
    /// The name that the script gave to all instances.
    pub group: String,
    /// The word: `gate`.
    pub word: &'static str,
    /// Where it was made.
    pub site: Site,
    /// What it is.
    pub form: GatingForm,
}

/// How the patterns of a tree lie.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum TreeLay {
    /// Each so far from the last, as cut (mm).
    Step(Vec3),
    /// Turned evenly about an upright line through this place of the finished part's plan.
    About(Vec2),
}

/// Several patterns on one runner.
#[derive(Debug, Clone, PartialEq)]
pub struct Tree {
    /// How many.
    pub copies: usize,
    /// How they lie.
    pub lay: TreeLay,
    /// Where it is said.
    pub site: Site,
}

/// A flask as given; sizes are inside (mm).
#[derive(Debug, Clone, PartialEq)]
pub enum FlaskForm {
    /// A container of the table, by its name.
    Named(String),
    /// Round.
    Round {
        /// Diameter.
        dia: f64,
        /// Height.
        height: f64,
    },
    /// With straight sides.
    Box {
        /// Length.
        length: f64,
        /// Width.
        width: f64,
        /// Height.
        height: f64,
    },
}

/// What the pour goes into.
#[derive(Debug, Clone, PartialEq)]
pub struct Flask {
    /// Its form.
    pub form: FlaskForm,
    /// Where it is said.
    pub site: Site,
}

/// What the metal is melted in.
#[derive(Debug, Clone, PartialEq)]
pub struct Crucible {
    /// What it takes of this metal at a working level (kg), where given.
    pub kg: Option<f64>,
    /// Litres to the brim, where given.
    pub litres: Option<f64>,
    /// Where it is said.
    pub site: Site,
}

/// Everything that a script says of gating and pour.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Gating {
    /// The pieces in script order.
    pub pieces: Vec<GatingPiece>,
    /// Several patterns on one runner.
    pub tree: Option<Tree>,
    /// What the pour goes into.
    pub flask: Option<Flask>,
    /// What the metal is melted in.
    pub crucible: Option<Crucible>,
    /// Which way is up in the flask, in the finished part; +z where the script says nothing.
    pub pour_up: Option<(Vec3, Site)>,
}

impl Gating {
    /// Which way is up in the flask (unit).
    pub fn up(&self) -> Vec3 {
        self.pour_up.as_ref().map_or(Vec3::Z, |(up, _)| *up)
    }

    /// The name under which `allow` takes a finding of what the pour has to fit, where the script gives that.
    pub fn vessel(&self, code: &str) -> Option<&'static str> {
        match code {
            "flask-small" if self.flask.is_some() => Some("flask"),
            "crucible-small" if self.crucible.is_some() => Some("crucible"),
            _ => None,
        }
    }

    /// The pieces that a name stands for.
    pub fn named(&self, name: &str) -> Vec<usize> {
        (0..self.pieces.len())
            .filter(|&i| self.pieces[i].name == name || self.pieces[i].group == name)
            .collect()
    }
}

/// A gate or feeder as given: where it stands.
#[derive(Debug, Clone)]
pub struct GateGiven {
    /// Its name.
    pub name: String,
    /// Where it is said.
    pub site: Site,
    /// Where it stands (`on` is set).
    pub place: crate::drawing::given::Place,
    /// Its section.
    pub section: Section,
    /// As cut (mm).
    pub length: Option<f64>,
    /// The face that it goes to, where no length is given.
    pub up_to: Option<FaceRef>,
}
