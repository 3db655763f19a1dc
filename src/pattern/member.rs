//! What a stage is made of.

use crate::drawing::Part;
use crate::drawing::body::{Act, Body};
use crate::drawing::feature::{FaceForm, Feature};
use crate::drawing::given::{FaceKey, FeatureId};
use crate::drawing::marks::Slot;
use crate::measure::{Bounds, FLUSH_MM, Plane};
use crate::pattern::standing;
use crate::solid::Claim;

/// What a body is to its feature.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// The metal itself.
    Core,
    /// A foot fillet made apart from its core, so that an opening can clear it.
    Skirt,
    /// Index in [`Staged::cuts`]: the opening with its extension over the mouth.
    Tall(usize),
    /// Index in [`Staged::cuts`]: the opening alone, for metal that stands over its mouth.
    Clean(usize),
}

/// One body of a stage.
#[derive(Debug, Clone, PartialEq)]
pub struct Member {
    /// The body.
    pub body: Body,
    /// What it is.
    pub role: Role,
}

/// Where an opening comes out.
#[derive(Debug, Clone, PartialEq)]
pub struct Mouth {
    /// Its plane, normal out of the metal.
    pub plane: Plane,
    /// The feature whose face it lies in.
    pub host: Option<FeatureId>,
    /// The box of the extension over it.
    pub over: Bounds,
}

/// One opening of a feature: a bore with its steps, a pocket, the inside of a tunnel, one bolt hole.
#[derive(Debug, Clone, PartialEq)]
pub struct Cut {
    /// Whose it is.
    pub feature: FeatureId,
    /// Its mouths.
    pub mouths: Vec<Mouth>,
    /// The opening without extensions: what it is meant to clear.
    pub clean: Body,
}

/// An opening that the casting leaves solid.
#[derive(Debug, Clone, PartialEq)]
pub struct LeftSolid {
    /// Whose it is.
    pub feature: FeatureId,
    /// What of it: `bore`, `counterbore`, `tunnel`.
    pub what: &'static str,
    /// The widest disc that would fit its section as cast (mm).
    pub width_mm: f64,
    /// Whether its way bends, so that no drill can make it.
    pub bent: bool,
}

/// A stage's bodies, and what cuts what.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Staged {
    /// In script order.
    pub members: Vec<Member>,
    /// The openings that are cut.
    pub cuts: Vec<Cut>,
    /// The openings that are not.
    pub left_solid: Vec<LeftSolid>,
    /// Fillets cut back or made smaller because they didn't fit: feature, wanted and made radius (mm).
    pub fillets_cut: Vec<(FeatureId, f64, f64)>,
    /// One a feature: the features whose openings it stands in or fills, itself never.
    pub(crate) spared: Vec<Vec<FeatureId>>,
    /// One a feature: whether it is an opening and nothing else.
    pub(crate) openings: Vec<bool>,
    /// One a feature: planes of its flat faces, normals out of the metal.
    pub(crate) flats: Vec<Vec<Plane>>,
}

impl Staged {
    pub(crate) fn new(part: &Part) -> Staged {
        Staged {
            spared: (0..part.features.len())
                .map(|id| standing::spared_by(part, id))
                .collect(),
            openings: part.features.iter().map(Feature::is_opening).collect(),
            flats: flats(part),
            ..Staged::default()
        }
    }

    /// What the cut at index `cut` of the members may do to the add at index `add`.
    pub fn claim(&self, cut: usize, add: usize) -> Claim {
        let metal = &self.members[add];
        let (Role::Tall(i) | Role::Clean(i)) = self.members[cut].role else {
            return Claim::Either;
        };
        let clean = matches!(self.members[cut].role, Role::Clean(_));
        if self.stands_in(metal.body.feature, i) {
            return Claim::Spares;
        }
        match (clean, self.over_mouth(i, metal)) {
            (false, false) | (true, true) => Claim::Takes,
            (false, true) => Claim::Spares,
            // The opening with its extension takes it already.
            (true, false) => Claim::Either,
        }
    }

    /// Whether a feature stands in the opening of this cut, or fills it.
    pub fn stands_in(&self, feature: FeatureId, cut: usize) -> bool {
        self.spared[feature].contains(&self.cuts[cut].feature)
    }

    /// Whether a body stands over the mouth of a cut, so that only the clean opening may touch it.
    pub fn over_mouth(&self, cut: usize, metal: &Member) -> bool {
        let cut = &self.cuts[cut];
        let feature = metal.body.feature;
        if metal.role == Role::Skirt || feature == cut.feature {
            return false;
        }
        cut.mouths.iter().any(|mouth| {
            let host = mouth.host == Some(feature);
            let flush = self.flats[feature]
                .iter()
                .any(|p| p.flush_with(&mouth.plane, FLUSH_MM));
            !host
                && !flush
                && !self.in_hosting_opening(cut.feature, mouth, feature)
                && mouth.over.meets(&metal.body.bounds())
        })
    }

    /// Whether the mouth lies in an opening that cuts this feature anyway: what it is made into is that opening, or
    /// stands in it. A boss's own bore is no such place for its mouth, nor for what is cut beside it.
    fn in_hosting_opening(&self, opening: FeatureId, mouth: &Mouth, feature: FeatureId) -> bool {
        let cuts_it = |opening: &FeatureId| {
            self.cuts.iter().any(|c| c.feature == *opening)
                && !self.spared[feature].contains(opening)
        };
        let host = mouth.host.into_iter();
        let into = host.clone().filter(|&host| self.openings[host]);
        let around = host.flat_map(|host| self.spared[host].iter().copied());
        self.spared[opening]
            .iter()
            .copied()
            .chain(into)
            .chain(around)
            .any(|o| cuts_it(&o))
    }

    /// Adds a cut: its body with the extension, and the clean one where some metal needs it (see [`Staged::finish`]).
    pub(crate) fn cut(&mut self, tall: Body, clean: Body, mouths: Vec<Mouth>) {
        let index = self.cuts.len();
        self.cuts.push(Cut {
            feature: tall.feature,
            mouths,
            clean,
        });
        self.members.push(Member {
            body: tall,
            role: Role::Tall(index),
        });
    }

    pub(crate) fn add(&mut self, body: Body, role: Role) {
        self.members.push(Member { body, role });
    }

    /// Adds the clean twin of each cut over whose mouth some metal stands.
    pub(crate) fn finish(&mut self) {
        let needed: Vec<usize> = (0..self.cuts.len())
            .filter(|&i| {
                self.members.iter().any(|m| {
                    m.body.act == Act::Add
                        && !self.stands_in(m.body.feature, i)
                        && self.over_mouth(i, m)
                        && m.body
                            .bounds()
                            .overlaps(&self.cuts[i].clean.bounds(), FLUSH_MM)
                })
            })
            .collect();
        for i in needed {
            let body = self.cuts[i].clean.clone();
            self.members.push(Member {
                body,
                role: Role::Clean(i),
            });
        }
    }
}

/// The planes of each feature's flat ends and sides that metal lies behind.
fn flats(part: &Part) -> Vec<Vec<Plane>> {
    (0..part.features.len())
        .map(|id| {
            let feature: &Feature = &part.features[id];
            if feature.is_opening() {
                return Vec::new();
            }
            let sides = (0..4).map(|i| FaceKey::Side(90.0 * f64::from(i)));
            [FaceKey::Top, FaceKey::Bottom, FaceKey::Start, FaceKey::End]
                .into_iter()
                .chain(sides)
                .filter(|key| part.slot(id, key).is_ok_and(|s| s != Slot::Outside))
                .filter_map(|key| part.face_of(id, &key).ok())
                .filter(|face| matches!(face.form, FaceForm::Flat { .. }))
                .map(|face| face.frame.plane())
                .collect()
        })
        .collect()
}
