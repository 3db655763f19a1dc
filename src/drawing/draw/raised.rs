//! Slabs, bosses, flanges and ribs.

use crate::drawing::draw::place::{check_hit, seen_from};
use crate::drawing::feature::{Flange, Form, Host, Raised, RibForm};
use crate::drawing::given::{
    Edge, FaceKey, FlangeGiven, Handle, RaisedGiven, RibGiven, Rise, Trim,
};
use crate::drawing::outline::Outline;
use crate::drawing::part::{Part, Refusal};
use crate::measure::{FLUSH_MM, Frame, PARALLEL, Plane, Vec3};

impl Part {
    /// Adds a `slab` or a `boss`.
    ///
    /// # Errors
    /// A taken name, a face that isn't there or isn't flat, a boss that misses its host, an `up_to` it can't reach,
    /// a fillet or edge that doesn't fit its height, a draft or edge that leaves nothing at the top.
    pub fn raised(&mut self, given: RaisedGiven) -> Result<Handle, Refusal> {
        self.check_name(&given.head.name)?;
        self.check_loose(&given.head, &given.place)?;
        let mut forms = Vec::new();
        for (frame, host) in self.frames(&given.place, "on")? {
            check_hit(&frame, &host, &given.outline, "at", &given.head.name)?;
            let (height, up_to, slants) = self.rise(&frame, &given.rise)?;
            let trim = self.settle_trim(&given.trim, host.is_some());
            self.check_upright(&given.outline, height, &trim)?;
            if slants && trim.edge != Edge::Sharp {
                let key = edge_key(trim.edge);
                return Err(Refusal::at(
                    key,
                    format!("a {key} can't lie where the body ends on a slanting face"),
                ));
            }
            let bore = match given.bore {
                None => None,
                Some(dia) => Some((dia, self.boss_bore_depth(&given, dia, height)?)),
            };
            let outline = given.outline.clone();
            forms.push((
                frame,
                host,
                Form::Raised(Raised {
                    outline,
                    height,
                    up_to,
                    slants,
                    trim,
                    bore,
                }),
            ));
        }
        self.enter(&given.head, given.place.listed, given.cored, forms)
    }

    fn boss_bore_depth(&self, given: &RaisedGiven, dia: f64, height: f64) -> Result<f64, Refusal> {
        let across = given.outline.widest_disc();
        if dia >= across - FLUSH_MM {
            return Err(Refusal::at(
                "bore",
                format!(
                    "a bore of {} leaves no wall in a boss {} across",
                    self.unit.show(dia),
                    self.unit.show(across)
                ),
            ));
        }
        match given.bore_depth {
            Some(depth) if depth > height + FLUSH_MM => Err(Refusal::at("bore_depth", format!(
                "the bore is {} deep, the boss {} high", self.unit.show(depth), self.unit.show(height)
            ))
            .hint("leave bore_depth out to go down to the face it stands on, or use bore(...) to go farther")),
            Some(depth) => Ok(depth),
            None => Ok(height),
        }
    }

    /// Height, the plane it ends on, and whether that slants.
    fn rise(&self, frame: &Frame, rise: &Rise) -> Result<(f64, Option<Plane>, bool), Refusal> {
        let face = match rise {
            Rise::Height(h) => return Ok((*h, None, false)),
            Rise::UpTo(reference) => self.flat_face(reference, "up_to")?,
        };
        let plane = face.frame.plane();
        let toward = plane.normal.dot(frame.z);
        if toward.abs() < 1e-3 {
            return Err(Refusal::at(
                "up_to",
                "it runs alongside that face and never reaches it",
            ));
        }
        let height = -plane.distance(frame.origin) / toward;
        if height <= FLUSH_MM {
            return Err(Refusal::at(
                "up_to",
                format!(
                    "it can't reach that face: it lies {} behind the foot",
                    self.unit.show(-height)
                ),
            ));
        }
        let slants = frame.z.cross(plane.normal).length() > PARALLEL.sqrt();
        Ok((height, Some(plane), slants))
    }

    /// Refuses what can't be built: fillet and edge against the height, draft and edge against the top.
    pub(super) fn check_upright(
        &self,
        outline: &Outline,
        height: f64,
        trim: &Trim,
    ) -> Result<(), Refusal> {
        let sine = trim.draft_deg.to_radians().sin();
        let fillet = trim.fillet.unwrap_or(0.0) * (1.0 - sine);
        let edge = match trim.edge {
            Edge::Sharp => 0.0,
            Edge::Round(r) => r * (1.0 - sine),
            Edge::Chamfer(c) => c,
        };
        let show = |mm: f64| self.unit.show(mm);
        if edge > height + FLUSH_MM {
            return Err(Refusal::at(
                edge_key(trim.edge),
                format!("it is larger than the height of {}", show(height)),
            ));
        }
        if fillet + edge > height + FLUSH_MM {
            return Err(Refusal::at(
                "fillet",
                format!(
                    "the fillet doesn't fit the height of {}; the largest that does is {}",
                    show(height),
                    show((height - edge).max(0.0) / (1.0 - sine))
                ),
            ));
        }
        let shrink = match trim.edge {
            Edge::Sharp => 0.0,
            Edge::Round(r) => {
                r / trim.draft_deg.to_radians().cos() - r * trim.draft_deg.to_radians().tan()
            }
            Edge::Chamfer(c) => c,
        };
        // A round of a round boss's own radius ends it in half a ball.
        let ball = outline
            .as_disc()
            .is_some_and(|(_, radius)| (shrink - radius).abs() < FLUSH_MM);
        if shrink > 0.0 && !ball && outline.grown(-shrink).is_err() {
            return Err(Refusal::at(
                edge_key(trim.edge),
                format!(
                    "it leaves nothing of the top, which is {} across",
                    show(outline.widest_disc())
                ),
            ));
        }
        Ok(())
    }

    /// Adds a `flange`.
    ///
    /// # Errors
    /// A taken name, a face that isn't there or isn't flat, a bolt hole outside the flange.
    pub fn flange(&mut self, given: FlangeGiven) -> Result<Handle, Refusal> {
        self.check_name(&given.head.name)?;
        let bolt_dia = given.bolt_dia.unwrap_or(0.0);
        for bolt in &given.bolts {
            let room = -given.outline.distance(*bolt);
            if room < bolt_dia / 2.0 {
                return Err(Refusal::at(
                    "bolts",
                    format!(
                        "the bolt hole at [{}, {}] breaks out of the flange",
                        self.unit.number(bolt.x),
                        self.unit.number(bolt.y)
                    ),
                ));
            }
        }
        let mut forms = Vec::new();
        for (frame, host) in self.frames(&given.place, "on")? {
            let neck = host.as_ref().and_then(|h| self.neck(h, &frame));
            let form = Flange {
                outline: given.outline.clone(),
                thick: given.thick,
                bolts: given.bolts.clone(),
                bolt_dia,
                fillet: given.fillet.unwrap_or(self.fillets_mm),
                neck,
                edge: given.edge,
            };
            forms.push((frame, host, Form::Flange(form)));
        }
        self.enter(&given.head, given.place.listed, given.cored, forms)
    }

    /// The outline of what carries a flange, in the flange's frame.
    fn neck(&self, host: &Host, frame: &Frame) -> Option<Outline> {
        let feature = &self.features[host.feature?];
        match (&feature.form, &host.key) {
            (Form::Tunnel(t), FaceKey::Start | FaceKey::End) if t.wall > 0.0 => {
                let outer = t.inside.grown(t.wall).ok()?;
                outer.as_disc()?;
                Some(seen_from(&host.frame, frame, &outer))
            }
            (Form::Raised(r), FaceKey::Top) => Some(seen_from(&feature.frame, frame, &r.outline)),
            (Form::Turned(_), FaceKey::Top) => host
                .extent
                .as_ref()
                .map(|o| seen_from(&host.frame, frame, o)),
            _ => None,
        }
    }

    /// Adds a `rib`.
    ///
    /// # Errors
    /// A taken name, a face that isn't flat, a path that turns back on itself, a fillet that doesn't fit.
    pub fn rib(&mut self, given: RibGiven) -> Result<Handle, Refusal> {
        self.check_name(&given.head.name)?;
        self.check_loose(&given.head, &given.place)?;
        let stroke = Outline::stroke(&given.path, given.thick)
            .map_err(|e| Refusal::at("path", e.text(self.unit)))?;
        let mut forms = Vec::new();
        for (frame, host) in self.frames(&given.place, "on")? {
            check_hit(&frame, &host, &stroke, "path", &given.head.name)?;
            let heights = heights_along(&given.path, given.height);
            let trim = self.settle_trim(&given.trim, host.is_some());
            let high = heights.iter().copied().fold(0.0, f64::max);
            self.check_upright(&stroke, high, &trim)?;
            let form = RibForm {
                path: given.path.clone(),
                thick: given.thick,
                heights,
                trim,
            };
            forms.push((frame, host, Form::Rib(form)));
        }
        self.enter(&given.head, given.place.listed, None, forms)
    }
}

/// The key that gave an edge.
pub(super) fn edge_key(edge: Edge) -> &'static str {
    match edge {
        Edge::Chamfer(_) => "chamfer",
        _ => "round",
    }
}

/// Heights at each path point, linear in the way walked.
fn heights_along(path: &[crate::measure::Vec2], (from, to): (f64, f64)) -> Vec<f64> {
    let mut walked = vec![0.0];
    for leg in path.windows(2) {
        walked.push(walked[walked.len() - 1] + leg[0].distance(leg[1]));
    }
    let total = walked[walked.len() - 1].max(f64::MIN_POSITIVE);
    walked
        .iter()
        .map(|s| from + (to - from) * s / total)
        .collect()
}

/// The point on an axis at this height.
pub(super) fn on_axis(frame: &Frame, z: f64) -> Vec3 {
    frame.point(Vec3::new(0.0, 0.0, z))
}
