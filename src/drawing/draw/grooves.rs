//! Grooves: on flat faces, round and along round walls.

use crate::drawing::feature::{FaceForm, FlatRun, Form, Groove};
use crate::drawing::given::{GrooveGiven, GrooveRun, GrooveSection, Handle};
use crate::drawing::outline::Outline;
use crate::drawing::part::{Part, Refusal};
use crate::measure::FLUSH_MM;

impl Part {
    /// Adds a `groove`.
    ///
    /// # Errors
    /// A taken name, a face that is neither flat nor round where it must be, a section that doesn't run from
    /// the surface down and back, one that is wider than its ring.
    pub fn groove(&mut self, given: GrooveGiven) -> Result<Handle, Refusal> {
        self.check_name(&given.head.name)?;
        check_section(&given.section)?;
        match &given.run {
            GrooveRun::Along(_) | GrooveRun::Round(_) => self.flat_groove(given),
            GrooveRun::Ring(_) | GrooveRun::Lengthwise { .. } => self.round_groove(given),
        }
    }

    fn flat_groove(&mut self, given: GrooveGiven) -> Result<Handle, Refusal> {
        let width = given.section.mouth_width();
        let run = match &given.run {
            GrooveRun::Along(points) => {
                Outline::stroke(points, width)
                    .map_err(|e| Refusal::at("along", e.text(self.unit)))?;
                if !symmetric(&given.section) {
                    return Err(Refusal::at(
                        "section",
                        "along open points the section must be alike left and right",
                    )
                    .hint("a lopsided section runs along an outline, round and closed"));
                }
                FlatRun::Along(points.clone())
            }
            GrooveRun::Round(outline) => {
                if outline.grown(-width / 2.0).is_err() {
                    return Err(Refusal::at(
                        "along",
                        format!(
                            "a groove {} wide doesn't leave a middle in that outline",
                            self.unit.show(width)
                        ),
                    ));
                }
                FlatRun::Round(outline.clone())
            }
            _ => unreachable!("round grooves are drawn elsewhere"),
        };
        let forms = self
            .frames(&given.place, "into")?
            .into_iter()
            .map(|(frame, host)| {
                (
                    frame,
                    host,
                    Form::Groove(Groove::Flat {
                        run: run.clone(),
                        section: given.section.clone(),
                    }),
                )
            })
            .collect();
        self.enter(&given.head, given.place.listed, given.cored, forms)
    }

    fn round_groove(&mut self, given: GrooveGiven) -> Result<Handle, Refusal> {
        let key = if matches!(given.run, GrooveRun::Ring(_)) {
            "ring"
        } else {
            "lengthwise"
        };
        let Some(reference) = &given.place.on else {
            return Err(Refusal::at(
                "into",
                format!("`{key}` needs the round wall that it is cut into"),
            ));
        };
        let face = self.face(reference).map_err(|r| Refusal {
            key: Some("into"),
            ..r
        })?;
        let FaceForm::Round { radius, inward } = face.form else {
            return Err(Refusal::at(
                "into",
                format!("`{key}` goes into a round wall; that face isn't round"),
            ));
        };
        if !inward && given.section.depth() >= radius {
            return Err(Refusal::at("depth", "it is as deep as the body is thick"));
        }
        let form = match given.run {
            GrooveRun::Ring(distance) => {
                if distance - given.section.mouth_width() / 2.0 < -FLUSH_MM {
                    return Err(Refusal::at(
                        "ring",
                        "the groove breaks out at the mouth; `ring` is the distance to its middle",
                    ));
                }
                Groove::Ring {
                    radius,
                    distance,
                    outward: inward,
                    section: given.section.clone(),
                }
            }
            GrooveRun::Lengthwise { deg, length } => {
                let GrooveSection::Plain { width, depth } = given.section else {
                    return Err(Refusal::at("section", "a keyway has a width and a depth"));
                };
                if width >= 2.0 * radius {
                    return Err(Refusal::at(
                        "width",
                        "the keyway is wider than its wall is round",
                    ));
                }
                Groove::Keyway {
                    radius,
                    deg,
                    length,
                    outward: inward,
                    width_depth: (width, depth),
                }
            }
            _ => unreachable!("flat grooves are drawn elsewhere"),
        };
        let (frame, host) = (face.frame, Some(face.as_host()));
        self.enter(
            &given.head,
            false,
            given.cored,
            vec![(frame, host, Form::Groove(form))],
        )
    }
}

/// A section must start and end at the surface and go down between.
fn check_section(section: &GrooveSection) -> Result<(), Refusal> {
    let GrooveSection::Points(points) = section else {
        return Ok(());
    };
    let wrong = |text: &str| {
        Err(Refusal::at("section", text.to_string())
            .hint("write [[across, down], …] from one lip at the surface (down = 0) to the other"))
    };
    let [first, .., last] = points.as_slice() else {
        return wrong("a section needs three points or more");
    };
    if points.len() < 3 {
        return wrong("a section needs three points or more");
    }
    if first.y.abs() > FLUSH_MM || last.y.abs() > FLUSH_MM {
        return wrong("a section starts and ends at the surface");
    }
    if points.iter().any(|p| p.y < -FLUSH_MM) {
        return wrong("a section lies below the surface: no `down` is negative");
    }
    let deepest = points.iter().map(|p| p.y).fold(0.0, f64::max);
    let turn = points
        .iter()
        .position(|p| p.y >= deepest - FLUSH_MM)
        .unwrap_or(0);
    let falls = points[..=turn]
        .windows(2)
        .all(|w| w[1].y >= w[0].y - FLUSH_MM);
    let rises = points[turn..]
        .windows(2)
        .all(|w| w[1].y <= w[0].y + FLUSH_MM);
    if !falls || !rises || deepest < FLUSH_MM {
        return wrong("a section goes down to its floor once, and back up");
    }
    Ok(())
}

fn symmetric(section: &GrooveSection) -> bool {
    let GrooveSection::Points(points) = section else {
        return true;
    };
    let n = points.len();
    (0..n).all(|i| {
        let (a, b) = (points[i], points[n - 1 - i]);
        (a.x + b.x).abs() < FLUSH_MM && (a.y - b.y).abs() < FLUSH_MM
    })
}
