//! The strict sequence of whole booleans: slow, plain, and what the local evaluation is held against.

use std::collections::HashMap;

use manifold_rust::manifold::Manifold;
use manifold_rust::types::{MeshGL64, OpType};

use crate::drawing::body::Act;
use crate::measure::Vec3;
use crate::solid::kernel::{SolidFault, boolean, checked, guarded};
use crate::solid::{Ready, Solid, Step, minus};

/// Evaluates a sequence one whole boolean at a time. The second value is what each body changed in volume (mm³).
///
/// # Errors
/// The kernel panicked or refused a body; the fault names it.
pub fn evaluate_whole(bodies: &[Ready], steps: &[Step]) -> Result<(Solid, Vec<f64>), SolidFault> {
    let mut owners = Owners::default();
    let mut solid = Manifold::empty();
    let mut changes = vec![0.0; bodies.len()];
    let mut volume = 0.0;
    for step in steps {
        solid = guarded(|| {
            let body = owners.mesh(bodies, step)?;
            if body.is_empty() {
                return Ok(solid.clone());
            }
            boolean(&solid, &body, op(bodies[step.body].act))
        })
        .map_err(|fault| fault.of_body(step.body))?;
        let now = solid.volume();
        changes[step.body] = now - volume;
        volume = now;
    }
    Ok((owners.solid(&solid, bodies), changes))
}

/// What the kernel calls an act.
pub(super) fn op(act: Act) -> OpType {
    match act {
        Act::Add => OpType::Add,
        Act::Cut => OpType::Subtract,
    }
}

/// Whose the kernel's own numbers of meshes are. The numbers rise in the order of asking, and nothing but that order
/// shows in a result.
#[derive(Debug, Default)]
pub(super) struct Owners(HashMap<u32, usize>);

impl Owners {
    /// A step's body, less the cuts that trim it beforehand, under a number of its own; empty where nothing is left.
    pub(super) fn mesh(&mut self, bodies: &[Ready], step: &Step) -> Result<Manifold, SolidFault> {
        let mut shell = bodies[step.body].shell.as_ref().clone();
        for &cut in &step.less {
            shell = minus(&shell, &bodies[cut].shell)?;
        }
        if shell.triangles.is_empty() {
            return Ok(Manifold::empty());
        }
        let id = Manifold::reserve_ids(1);
        self.0.insert(id, step.body);
        let corners = shell.triangles.iter().flatten();
        checked(Manifold::from_mesh_gl64(&MeshGL64 {
            num_prop: 3,
            vert_properties: shell.points.iter().flat_map(|p| p.to_array()).collect(),
            tri_verts: corners.map(|&i| u64::from(i)).collect(),
            face_id: shell.skins.iter().map(|s| *s as u64).collect(),
            run_index: vec![0, 3 * shell.triangles.len() as u64],
            run_original_id: vec![id],
            ..MeshGL64::default()
        }))
    }

    /// The kernel's mesh as a solid, each triangle credited to its feature.
    pub(super) fn solid(&self, solid: &Manifold, bodies: &[Ready]) -> Solid {
        let mesh = solid.get_mesh_gl64(-1);
        let triangles: Vec<[u32; 3]> = mesh
            .tri_verts
            .chunks(3)
            .map(|t| [t[0] as u32, t[1] as u32, t[2] as u32])
            .collect();
        let mut features = vec![0; triangles.len()];
        for (run, id) in mesh.run_original_id.iter().enumerate() {
            let feature = self.0.get(id).map_or(0, |&body| bodies[body].feature);
            let (from, to) = (
                mesh.run_index[run] as usize / 3,
                mesh.run_index[run + 1] as usize / 3,
            );
            features[from..to].fill(feature);
        }
        let points = mesh
            .vert_properties
            .chunks(mesh.num_prop as usize)
            .map(|c| Vec3::new(c[0], c[1], c[2]))
            .collect();
        Solid {
            points,
            triangles,
            features,
        }
    }
}
