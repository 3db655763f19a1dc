//! The sizes of each feature that a caliper reaches, as cut, and the surfaces that bound them.

use crate::drawing::feature::{
    Bore, Depth, Feature, Flange, Form, Ground, Host, Pocket, Raised, RibForm, Tunnel, Turned,
};
use crate::drawing::given::{Edge, FeatureId, Trim};
use crate::drawing::marks::Slot;
use crate::measure::{Frame, Vec2, Vec3};
use crate::sheet::shop_sheet::SheetSource;

/// A run or a step of a turned profile shorter than this isn't measured (mm).
const LEAST_RUN_MM: f64 = 1.0;

/// A size to check.
#[derive(Debug, Clone)]
pub(super) struct Check {
    /// What is measured.
    pub what: String,
    /// As cut (mm).
    pub size_mm: f64,
    /// What bounds it.
    pub sight: Sight,
}

impl Check {
    /// Whether it reads the same: one of another copy of the feature.
    pub fn same(&self, other: &Check) -> bool {
        self.what == other.what && (self.size_mm - other.size_mm).abs() < 1e-6
    }
}

/// What must show on a piece for a size to be measured there. Frames and lengths are the casting's, before shrink.
#[derive(Debug, Clone)]
pub(super) enum Sight {
    /// Opposite sides of a round wall about a frame's z.
    Round {
        /// Its z is the axis, out of the free end or the mouth.
        frame: Frame,
        /// At height 0 (mm).
        radius: f64,
        /// What the radius gains a millimetre of height.
        slope: f64,
        /// Measured at its free end: there it must show, and be an end.
        mouth: bool,
    },
    /// A flat face of the feature and another one, of whatever feature, square to a frame's z.
    Faces {
        /// Square to both.
        frame: Frame,
        /// The height of the feature's own face (mm).
        own: f64,
        /// That of the other one (mm).
        other: f64,
    },
    /// The free edge of a rib, whose way this is in the frame.
    Edge(Frame, Vec<Vec2>),
    /// The wall between a hollow and what it hollows.
    Wall(FeatureId),
    /// The wall of a tunnel: inside and outside of a leg, whose axis a frame's z is, by their radii (mm).
    Tube(Vec<Frame>, [f64; 2]),
}

/// The sizes of a feature.
pub(super) fn checks(source: &SheetSource, id: FeatureId) -> Vec<Check> {
    let mut list = List {
        source,
        id,
        feature: &source.part.features[id],
        out: Vec::new(),
    };
    match &list.feature.form {
        Form::Raised(r) => list.raised(r),
        Form::Flange(f) => list.flange(f),
        Form::Rib(r) => list.rib(r),
        Form::Tunnel(t) => list.tunnel(t),
        Form::Turned(t) => list.turned(t),
        Form::Bore(b) => list.bore(b),
        Form::Pocket(p) => list.pocket(p),
        Form::Hollow(h) => {
            let size_mm = list.across(h.wall);
            list.put("wall", size_mm, Sight::Wall(h.of));
        }
        Form::Groove(_) => {}
    }
    list.out
}

struct List<'a> {
    source: &'a SheetSource<'a>,
    id: FeatureId,
    feature: &'a Feature,
    out: Vec<Check>,
}

impl List<'_> {
    fn put(&mut self, what: &str, size_mm: f64, sight: Sight) {
        self.out.push(Check {
            what: what.to_string(),
            size_mm,
            sight,
        });
    }

    fn by(&self, way: Vec3) -> f64 {
        (way * self.source.part.metal.growth()).length()
    }

    /// As cut: along the axis of the feature's frame.
    fn along(&self, mm: f64) -> f64 {
        mm * self.by(self.feature.frame.z)
    }

    /// As cut: across it, along the frame's x, which matters only where shrink differs by direction.
    fn across(&self, mm: f64) -> f64 {
        mm * self.by(self.feature.frame.x)
    }

    fn stock(&self, slot: Slot) -> f64 {
        let found = self.source.stocks.get(&(self.id, slot));
        found.copied().unwrap_or(0.0)
    }

    /// The raw height of the face that it stands on or goes into, over that face; where it is flat.
    fn ground(&self) -> Option<f64> {
        let Some(host) = &self.feature.host else {
            return Some(0.0);
        };
        matches!(host.ground, Ground::Flat).then(|| host_stock(self.source, host))
    }

    /// Whether an opening is cast.
    fn cast(&self, what: &str) -> bool {
        let left = |l: &crate::pattern::LeftSolid| l.feature == self.id && l.what == what;
        !self.source.left_solid.iter().any(left)
    }

    /// Across a free end: how far under the raw end its sides begin, and how that is said.
    fn under(&self, trim: &Trim, machined_mm: f64) -> (f64, String) {
        let edge = match trim.edge {
            Edge::Round(mm) | Edge::Chamfer(mm) if machined_mm == 0.0 => mm,
            _ => 0.0,
        };
        let said = match (trim.draft_deg != 0.0, edge) {
            (false, _) => String::new(),
            (true, 0.0) => " at its top".to_string(),
            (true, mm) => format!(
                ", {} below its top",
                self.source.part.unit.show(self.along(mm))
            ),
        };
        (edge, said)
    }

    /// A round wall whose radius at a height is given; measured at height `at`.
    fn round(&mut self, what: &str, frame: Frame, (at, radius): (f64, f64), slope: f64) {
        if radius <= 0.0 {
            return;
        }
        let sight = Sight::Round {
            frame,
            radius: radius - at * slope,
            slope,
            mouth: false,
        };
        let size_mm = self.across(2.0 * radius);
        self.put(what, size_mm, sight);
    }

    /// Between a face of its own and another, heights in its frame.
    fn faces(&mut self, what: &str, own: f64, other: f64) {
        let sight = Sight::Faces {
            frame: self.feature.frame,
            own,
            other,
        };
        let size_mm = self.along((own - other).abs());
        self.put(what, size_mm, sight);
    }

    fn raised(&mut self, r: &Raised) {
        let frame = self.feature.frame;
        let slope = -r.trim.draft_deg.to_radians().tan();
        let top = r.height + self.stock(Slot::Top);
        if let Some((_, radius)) = r.outline.as_disc() {
            let (under, said) = self.under(&r.trim, self.stock(Slot::Top));
            let at = top - under;
            let radius = radius + self.stock(Slot::Outside) + (at - r.height) * slope;
            self.round(&format!("dia{said}"), frame, (at, radius), slope);
        }
        // A loose one ends where its piece does, which is its height over all.
        if r.up_to.is_none() && !self.feature.loose {
            let foot = match self.feature.host {
                None => Some(-self.stock(Slot::Bottom)),
                Some(_) => self.ground(),
            };
            if let Some(foot) = foot {
                self.faces("height", top, foot);
            }
        }
        if let Some((dia, _)) = r.bore.filter(|_| self.cast("bore")) {
            let radius = dia / 2.0 - self.stock(Slot::Wall);
            self.round("bore", frame.raised(r.height), (0.0, radius), 0.0);
        }
    }

    fn flange(&mut self, f: &Flange) {
        let frame = self.feature.frame;
        if let Some((_, radius)) = f.outline.as_disc() {
            let radius = radius + self.stock(Slot::Outside);
            self.round("dia", frame, (0.0, radius), 0.0);
        }
        let (top, bottom) = (self.stock(Slot::Top), self.stock(Slot::Bottom));
        self.faces("thickness", top, -f.thick - bottom);
        if !f.bolts.is_empty() && self.cast("bolt holes") {
            let radius = f.bolt_dia / 2.0 - self.stock(Slot::Wall);
            for at in &f.bolts {
                self.round("bolt holes", frame.moved(*at), (0.0, radius), 0.0);
            }
        }
    }

    fn rib(&mut self, r: &RibForm) {
        let (under, said) = self.under(&r.trim, 0.0);
        let thick = r.thick + 2.0 * under * r.trim.draft_deg.to_radians().tan();
        let what = format!("thickness{}", said.replace("its top", "its free edge"));
        let size_mm = self.across(thick);
        self.put(
            &what,
            size_mm,
            Sight::Edge(self.feature.frame, r.path.clone()),
        );
    }

    fn tunnel(&mut self, t: &Tunnel) {
        let Some((_, inside)) = t.inside.as_disc() else {
            return;
        };
        let n = t.way.len();
        if n < 2 {
            return;
        }
        let leg = |from: Vec3, to: Vec3| Frame::facing(to, (to - from).normalize(), None);
        if self.cast("tunnel") {
            let ends = [(t.way[1], t.way[0]), (t.way[n - 2], t.way[n - 1])];
            for (from, to) in ends {
                self.leg("inside, at its mouth", leg(from, to), inside, true);
            }
        }
        if t.wall > 0.0 {
            for way in t.way.windows(2) {
                self.leg("outside", leg(way[0], way[1]), inside + t.wall, false);
            }
            if self.cast("tunnel") {
                let legs: Vec<Frame> = t.way.windows(2).map(|w| leg(w[0], w[1])).collect();
                let size_mm = t.wall * self.by(legs[0].x);
                self.put(
                    "wall",
                    size_mm,
                    Sight::Tube(legs, [inside, inside + t.wall]),
                );
            }
        }
    }

    /// A round wall along a leg of a tunnel.
    fn leg(&mut self, what: &str, frame: Frame, radius: f64, mouth: bool) {
        let size_mm = 2.0 * radius * self.by(frame.x);
        let sight = Sight::Round {
            frame,
            radius,
            slope: 0.0,
            mouth,
        };
        self.put(what, size_mm, sight);
    }

    fn turned(&mut self, t: &Turned) {
        if !t.adds && !self.cast("turned opening") {
            return;
        }
        let frame = self.feature.frame;
        let sign = if t.adds { 1.0 } else { -1.0 };
        let n = t.profile.len();
        for (i, from) in t.profile.iter().enumerate() {
            let to = &t.profile[(i + 1) % n];
            let stock = self.stock(Slot::Run(i));
            let of = from
                .face
                .as_ref()
                .map_or_else(String::new, |f| format!(" of {f}"));
            let (dr, dz) = ((to.r - from.r).abs(), (to.z - from.z).abs());
            if from.bulge != 0.0 {
                continue;
            }
            if dr < 1e-9 && dz >= LEAST_RUN_MM && from.r > 0.0 {
                let radius = from.r + sign * stock;
                self.round(&format!("dia{of}"), frame, (0.0, radius), 0.0);
            } else if dz < 1e-9
                && dr >= LEAST_RUN_MM
                && let Some(ground) = self.ground()
            {
                // What faces the mouth: stock lies on it towards the mouth.
                let what = if t.adds { "height" } else { "depth" };
                let own = from.z + stock;
                if (own - ground).abs() >= LEAST_RUN_MM {
                    self.faces(&format!("{what}{of}"), own, ground);
                }
            }
        }
    }

    fn bore(&mut self, b: &Bore) {
        let frame = self.feature.frame;
        let wall = self.stock(Slot::Wall);
        if self.cast("bore") {
            let slope = b.trim.draft_deg.to_radians().tan();
            let said = if slope == 0.0 {
                "bore"
            } else {
                "bore, at its mouth"
            };
            self.round(said, frame, (0.0, b.dia / 2.0 - wall), slope);
            self.deep(&b.depth);
        }
        if let Some((dia, _)) = b.counterbore.filter(|_| self.cast("counterbore")) {
            self.round("counterbore", frame, (0.0, dia / 2.0 - wall), 0.0);
        }
    }

    fn pocket(&mut self, p: &Pocket) {
        if !self.cast("pocket") {
            return;
        }
        if let Some((_, radius)) = p.outline.as_disc() {
            let slope = p.trim.draft_deg.to_radians().tan();
            let radius = radius - self.stock(Slot::Wall);
            self.round(
                "dia, at its mouth",
                self.feature.frame,
                (0.0, radius),
                slope,
            );
        }
        self.deep(&p.depth);
    }

    /// The depth of a blind opening.
    fn deep(&mut self, depth: &Depth) {
        if let (Depth::By(deep), Some(ground)) = (depth, self.ground()) {
            let floor = -deep + self.stock(Slot::Floor);
            self.faces("depth", floor, ground);
        }
    }
}

/// Stock on the face that a feature stands on (mm).
fn host_stock(source: &SheetSource, host: &Host) -> f64 {
    let slot = |id| source.part.slot(id, &host.key).ok().map(|slot| (id, slot));
    let found = host.feature.and_then(slot);
    found
        .and_then(|key| source.stocks.get(&key).copied())
        .unwrap_or(0.0)
}
