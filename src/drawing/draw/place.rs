//! Places on faces, unique names, and the settling of common keys.

use crate::drawing::feature::{Face, FaceForm, Feature, Form, Ground, Host};
use crate::drawing::foam::unlocatable;
use crate::drawing::given::{FaceKey, Handle, Head, Place, Spot, Trim};
use crate::drawing::outline::Outline;
use crate::drawing::part::{Part, Refusal};
use crate::measure::{Bounds, Frame, Vec2, Vec3};

impl Part {
    /// Refuses a name that is taken, by a feature or by a group of instances.
    pub(super) fn check_name(&self, name: &str) -> Result<(), Refusal> {
        if name.is_empty() {
            return Err(Refusal::whole("a feature needs a name"));
        }
        match self
            .features
            .iter()
            .find(|f| f.name == name || f.group == name)
        {
            None => Ok(()),
            Some(taken) => Err(Refusal::whole(format!("the name \"{name}\" is used twice"))
                .hint(format!("first used at {}", taken.site.script()))),
        }?;
        let gating = self.gating.named(name);
        match gating.first().map(|&i| &self.gating.pieces[i]) {
            None => Ok(()),
            Some(taken) => Err(
                Refusal::at("name", format!("the name \"{name}\" is used twice"))
                    .hint(format!("first used at {}", taken.site.script())),
            ),
        }
    }

    /// Refuses a loose piece that stands on nothing.
    pub(super) fn check_loose(&self, head: &Head, place: &Place) -> Result<(), Refusal> {
        if head.loose && place.on.is_none() {
            let text =
                "a loose piece is glued to the face that it stands on, and this one names none";
            return Err(Refusal::at("loose", text).hint("give `on:`, or leave `loose` out"));
        }
        Ok(())
    }

    /// The frames of a place: one for each spot, with the host that each stands on.
    pub(super) fn frames(
        &self,
        place: &Place,
        key: &'static str,
    ) -> Result<Vec<(Frame, Option<Host>)>, Refusal> {
        let face = match &place.on {
            None => None,
            Some(reference) => Some(self.flat_face(reference, key)?),
        };
        let base = face.as_ref().map_or(Frame::PART, |f| f.frame);
        let host = face.as_ref().map(Face::as_host);
        let spots: &[Spot] = if place.spots.is_empty() {
            &[Spot::Uv(Vec2::ZERO)]
        } else {
            &place.spots
        };
        Ok(spots
            .iter()
            .map(|spot| {
                let frame = base.moved(on_face(&base, *spot)).turned(place.turn_deg);
                let host = host.clone().map(|h| match place.on {
                    Some(crate::drawing::given::FaceRef::Level(_)) => {
                        self.host_at_level(h, frame.origin)
                    }
                    _ => h,
                });
                (frame, host)
            })
            .collect())
    }

    /// A face that must be flat.
    pub(super) fn flat_face(
        &self,
        reference: &crate::drawing::given::FaceRef,
        key: &'static str,
    ) -> Result<Face, Refusal> {
        let face = self.face(reference).map_err(|r| Refusal {
            key: Some(key),
            ..r
        })?;
        if !matches!(face.form, FaceForm::Flat { .. }) {
            let name = face
                .feature
                .map_or(String::new(), |id| self.features[id].name.clone());
            let what = crate::drawing::face::key_text(&face.key);
            let refusal = Refusal::at(key, format!("{name}{what} isn't flat"));
            return Err(match face.key {
                FaceKey::Outside => {
                    refusal.hint(format!("{name}.around(deg, up) is a plane that touches it"))
                }
                FaceKey::Wall => refusal.hint(format!(
                    "{name}.side(\"left\") or .floor may be what you mean"
                )),
                _ => refusal,
            });
        }
        Ok(face)
    }

    /// Adds the instances and gives their handle.
    ///
    /// # Errors
    /// A loose one can't be kept in place as it is asked for.
    pub(super) fn enter(
        &mut self,
        head: &Head,
        listed: bool,
        cored: Option<bool>,
        forms: Vec<(Frame, Option<Host>, Form)>,
    ) -> Result<Handle, Refusal> {
        for (_, host, form) in &forms {
            if let Some(no) = unlocatable(&head.located, form, host.as_ref()) {
                let key = if no.pegs { "loose.peg" } else { "loose.recess" };
                return Err(no.at(key));
            }
        }
        let first = self.features.len();
        for (i, (frame, host, form)) in forms.into_iter().enumerate() {
            let name = if listed {
                format!("{}.{}", head.name, i + 1)
            } else {
                head.name.clone()
            };
            self.features.push(Feature {
                name,
                group: head.name.clone(),
                word: head.word,
                site: head.site.clone(),
                frame,
                host,
                fills: head.fills.clone(),
                meets: head.meets.clone(),
                loose: head.loose,
                located: head.located.clone(),
                hole: head.hole,
                cored,
                form,
            });
        }
        Ok(Handle {
            name: head.name.clone(),
            ids: (first..self.features.len()).collect(),
        })
    }

    /// The foot fillet, settled: the part's default where the feature stands on another and names none.
    pub(super) fn settle_trim(&self, trim: &Trim, stands: bool) -> Trim {
        let fillet = trim
            .fillet
            .unwrap_or(if stands { self.fillets_mm } else { 0.0 });
        Trim {
            fillet: Some(fillet),
            ..trim.clone()
        }
    }

    /// The box round everything drawn so far.
    pub fn bounds(&self) -> Bounds {
        self.features
            .iter()
            .fold(Bounds::EMPTY, |b, f| b.joined(f.bounds()))
    }
}

/// Where a spot lies in a face's u and v.
pub(super) fn on_face(face: &Frame, spot: Spot) -> Vec2 {
    let project = |p: Vec3| {
        let local = face.local(p);
        Vec2::new(local.x, local.y)
    };
    match spot {
        Spot::Uv(at) => at,
        Spot::Xyz(p) => project(p),
        // Straight up or down onto the face; on an upright face squarely, at the height of its origin.
        Spot::Xy(p) if face.z.z.abs() > 1e-6 => {
            let z = face.origin.z
                - (face.z.x * (p.x - face.origin.x) + face.z.y * (p.y - face.origin.y)) / face.z.z;
            project(p.extend(z))
        }
        Spot::Xy(p) => project(p.extend(face.origin.z)),
    }
}

/// Refuses a footprint that lies wholly beside the flat face it stands on.
pub(super) fn check_hit(
    frame: &Frame,
    host: &Option<Host>,
    outline: &Outline,
    key: &'static str,
    name: &str,
) -> Result<(), Refusal> {
    let Some(host) = host else { return Ok(()) };
    let (Some(extent), Ground::Flat) = (&host.extent, host.ground) else {
        return Ok(());
    };
    let foot = seen_from(frame, &host.frame, outline);
    if extent.common(&foot).is_ok() {
        return Ok(());
    }
    let (low, high) = extent.bounds();
    Err(
        Refusal::at(key, format!("{name} misses the face that it stands on")).hint(format!(
            "that face reaches from [{}, {}] to [{}, {}] (mm) in its own u and v",
            round(low.x),
            round(low.y),
            round(high.x),
            round(high.y)
        )),
    )
}

fn round(x: f64) -> f64 {
    (x * 100.0).round() / 100.0
}

/// An outline of one frame in the plan of another with the same plane (turned and shifted).
pub(crate) fn seen_from(frame: &Frame, other: &Frame, outline: &Outline) -> Outline {
    let origin = other.local(frame.origin);
    let x = other.local_vector(frame.x);
    let y = other.local_vector(frame.y);
    let mirrored = x.x * y.y - x.y * y.x < 0.0;
    let outline = if mirrored {
        outline.mirrored_y()
    } else {
        outline.clone()
    };
    outline
        .turn(x.y.atan2(x.x).to_degrees())
        .at(origin.x, origin.y)
}
