//! Bores, pockets and hollows, and how deep they go.

use crate::drawing::draw::place::check_hit;
use crate::drawing::draw::raised::{edge_key, on_axis};
use crate::drawing::feature::{Bore, Depth, Form, Hollow, Host, Pocket};
use crate::drawing::given::{
    BoreGiven, Edge, FaceKey, FaceRef, Handle, HollowGiven, PocketGiven, Reach, Trim,
};
use crate::drawing::outline::Outline;
use crate::drawing::part::{Part, Refusal};
use crate::measure::{FLUSH_MM, Frame, Vec2, Vec3};

/// Step of the search for the place where an opening is reached (mm): finer than any wall that can be cast.
const MARCH_MM: f64 = 0.25;

impl Part {
    /// Adds a `bore`.
    ///
    /// # Errors
    /// A taken name, a face that isn't there or isn't flat, a `to` it can't reach, a counterbore narrower than the
    /// bore or deeper than it, a draft that closes it.
    pub fn bore(&mut self, given: BoreGiven) -> Result<Handle, Refusal> {
        self.check_name(&given.head.name)?;
        let outline = Outline::disc(given.dia);
        let show = |mm: f64| self.unit.show(mm);
        let mut forms = Vec::new();
        for (frame, host) in self.frames(&given.place, "into")? {
            check_hit(&frame, &host, &outline, "at", &given.head.name)?;
            let depth = self.depth(&frame, &given.reach, &outline, &given.head.name)?;
            let deep = depth.known();
            if let Some((dia, cb_depth)) = given.counterbore {
                if dia <= given.dia {
                    return Err(Refusal::at(
                        "counterbore",
                        format!(
                            "a counterbore of {} is no wider than the bore of {}",
                            show(dia),
                            show(given.dia)
                        ),
                    ));
                }
                if deep > 0.0 && cb_depth >= deep {
                    return Err(Refusal::at(
                        "counterbore",
                        format!(
                            "the counterbore is {} deep, the bore only {}",
                            show(cb_depth),
                            show(deep)
                        ),
                    ));
                }
            }
            if let Some((dia, _)) = given.countersink
                && dia <= given.dia.max(given.counterbore.map_or(0.0, |c| c.0))
            {
                return Err(Refusal::at(
                    "countersink",
                    format!(
                        "a countersink of {} is no wider than what it opens",
                        show(dia)
                    ),
                ));
            }
            self.check_opening(&outline, deep, &given.trim)?;
            let trim = Trim {
                fillet: Some(given.trim.fillet.unwrap_or(0.0)),
                ..given.trim.clone()
            };
            let form = Bore {
                dia: given.dia,
                depth,
                counterbore: given.counterbore,
                countersink: given.countersink,
                trim,
            };
            forms.push((frame, host, Form::Bore(form)));
        }
        self.enter(&given.head, given.place.listed, given.cored, forms)
    }

    /// Adds a `pocket`.
    ///
    /// # Errors
    /// As [`Part::bore`].
    pub fn pocket(&mut self, given: PocketGiven) -> Result<Handle, Refusal> {
        self.check_name(&given.head.name)?;
        let mut forms = Vec::new();
        for (frame, host) in self.frames(&given.place, "into")? {
            check_hit(&frame, &host, &given.outline, "at", &given.head.name)?;
            let depth = self.depth(&frame, &given.reach, &given.outline, &given.head.name)?;
            self.check_opening(&given.outline, depth.known(), &given.trim)?;
            let trim = Trim {
                fillet: Some(given.trim.fillet.unwrap_or(0.0)),
                ..given.trim.clone()
            };
            forms.push((
                frame,
                host,
                Form::Pocket(Pocket {
                    outline: given.outline.clone(),
                    depth,
                    trim,
                }),
            ));
        }
        self.enter(&given.head, given.place.listed, given.cored, forms)
    }

    fn check_opening(&self, outline: &Outline, deep: f64, trim: &Trim) -> Result<(), Refusal> {
        if deep <= 0.0 {
            return Ok(());
        }
        let show = |mm: f64| self.unit.show(mm);
        let tan = trim.draft_deg.to_radians().tan();
        if tan > 0.0 && outline.grown(-deep * tan).is_err() {
            let most = (outline.widest_disc() / 2.0 / deep).atan().to_degrees();
            return Err(Refusal::at(
                "draft",
                format!(
                    "the draft closes it before its floor at {}; the largest that leaves a floor is under {:.1}°",
                    show(deep),
                    most
                ),
            ));
        }
        let fillet = trim.fillet.unwrap_or(0.0);
        let edge = match trim.edge {
            Edge::Sharp => 0.0,
            Edge::Round(r) | Edge::Chamfer(r) => r,
        };
        if edge > deep {
            return Err(Refusal::at(
                edge_key(trim.edge),
                format!("it is larger than the depth of {}", show(deep)),
            ));
        }
        if fillet + edge > deep + FLUSH_MM {
            return Err(Refusal::at(
                "fillet",
                format!(
                    "the fillet doesn't fit the depth of {}; the largest that does is {}",
                    show(deep),
                    show(deep - edge)
                ),
            ));
        }
        if fillet > 0.0 && outline.grown(-deep * tan - fillet * 0.999).is_err() {
            return Err(Refusal::at(
                "fillet",
                format!(
                    "the fillet doesn't fit the floor, which is {} across",
                    show(outline.widest_disc() - 2.0 * deep * tan)
                ),
            ));
        }
        Ok(())
    }

    /// How far an opening of this section goes from its frame.
    pub(super) fn depth(
        &self,
        frame: &Frame,
        reach: &Reach,
        section: &Outline,
        name: &str,
    ) -> Result<Depth, Refusal> {
        match reach {
            Reach::Depth(d) => Ok(Depth::By(*d)),
            Reach::Through { all } => Ok(Depth::Through { all: *all }),
            Reach::ToFace(reference) => self.depth_to_face(frame, reference),
            Reach::ToOpening(handle) => self.depth_into(frame, handle, section, name),
        }
    }

    fn depth_to_face(&self, frame: &Frame, reference: &FaceRef) -> Result<Depth, Refusal> {
        let face = self.flat_face(reference, "to")?;
        let plane = face.frame.plane();
        let along = plane.normal.dot(frame.z);
        if along.abs() < 1e-3 {
            return Err(Refusal::at(
                "to",
                "it runs alongside that face and never reaches it",
            ));
        }
        let depth = plane.distance(frame.origin) / along;
        if depth <= FLUSH_MM {
            return Err(Refusal::at(
                "to",
                format!(
                    "it can't reach that face, which lies {} in front of its mouth",
                    self.unit.show(-depth)
                ),
            ));
        }
        let leaves = along < 0.0 && face.feature.is_some();
        let face = face.feature.map(|id| (id, face.key));
        Ok(Depth::To {
            plane,
            leaves,
            face,
            depth,
        })
    }

    /// Marches along the axis until the whole section lies in the opening, at most to its middle.
    fn depth_into(
        &self,
        frame: &Frame,
        handle: &Handle,
        section: &Outline,
        name: &str,
    ) -> Result<Depth, Refusal> {
        let Some(opening) = crate::drawing::feature::only(handle) else {
            return Err(Refusal::at(
                "to",
                format!("{} stands for several openings; name one", handle.name),
            ));
        };
        let target = &self.features[opening];
        if !target.opens() {
            return Err(
                Refusal::at("to", format!("{} opens nothing", target.name)).hint(format!(
                    "name one of its faces instead, such as {}.bottom",
                    target.name
                )),
            );
        }
        let rim = rim_points(section);
        let holds =
            |s: f64, p: Vec2| self.opening_holds(opening, frame.point(Vec3::new(p.x, p.y, -s)));
        let bounds = self.bounds();
        let farthest =
            (bounds.size().length() + on_axis(frame, 0.0).distance(bounds.middle())).max(1.0);
        let steps = (farthest / MARCH_MM).ceil() as usize;
        let entry = (0..=steps)
            .map(|i| i as f64 * MARCH_MM)
            .find(|&s| holds(s, Vec2::ZERO));
        let Some(entry) = entry else {
            return Err(Refusal::at(
                "to",
                format!("{name} never meets {}", target.name),
            ));
        };
        let leave = (0..=steps)
            .map(|i| entry + i as f64 * MARCH_MM)
            .find(|&s| !holds(s, Vec2::ZERO))
            .unwrap_or(entry + farthest);
        let middle = (entry + leave) / 2.0;
        let all_in = |s: f64| rim.iter().all(|&p| holds(s, p));
        let within = (0..)
            .map(|i| entry + i as f64 * MARCH_MM)
            .take_while(|&s| s <= middle + MARCH_MM)
            .map(|s| s.min(middle))
            .find(|&s| all_in(s));
        let Some(mut high) = within else {
            return Err(Refusal::at(
                "to",
                format!(
                    "the section of {name} never lies wholly in {} before its middle",
                    target.name
                ),
            )
            .hint("make it narrower, or move it over the middle of that opening"));
        };
        let mut low = (high - MARCH_MM).max(0.0);
        for _ in 0..30 {
            let mid = (low + high) / 2.0;
            if all_in(mid) { high = mid } else { low = mid }
        }
        // A little farther, so that the two are joined by more than a line.
        let depth = (high + 2.0 * MARCH_MM).min(middle.max(high));
        let middle = middle.max(depth);
        Ok(Depth::Into {
            opening,
            depth,
            middle,
        })
    }

    /// Adds a `hollow`.
    ///
    /// # Errors
    /// A taken name, a host that is no slab, boss or turned body, an end it doesn't open at, a wall or floor that
    /// leaves nothing to hollow.
    pub fn hollow(&mut self, given: HollowGiven) -> Result<Handle, Refusal> {
        self.check_name(&given.head.name)?;
        let mut forms = Vec::new();
        for &of in &given.of.ids {
            let (at_top, open) = self.hollow_end(of, &given)?;
            let target = &self.features[of];
            let (room, height) = match &target.form {
                Form::Raised(r) => (r.outline.widest_disc() / 2.0, r.height),
                Form::Turned(t) if t.adds => {
                    let low = t.profile.iter().map(|p| p.z).fold(f64::INFINITY, f64::min);
                    let high = t
                        .profile
                        .iter()
                        .map(|p| p.z)
                        .fold(f64::NEG_INFINITY, f64::max);
                    (
                        t.profile.iter().map(|p| p.r).fold(0.0, f64::max),
                        high - low,
                    )
                }
                _ => {
                    return Err(
                        Refusal::at("of", format!("a {} can't be hollowed", target.word))
                            .hint("a hollow is of a slab, a boss or a turned body"),
                    );
                }
            };
            if given.wall >= room {
                return Err(Refusal::at(
                    "wall",
                    format!(
                        "a wall of {} leaves nothing to hollow",
                        self.unit.show(given.wall)
                    ),
                ));
            }
            if given.floor >= height {
                return Err(Refusal::at(
                    "floor",
                    format!(
                        "a floor of {} leaves nothing to hollow in a height of {}",
                        self.unit.show(given.floor),
                        self.unit.show(height)
                    ),
                ));
            }
            let fillet = given.fillet.unwrap_or(0.0);
            let host = Some(Host {
                feature: Some(of),
                key: if at_top {
                    FaceKey::Top
                } else {
                    FaceKey::Bottom
                },
                frame: open,
                ground: crate::drawing::feature::Ground::Flat,
                extent: None,
            });
            let form = Hollow {
                of,
                at_top,
                wall: given.wall,
                floor: given.floor,
                fillet,
            };
            forms.push((open, host, Form::Hollow(form)));
        }
        let listed = given.of.ids.len() > 1;
        self.enter(&given.head, listed, None, forms)
    }

    /// Whether a hollow opens at the free end, and the frame of its mouth.
    fn hollow_end(&self, of: usize, given: &HollowGiven) -> Result<(bool, Frame), Refusal> {
        let FaceRef::Of(handle, key) = &given.open else {
            return Err(Refusal::at(
                "open",
                "a hollow opens at a face of what it hollows",
            ));
        };
        if !handle.ids.contains(&of) {
            return Err(Refusal::at(
                "open",
                format!("that face isn't one of {}", self.features[of].name),
            ));
        }
        let face = self.face_of(of, key).map_err(|r| Refusal {
            key: Some("open"),
            ..r
        })?;
        let feature = &self.features[of];
        let along = face.frame.z.dot(feature.frame.z);
        let end = matches!(key, FaceKey::Top | FaceKey::Bottom | FaceKey::Named(_))
            && along.abs() > 0.999;
        if !end {
            return Err(Refusal::at(
                "open",
                "a hollow opens at .top, .bottom or a turned end",
            ));
        }
        Ok((
            along > 0.0,
            Frame {
                z: face.frame.z,
                ..feature.frame
            }
            .at_origin(face.frame.origin),
        ))
    }
}

impl Frame {
    /// The same directions about another origin.
    fn at_origin(self, origin: Vec3) -> Frame {
        Frame { origin, ..self }
    }
}

/// Points round the rim of a section: its vertices and eight points to each arc's circle.
pub(super) fn rim_points(section: &Outline) -> Vec<Vec2> {
    let mut points: Vec<Vec2> = section.loops().iter().flatten().map(|v| v.at).collect();
    if let Some((centre, radius)) = section.as_disc() {
        points.extend((0..16).map(|i| {
            let (s, c) = (i as f64 * std::f64::consts::TAU / 16.0).sin_cos();
            centre + Vec2::new(c, s) * radius * 0.9999
        }));
    }
    points.iter().map(|p| *p * 0.9999).collect()
}
