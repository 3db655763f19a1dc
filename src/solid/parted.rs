//! A solid cut in two by a box or by another solid, and taken apart into its bodies.
//!
//! Both sides come from one exact cutter (what both hold, and what only the solid holds), so they fill the solid between
//! them; every triangle keeps its feature, and the cut itself is credited to a number of the caller's.

use manifold_rust::manifold::Manifold;
use manifold_rust::types::{MeshGL64, OpType};

use crate::drawing::given::FeatureId;
use crate::measure::{Bounds, CRUMB_MM3, Frame, Vec3};
use crate::solid::kernel::{SolidFault, boolean, checked, guarded, points_of, triangles_of};
use crate::solid::settle::kept;
use crate::solid::{Shell, Solid, shell_volume};

/// The eight corners of a box ([`Bounds::corners`]) by bits (x, y, z), as twelve triangles that look outward.
pub const BOX: [[u32; 3]; 12] = [
    [0, 2, 3],
    [0, 3, 1],
    [4, 5, 7],
    [4, 7, 6],
    [0, 1, 5],
    [0, 5, 4],
    [2, 6, 7],
    [2, 7, 3],
    [0, 4, 6],
    [0, 6, 2],
    [1, 3, 7],
    [1, 7, 5],
];

impl Solid {
    /// What lies inside a box given in a right-handed frame, and what lies outside it. Triangles of the cut get the
    /// number `cut`; it and the solid's own features have to be small numbers.
    ///
    /// # Errors
    /// The kernel panicked or refused the solid.
    pub fn parted(
        &self,
        frame: &Frame,
        local: &Bounds,
        cut: FeatureId,
    ) -> Result<(Solid, Solid), SolidFault> {
        let points = local.corners().map(|c| frame.point(c)).to_vec();
        self.parted_by(&points, &BOX, cut)
    }

    /// What lies inside a closed mesh, its triangles counter-clockwise seen from outside, and what lies outside it.
    /// Triangles of the cut get the number `cut`; it and the solid's own features have to be small numbers.
    ///
    /// # Errors
    /// The kernel panicked or refused a mesh.
    pub fn parted_by(
        &self,
        points: &[Vec3],
        triangles: &[[u32; 3]],
        cut: FeatureId,
    ) -> Result<(Solid, Solid), SolidFault> {
        guarded(|| {
            let whole = kernel_mesh(self.points.iter(), &self.triangles, |t| self.features[t])?;
            let cutter = kernel_mesh(points.iter(), triangles, |_| cut)?;
            let inside = boolean(&whole, &cutter, OpType::Intersect)?;
            let outside = boolean(&whole, &cutter, OpType::Subtract)?;
            Ok((solid_of(&inside), solid_of(&outside)))
        })
    }

    /// Its bodies, each with its closed voids. Crumbs are left out.
    pub fn bodies(&self) -> Vec<Solid> {
        let (of, volumes) = self.surfaces_of();
        let parts: Vec<Solid> = (0..volumes.len())
            .map(|surface| kept(self, |t| of[t] == surface))
            .collect();
        let (mut bodies, mut voids): (Vec<Solid>, Vec<Solid>) = (Vec::new(), Vec::new());
        for (part, volume) in parts.into_iter().zip(volumes) {
            if volume > CRUMB_MM3 {
                bodies.push(part);
            } else if volume < -CRUMB_MM3 {
                voids.push(part);
            }
        }
        let shells: Vec<Shell> = bodies.iter().map(Solid::as_shell).collect();
        for void in voids {
            // The least body round it: a body may itself lie in another's void.
            let round = (0..bodies.len())
                .filter(|&i| shells[i].holds(void.points[0]))
                .min_by(|&a, &b| shell_volume(&shells[a]).total_cmp(&shell_volume(&shells[b])));
            if let Some(i) = round {
                bodies[i].append(&void);
            }
        }
        bodies
    }

    /// The solid as seen from a right-handed frame.
    pub fn seen_from(&self, frame: &Frame) -> Solid {
        Solid {
            points: self.points.iter().map(|p| frame.local(*p)).collect(),
            ..self.clone()
        }
    }
}

/// Triangles as the kernel's mesh; each one's feature rides along as its face.
fn kernel_mesh<'a>(
    points: impl Iterator<Item = &'a Vec3>,
    triangles: &[[u32; 3]],
    feature: impl Fn(usize) -> FeatureId,
) -> Result<Manifold, SolidFault> {
    checked(Manifold::from_mesh_gl64(&MeshGL64 {
        num_prop: 3,
        vert_properties: points.flat_map(|p| p.to_array()).collect(),
        tri_verts: triangles.iter().flatten().map(|&i| u64::from(i)).collect(),
        face_id: (0..triangles.len()).map(|t| feature(t) as u64).collect(),
        // A number of its own, so that the kernel doesn't take faces of two meshes for one.
        run_index: vec![0, 3 * triangles.len() as u64],
        run_original_id: vec![Manifold::reserve_ids(1)],
        ..MeshGL64::default()
    }))
}

/// The kernel's mesh as a solid.
fn solid_of(mesh: &Manifold) -> Solid {
    let mesh = mesh.get_mesh_gl64(-1);
    Solid {
        points: points_of(&mesh),
        triangles: triangles_of(&mesh),
        features: mesh.face_id.iter().map(|&id| id as usize).collect(),
    }
}
