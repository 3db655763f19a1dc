//! A feature resolved to millimetres and frames: one instance, ready to be turned into bodies.

use crate::drawing::foam::Located;
use crate::drawing::given::{Edge, FaceKey, FaceRef, FeatureId, GrooveSection, Handle, Trim};
use crate::drawing::outline::Outline;
use crate::drawing::threads::HoleFor;
use crate::fault::Site;
use crate::measure::{Bounds, Frame, Plane, Vec2, Vec3};

/// One instance of a feature, resolved.
#[derive(Debug, Clone, PartialEq)]
pub struct Feature {
    /// Its own name: `holes.3` for an instance of several.
    pub name: String,
    /// The name that the script gave to all instances: `holes`.
    pub group: String,
    /// The word: `boss`.
    pub word: &'static str,
    /// Where it was made.
    pub site: Site,
    /// Its frame: origin at its place, z outward from the face it stands on or goes into.
    pub frame: Frame,
    /// The face it stands on or goes into; `None` on the ground plane.
    pub host: Option<Host>,
    /// Names (of features or groups) that it fills.
    pub fills: Vec<String>,
    /// Names of openings that it is meant to meet.
    pub meets: Vec<String>,
    /// Cut as a piece of foam of its own and glued on.
    pub loose: bool,
    /// What keeps it in place on what it is glued to.
    pub located: Located,
    /// The thread that the script asked the diameter of its bore or its bolt holes for.
    pub hole: Option<HoleFor>,
    /// Overrides `min_cored`.
    pub cored: Option<bool>,
    /// Its form.
    pub form: Form,
}

/// The face that a feature stands on or goes into.
#[derive(Debug, Clone, PartialEq)]
pub struct Host {
    /// The feature whose face it is; `None` for a level or a free face.
    pub feature: Option<FeatureId>,
    /// Which of its faces.
    pub key: FaceKey,
    /// The face's frame (before the feature's own place and turn).
    pub frame: Frame,
    /// How the face bends under the feature.
    pub ground: Ground,
    /// The face's extent in its frame, where it is flat and has one.
    pub extent: Option<Outline>,
}

/// The surface under a feature's foot, against the plane of its host face.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Ground {
    /// Flat.
    Flat,
    /// A drafted side: at face height v the metal stands out by `(top - v) * slope`.
    Slope {
        /// Tangent of the draft.
        slope: f64,
        /// The height v on the face where the metal lies in the plane (mm).
        top: f64,
    },
    /// A round body that the plane touches; its axis is this direction in the face's frame (unit, z = 0).
    Round {
        /// Radius (mm).
        radius: f64,
        /// Direction of the axis in the face's x and y.
        axis: Vec2,
    },
}

/// What a feature is.
#[derive(Debug, Clone, PartialEq)]
#[expect(clippy::large_enum_variant, reason = "one a feature, never in bulk")]
pub enum Form {
    /// `slab`, `boss`.
    Raised(Raised),
    /// `flange`.
    Flange(Flange),
    /// `rib`.
    Rib(RibForm),
    /// `tunnel`.
    Tunnel(Tunnel),
    /// `turned`.
    Turned(Turned),
    /// `bore`.
    Bore(Bore),
    /// `pocket`.
    Pocket(Pocket),
    /// `groove`.
    Groove(Groove),
    /// `hollow`.
    Hollow(Hollow),
}

/// An upright body on its face.
#[derive(Debug, Clone, PartialEq)]
pub struct Raised {
    /// The outline at the free end, in the feature's frame.
    pub outline: Outline,
    /// Height where the axis meets the free end.
    pub height: f64,
    /// The face it rises to, in part coordinates, where it has one; its normal looks out of that face's metal.
    pub up_to: Option<Plane>,
    /// Whether `up_to` slants against the axis.
    pub slants: bool,
    /// Draft, fillet (settled), edge, sink.
    pub trim: Trim,
    /// Diameter and depth from the free end of its bore.
    pub bore: Option<(f64, f64)>,
}

/// A flange; its frame lies in its outer face.
#[derive(Debug, Clone, PartialEq)]
pub struct Flange {
    /// Its outline.
    pub outline: Outline,
    /// Thickness, back from the frame's plane.
    pub thick: f64,
    /// Bolt places.
    pub bolts: Vec<Vec2>,
    /// Bolt hole diameter.
    pub bolt_dia: f64,
    /// Fillet at the back, 0 for none.
    pub fillet: f64,
    /// What comes out at its back, in its frame: the outside of a tunnel or boss.
    pub neck: Option<Outline>,
    /// Outer edge.
    pub edge: Edge,
}

/// A rib.
#[derive(Debug, Clone, PartialEq)]
pub struct RibForm {
    /// Its way in the frame's x and y.
    pub path: Vec<Vec2>,
    /// Thickness at the free edge.
    pub thick: f64,
    /// Height at each path point.
    pub heights: Vec<f64>,
    /// Draft, fillet, edge, sink.
    pub trim: Trim,
}

/// A tunnel; its frame is the part's.
#[derive(Debug, Clone, PartialEq)]
pub struct Tunnel {
    /// The way in part coordinates.
    pub way: Vec<Vec3>,
    /// Bend radius; `None` is mitred.
    pub bend: Option<f64>,
    /// The inside in the section's u and v.
    pub inside: Outline,
    /// Wall, 0 for none.
    pub wall: f64,
    /// The face that the start and the end lie on, where given so.
    pub ends: [Option<Host>; 2],
    /// The section's u is turned over (a mirrored copy).
    pub flip_u: bool,
}

/// A vertex of a turned profile.
#[derive(Debug, Clone, PartialEq)]
pub struct TurnedPoint {
    /// Distance from the axis.
    pub r: f64,
    /// Height over the face.
    pub z: f64,
    /// Bulge of the run to the next vertex.
    pub bulge: f64,
    /// The name of the face that starts here.
    pub face: Option<String>,
}

/// A turned body, profile counter-clockwise in (r, z) and closed on itself.
#[derive(Debug, Clone, PartialEq)]
pub struct Turned {
    /// The profile.
    pub profile: Vec<TurnedPoint>,
    /// Adds or removes.
    pub adds: bool,
}

/// How far an opening goes, settled as far as the drawing can.
#[derive(Debug, Clone, PartialEq)]
pub enum Depth {
    /// This deep.
    By(f64),
    /// To a plane in part coordinates; `leaves` where it comes out through an outside face.
    To {
        /// The plane; the normal looks out of the face's metal.
        plane: Plane,
        /// Whether it comes out there.
        leaves: bool,
        /// The face, for its stock.
        face: Option<(FeatureId, FaceKey)>,
        /// Depth along the axis.
        depth: f64,
    },
    /// Into an opening.
    Into {
        /// That opening.
        opening: FeatureId,
        /// Depth along the axis.
        depth: f64,
        /// Depth of that opening's middle: it never goes past it.
        middle: f64,
    },
    /// Through everything.
    Through {
        /// More than one wall is meant.
        all: bool,
    },
}

/// A bore.
#[derive(Debug, Clone, PartialEq)]
pub struct Bore {
    /// Diameter at the mouth.
    pub dia: f64,
    /// How far.
    pub depth: Depth,
    /// Diameter and depth.
    pub counterbore: Option<(f64, f64)>,
    /// Diameter and included angle.
    pub countersink: Option<(f64, f64)>,
    /// Draft, fillet at the floor, edge of the mouth.
    pub trim: Trim,
}

/// A pocket.
#[derive(Debug, Clone, PartialEq)]
pub struct Pocket {
    /// The outline at its mouth, in the feature's frame.
    pub outline: Outline,
    /// How far.
    pub depth: Depth,
    /// Draft, fillet at the floor, edge of the mouth.
    pub trim: Trim,
}

/// A groove.
#[derive(Debug, Clone, PartialEq)]
pub enum Groove {
    /// On a flat face: along points, or round an outline.
    Flat {
        /// Its middle line: points, or an outline.
        run: FlatRun,
        /// Its section.
        section: GrooveSection,
    },
    /// Round a round wall; the frame is that of the wall's mouth, its z along the axis outward.
    Ring {
        /// Radius of the wall.
        radius: f64,
        /// Distance of its middle from the mouth.
        distance: f64,
        /// The wall is an opening's, so it cuts outward.
        outward: bool,
        /// Its section.
        section: GrooveSection,
    },
    /// Along a round wall.
    Keyway {
        /// Radius of the wall.
        radius: f64,
        /// Degrees round the axis.
        deg: f64,
        /// Length from the mouth.
        length: f64,
        /// The wall is an opening's, so it cuts outward.
        outward: bool,
        /// Width and depth.
        width_depth: (f64, f64),
    },
}

/// The middle line of a groove on a flat face.
#[derive(Debug, Clone, PartialEq)]
pub enum FlatRun {
    /// Open, round-ended.
    Along(Vec<Vec2>),
    /// Closed.
    Round(Outline),
}

/// A hollow.
#[derive(Debug, Clone, PartialEq)]
pub struct Hollow {
    /// What it hollows.
    pub of: FeatureId,
    /// Opens at the free end (`.top`); else at the foot.
    pub at_top: bool,
    /// Wall at the sides.
    pub wall: f64,
    /// Floor at the closed end.
    pub floor: f64,
    /// Fillet at its floor.
    pub fillet: f64,
}

impl Feature {
    /// Whether its main body removes metal.
    pub fn is_opening(&self) -> bool {
        match &self.form {
            Form::Bore(_) | Form::Pocket(_) | Form::Groove(_) | Form::Hollow(_) => true,
            Form::Turned(t) => !t.adds,
            _ => false,
        }
    }

    /// Whether it removes metal at all: an opening, a tunnel, a boss or flange with bores.
    pub fn opens(&self) -> bool {
        match &self.form {
            Form::Raised(r) => r.bore.is_some(),
            Form::Flange(f) => !f.bolts.is_empty(),
            Form::Tunnel(_) => true,
            _ => self.is_opening(),
        }
    }

    /// The feature that hosts it, if any.
    pub fn host_feature(&self) -> Option<FeatureId> {
        self.host.as_ref().and_then(|h| h.feature)
    }

    /// The box round what the drawing knows of it (openings of unknown depth count as flat).
    pub fn bounds(&self) -> Bounds {
        let upright = |outline: &Outline, low: f64, high: f64| {
            let (a, b) = outline.bounds();
            Bounds::of([low, high].into_iter().flat_map(|z| {
                [(a.x, a.y), (b.x, a.y), (a.x, b.y), (b.x, b.y)]
                    .map(|(x, y)| self.frame.point(Vec3::new(x, y, z)))
            }))
        };
        let depth = |d: &Depth| match d {
            Depth::By(d) | Depth::To { depth: d, .. } | Depth::Into { depth: d, .. } => *d,
            Depth::Through { .. } => 0.0,
        };
        match &self.form {
            Form::Raised(r) => upright(&r.outline, 0.0, r.height),
            Form::Flange(f) => upright(&f.outline, -f.thick, 0.0),
            Form::Rib(r) => {
                let high = r.heights.iter().copied().fold(0.0, f64::max);
                let half = r.thick / 2.0;
                Bounds::of(r.path.iter().flat_map(|p| {
                    [
                        (-half, -half, 0.0),
                        (half, half, high),
                        (half, -half, high),
                        (-half, half, 0.0),
                    ]
                    .map(|(x, y, z)| self.frame.point(Vec3::new(p.x + x, p.y + y, z)))
                }))
            }
            Form::Tunnel(t) => {
                let reach = t.inside.reach() + t.wall;
                Bounds::of(t.way.iter().copied()).grown(reach)
            }
            Form::Turned(t) => {
                let r = t.profile.iter().map(|p| p.r).fold(0.0, f64::max);
                let low = t.profile.iter().map(|p| p.z).fold(f64::INFINITY, f64::min);
                let high = t
                    .profile
                    .iter()
                    .map(|p| p.z)
                    .fold(f64::NEG_INFINITY, f64::max);
                upright(&Outline::disc(2.0 * r), low, high)
            }
            Form::Bore(b) => upright(&Outline::disc(b.dia), -depth(&b.depth), 0.0),
            Form::Pocket(p) => upright(&p.outline, -depth(&p.depth), 0.0),
            Form::Groove(_) | Form::Hollow(_) => Bounds::of([self.frame.origin]),
        }
    }
}

/// A face of a part, resolved.
#[derive(Debug, Clone, PartialEq)]
pub struct Face {
    /// The feature whose face it is; `None` for a level or a free face.
    pub feature: Option<FeatureId>,
    /// Which of its faces.
    pub key: FaceKey,
    /// Origin, u, v and the normal out of the metal.
    pub frame: Frame,
    /// What it is.
    pub form: FaceForm,
}

/// The form of a face.
#[derive(Debug, Clone, PartialEq)]
pub enum FaceForm {
    /// Flat, or counted as flat; with the extent where known.
    Flat {
        /// Extent in the face's frame.
        extent: Option<Outline>,
        /// What lies under the plane.
        ground: Ground,
    },
    /// A round wall or outside; the frame is that of its mouth or free end, z along the axis.
    Round {
        /// Radius.
        radius: f64,
        /// An opening's wall.
        inward: bool,
    },
    /// Neither flat nor round: a wall of an outline that is not a disc.
    Other,
}

impl Face {
    /// Whether it is flat, or counts as flat.
    pub fn is_flat(&self) -> bool {
        matches!(self.form, FaceForm::Flat { .. })
    }

    /// The face as what a feature stands on or goes into.
    pub fn as_host(&self) -> Host {
        let (extent, ground) = match &self.form {
            FaceForm::Flat { extent, ground } => (extent.clone(), *ground),
            _ => (None, Ground::Flat),
        };
        Host {
            feature: self.feature,
            key: self.key.clone(),
            frame: self.frame,
            ground,
            extent,
        }
    }
}

/// The handle's instances as a face reference needs them: exactly one.
pub fn only(handle: &Handle) -> Option<FeatureId> {
    match handle.ids.as_slice() {
        [id] => Some(*id),
        _ => None,
    }
}

/// A face of this feature.
pub fn face_of(name: &str, id: FeatureId, key: FaceKey) -> FaceRef {
    FaceRef::Of(
        Handle {
            name: name.to_string(),
            ids: vec![id],
        },
        key,
    )
}

impl Depth {
    /// The depth where it ends in a floor square to the axis.
    pub fn blind(&self) -> Option<f64> {
        match self {
            Depth::By(d) => Some(*d),
            Depth::To {
                depth,
                leaves: false,
                ..
            } => Some(*depth),
            _ => None,
        }
    }

    /// The depth as far as the drawing knows it; 0 where it goes through everything.
    pub fn known(&self) -> f64 {
        match self {
            Depth::By(d) | Depth::To { depth: d, .. } | Depth::Into { depth: d, .. } => *d,
            Depth::Through { .. } => 0.0,
        }
    }
}

impl GrooveSection {
    /// Its greatest depth (mm).
    pub fn depth(&self) -> f64 {
        match self {
            GrooveSection::Plain { depth, .. } => *depth,
            GrooveSection::Points(points) => points.iter().map(|p| p.y).fold(0.0, f64::max),
        }
    }

    /// Its width at the surface (mm).
    pub fn mouth_width(&self) -> f64 {
        match self {
            GrooveSection::Plain { width, .. } => *width,
            GrooveSection::Points(points) => {
                let at_surface = points.iter().filter(|p| p.y.abs() < 1e-9).map(|p| p.x);
                let (low, high) = at_surface
                    .fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), x| {
                        (a.min(x), b.max(x))
                    });
                (high - low).max(0.0)
            }
        }
    }
}
