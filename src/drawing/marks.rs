//! Finish marks: which surface of which body each one moves.

use std::collections::BTreeMap;

use crate::drawing::face::key_text;
use crate::drawing::feature::{FaceForm, Form, Groove};
use crate::drawing::given::{FaceKey, FaceRef, FeatureId};
use crate::drawing::part::{Mark, Part, Refusal, StockRule};
use crate::fault::Fault;
use crate::measure::{FLUSH_MM, Plane};

/// A surface of a feature that stock can move.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Slot {
    /// The free end.
    Top,
    /// The foot.
    Bottom,
    /// All of the sides of a round body.
    Outside,
    /// One flat side, by its place (loop, vertex) in the outline; of a body or of a pocket.
    Side(usize, usize),
    /// The whole wall of an opening.
    Wall,
    /// The floor of an opening.
    Floor,
    /// The shoulder of a counterbore.
    Shoulder,
    /// The start of a tunnel.
    Start,
    /// The end of a tunnel.
    End,
    /// A run of a turned profile, by its first vertex.
    Run(usize),
}

/// Marked surfaces, each with the amount given for it (`None` takes the part's rule). Ordered by feature, then slot.
pub type Marked = BTreeMap<(FeatureId, Slot), Option<f64>>;

impl Part {
    /// Puts a finish mark on a face (of every instance of its handle), or on a level.
    ///
    /// # Errors
    /// A face that the feature doesn't have, or one that can't take stock.
    pub fn mark(&mut self, mark: Mark) -> Result<(), Refusal> {
        match &mark.face {
            FaceRef::Of(handle, key) => {
                for &id in &handle.ids {
                    self.slot(id, key)?;
                }
            }
            FaceRef::Level(_) => {}
            FaceRef::Free { .. } => {
                return Err(Refusal::whole(
                    "a free face belongs to no feature and can't be marked",
                )
                .hint("mark a feature's own face, or level(z)"));
            }
        }
        self.marks.push(mark);
        Ok(())
    }

    /// The surface that a face's stock moves.
    ///
    /// # Errors
    /// The feature doesn't have the face, or stock can't be put there.
    pub fn slot(&self, id: FeatureId, key: &FaceKey) -> Result<Slot, Refusal> {
        let feature = &self.features[id];
        self.face_of(id, key)?;
        let side = |outline: &crate::drawing::outline::Outline, deg: f64| {
            outline
                .flat_toward(deg)
                .map(|f| Slot::Side(f.place.0, f.place.1))
        };
        let slot = match (&feature.form, key) {
            (Form::Raised(r), FaceKey::Side(deg)) => side(&r.outline, *deg),
            (Form::Flange(f), FaceKey::Side(deg)) => side(&f.outline, *deg),
            (Form::Pocket(p), FaceKey::Side(deg)) => side(&p.outline, *deg),
            (Form::Turned(t), FaceKey::Named(name)) => t
                .profile
                .iter()
                .position(|p| p.face.as_deref() == Some(name))
                .map(Slot::Run),
            (Form::Turned(t), FaceKey::Top | FaceKey::Bottom | FaceKey::Floor) => {
                let up = matches!(key, FaceKey::Top) || matches!(key, FaceKey::Floor) == t.adds;
                end_run(t, up).map(Slot::Run)
            }
            (Form::Turned(t), FaceKey::Outside | FaceKey::Wall) => widest_run(t).map(Slot::Run),
            (Form::Groove(Groove::Flat { .. }), FaceKey::Floor) => Some(Slot::Floor),
            (Form::Groove(_), _) => None,
            (Form::Hollow(_) | Form::Rib(_), FaceKey::Side(_)) => None,
            (_, FaceKey::Top) => Some(Slot::Top),
            (_, FaceKey::Bottom) => Some(Slot::Bottom),
            (_, FaceKey::Outside) => Some(Slot::Outside),
            (_, FaceKey::Wall) => Some(Slot::Wall),
            (_, FaceKey::Floor) => Some(Slot::Floor),
            (_, FaceKey::Shoulder) => Some(Slot::Shoulder),
            (_, FaceKey::Start) => Some(Slot::Start),
            (_, FaceKey::End) => Some(Slot::End),
            _ => None,
        };
        slot.ok_or_else(|| {
            Refusal::whole(format!(
                "{}{} can't take a finish mark",
                feature.name,
                key_text(key)
            ))
            .hint("mark the face that it opens at, or the flat side itself")
        })
    }

    /// Every marked surface, levels and flange mouths resolved.
    pub fn marked(&self) -> Marked {
        let mut marked = Marked::new();
        for mark in &self.marks {
            match &mark.face {
                FaceRef::Of(handle, key) => {
                    for &id in &handle.ids {
                        if let Ok(slot) = self.slot(id, key) {
                            self.put(&mut marked, id, slot, mark.stock_mm);
                        }
                    }
                }
                FaceRef::Level(z) => {
                    for (id, slot, plane) in self.flat_slots() {
                        let level = plane.normal.z.abs() > 1.0 - 1e-9
                            && (plane.offset * plane.normal.z - z).abs() < FLUSH_MM;
                        if level {
                            self.put(&mut marked, id, slot, mark.stock_mm);
                        }
                    }
                }
                FaceRef::Free { .. } => {}
            }
        }
        marked
    }

    /// A flange's outer side and the mouth that it lies at are one face.
    fn put(&self, marked: &mut Marked, id: FeatureId, slot: Slot, stock: Option<f64>) {
        marked.insert((id, slot), stock);
        let twin = match (&self.features[id].form, slot) {
            (Form::Flange(_), Slot::Top) => self.features[id].host.as_ref().and_then(|h| {
                let slot = match h.key {
                    FaceKey::Start => Slot::Start,
                    FaceKey::End => Slot::End,
                    _ => return None,
                };
                Some((h.feature?, slot))
            }),
            (Form::Tunnel(_), Slot::Start | Slot::End) => {
                let key = if slot == Slot::Start {
                    FaceKey::Start
                } else {
                    FaceKey::End
                };
                self.features
                    .iter()
                    .position(|f| {
                        matches!(f.form, Form::Flange(_))
                            && f.host
                                .as_ref()
                                .is_some_and(|h| h.feature == Some(id) && h.key == key)
                    })
                    .map(|flange| (flange, Slot::Top))
            }
            _ => None,
        };
        if let Some(twin) = twin {
            marked.insert(twin, stock);
        }
    }

    /// Every flat end, foot, floor and shoulder with its plane (normal out of the metal).
    pub fn flat_slots(&self) -> Vec<(FeatureId, Slot, Plane)> {
        let mut out = Vec::new();
        for id in 0..self.features.len() {
            let turned_names: Vec<FaceKey> = match &self.features[id].form {
                Form::Turned(t) => t
                    .profile
                    .iter()
                    .filter_map(|p| p.face.clone())
                    .map(FaceKey::Named)
                    .collect(),
                _ => Vec::new(),
            };
            let sides = [0.0, 90.0, 180.0, 270.0].map(FaceKey::Side);
            let keys = [
                FaceKey::Top,
                FaceKey::Bottom,
                FaceKey::Floor,
                FaceKey::Shoulder,
                FaceKey::Start,
                FaceKey::End,
            ];
            for key in keys.into_iter().chain(sides).chain(turned_names) {
                let Ok(face) = self.face_of(id, &key) else {
                    continue;
                };
                let FaceForm::Flat { .. } = face.form else {
                    continue;
                };
                if let Ok(slot) = self.slot(id, &key)
                    && !out.iter().any(|(i, s, _)| (*i, *s) == (id, slot))
                {
                    out.push((id, slot, face.frame.plane()));
                }
            }
        }
        out
    }

    /// Faults that only show once the whole script has been read: names in `fills`, `meets` and `allow`,
    /// marks without any amount, a part without a name or a feature.
    pub fn settle(&self) -> Vec<Fault> {
        let mut faults = Vec::new();
        if self.name.is_empty() {
            faults.push(
                Fault::new("the script names no part").hint("start it with part(\"its name\")"),
            );
        }
        for feature in &self.features {
            for (key, names) in [("fills", &feature.fills), ("meets", &feature.meets)] {
                for name in names.iter().filter(|n| self.named(n).is_empty()) {
                    faults.push(
                        Fault::new(format!(
                            "`{key}` of {} names \"{name}\", which no feature is called",
                            feature.name
                        ))
                        .from_site(&feature.site),
                    );
                }
            }
        }
        let unknown = |n: &str| self.named(n).is_empty() && self.gating.named(n).is_empty();
        for allow in &self.allows {
            let vessel = self.gating.vessel(&allow.code);
            let named = |n: &&String| !unknown(n) || vessel == Some(n.as_str());
            for name in allow.features.iter().filter(|n| !named(n)) {
                let fault = Fault::new(format!(
                    "allow names \"{name}\", which no feature is called"
                ))
                .from_site(&allow.site);
                faults.push(match vessel {
                    Some(vessel) => fault.hint(format!("this finding is about \"{vessel}\"")),
                    None => fault,
                });
            }
        }
        faults.extend(self.unknown_in_splits());
        if self.stock == StockRule::None {
            for mark in self.marks.iter().filter(|m| m.stock_mm.is_none()) {
                faults.push(
                    Fault::new("this mark gives no amount, and the script sets none")
                        .hint("say stock(2.5) or stock_grade(\"G\", \"CT11\") for all marks, or finish(face, 3) for this one")
                        .from_site(&mark.site),
                );
            }
        }
        faults
    }
}

/// The run of a turned profile that makes its flat end: the highest that looks up, or the lowest that looks down.
fn end_run(t: &crate::drawing::feature::Turned, up: bool) -> Option<usize> {
    let n = t.profile.len();
    let flat = (0..n).filter(|&i| {
        let (a, b) = (&t.profile[i], &t.profile[(i + 1) % n]);
        a.bulge == 0.0 && (a.z - b.z).abs() < FLUSH_MM && (if up { b.r < a.r } else { b.r > a.r })
    });
    if up {
        flat.max_by(|&a, &b| t.profile[a].z.total_cmp(&t.profile[b].z))
    } else {
        flat.min_by(|&a, &b| t.profile[a].z.total_cmp(&t.profile[b].z))
    }
}

/// The upright run of greatest radius.
fn widest_run(t: &crate::drawing::feature::Turned) -> Option<usize> {
    let n = t.profile.len();
    (0..n)
        .filter(|&i| {
            let (a, b) = (&t.profile[i], &t.profile[(i + 1) % n]);
            a.bulge == 0.0 && (a.r - b.r).abs() < FLUSH_MM && (a.z - b.z).abs() > FLUSH_MM
        })
        .max_by(|&a, &b| t.profile[a].r.total_cmp(&t.profile[b].r))
}
