//! A solid that bodies are added to and pieces are cut out of, one after another, by local booleans.

use rustc_hash::FxHashMap;
use std::sync::Arc;

use crate::drawing::body::Act;
use crate::drawing::given::FeatureId;
use crate::measure::{Bounds, Vec3};
use crate::solid::kernel::SolidFault;
use crate::solid::local::mesh::{Mark, Record, Taken, appended, mesh_of};
use crate::solid::local::patch::Patch;
use crate::solid::local::plain::plain;
use crate::solid::local::run::{step_onto, step_out_of};
use crate::solid::local::store::Store;
use crate::solid::{Evaluated, Memo, Ready, Shell, Solid, Step};

/// The number that the solid itself goes by among the owners of triangles; cuts are numbered from 0.
const BASE: u32 = u32::MAX;

/// A solid under work. Triangles keep their features, those of a cut or of an added body get its own.
#[derive(Debug, Clone)]
pub struct Workpiece {
    store: Store,
    /// What it was cut by or got added, in order.
    bodies: Vec<Ready>,
    volume_mm3: f64,
}

impl Workpiece {
    /// A solid to work on, with room for bodies within `around`. It has to be closed, and its features have to be numbers
    /// under 2³¹.
    ///
    /// # Errors
    /// The kernel refused the solid.
    pub fn of(solid: &Solid, around: &Bounds) -> Result<Workpiece, SolidFault> {
        let mut store = Store::new(&solid.bounds().joined(*around));
        let record = match plain(solid, store.tolerance) {
            Some(record) => record,
            None => mended(solid)?,
        };
        let volume_mm3 = record.change_mm3;
        store.apply(&record, &Patch::empty(BASE as usize));
        Ok(Workpiece {
            store,
            bodies: Vec::new(),
            volume_mm3,
        })
    }

    /// Adds a body; gives the change of volume (mm³).
    ///
    /// # Errors
    /// The kernel panicked or refused the solid or the body.
    fn add(&mut self, body: Ready, memo: &mut Memo) -> Result<f64, SolidFault> {
        let step = self.step(body);
        let change = step_onto(&self.bodies, &step, &mut self.store, memo)?;
        self.volume_mm3 += change;
        Ok(change)
    }

    /// Cuts out what lies inside a closed mesh, its triangles counter-clockwise seen from outside. Triangles of the cut
    /// get the number `cut`, which has to be under 2³¹. Of less than `least_mm3` nothing is cut.
    ///
    /// # Errors
    /// The kernel panicked or refused a mesh.
    pub fn cut_out(
        &mut self,
        points: Vec<Vec3>,
        triangles: Vec<[u32; 3]>,
        cut: FeatureId,
        least_mm3: f64,
        memo: &mut Memo,
    ) -> Result<Solid, SolidFault> {
        let shell = Arc::new(Shell::plain(points, triangles));
        let step = self.step(Ready::new(cut, Act::Cut, shell));
        let (change, taken) = step_out_of(&self.bodies, &step, &mut self.store, memo, least_mm3)?;
        self.volume_mm3 += change;
        Ok(self.solid_of(taken))
    }

    /// Its volume (mm³).
    pub fn volume_mm3(&self) -> f64 {
        self.volume_mm3
    }

    /// The box round it.
    pub fn bounds(&self) -> Bounds {
        self.store.bounds()
    }

    /// The solid as it stands.
    pub fn solid(&self) -> Solid {
        self.store.solid_of(&|mark| self.feature(mark))
    }

    fn step(&mut self, body: Ready) -> Step {
        self.bodies.push(body);
        Step {
            body: self.bodies.len() - 1,
            less: Vec::new(),
        }
    }

    fn feature(&self, mark: &Mark) -> FeatureId {
        match mark.owner {
            BASE => mark.skin as usize,
            body => self.bodies[body as usize].feature,
        }
    }

    fn solid_of(&self, taken: Taken) -> Solid {
        Solid {
            features: taken.marks.iter().map(|m| self.feature(m)).collect(),
            points: taken.points,
            triangles: taken.triangles,
        }
    }
}

/// The record of a solid that the kernel's import mends; the feature of each triangle rides along as its skin.
fn mended(solid: &Solid) -> Result<Record, SolidFault> {
    let feature = |t: usize| solid.features[t] as i32;
    let mut record = appended(&mesh_of(&solid.points, &solid.triangles, &feature)?, false);
    // Flat faces are numbered within each feature, so that an edit elsewhere changes none of them.
    let mut next: FxHashMap<i32, i32> = FxHashMap::default();
    let mut number: FxHashMap<(i32, i32), i32> = FxHashMap::default();
    for facet in &mut record.facets {
        let mark = &mut facet.mark;
        mark.plane = *number.entry((mark.skin, mark.plane)).or_insert_with(|| {
            let next = next.entry(mark.skin).or_default();
            *next += 1;
            *next - 1
        });
    }
    Ok(record)
}

/// A solid with bodies added in their order. Triangles of `base` keep their features, the others get their body's; the
/// changes are one a body. `base` has to be closed, and its features have to be numbers under 2³¹.
///
/// # Errors
/// The kernel panicked or refused the solid or a body; the fault names the body.
pub fn added_to(base: &Solid, bodies: &[Ready], memo: &mut Memo) -> Result<Evaluated, SolidFault> {
    let around = bodies
        .iter()
        .fold(Bounds::EMPTY, |all, body| all.joined(body.bounds));
    let mut work = Workpiece::of(base, &around)?;
    let mut changes_mm3 = Vec::with_capacity(bodies.len());
    for (number, body) in bodies.iter().enumerate() {
        let change = work.add(body.clone(), memo);
        changes_mm3.push(change.map_err(|fault| fault.of_body(number))?);
    }
    Ok(Evaluated {
        solid: work.solid(),
        changes_mm3,
    })
}
