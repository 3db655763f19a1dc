//! Which faces a feature has, and where they lie.
//!
//! Frames follow the rules of the language: tops, bottoms and floors keep the feature's own x and y
//! (also where they look down); sides have u to the right as one looks at them and v up.

use crate::drawing::feature::{Face, FaceForm, Feature, Form, Groove, Ground, Host, only};
use crate::drawing::given::{FaceKey, FaceRef, FeatureId};
use crate::drawing::outline::{Flat, Outline};
use crate::drawing::part::{Part, Refusal};
use crate::measure::{FLUSH_MM, Frame, Vec2, Vec3, sin_cos_deg};

impl Part {
    /// The face that a reference means.
    ///
    /// # Errors
    /// The feature doesn't have that face (the faces it has are listed), or the handle stands for several instances.
    pub fn face(&self, reference: &FaceRef) -> Result<Face, Refusal> {
        match reference {
            FaceRef::Level(z) => Ok(self.level_face(*z)),
            FaceRef::Free { at, facing, up } => Ok(Face {
                feature: None,
                key: FaceKey::Top,
                frame: Frame::facing(*at, *facing, *up),
                form: FaceForm::Flat {
                    extent: None,
                    ground: Ground::Flat,
                },
            }),
            FaceRef::Of(handle, key) => {
                let Some(id) = only(handle) else {
                    return Err(Refusal::whole(format!(
                        "{} stands for {} features; one is wanted here",
                        handle.name,
                        handle.ids.len()
                    ))
                    .hint(format!("take one of {}.each", handle.name)));
                };
                self.face_of(id, key)
            }
        }
    }

    /// A face of one feature.
    ///
    /// # Errors
    /// See [`Part::face`].
    pub fn face_of(&self, id: FeatureId, key: &FaceKey) -> Result<Face, Refusal> {
        let feature = &self.features[id];
        let face = self.form_face(id, feature, key);
        face.map(|(frame, form)| Face {
            feature: Some(id),
            key: key.clone(),
            frame,
            form,
        })
        .ok_or_else(|| {
            Refusal::whole(format!("{} has no {}", feature.name, key_text(key))).hint(format!(
                "a {} has {}",
                feature.word,
                self.faces_text(feature)
            ))
        })
    }

    /// The part's plane at a height, facing up; it belongs to no feature.
    fn level_face(&self, z: f64) -> Face {
        Face {
            feature: None,
            key: FaceKey::Top,
            frame: Frame::PART.raised(z),
            form: FaceForm::Flat {
                extent: None,
                ground: Ground::Flat,
            },
        }
    }

    fn form_face(
        &self,
        id: FeatureId,
        feature: &Feature,
        key: &FaceKey,
    ) -> Option<(Frame, FaceForm)> {
        let frame = feature.frame;
        match &feature.form {
            Form::Raised(r) => match key {
                FaceKey::Top => match r.up_to {
                    Some(plane) if r.slants => {
                        let origin = frame.point(Vec3::new(0.0, 0.0, r.height));
                        let normal = if plane.normal.dot(frame.z) > 0.0 {
                            plane.normal
                        } else {
                            -plane.normal
                        };
                        Some((Frame::facing(origin, normal, Some(frame.y)), flat(None)))
                    }
                    _ => Some((frame.raised(r.height), flat(Some(r.outline.clone())))),
                },
                FaceKey::Bottom => Some((
                    frame.inward(),
                    flat(
                        r.outline
                            .grown(r.height * r.trim.draft_deg.to_radians().tan())
                            .ok(),
                    ),
                )),
                FaceKey::Side(deg) => {
                    let side = r.outline.flat_toward(*deg)?;
                    Some(side_face(&frame, &side, 0.0, r.height, r.trim.draft_deg))
                }
                FaceKey::Outside => round_outside(&frame, &r.outline, r.height),
                FaceKey::Around(deg, up) => touching(&frame, &r.outline, *deg, *up, r.height),
                FaceKey::Wall => {
                    let (dia, _) = r.bore?;
                    Some((
                        frame.raised(r.height),
                        FaceForm::Round {
                            radius: dia / 2.0,
                            inward: true,
                        },
                    ))
                }
                FaceKey::Mouth => {
                    let (dia, _) = r.bore?;
                    Some(mouth(&frame.raised(r.height), Outline::disc(dia)))
                }
                FaceKey::Floor => {
                    let (dia, depth) = r.bore?;
                    (depth < r.height - FLUSH_MM).then(|| {
                        (
                            frame.raised(r.height - depth),
                            flat(Some(Outline::disc(dia))),
                        )
                    })
                }
                _ => None,
            },
            Form::Flange(f) => match key {
                FaceKey::Top => Some((frame, flat(Some(f.outline.clone())))),
                FaceKey::Bottom => Some((
                    frame.raised(-f.thick).inward(),
                    flat(Some(f.outline.clone())),
                )),
                FaceKey::Side(deg) => Some(side_face(
                    &frame,
                    &f.outline.flat_toward(*deg)?,
                    -f.thick,
                    0.0,
                    0.0,
                )),
                FaceKey::Outside => round_outside(&frame, &f.outline, 0.0),
                FaceKey::Around(deg, up) => {
                    touching(&frame.raised(-f.thick), &f.outline, *deg, *up, f.thick)
                }
                _ => None,
            },
            Form::Rib(r) => {
                let stroke = Outline::stroke(&r.path, r.thick).ok()?;
                let high = r.heights.iter().copied().fold(0.0, f64::max);
                let level = r.heights.iter().all(|h| (h - high).abs() < FLUSH_MM);
                match key {
                    FaceKey::Top if level => Some((frame.raised(high), flat(Some(stroke)))),
                    FaceKey::Side(deg) => Some(side_face(
                        &frame,
                        &stroke.flat_toward(*deg)?,
                        0.0,
                        high,
                        r.trim.draft_deg,
                    )),
                    _ => None,
                }
            }
            Form::Tunnel(t) => tunnel_face(t, key),
            Form::Turned(t) => turned_face(&frame, t, key),
            Form::Bore(b) => match key {
                FaceKey::Mouth => Some(mouth(&frame, Outline::disc(b.dia))),
                FaceKey::Wall => Some((
                    frame,
                    FaceForm::Round {
                        radius: b.dia / 2.0,
                        inward: true,
                    },
                )),
                FaceKey::Floor => {
                    let depth = b.depth.blind()?;
                    let dia = b.dia - 2.0 * depth * b.trim.draft_deg.to_radians().tan();
                    Some((frame.raised(-depth), flat(Some(Outline::disc(dia)))))
                }
                FaceKey::Shoulder => {
                    let (dia, depth) = b.counterbore?;
                    Some((frame.raised(-depth), flat(Some(Outline::disc(dia)))))
                }
                _ => None,
            },
            Form::Pocket(p) => {
                let shrunk = |d: f64| {
                    p.outline
                        .grown(-d * p.trim.draft_deg.to_radians().tan())
                        .ok()
                };
                match key {
                    FaceKey::Mouth => Some(mouth(&frame, p.outline.clone())),
                    FaceKey::Floor => {
                        let depth = p.depth.blind()?;
                        Some((frame.raised(-depth), flat(shrunk(depth))))
                    }
                    FaceKey::Wall => Some(match p.outline.as_disc() {
                        Some((c, radius)) => (
                            frame.moved(c),
                            FaceForm::Round {
                                radius,
                                inward: true,
                            },
                        ),
                        None => (frame, FaceForm::Other),
                    }),
                    FaceKey::Side(deg) => {
                        let deep = p.depth.known();
                        Some(inner_side(
                            &frame,
                            &p.outline.flat_toward(*deg)?,
                            -deep,
                            0.0,
                        ))
                    }
                    _ => None,
                }
            }
            Form::Groove(g) => match (g, key) {
                (Groove::Flat { section, .. }, FaceKey::Floor) => {
                    Some((frame.raised(-section.depth()), flat(None)))
                }
                (_, FaceKey::Wall) => Some((frame, FaceForm::Other)),
                _ => None,
            },
            Form::Hollow(h) => self.hollow_face(id, h, key),
        }
    }

    fn hollow_face(
        &self,
        _id: FeatureId,
        h: &crate::drawing::feature::Hollow,
        key: &FaceKey,
    ) -> Option<(Frame, FaceForm)> {
        let of = &self.features[h.of];
        let frame = of.frame;
        let (outline, low, high) = match &of.form {
            Form::Raised(r) => {
                let inner = r
                    .outline
                    .grown(-h.wall / r.trim.draft_deg.to_radians().cos())
                    .ok();
                (inner, 0.0, r.height)
            }
            Form::Turned(t) => {
                let low = t.profile.iter().map(|p| p.z).fold(f64::INFINITY, f64::min);
                let high = t
                    .profile
                    .iter()
                    .map(|p| p.z)
                    .fold(f64::NEG_INFINITY, f64::max);
                (None, low, high)
            }
            _ => return None,
        };
        // The floor looks back to the open end.
        let (open, floor) = if h.at_top {
            (frame.raised(high), frame.raised(low + h.floor))
        } else {
            (
                frame.raised(low).inward(),
                frame.raised(high - h.floor).inward(),
            )
        };
        match key {
            FaceKey::Floor => Some((floor, flat(outline))),
            FaceKey::Mouth => Some((open, flat(outline))),
            FaceKey::Wall => Some((open, FaceForm::Other)),
            FaceKey::Side(deg) => Some(inner_side(&frame, &outline?.flat_toward(*deg)?, low, high)),
            _ => None,
        }
    }

    /// The faces that a feature has, in words, for errors.
    fn faces_text(&self, feature: &Feature) -> String {
        let id = self
            .features
            .iter()
            .position(|f| std::ptr::eq(f, feature))
            .unwrap_or(0);
        let mut names: Vec<String> = [
            FaceKey::Top,
            FaceKey::Bottom,
            FaceKey::Outside,
            FaceKey::Wall,
            FaceKey::Floor,
            FaceKey::Mouth,
            FaceKey::Shoulder,
            FaceKey::Start,
            FaceKey::End,
        ]
        .into_iter()
        .filter(|key| self.form_face(id, feature, key).is_some())
        .map(|key| key_text(&key))
        .collect();
        for (name, deg) in [
            ("right", 0.0),
            ("back", 90.0),
            ("left", 180.0),
            ("front", 270.0),
        ] {
            if self.form_face(id, feature, &FaceKey::Side(deg)).is_some() {
                names.push(format!(".side(\"{name}\")"));
            }
        }
        if let Form::Turned(t) = &feature.form {
            names.extend(
                t.profile
                    .iter()
                    .filter_map(|p| p.face.as_ref())
                    .map(|n| format!(".named(\"{n}\")")),
            );
        }
        if self
            .form_face(id, feature, &FaceKey::Around(0.0, 0.0))
            .is_some()
        {
            names.push(".around(deg, up)".into());
        }
        if matches!(feature.form, Form::Tunnel(_)) {
            names.push(".along(distance, deg)".into());
        }
        if names.is_empty() {
            "no flat or round face".into()
        } else {
            names.join(", ")
        }
    }

    /// The middle of a handle's extents, in part coordinates (mm).
    pub fn center(&self, ids: &[FeatureId]) -> Vec3 {
        ids.iter()
            .map(|&id| self.features[id].bounds())
            .reduce(|a, b| a.joined(b))
            .map_or(Vec3::ZERO, |b| b.middle())
    }

    /// The host of a level: the feature with an up-facing flat end in that plane that holds the spot, if there is one.
    pub(crate) fn host_at_level(&self, host: Host, spot: Vec3) -> Host {
        if host.feature.is_some() {
            return host;
        }
        let plane = host.frame.plane();
        let found = (0..self.features.len()).rev().find_map(|id| {
            let face = self.face_of(id, &FaceKey::Top).ok()?;
            let FaceForm::Flat {
                extent: Some(extent),
                ..
            } = &face.form
            else {
                return None;
            };
            let local = face.frame.local(spot);
            (!self.features[id].is_opening()
                && face.frame.plane().flush_with(&plane, FLUSH_MM)
                && extent.contains(Vec2::new(local.x, local.y)))
            .then_some(id)
        });
        Host {
            feature: found,
            ..host
        }
    }
}

/// A face's name as the script writes it.
pub fn key_text(key: &FaceKey) -> String {
    match key {
        FaceKey::Top => ".top".into(),
        FaceKey::Bottom => ".bottom".into(),
        FaceKey::Side(deg) => match deg.rem_euclid(360.0) as i64 {
            0 => ".side(\"right\")".into(),
            90 => ".side(\"back\")".into(),
            180 => ".side(\"left\")".into(),
            270 => ".side(\"front\")".into(),
            _ => format!(".side({deg})"),
        },
        FaceKey::Outside => ".outside".into(),
        FaceKey::Wall => ".wall".into(),
        FaceKey::Floor => ".floor".into(),
        FaceKey::Mouth => ".mouth".into(),
        FaceKey::Shoulder => ".shoulder".into(),
        FaceKey::Start => ".start".into(),
        FaceKey::End => ".end".into(),
        FaceKey::Named(name) => format!(".named(\"{name}\")"),
        FaceKey::Around(deg, up) => format!(".around({deg}, {up})"),
        FaceKey::Along(distance, deg) => format!(".along({distance}, {deg})"),
    }
}

fn flat(extent: Option<Outline>) -> FaceForm {
    FaceForm::Flat {
        extent,
        ground: Ground::Flat,
    }
}

fn mouth(frame: &Frame, outline: Outline) -> (Frame, FaceForm) {
    (
        Frame::facing(frame.origin, frame.z, Some(frame.y)),
        flat(Some(outline)),
    )
}

/// The side of an upright body between two heights: origin in its middle, v along the body's axis.
fn side_face(frame: &Frame, side: &Flat, low: f64, high: f64, draft_deg: f64) -> (Frame, FaceForm) {
    let middle = (side.from + side.to) * 0.5;
    let origin = frame.point(middle.extend((low + high) / 2.0));
    let z = frame.vector(side.outward.extend(0.0));
    let y = frame.z;
    let half = (high - low) / 2.0;
    let ground = if draft_deg == 0.0 {
        Ground::Flat
    } else {
        Ground::Slope {
            slope: draft_deg.to_radians().tan(),
            top: half,
        }
    };
    let extent = Some(Outline::rect(side.from.distance(side.to), 2.0 * half));
    (
        Frame {
            origin,
            x: y.cross(z),
            y,
            z,
        },
        FaceForm::Flat { extent, ground },
    )
}

/// A flat wall of an opening: it looks into the opening.
fn inner_side(frame: &Frame, side: &Flat, low: f64, high: f64) -> (Frame, FaceForm) {
    let middle = (side.from + side.to) * 0.5;
    let origin = frame.point(middle.extend((low + high) / 2.0));
    let z = -frame.vector(side.outward.extend(0.0));
    let y = frame.z;
    (
        Frame {
            origin,
            x: y.cross(z),
            y,
            z,
        },
        flat(None),
    )
}

fn round_outside(frame: &Frame, outline: &Outline, height: f64) -> Option<(Frame, FaceForm)> {
    let (centre, radius) = outline.as_disc()?;
    Some((
        frame.moved(centre).raised(height),
        FaceForm::Round {
            radius,
            inward: false,
        },
    ))
}

fn touching(
    frame: &Frame,
    outline: &Outline,
    deg: f64,
    up: f64,
    height: f64,
) -> Option<(Frame, FaceForm)> {
    let (centre, radius) = outline.as_disc()?;
    if !(-FLUSH_MM..=height + FLUSH_MM).contains(&up) {
        return None;
    }
    Some(touching_round(&frame.moved(centre), radius, deg, up))
}

/// A plane that touches a round body of this radius about the frame's z.
fn touching_round(frame: &Frame, radius: f64, deg: f64, up: f64) -> (Frame, FaceForm) {
    let (s, c) = sin_cos_deg(deg);
    let out = frame.vector(Vec3::new(c, s, 0.0));
    let touch = Frame::facing(
        frame.point(Vec3::new(c * radius, s * radius, up)),
        out,
        None,
    );
    let axis = touch.local_vector(frame.z);
    let axis = Vec2::new(axis.x, axis.y);
    (
        touch,
        FaceForm::Flat {
            extent: None,
            ground: Ground::Round { radius, axis },
        },
    )
}

fn turned_face(
    frame: &Frame,
    turned: &crate::drawing::feature::Turned,
    key: &FaceKey,
) -> Option<(Frame, FaceForm)> {
    let n = turned.profile.len();
    let low = turned
        .profile
        .iter()
        .map(|p| p.z)
        .fold(f64::INFINITY, f64::min);
    let high = turned
        .profile
        .iter()
        .map(|p| p.z)
        .fold(f64::NEG_INFINITY, f64::max);
    // Flat runs: (z, least r, greatest r, looks up). Counter-clockwise in (r, z): a run towards the axis looks up.
    let run = |i: usize| {
        let (a, b) = (&turned.profile[i], &turned.profile[(i + 1) % n]);
        let level = a.bulge == 0.0 && (a.z - b.z).abs() < FLUSH_MM;
        (level && (a.r - b.r).abs() > FLUSH_MM)
            .then(|| (a.z, a.r.min(b.r), a.r.max(b.r), b.r < a.r))
    };
    let annulus = |z: f64, inner: f64, outer: f64, up: bool| {
        let disc = Outline::disc(2.0 * outer);
        let extent = if inner > FLUSH_MM {
            disc.minus(&Outline::disc(2.0 * inner)).ok()
        } else {
            Some(disc)
        };
        let up = up == turned.adds;
        let frame = frame.raised(z);
        (if up { frame } else { frame.inward() }, flat(extent))
    };
    let end = |z: f64, up: bool| {
        (0..n)
            .filter_map(run)
            .find(|r| (r.0 - z).abs() < FLUSH_MM && r.3 == up)
            .map(|r| annulus(r.0, r.1, r.2, r.3))
    };
    match key {
        FaceKey::Top if turned.adds => end(high, true),
        FaceKey::Bottom if turned.adds => end(low, false),
        FaceKey::Floor if !turned.adds => end(low, false),
        FaceKey::Mouth if !turned.adds => {
            let widest = (0..n)
                .filter_map(run)
                .find(|r| (r.0 - high).abs() < FLUSH_MM && r.3)?;
            Some(mouth(&frame.raised(high), Outline::disc(2.0 * widest.2)))
        }
        FaceKey::Outside | FaceKey::Wall if turned.adds == (*key == FaceKey::Outside) => {
            let radius = turned.profile.iter().map(|p| p.r).fold(0.0, f64::max);
            Some((
                frame.raised(high),
                FaceForm::Round {
                    radius,
                    inward: !turned.adds,
                },
            ))
        }
        FaceKey::Around(deg, up) if turned.adds => {
            let radius = radius_at(turned, *up)?;
            Some(touching_round(frame, radius, *deg, *up))
        }
        FaceKey::Named(name) => {
            let i = turned
                .profile
                .iter()
                .position(|p| p.face.as_deref() == Some(name))?;
            if let Some((z, inner, outer, up)) = run(i) {
                return Some(annulus(z, inner, outer, up));
            }
            let (a, b) = (&turned.profile[i], &turned.profile[(i + 1) % n]);
            let upright = a.bulge == 0.0 && (a.r - b.r).abs() < FLUSH_MM;
            // Counter-clockwise: a run upwards has the profile's inside on its left, towards the axis.
            let inward = (b.z > a.z) != turned.adds;
            Some(if upright {
                (
                    frame.raised(a.z.max(b.z)),
                    FaceForm::Round {
                        radius: a.r,
                        inward,
                    },
                )
            } else {
                (*frame, FaceForm::Other)
            })
        }
        _ => None,
    }
}

/// The outer radius of a turned profile at a height, over its straight runs.
fn radius_at(turned: &crate::drawing::feature::Turned, z: f64) -> Option<f64> {
    let n = turned.profile.len();
    (0..n)
        .filter_map(|i| {
            let (a, b) = (&turned.profile[i], &turned.profile[(i + 1) % n]);
            let (low, high) = (a.z.min(b.z), a.z.max(b.z));
            if !(low - FLUSH_MM..=high + FLUSH_MM).contains(&z) {
                return None;
            }
            let t = if high - low < FLUSH_MM {
                return Some(a.r.max(b.r));
            } else {
                (z - a.z) / (b.z - a.z)
            };
            Some(a.r + (b.r - a.r) * t)
        })
        .reduce(f64::max)
}

/// The way's direction and point at a distance from its start, along the straight legs.
fn along(way: &[Vec3], distance: f64) -> Option<(Vec3, Vec3)> {
    let mut left = distance;
    for leg in way.windows(2) {
        let length = leg[0].distance(leg[1]);
        if left <= length + FLUSH_MM {
            let dir = (leg[1] - leg[0]) / length;
            return Some((leg[0] + dir * left, dir));
        }
        left -= length;
    }
    None
}

/// The section's u and v where a way sets out in this direction: v as near +z as it goes, +y if upright.
pub fn section_axes(dir: Vec3) -> (Vec3, Vec3) {
    let hint = if dir.cross(Vec3::Z).length() < 1e-6 {
        Vec3::Y
    } else {
        Vec3::Z
    };
    let v = (hint - dir * hint.dot(dir)).normalize();
    (dir.cross(v), v)
}

fn tunnel_face(t: &crate::drawing::feature::Tunnel, key: &FaceKey) -> Option<(Frame, FaceForm)> {
    let n = t.way.len();
    let end = |at: Vec3, out: Vec3| {
        let outer = if t.wall > 0.0 {
            t.inside.grown(t.wall).ok()
        } else {
            Some(t.inside.clone())
        };
        let extent = outer.filter(|o| o.as_disc().is_some());
        (Frame::facing(at, out, None), flat(extent))
    };
    match key {
        FaceKey::Start | FaceKey::Mouth if *key == FaceKey::Start => {
            Some(end(t.way[0], (t.way[0] - t.way[1]).normalize()))
        }
        FaceKey::End => Some(end(t.way[n - 1], (t.way[n - 1] - t.way[n - 2]).normalize())),
        FaceKey::Along(distance, deg) => {
            let (at, dir) = along(&t.way, *distance)?;
            let (u, v) = section_axes(dir);
            let (s, c) = sin_cos_deg(*deg);
            let out = v * c + u * s;
            let (centre, radius) = t.inside.as_disc()?;
            let radius = radius + t.wall;
            let origin = at + u * centre.x + v * centre.y + out * radius;
            let touch = Frame::facing(origin, out, None);
            let axis = touch.local_vector(dir);
            let axis = Vec2::new(axis.x, axis.y);
            Some((
                touch,
                FaceForm::Flat {
                    extent: None,
                    ground: Ground::Round { radius, axis },
                },
            ))
        }
        FaceKey::Wall => {
            let (_, radius) = t.inside.as_disc()?;
            let (frame, _) = end(t.way[0], (t.way[0] - t.way[1]).normalize());
            Some((
                frame,
                FaceForm::Round {
                    radius,
                    inward: true,
                },
            ))
        }
        FaceKey::Outside if t.wall > 0.0 => {
            let (_, radius) = t.inside.as_disc()?;
            let (frame, _) = end(t.way[0], (t.way[0] - t.way[1]).normalize());
            Some((
                frame,
                FaceForm::Round {
                    radius: radius + t.wall,
                    inward: false,
                },
            ))
        }
        _ => None,
    }
}
