//! Mirrored copies.
//!
//! A copy is drawn anew in a right-handed frame: its frame is reflected and its own x (or y) turned over, so that
//! places, sides and angles on the copy read like those of any feature.

use crate::drawing::feature::{FlatRun, Form, Groove, Ground, Host, TurnedPoint};
use crate::drawing::given::FaceRef;
use crate::drawing::given::{FeatureId, GrooveSection, Handle, MirroredGiven};
use crate::drawing::outline::Outline;
use crate::drawing::part::{Mark, Part, Refusal};
use crate::measure::{Frame, Plane, Vec2, Vec3};

/// How one copy is turned over.
struct Flip {
    across_x: bool,
    /// The copy's own x is turned over; else its own y.
    local_x: bool,
}

impl Part {
    /// Repeats features across the plane x = 0 (or y = 0) of the part; copies are named `name.ORIGINAL`.
    ///
    /// # Errors
    /// A taken name, or nothing to mirror.
    pub fn mirrored(&mut self, given: MirroredGiven) -> Result<Handle, Refusal> {
        self.check_name(&given.name)?;
        let originals: Vec<FeatureId> = given
            .of
            .iter()
            .flat_map(|h| h.ids.iter().copied())
            .collect();
        if originals.is_empty() {
            return Err(Refusal::whole("there is nothing to mirror"));
        }
        let first = self.features.len();
        let copy_of = |id: FeatureId| {
            originals
                .iter()
                .position(|&o| o == id)
                .map_or(id, |i| first + i)
        };
        let names: Vec<(String, String)> = originals
            .iter()
            .map(|&id| {
                (
                    self.features[id].name.clone(),
                    self.features[id].group.clone(),
                )
            })
            .collect();
        let renamed = |name: &String| {
            if names.iter().any(|(n, g)| n == name || g == name) {
                format!("{}.{name}", given.name)
            } else {
                name.clone()
            }
        };
        for &id in &originals {
            let mut copy = self.features[id].clone();
            copy.name = format!("{}.{}", given.name, copy.name);
            if self.find(&copy.name).is_some() {
                return Err(Refusal::whole(format!(
                    "the name \"{}\" is used twice",
                    copy.name
                )));
            }
            copy.group = format!("{}.{}", given.name, copy.group);
            copy.site = given.site.clone();
            let flip = Flip {
                across_x: given.across_x,
                local_x: given.across_x || copy.frame.z.z.abs() < 0.999,
            };
            copy.frame = flip.frame(&copy.frame);
            copy.host = copy.host.map(|h| flip.host(h, &copy_of));
            copy.fills = copy.fills.iter().map(renamed).collect();
            copy.meets = copy.meets.iter().map(renamed).collect();
            copy.form = flip.form(copy.form, &copy_of);
            self.features.push(copy);
        }
        self.mirror_marks(&originals, first, given.across_x);
        let ids = (first..self.features.len()).collect();
        Ok(Handle {
            name: given.name,
            ids,
        })
    }

    /// Marks on an original's faces are put on the copy's.
    fn mirror_marks(&mut self, originals: &[FeatureId], first: FeatureId, across_x: bool) {
        let mut marks = Vec::new();
        for mark in &self.marks {
            let FaceRef::Of(handle, key) = &mark.face else {
                continue;
            };
            let ids: Vec<FeatureId> = handle
                .ids
                .iter()
                .filter_map(|id| originals.iter().position(|o| o == id))
                .map(|i| first + i)
                .collect();
            if ids.is_empty() {
                continue;
            }
            let key = mirrored_key(key, across_x, &self.features[ids[0]].frame);
            let name = self.features[ids[0]].group.clone();
            marks.push(Mark {
                face: FaceRef::Of(Handle { name, ids }, key),
                ..mark.clone()
            });
        }
        self.marks.extend(marks);
    }
}

/// The face of a copy that a face of the original turned into.
fn mirrored_key(
    key: &crate::drawing::given::FaceKey,
    across_x: bool,
    frame: &Frame,
) -> crate::drawing::given::FaceKey {
    use crate::drawing::given::FaceKey;
    let local_x = across_x || frame.z.z.abs() < 0.999;
    let turn = |deg: f64| if local_x { 180.0 - deg } else { -deg };
    match key {
        FaceKey::Side(deg) => FaceKey::Side(turn(*deg)),
        FaceKey::Around(deg, up) => FaceKey::Around(turn(*deg), *up),
        other => other.clone(),
    }
}

impl Flip {
    fn point(&self, p: Vec3) -> Vec3 {
        if self.across_x {
            Vec3::new(-p.x, p.y, p.z)
        } else {
            Vec3::new(p.x, -p.y, p.z)
        }
    }

    fn frame(&self, f: &Frame) -> Frame {
        let (x, y) = (self.point(f.x), self.point(f.y));
        let (x, y) = if self.local_x { (-x, y) } else { (x, -y) };
        Frame {
            origin: self.point(f.origin),
            x,
            y,
            z: self.point(f.z),
        }
    }

    fn flat(&self, p: Vec2) -> Vec2 {
        if self.local_x {
            Vec2::new(-p.x, p.y)
        } else {
            Vec2::new(p.x, -p.y)
        }
    }

    fn outline(&self, o: &Outline) -> Outline {
        if self.local_x {
            o.mirrored_x()
        } else {
            o.mirrored_y()
        }
    }

    fn plane(&self, p: &Plane) -> Plane {
        Plane {
            normal: self.point(p.normal),
            offset: p.offset,
        }
    }

    fn host(&self, host: Host, copy_of: &dyn Fn(FeatureId) -> FeatureId) -> Host {
        let feature = host.feature.map(copy_of);
        let follows = feature != host.feature;
        let key = if follows {
            mirrored_key(&host.key, self.across_x, &host.frame)
        } else {
            host.key.clone()
        };
        let ground = match host.ground {
            Ground::Round { radius, axis } => Ground::Round {
                radius,
                axis: self.flat(axis),
            },
            other => other,
        };
        Host {
            feature,
            key,
            frame: self.frame(&host.frame),
            ground,
            extent: host.extent.map(|o| self.outline(&o)),
        }
    }

    fn form(&self, form: Form, copy_of: &dyn Fn(FeatureId) -> FeatureId) -> Form {
        match form {
            Form::Raised(mut r) => {
                r.outline = self.outline(&r.outline);
                r.up_to = r.up_to.map(|p| self.plane(&p));
                Form::Raised(r)
            }
            Form::Flange(mut f) => {
                f.outline = self.outline(&f.outline);
                f.neck = f.neck.map(|o| self.outline(&o));
                f.bolts = f.bolts.iter().map(|&b| self.flat(b)).collect();
                Form::Flange(f)
            }
            Form::Rib(mut r) => {
                r.path = r.path.iter().map(|&p| self.flat(p)).collect();
                Form::Rib(r)
            }
            Form::Tunnel(mut t) => {
                t.way = t.way.iter().map(|&p| self.point(p)).collect();
                t.ends = t.ends.map(|end| end.map(|h| self.host(h, copy_of)));
                t.flip_u = !t.flip_u;
                Form::Tunnel(t)
            }
            Form::Turned(mut t) => {
                t.profile = t.profile.iter().map(TurnedPoint::clone).collect();
                Form::Turned(t)
            }
            Form::Bore(mut b) => {
                b.depth = self.depth(b.depth, copy_of);
                Form::Bore(b)
            }
            Form::Pocket(mut p) => {
                p.outline = self.outline(&p.outline);
                p.depth = self.depth(p.depth, copy_of);
                Form::Pocket(p)
            }
            Form::Groove(g) => Form::Groove(self.groove(g)),
            Form::Hollow(mut h) => {
                h.of = copy_of(h.of);
                Form::Hollow(h)
            }
        }
    }

    fn depth(
        &self,
        depth: crate::drawing::feature::Depth,
        copy_of: &dyn Fn(FeatureId) -> FeatureId,
    ) -> crate::drawing::feature::Depth {
        use crate::drawing::feature::Depth;
        match depth {
            Depth::To {
                plane,
                leaves,
                face,
                depth,
            } => Depth::To {
                plane: self.plane(&plane),
                leaves,
                face: face.map(|(id, key)| {
                    let key = if copy_of(id) == id {
                        key
                    } else {
                        mirrored_key(&key, self.across_x, &Frame::PART)
                    };
                    (copy_of(id), key)
                }),
                depth,
            },
            Depth::Into {
                opening,
                depth,
                middle,
            } => Depth::Into {
                opening: copy_of(opening),
                depth,
                middle,
            },
            other => other,
        }
    }

    fn groove(&self, groove: Groove) -> Groove {
        match groove {
            Groove::Flat { run, section } => Groove::Flat {
                run: match run {
                    FlatRun::Along(points) => {
                        FlatRun::Along(points.iter().map(|&p| self.flat(p)).collect())
                    }
                    FlatRun::Round(o) => FlatRun::Round(self.outline(&o)),
                },
                section,
            },
            Groove::Keyway {
                radius,
                deg,
                length,
                outward,
                width_depth,
            } => {
                let deg = if self.local_x { 180.0 - deg } else { -deg };
                Groove::Keyway {
                    radius,
                    deg,
                    length,
                    outward,
                    width_depth,
                }
            }
            ring @ Groove::Ring {
                section: GrooveSection::Plain { .. } | GrooveSection::Points(_),
                ..
            } => ring,
        }
    }
}
