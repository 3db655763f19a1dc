//! Gates, runners, sprues, feeders, ties: settled on their faces, or refused.

use crate::drawing::gating::{
    GateGiven, GateReach, GatingForm, GatingHandle, GatingPiece, RunnerWay, Seat, Section, TieEnd,
    Tree,
};
use crate::drawing::given::{FaceRef, Place, Spot, WayPoint};
use crate::drawing::part::{Part, Refusal};
use crate::fault::Site;
use crate::measure::{FLUSH_MM, Vec3};

impl Part {
    /// Adds a gate: one a place.
    ///
    /// # Errors
    /// The name is taken; the face isn't flat; `up_to` lies behind it or along it.
    pub fn gate(&mut self, given: GateGiven) -> Result<GatingHandle, Refusal> {
        self.check_name(&given.name)?;
        let seats = self.seats(&given.place, "on")?;
        let mut forms = Vec::new();
        for seat in seats {
            let reach = match (&given.up_to, given.length) {
                (Some(face), _) => self.gate_up_to(&seat, face)?,
                (None, length) => GateReach::Length(length.unwrap_or(0.0)),
            };
            forms.push(GatingForm::Gate {
                seat,
                section: given.section,
                reach,
            });
        }
        Ok(self.enter_gating(&given.name, "gate", &given.site, given.place.listed, forms))
    }

    /// Adds a feeder: one a place.
    ///
    /// # Errors
    /// As [`Part::gate`].
    pub fn feeder(&mut self, given: GateGiven) -> Result<GatingHandle, Refusal> {
        self.check_name(&given.name)?;
        let Section::Round { dia } = given.section else {
            return Err(Refusal::at("dia", "a feeder is round"));
        };
        let height = given.length.unwrap_or(0.0);
        let forms = self.seats(&given.place, "on")?;
        let forms = forms
            .into_iter()
            .map(|seat| GatingForm::Feeder { seat, dia, height })
            .collect();
        Ok(self.enter_gating(
            &given.name,
            "feeder",
            &given.site,
            given.place.listed,
            forms,
        ))
    }

    /// Adds a runner; `stepped` says that its sections are those of its stretches.
    ///
    /// # Errors
    /// The name is taken; a path without a length, or with several sections; `joins` names what is no gate, or one gate
    /// alone, or has more or fewer stretches than there are sections.
    pub fn runner(
        &mut self,
        name: &str,
        site: &Site,
        sections: Vec<Section>,
        stepped: bool,
        way: RunnerWay,
    ) -> Result<GatingHandle, Refusal> {
        self.check_name(name)?;
        let way = match way {
            RunnerWay::Path(_) if stepped => {
                return Err(Refusal::at("sizes", "a path has one section")
                    .hint("give its `size`, or lead it from gate to gate with `joins`"));
            }
            RunnerWay::Path(points) => {
                let still = |w: &[Vec3]| w[0].distance(w[1]) < FLUSH_MM;
                if points.len() < 2 {
                    return Err(Refusal::at("path", "a path takes two points or more"));
                }
                if points.windows(2).any(still) {
                    return Err(Refusal::at("path", "two points of the path are the same"));
                }
                RunnerWay::Path(points)
            }
            RunnerWay::Joins(names) => {
                let gates = self.gates_named(&names)?;
                let stretches = gates.len() * self.to_a_pour() - 1;
                if stepped && sections.len() != stretches {
                    let stretch = match stretches {
                        1 => "1 stretch".to_string(),
                        n => format!("{n} stretches"),
                    };
                    let text =
                        format!("it has {stretch} from stub to stub, not {}", sections.len());
                    return Err(Refusal::at("sizes", text));
                }
                RunnerWay::Joins(gates)
            }
        };
        let form = GatingForm::Runner { sections, way };
        Ok(self.enter_gating(name, "runner", site, false, vec![form]))
    }

    /// Adds a sprue.
    ///
    /// # Errors
    /// The name is taken; `on` is no runner and no single gate; `xy` without a runner.
    pub fn sprue(
        &mut self,
        name: &str,
        site: &Site,
        form: GatingForm,
    ) -> Result<GatingHandle, Refusal> {
        self.check_name(name)?;
        let GatingForm::Sprue { on, xy, .. } = &form else {
            return Err(Refusal::whole("a sprue is wanted"));
        };
        let found = self.gating.named(on);
        let told = |refusal: Refusal| refusal.hint(self.gating_names(&["runner", "gate"]));
        match found[..] {
            [one] => match &self.gating.pieces[one].form {
                GatingForm::Runner { .. } => {}
                GatingForm::Gate { .. } if xy.is_none() => {}
                GatingForm::Gate { .. } => {
                    return Err(Refusal::at(
                        "xy",
                        "a sprue on a gate stands at the gate's end",
                    ));
                }
                _ => {
                    let text = format!("\"{on}\" is neither a runner nor a gate");
                    return Err(told(Refusal::at("on", text)));
                }
            },
            [] => {
                let text = format!("no runner or gate is called \"{on}\"");
                return Err(told(Refusal::at("on", text)));
            }
            _ => {
                let text = format!("\"{on}\" is {} gates; a sprue stands on one", found.len());
                let hint =
                    format!("take one of them, such as \"{on}.1\", or join them by a runner");
                return Err(Refusal::at("on", text).hint(hint));
            }
        }
        Ok(self.enter_gating(name, "sprue", site, false, vec![form]))
    }

    /// Adds a tie.
    ///
    /// # Errors
    /// The name is taken; a face isn't flat; both ends are one place.
    pub fn tie(
        &mut self,
        name: &str,
        site: &Site,
        ends: [WayPoint; 2],
        section: Section,
    ) -> Result<GatingHandle, Refusal> {
        self.check_name(name)?;
        let [from, to] = ends;
        let ends = [self.tie_end(from, "from")?, self.tie_end(to, "to")?];
        let at = |end: &TieEnd| match end {
            TieEnd::Point(p) => *p,
            TieEnd::Seat(seat) => seat.frame.origin,
        };
        if at(&ends[0]).distance(at(&ends[1])) < FLUSH_MM {
            return Err(Refusal::at("to", "the tie starts and ends at one place"));
        }
        let form = GatingForm::Tie { ends, section };
        Ok(self.enter_gating(name, "tie", site, false, vec![form]))
    }

    /// Sets several patterns on one runner.
    ///
    /// # Errors
    /// The step is none.
    pub fn tree(&mut self, tree: Tree) -> Result<(), Refusal> {
        if let crate::drawing::gating::TreeLay::Step(step) = tree.lay
            && step.length() < FLUSH_MM
        {
            return Err(Refusal::at("step", "the patterns would lie in one another"));
        }
        self.gating.tree = Some(tree);
        Ok(())
    }

    fn tie_end(&self, end: WayPoint, key: &'static str) -> Result<TieEnd, Refusal> {
        Ok(match end {
            WayPoint::Xyz(p) => TieEnd::Point(p),
            WayPoint::OnFace(face, at) => {
                let place = Place {
                    on: Some(face),
                    spots: vec![Spot::Uv(at)],
                    listed: false,
                    turn_deg: 0.0,
                };
                let mut seats = self.seats(&place, key)?;
                match seats.pop() {
                    Some(seat) => TieEnd::Seat(seat),
                    None => return Err(Refusal::at(key, "no place is given")),
                }
            }
        })
    }

    fn seats(&self, place: &Place, key: &'static str) -> Result<Vec<Seat>, Refusal> {
        let frames = self.frames(place, key)?;
        let seat = |(frame, host): (_, Option<crate::drawing::feature::Host>)| Seat {
            host: host.and_then(|h| h.feature.map(|id| (id, h.key))),
            frame,
        };
        Ok(frames.into_iter().map(seat).collect())
    }

    fn gate_up_to(&self, seat: &Seat, face: &FaceRef) -> Result<GateReach, Refusal> {
        let plane = self.flat_face(face, "up_to")?.frame.plane();
        let toward = plane.normal.dot(seat.frame.z);
        if toward.abs() < 1e-3 {
            let text = "that face runs along the gate, which never meets it";
            return Err(Refusal::at("up_to", text));
        }
        let length = -plane.distance(seat.frame.origin) / toward;
        if length < FLUSH_MM {
            return Err(Refusal::at("up_to", "that face lies behind the gate's own")
                .hint("a gate goes outward from the face that it stands on"));
        }
        Ok(GateReach::UpTo(plane))
    }

    /// The names of the single gates that a list of names stands for, in its order.
    fn gates_named(&self, names: &[String]) -> Result<Vec<String>, Refusal> {
        let mut gates = Vec::new();
        for name in names {
            let found = self.gating.named(name);
            let all_gates = found
                .iter()
                .all(|&i| matches!(self.gating.pieces[i].form, GatingForm::Gate { .. }));
            if found.is_empty() || !all_gates {
                let text = format!("no gate is called \"{name}\"");
                return Err(Refusal::at("joins", text).hint(self.gating_names(&["gate"])));
            }
            for i in found {
                let name = self.gating.pieces[i].name.clone();
                if gates.contains(&name) {
                    return Err(Refusal::at("joins", format!("\"{name}\" is joined twice")));
                }
                gates.push(name);
            }
        }
        if gates.len() + self.gating.tree.as_ref().map_or(0, |t| t.copies) < 2 {
            return Err(Refusal::at("joins", "a runner joins two gates or more")
                .hint("a sprue can stand on a gate itself: sprue(\"s\", #{ on: gate, … })"));
        }
        Ok(gates)
    }

    fn gating_names(&self, words: &[&str]) -> String {
        let names: Vec<&str> = self
            .gating
            .pieces
            .iter()
            .filter(|p| words.contains(&p.word))
            .map(|p| p.name.as_str())
            .collect();
        if names.is_empty() {
            format!("no {} is made yet; say it before", words.join(" or "))
        } else {
            format!("so far there are {}", names.join(", "))
        }
    }

    fn enter_gating(
        &mut self,
        name: &str,
        word: &'static str,
        site: &Site,
        listed: bool,
        forms: Vec<GatingForm>,
    ) -> GatingHandle {
        for (i, form) in forms.into_iter().enumerate() {
            self.gating.pieces.push(GatingPiece {
                name: if listed {
                    format!("{name}.{}", i + 1)
                } else {
                    name.to_string()
                },
                group: name.to_string(),
                word,
                site: site.clone(),
                form,
            });
        }
        GatingHandle {
            name: name.to_string(),
        }
    }
}
