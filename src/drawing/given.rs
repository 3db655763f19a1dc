//! Features as a script gives them: lengths in mm, angles in degrees, nothing resolved yet.
//! One struct a word; optional keys are `Option`s; lists of places make several instances.

use crate::drawing::foam::Located;
use crate::drawing::outline::Outline;
use crate::drawing::threads::HoleFor;
use crate::fault::Site;
use crate::measure::{Vec2, Vec3};

/// Index of a feature in [`crate::drawing::Part::features`].
pub type FeatureId = usize;

/// What a feature word returns: the instances it made, in order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Handle {
    /// The name as the script gave it, with its module prefix.
    pub name: String,
    /// The instances; one unless `at:` was a list of points or a mirror made copies.
    pub ids: Vec<FeatureId>,
}

/// Which face of a feature.
#[derive(Debug, Clone, PartialEq)]
pub enum FaceKey {
    /// The free end of a slab, boss, flange, rib or turned body.
    Top,
    /// The foot, looking the other way.
    Bottom,
    /// The flat side that looks most nearly this way: degrees in the feature's own frame, 0 = +x (right), 90 = +y (back).
    Side(f64),
    /// The round outside of a round body.
    Outside,
    /// The wall of an opening (all of it).
    Wall,
    /// The floor of an opening.
    Floor,
    /// The mouth of an opening, in the plane of the face it was made into.
    Mouth,
    /// The shoulder of a counterbore.
    Shoulder,
    /// The first end of a tunnel.
    Start,
    /// The second end of a tunnel.
    End,
    /// A face that a turned profile names.
    Named(String),
    /// A plane that touches a round body: degrees round its axis, and how far up its axis from its foot (mm).
    Around(f64, f64),
    /// A plane that touches a tunnel's wall: distance along its way from the start (mm), degrees round the way.
    Along(f64, f64),
}

/// A face as a script names it.
#[derive(Debug, Clone, PartialEq)]
pub enum FaceRef {
    /// A face of a feature.
    Of(Handle, FaceKey),
    /// The part's plane at this height, facing up.
    Level(f64),
    /// A free face.
    Free {
        /// Its origin.
        at: Vec3,
        /// Where it looks.
        facing: Vec3,
        /// What is up on it.
        up: Option<Vec3>,
    },
}

/// Where on a face.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Spot {
    /// In the face's own u and v.
    Uv(Vec2),
    /// In the part's own plan.
    Xy(Vec2),
    /// In space, squarely projected on the face.
    Xyz(Vec3),
}

/// What every feature word takes.
#[derive(Debug, Clone)]
pub struct Head {
    /// Unique name.
    pub name: String,
    /// The word that makes it, for reports: `boss`.
    pub word: &'static str,
    /// Where.
    pub site: Site,
    /// Features and openings (handles or names; names made later count) that this one fills.
    pub fills: Vec<String>,
    /// Openings that this opening is meant to meet.
    pub meets: Vec<String>,
    /// Cut as a piece of foam of its own and glued on.
    pub loose: bool,
    /// What keeps it in place on what it is glued to.
    pub located: Located,
    /// What its hole's diameter was asked for.
    pub hole: Option<HoleFor>,
}

/// Where a feature stands or goes in.
#[derive(Debug, Clone)]
pub struct Place {
    /// The face; `None` is the ground plane z = 0, facing up.
    pub on: Option<FaceRef>,
    /// One place, or several for several instances; empty is [0, 0].
    pub spots: Vec<Spot>,
    /// Whether `spots` was written as a list of points (then instances are named `name.1`, …, even if one).
    pub listed: bool,
    /// Turn about the face's normal.
    pub turn_deg: f64,
}

/// The free edge of an added body, or the mouth of an opening.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Edge {
    /// Left sharp.
    #[default]
    Sharp,
    /// Rounded with this radius.
    Round(f64),
    /// Chamfered by this leg, at 45°.
    Chamfer(f64),
}

/// How far an added body rises.
#[derive(Debug, Clone, PartialEq)]
pub enum Rise {
    /// By this height.
    Height(f64),
    /// Up to a face.
    UpTo(FaceRef),
}

/// How far an opening goes in.
#[derive(Debug, Clone, PartialEq)]
pub enum Reach {
    /// This deep from the finished face.
    Depth(f64),
    /// To a face.
    ToFace(FaceRef),
    /// To an opening, given by its handle: runs until its whole section lies in it.
    ToOpening(Handle),
    /// Through everything in line; `all` when the script said `"all"`, which silences `many-walls`.
    Through {
        /// More than one wall is meant.
        all: bool,
    },
}

/// Keys that shape an added upright body.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Trim {
    /// Draft of the sides; adds metal from the free end to the foot.
    pub draft_deg: f64,
    /// Foot fillet; `None` takes the part's default where the body stands on another.
    pub fillet: Option<f64>,
    /// The free edge.
    pub edge: Edge,
    /// How far the foot reaches below its face; `None` works it out.
    pub sink: Option<f64>,
}

/// `slab` and `boss`.
#[derive(Debug, Clone)]
pub struct RaisedGiven {
    /// Name, site, fills.
    pub head: Head,
    /// Where.
    pub place: Place,
    /// The outline at the free end.
    pub outline: Outline,
    /// How far it rises.
    pub rise: Rise,
    /// Draft, fillet, edge, sink.
    pub trim: Trim,
    /// Diameter of a bore from the top (boss only).
    pub bore: Option<f64>,
    /// Depth of that bore from the top; `None` goes to the face that the boss stands on.
    pub bore_depth: Option<f64>,
    /// Overrides `min_cored` for the bore.
    pub cored: Option<bool>,
}

/// `flange`.
#[derive(Debug, Clone)]
pub struct FlangeGiven {
    /// Name, site, fills.
    pub head: Head,
    /// The mouth or face that its outer side lies in (`place.on` is set).
    pub place: Place,
    /// Its outline.
    pub outline: Outline,
    /// Its thickness, back from the face.
    pub thick: f64,
    /// Bolt places in the flange's own plan.
    pub bolts: Vec<Vec2>,
    /// Bolt hole diameter; set when `bolts` is not empty.
    pub bolt_dia: Option<f64>,
    /// Fillet at its back round what comes out there.
    pub fillet: Option<f64>,
    /// Its outer edge.
    pub edge: Edge,
    /// Overrides `min_cored` for the bolt holes.
    pub cored: Option<bool>,
}

/// `rib`.
#[derive(Debug, Clone)]
pub struct RibGiven {
    /// Name, site, fills.
    pub head: Head,
    /// The face it stands on; spots are not used.
    pub place: Place,
    /// Its way over the face, two points or more, in the face's u and v.
    pub path: Vec<Vec2>,
    /// Thickness at the free edge.
    pub thick: f64,
    /// Height at the first and the last point.
    pub height: (f64, f64),
    /// Draft, fillet, edge, sink.
    pub trim: Trim,
}

/// A point of a tunnel's way.
#[derive(Debug, Clone, PartialEq)]
pub enum WayPoint {
    /// A point in space.
    Xyz(Vec3),
    /// An end on a face: the inside runs out through that face and its stock.
    OnFace(FaceRef, Vec2),
}

/// `tunnel`.
#[derive(Debug, Clone)]
pub struct TunnelGiven {
    /// Name, site, fills, meets.
    pub head: Head,
    /// Two points or more.
    pub way: Vec<WayPoint>,
    /// Bend radius of the middle line; `None` is mitred.
    pub bend: Option<f64>,
    /// The inside, in the section's u and v.
    pub inside: Outline,
    /// Wall thickness; 0 adds none.
    pub wall: f64,
    /// Overrides `min_cored`.
    pub cored: Option<bool>,
}

/// A point of a turned profile.
#[derive(Debug, Clone, PartialEq)]
pub struct ProfilePoint {
    /// Distance from the axis.
    pub r: f64,
    /// Height from the face, outward.
    pub z: f64,
    /// Bulge of the run from this point to the next: tan of a quarter of the arc's angle, counter-clockwise positive in (r, z); 0 is a line.
    pub bulge: f64,
    /// Name of the face that starts here.
    pub face: Option<String>,
}

/// `turned`.
#[derive(Debug, Clone)]
pub struct TurnedGiven {
    /// Name, site, fills, meets.
    pub head: Head,
    /// Where.
    pub place: Place,
    /// From axis to axis, or closed on itself.
    pub profile: Vec<ProfilePoint>,
    /// Adds with `on:`; removes with `into:`.
    pub adds: bool,
    /// Overrides `min_cored` where it removes.
    pub cored: Option<bool>,
}

/// `bore`.
#[derive(Debug, Clone)]
pub struct BoreGiven {
    /// Name, site, meets, fills.
    pub head: Head,
    /// Where it goes in (`place.on` is set).
    pub place: Place,
    /// Diameter.
    pub dia: f64,
    /// How far.
    pub reach: Reach,
    /// Diameter and depth.
    pub counterbore: Option<(f64, f64)>,
    /// Diameter at the mouth and the included angle in degrees.
    pub countersink: Option<(f64, f64)>,
    /// Draft, fillet at the floor, edge of the mouth.
    pub trim: Trim,
    /// Overrides `min_cored`.
    pub cored: Option<bool>,
}

/// `pocket`.
#[derive(Debug, Clone)]
pub struct PocketGiven {
    /// Name, site, meets, fills.
    pub head: Head,
    /// Where it goes in (`place.on` is set).
    pub place: Place,
    /// The outline at its mouth.
    pub outline: Outline,
    /// How far.
    pub reach: Reach,
    /// Draft, fillet at the floor, edge of the mouth.
    pub trim: Trim,
    /// Overrides `min_cored`.
    pub cored: Option<bool>,
}

/// Where a groove runs.
#[derive(Debug, Clone, PartialEq)]
pub enum GrooveRun {
    /// Along points on the face.
    Along(Vec<Vec2>),
    /// Along an outline, its middle line.
    Round(Outline),
    /// Round a round wall, this far from its mouth (to the middle of the groove).
    Ring(f64),
    /// Along a round wall at this angle, over this length from the mouth: a keyway.
    Lengthwise {
        /// Degrees round the axis.
        deg: f64,
        /// Length from the mouth.
        length: f64,
    },
}

/// A groove's section.
#[derive(Debug, Clone, PartialEq)]
pub enum GrooveSection {
    /// Straight sides.
    Plain {
        /// Across.
        width: f64,
        /// Down from the face, or out from the wall.
        depth: f64,
    },
    /// Points [across, down], from the surface down and back up; across counts from the middle line.
    Points(Vec<Vec2>),
}

/// `groove`.
#[derive(Debug, Clone)]
pub struct GrooveGiven {
    /// Name, site, meets, fills.
    pub head: Head,
    /// The face or round wall it is cut into (`place.on` is set).
    pub place: Place,
    /// Where it runs.
    pub run: GrooveRun,
    /// Its section.
    pub section: GrooveSection,
    /// Overrides `min_cored`.
    pub cored: Option<bool>,
}

/// `hollow`.
#[derive(Debug, Clone)]
pub struct HollowGiven {
    /// Name, site, meets, fills.
    pub head: Head,
    /// The slab, boss or turned body.
    pub of: Handle,
    /// The end it opens at.
    pub open: FaceRef,
    /// Wall left at the sides, square to them.
    pub wall: f64,
    /// Floor left at the closed end, along the axis.
    pub floor: f64,
    /// Fillet at its floor, where it has no round to follow.
    pub fillet: Option<f64>,
}

/// `mirrored`.
#[derive(Debug, Clone)]
pub struct MirroredGiven {
    /// The copies' prefix.
    pub name: String,
    /// Where.
    pub site: Site,
    /// What is repeated.
    pub of: Vec<Handle>,
    /// `x`: across the plane x = 0; `y`: across y = 0.
    pub across_x: bool,
}
