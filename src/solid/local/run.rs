//! The sequence of steps: for each, from the memo, locally, or whole.

use std::sync::Arc;

use manifold_rust::boolean3::boolean;
use manifold_rust::impl_mesh::ManifoldImpl;
use manifold_rust::types::OpType;

use crate::drawing::body::Act;
use crate::measure::{Bounds, CRUMB_MM3, Vec3};
use crate::solid::kernel::{SolidFault, guarded};
use crate::solid::local::close::{Open, closed};
use crate::solid::local::mesh::{
    KernelFacet, Outcome, Record, Taken, appended, body_mesh, kernel_mesh, mesh_volume, sound,
    taken,
};
use crate::solid::local::patch::Patch;
use crate::solid::local::stitch::record;
use crate::solid::local::store::Store;
use crate::solid::local::verdict::believable;
use crate::solid::local::winding::turns;
use crate::solid::memo::ContentHash;
use crate::solid::{Memo, Ready, Shell, Solid, Step, minus};

/// How far round a body's box a triangle counts as near (mm).
const NEAR_MM: f64 = 1e-2;

/// How far a body is swollen where its surface agrees with another to rounding only (mm): far over rounding, far under
/// a facet.
const SWELL_MM: f64 = 1e-3;

/// What a key is for.
const BODY: u64 = 1;
const LOCAL: u64 = 2;
const WHOLE: u64 = 3;
const APPENDED: u64 = 4;
const TURNED: u64 = 5;
/// Added to each where what is cut out is asked for too.
const TAKING: u64 = 16;

/// A solid, and what each body changed in its volume.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Evaluated {
    /// The result.
    pub solid: Solid,
    /// Signed change of volume (mm³), one a body.
    pub changes_mm3: Vec<f64>,
}

/// Evaluates a sequence by local booleans. The result doesn't depend on what `memo` holds.
///
/// # Errors
/// The kernel panicked or refused a body, and so it did with the whole solid; the fault names the body.
pub fn evaluate(
    bodies: &[Ready],
    steps: &[Step],
    memo: &mut Memo,
) -> Result<Evaluated, SolidFault> {
    let all = bodies
        .iter()
        .fold(Bounds::EMPTY, |all, body| all.joined(body.bounds));
    let mut store = Store::new(&all);
    let mut changes_mm3 = vec![0.0; bodies.len()];
    for step in steps {
        let change = step_onto(bodies, step, &mut store, memo);
        changes_mm3[step.body] = change.map_err(|fault| fault.of_body(step.body))?;
    }
    Ok(Evaluated {
        solid: store.solid(bodies),
        changes_mm3,
    })
}

/// Takes one step on a solid as it stands; gives the change of volume (mm³).
pub(super) fn step_onto(
    bodies: &[Ready],
    step: &Step,
    store: &mut Store,
    memo: &mut Memo,
) -> Result<f64, SolidFault> {
    let mut turn = Turn::of(bodies, step, store, memo);
    turn.take()
}

/// Takes one step, which cuts, on a solid as it stands; gives the change of volume (mm³) and what is cut out, the owner of
/// each triangle by its number in the store. What is less than `least_mm3` stays.
pub(super) fn step_out_of(
    bodies: &[Ready],
    step: &Step,
    store: &mut Store,
    memo: &mut Memo,
    least_mm3: f64,
) -> Result<(f64, Taken), SolidFault> {
    let mut turn = Turn::of(bodies, step, store, memo);
    turn.taking = true;
    turn.least_mm3 = least_mm3;
    let change = turn.take()?;
    Ok((change, turn.taken))
}

/// Hash of a step's body as it meets the solid.
fn key(bodies: &[Ready], step: &Step) -> u128 {
    let mut hash = ContentHash::new(bodies[step.body].key, BODY);
    for &cut in &step.less {
        hash.put((bodies[cut].key >> 64) as u64);
        hash.put(bodies[cut].key as u64);
    }
    hash.value()
}

/// One step.
struct Turn<'a> {
    bodies: &'a [Ready],
    step: &'a Step,
    key: u128,
    store: &'a mut Store,
    memo: &'a mut Memo,
    /// What is cut out is asked for.
    taking: bool,
    /// Then less than this stays.
    least_mm3: f64,
    /// What was.
    taken: Taken,
}

impl<'a> Turn<'a> {
    fn of(
        bodies: &'a [Ready],
        step: &'a Step,
        store: &'a mut Store,
        memo: &'a mut Memo,
    ) -> Turn<'a> {
        Turn {
            bodies,
            step,
            key: key(bodies, step),
            store,
            memo,
            taking: false,
            least_mm3: 0.0,
            taken: Taken::default(),
        }
    }

    /// What a key is for.
    fn purpose(&self, plain: u64) -> u64 {
        if self.taking { plain + TAKING } else { plain }
    }

    /// A record with what the cut takes out of a mesh, where that is asked for.
    fn with_taken(
        &self,
        record: Record,
        patch: &Patch,
        mesh: &ManifoldImpl,
        body: &ManifoldImpl,
    ) -> Result<Option<Record>, SolidFault> {
        if !self.taking {
            return Ok(Some(record));
        }
        let shared = boolean(mesh, body, OpType::Intersect);
        sound(&shared)?;
        let taken = taken(&shared, patch.owners.len());
        Ok(taken.map(|taken| Record {
            taken: Some(taken),
            ..record
        }))
    }

    fn body(&self) -> &Ready {
        &self.bodies[self.step.body]
    }

    fn act(&self) -> OpType {
        match self.body().act {
            Act::Add => OpType::Add,
            Act::Cut => OpType::Subtract,
        }
    }

    /// Takes the step; gives the change of volume.
    fn take(&mut self) -> Result<f64, SolidFault> {
        if self.body().bounds.is_empty() {
            return Ok(0.0);
        }
        let region = self.body().bounds.grown(NEAR_MM);
        let near = self.store.near(&region);
        if near.is_empty() {
            return self.apart(&region);
        }
        let patch = Patch::of(self.store, near, self.step.body);
        let key = patch.key(self.store, self.key, self.purpose(LOCAL));
        let outcome = match self.memo.outcome(key) {
            Some(outcome) => outcome,
            None => {
                let outcome = self.local(&patch, &region)?;
                self.memo.keep_outcome(key, outcome)
            }
        };
        match outcome.as_ref() {
            Outcome::Patched(record) => Ok(self.put(record, &patch)),
            Outcome::Apart => self.apart(&region),
            Outcome::Nothing => Ok(0.0),
            Outcome::Unfit => self.whole(),
        }
    }

    fn put(&mut self, record: &Record, patch: &Patch) -> f64 {
        if self.taking && -record.change_mm3 < self.least_mm3 {
            return 0.0;
        }
        self.store.apply(record, patch);
        if let Some(taken) = &record.taken {
            self.taken = taken.clone();
            for mark in &mut self.taken.marks {
                mark.owner = patch.owners[mark.owner as usize];
            }
        }
        record.change_mm3
    }

    /// The boolean on the patch alone; a panic of the kernel makes it unfit.
    fn local(&mut self, patch: &Patch, region: &Bounds) -> Result<Outcome, SolidFault> {
        let body = self.mesh()?;
        if body.is_empty() {
            return Ok(Outcome::Nothing);
        }
        let closed = match closed(self.store, patch, region) {
            Ok(closed) => closed,
            Err(Open::Apart) => return Ok(Outcome::Apart),
            Err(Open::Unfit) => return Ok(Outcome::Unfit),
        };
        let act = self.act();
        let store = &*self.store;
        let near = guarded(|| Ok(to_kernel(store, patch, &closed.points, &closed.triangles)));
        let Ok(Some(near)) = near else {
            return Ok(Outcome::Unfit);
        };
        let plain = std::iter::once(Arc::clone(&body));
        // Made only where the plain body won't do.
        let swollen = std::iter::once_with(|| self.swollen()).flatten();
        for body in plain.chain(swollen) {
            let done = guarded(|| {
                let result = boolean(&near, &body, act);
                sound(&result)?;
                let believable = believable(&near, &body, &result, self.body().act);
                let record = believable.then(|| record(store, patch, &result)).flatten();
                match record {
                    Some(record) => self.with_taken(record, patch, &near, &body),
                    None => Ok(None),
                }
            });
            if let Ok(Some(record)) = done
                && self.plausible(&record, patch, &body)
            {
                return Ok(Outcome::Patched(record));
            }
        }
        Ok(Outcome::Unfit)
    }

    /// The body a little larger all round, so that its faces cross those that they only just met; `None` where that
    /// can't be made.
    fn swollen(&self) -> Option<Arc<ManifoldImpl>> {
        let mut shell = self.shell().ok()?.as_ref().clone();
        let bounds = shell.bounds();
        let grown = bounds.grown(SWELL_MM).size() / bounds.size();
        for p in &mut shell.points {
            *p = bounds.middle() + (*p - bounds.middle()) * grown;
        }
        guarded(|| body_mesh(&shell)).ok().map(Arc::new)
    }

    /// Whether a result changes no more than its body holds, in the right direction.
    fn plausible(&self, record: &Record, patch: &Patch, body: &ManifoldImpl) -> bool {
        let volume = mesh_volume(body);
        let slack = CRUMB_MM3 + 1e-9 * volume;
        let change = match self.body().act {
            Act::Add => record.change_mm3,
            Act::Cut => -record.change_mm3,
        };
        let within = -slack <= change && change <= volume + slack;
        within && (!record.facets.is_empty() || self.swallows(patch))
    }

    /// Whether the body is a cut whose box holds all of the patch.
    fn swallows(&self, patch: &Patch) -> bool {
        let held = self.body().bounds.grown(NEAR_MM);
        let all = Bounds::of(patch.points(self.store));
        self.body().act == Act::Cut && held.joined(all) == held
    }

    /// The boolean on the whole solid.
    fn whole(&mut self) -> Result<f64, SolidFault> {
        let patch = Patch::whole(self.store, self.step.body);
        let key = patch.key(self.store, self.key, self.purpose(WHOLE));
        let known = self.memo.outcome(key);
        if let Some(Outcome::Patched(record)) = known.as_deref() {
            return Ok(self.put(record, &patch));
        }
        let body = self.mesh()?;
        let record = match self.whole_with(&patch, &body) {
            Ok(record) => record,
            Err(fault) => {
                let swollen = self.swollen().ok_or_else(|| fault.clone())?;
                self.whole_with(&patch, &swollen).map_err(|_| fault)?
            }
        };
        let broken = |edges| SolidFault::Broken { body: None, edges };
        if record.facets.is_empty() && !self.swallows(&patch) {
            return Err(broken(0));
        }
        let change = self.put(&record, &patch);
        self.memo.keep_outcome(key, Outcome::Patched(record));
        Ok(change)
    }

    /// The whole solid with some form of the body.
    fn whole_with(&self, patch: &Patch, body: &ManifoldImpl) -> Result<Record, SolidFault> {
        let store = &*self.store;
        let broken = SolidFault::Broken {
            body: None,
            edges: 1,
        };
        guarded(|| {
            let points = patch.points(store);
            let solid = to_kernel(store, patch, &points, &patch.triangles);
            let solid = solid.ok_or_else(|| broken.clone())?;
            let result = boolean(&solid, body, self.act());
            sound(&result)?;
            if !believable(&solid, body, &result, self.body().act) {
                return Err(SolidFault::Doubtful { body: None });
            }
            let record = record(store, patch, &result).ok_or_else(|| broken.clone())?;
            let record = self.with_taken(record, patch, &solid, body)?;
            record.ok_or(broken)
        })
    }

    /// Nothing of the surface lies in the body's box: the box is all metal or all void.
    fn apart(&mut self, region: &Bounds) -> Result<f64, SolidFault> {
        let live = self.store.live();
        let corners = live.iter().map(|&t| self.store.corners(t));
        let in_metal = turns(corners, region.middle()) > 0.5;
        let cut = self.body().act == Act::Cut;
        if in_metal != cut {
            return Ok(0.0);
        }
        let patch = Patch::empty(self.step.body);
        let purpose = self.purpose(if cut { TURNED } else { APPENDED });
        let key = ContentHash::new(self.key, purpose).value();
        let known = self.memo.outcome(key);
        if let Some(Outcome::Patched(record)) = known.as_deref() {
            return Ok(self.put(record, &patch));
        }
        let body = self.mesh()?;
        let mut record = appended(&body, cut);
        if self.taking {
            record.taken = taken(&body, patch.owners.len());
        }
        let change = self.put(&record, &patch);
        self.memo.keep_outcome(key, Outcome::Patched(record));
        Ok(change)
    }

    /// The body in the kernel's form, less the cuts that trim it beforehand.
    fn mesh(&mut self) -> Result<Arc<ManifoldImpl>, SolidFault> {
        if let Some(mesh) = self.memo.mesh(self.key) {
            return Ok(mesh);
        }
        let shell = self.shell()?;
        let mesh = guarded(|| body_mesh(&shell))?;
        Ok(self.memo.keep_mesh(self.key, mesh))
    }

    /// The body less the cuts that trim it beforehand.
    fn shell(&self) -> Result<Arc<Shell>, SolidFault> {
        let mut shell = Arc::clone(&self.body().shell);
        for &cut in &self.step.less {
            shell = Arc::new(minus(&shell, &self.bodies[cut].shell)?);
        }
        Ok(shell)
    }
}

/// A patch, perhaps with closing triangles after its own, in the kernel's form.
fn to_kernel(
    store: &Store,
    patch: &Patch,
    points: &[Vec3],
    triangles: &[[u32; 3]],
) -> Option<ManifoldImpl> {
    let facets: Vec<KernelFacet> = triangles
        .iter()
        .enumerate()
        .map(|(i, &corners)| KernelFacet {
            corners,
            mark: patch.marks.get(i).copied(),
            normal: match patch.near.get(i) {
                Some(&t) => store.facets[t as usize].normal,
                None => {
                    let [a, b, c] = corners.map(|v| points[v as usize]);
                    (b - a).cross(c - a).try_normalize().unwrap_or(Vec3::Z)
                }
            },
        })
        .collect();
    kernel_mesh(points, &facets, store.epsilon, store.tolerance)
}
