//! Records of results, and meshes in the kernel's own form.

use manifold_rust::face_op::calculate_vert_normals;
use manifold_rust::impl_mesh::ManifoldImpl;
use manifold_rust::linalg::{IVec3, Vec3 as KernelVec};
use manifold_rust::manifold::Manifold;
use manifold_rust::types::{Error, MeshGL64, Relation, TriRef};

use crate::measure::Vec3;
use crate::solid::edges::Edges;
use crate::solid::kernel::{SolidFault, checked};
use crate::solid::{Shell, shell_volume};

/// What closes a patch goes by this number in the kernel; the patch's own owners go from 1 up.
pub(super) const CLOSING_ID: i32 = 900_000;
/// The body of a step goes by this number; the kernel adds a count of its own, which never meets the others.
pub(super) const BODY_ID: i32 = 900_001;

/// A triangle lower than this is a needle to the kernel (mm).
pub(super) const NEEDLE_MM: f64 = 1e-8;

/// Where a triangle comes from. Triangles alike in all three are one flat face to the kernel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Mark {
    /// The body: its number in the store, its place among the patch's owners in a record.
    pub owner: u32,
    /// Its skin.
    pub skin: i32,
    /// Its flat face within the body.
    pub plane: i32,
}

/// A vertex of a record.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Corner {
    /// One of the patch's vertices, on its rim.
    Kept(u32),
    /// One of the record's points.
    New(u32),
}

/// The other half-edge of a record's half-edge.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Pair {
    /// One of the record's own.
    Within(u32),
    /// What lies across this half-edge of the patch's rim.
    Rim(u32),
}

/// A triangle of a record.
#[derive(Debug, Clone)]
pub(super) struct NewFacet {
    pub corners: [Corner; 3],
    pub pairs: [Pair; 3],
    pub mark: Mark,
    pub normal: Vec3,
}

/// What a cut takes out: a closed mesh.
#[derive(Debug, Clone, Default)]
pub(super) struct Taken {
    pub points: Vec<Vec3>,
    pub triangles: Vec<[u32; 3]>,
    /// One a triangle, the owner as its place among the patch's owners.
    pub marks: Vec<Mark>,
}

/// What a step puts in the place of a patch.
#[derive(Debug, Clone, Default)]
pub(crate) struct Record {
    pub(super) points: Vec<Vec3>,
    pub(super) facets: Vec<NewFacet>,
    /// Where it was asked for, and the step is a cut.
    pub(super) taken: Option<Taken>,
    /// Signed change of volume (mm³).
    pub(super) change_mm3: f64,
    pub(super) epsilon: f64,
    pub(super) tolerance: f64,
}

/// What is remembered of a step.
#[derive(Debug, Clone)]
pub(crate) enum Outcome {
    /// Put this in.
    Patched(Record),
    /// Nothing near enters the body's box.
    Apart,
    /// Nothing is left of the body.
    Nothing,
    /// A local boolean won't do.
    Unfit,
}

pub(super) fn to_kernel_vec(p: Vec3) -> KernelVec {
    KernelVec::new(p.x, p.y, p.z)
}

pub(super) fn from_kernel_vec(p: KernelVec) -> Vec3 {
    Vec3::new(p.x, p.y, p.z)
}

/// A body in the kernel's form, its triangles in the kernel's order; numbers in it don't depend on earlier calls.
pub(super) fn body_mesh(shell: &Shell) -> Result<ManifoldImpl, SolidFault> {
    mesh_of(&shell.points, &shell.triangles, &|t| shell.skins[t] as i32)
}

/// The same of any closed mesh; `face` gives a number, 0 or more, that each triangle carries as its skin.
pub(super) fn mesh_of(
    points: &[Vec3],
    triangles: &[[u32; 3]],
    face: &dyn Fn(usize) -> i32,
) -> Result<ManifoldImpl, SolidFault> {
    if triangles.is_empty() {
        return Ok(ManifoldImpl::new());
    }
    if let Some(mesh) = plain_mesh(points, triangles, face) {
        return Ok(mesh);
    }
    let corners = triangles.iter().flatten();
    let mesh = MeshGL64 {
        num_prop: 3,
        vert_properties: points.iter().flat_map(|p| p.to_array()).collect(),
        tri_verts: corners.map(|&i| u64::from(i)).collect(),
        face_id: (0..triangles.len()).map(|t| face(t) as u64).collect(),
        run_index: vec![0, 3 * triangles.len() as u64],
        run_original_id: vec![BODY_ID as u32],
        ..MeshGL64::default()
    };
    let mut body = checked(Manifold::from_mesh_gl64(&mesh))?.into_impl();
    let relation = &mut body.mesh_relation;
    for mark in &mut relation.tri_ref {
        mark.mesh_id = BODY_ID;
    }
    relation.mesh_id_transform.clear();
    relation
        .mesh_id_transform
        .insert(BODY_ID, relation_of(BODY_ID));
    Ok(body)
}

/// A body without needles in the kernel's form; `None` where the kernel's own import should mend it first.
fn plain_mesh(
    points: &[Vec3],
    triangles: &[[u32; 3]],
    face: &dyn Fn(usize) -> i32,
) -> Option<ManifoldImpl> {
    if triangles.iter().any(|t| lowest(points, t) < NEEDLE_MM) {
        return None;
    }
    let corners: Vec<IVec3> = triangles.iter().map(to_kernel_corners).collect();
    let mut mesh = ManifoldImpl::new();
    mesh.vert_pos = points.iter().map(|p| to_kernel_vec(*p)).collect();
    mesh.create_halfedges(&corners, &[]);
    if Edges::of(triangles).bad() > 0 {
        return None;
    }
    let relation = &mut mesh.mesh_relation;
    relation.tri_ref = (0..triangles.len())
        .map(|t| TriRef {
            mesh_id: BODY_ID,
            original_id: BODY_ID,
            face_id: face(t),
            coplanar_id: t as i32,
        })
        .collect();
    relation
        .mesh_id_transform
        .insert(BODY_ID, relation_of(BODY_ID));
    relation.original_id = -1;
    mesh.calculate_bbox();
    mesh.set_epsilon(0.0, false);
    mesh.set_normals_and_coplanar();
    calculate_vert_normals(&mut mesh);
    mesh.remove_unreferenced_verts();
    mesh.sort_geometry();
    Some(mesh)
}

/// The least height of a triangle (mm).
pub(super) fn lowest(points: &[Vec3], t: &[u32; 3]) -> f64 {
    let [a, b, c] = t.map(|i| points[i as usize]);
    let longest = (b - a)
        .length_squared()
        .max((c - b).length_squared())
        .max((a - c).length_squared());
    (b - a).cross(c - a).length() / longest.sqrt()
}

fn to_kernel_corners(t: &[u32; 3]) -> IVec3 {
    let [a, b, c] = t.map(|v| v as i32);
    IVec3::new(a, b, c)
}

fn relation_of(id: i32) -> Relation {
    Relation {
        original_id: id,
        ..Relation::default()
    }
}

/// A triangle on its way to the kernel.
#[derive(Debug, Clone, Copy)]
pub(super) struct KernelFacet {
    pub corners: [u32; 3],
    /// Owner as its place among the patch's owners; `None` for closing triangles.
    pub mark: Option<Mark>,
    pub normal: Vec3,
}

/// A closed mesh in the kernel's form; `None` where its edges don't pair.
pub(super) fn kernel_mesh(
    points: &[Vec3],
    facets: &[KernelFacet],
    epsilon: f64,
    tolerance: f64,
) -> Option<ManifoldImpl> {
    let mut mesh = ManifoldImpl::new();
    mesh.vert_pos = points.iter().map(|p| to_kernel_vec(*p)).collect();
    let corners: Vec<IVec3> = facets
        .iter()
        .map(|f| to_kernel_corners(&f.corners))
        .collect();
    mesh.create_halfedges(&corners, &[]);
    if mesh.halfedge.iter().any(|h| h.paired_halfedge < 0) {
        return None;
    }
    for (i, facet) in facets.iter().enumerate() {
        let (id, skin, plane) = match facet.mark {
            Some(mark) => (mark.owner as i32 + 1, mark.skin, mark.plane),
            None => (CLOSING_ID, -1, i as i32),
        };
        mesh.mesh_relation.tri_ref.push(TriRef {
            mesh_id: id,
            original_id: id,
            face_id: skin,
            coplanar_id: plane,
        });
        mesh.mesh_relation
            .mesh_id_transform
            .entry(id)
            .or_insert_with(|| relation_of(id));
        mesh.face_normal.push(to_kernel_vec(facet.normal));
    }
    mesh.mesh_relation.original_id = -1;
    mesh.calculate_bbox();
    mesh.epsilon = epsilon;
    mesh.tolerance = tolerance;
    calculate_vert_normals(&mut mesh);
    mesh.sort_geometry();
    Some(mesh)
}

/// Whether the kernel is content with a mesh.
pub(super) fn sound(mesh: &ManifoldImpl) -> Result<(), SolidFault> {
    match mesh.status {
        Error::NoError => Ok(()),
        status => Err(SolidFault::Refused {
            body: None,
            status: format!("{status:?}"),
        }),
    }
}

/// The owner of a triangle of a result, by its place among a patch's owners; `None` for what closes the patch.
pub(super) fn owner_place(id: i32, owners: usize) -> Option<u32> {
    match id {
        CLOSING_ID => None,
        BODY_ID => Some(owners as u32 - 1),
        id => Some(id as u32 - 1),
    }
}

/// What a solid and a body share, as taken out by a cut; `owners` is how many the patch has. `None` where it has a
/// triangle of what closes the patch.
pub(super) fn taken(shared: &ManifoldImpl, owners: usize) -> Option<Taken> {
    let marks = shared.mesh_relation.tri_ref[..shared.num_tri()].iter();
    let marks = marks.map(|mark| {
        Some(Mark {
            owner: owner_place(mark.original_id, owners)?,
            skin: mark.face_id,
            plane: mark.coplanar_id,
        })
    });
    Some(Taken {
        points: shared
            .vert_pos
            .iter()
            .map(|p| from_kernel_vec(*p))
            .collect(),
        triangles: (0..shared.num_tri())
            .map(|t| [0, 1, 2].map(|k| shared.halfedge[3 * t + k].start_vert as u32))
            .collect(),
        marks: marks.collect::<Option<_>>()?,
    })
}

/// A record that adds a whole body, or its inside as a void, without touching anything.
pub(super) fn appended(mesh: &ManifoldImpl, inside_out: bool) -> Record {
    let turned = |k: usize| if inside_out { (3 - k) % 3 } else { k };
    // Corner k of the turned triangle is corner turned(k) of the old one, so its edge k is the old edge before that.
    let edge = |k: usize| if inside_out { 2 - k } else { k };
    let facets = (0..mesh.num_tri())
        .map(|t| {
            let half = |k: usize| mesh.halfedge[3 * t + k];
            let mark = mesh.mesh_relation.tri_ref[t];
            let normal = from_kernel_vec(mesh.face_normal[t]);
            NewFacet {
                corners: [0, 1, 2].map(|k| Corner::New(half(turned(k)).start_vert as u32)),
                pairs: [0, 1, 2].map(|k| {
                    let other = half(edge(k)).paired_halfedge as usize;
                    Pair::Within((other / 3 * 3 + edge(other % 3)) as u32)
                }),
                mark: Mark {
                    owner: 0,
                    skin: mark.face_id,
                    plane: mark.coplanar_id,
                },
                normal: if inside_out { -normal } else { normal },
            }
        })
        .collect();
    let volume = mesh_volume(mesh);
    Record {
        points: mesh.vert_pos.iter().map(|p| from_kernel_vec(*p)).collect(),
        facets,
        taken: None,
        change_mm3: if inside_out { -volume } else { volume },
        epsilon: mesh.epsilon,
        tolerance: mesh.tolerance,
    }
}

/// Enclosed volume of a kernel mesh (mm³), signed.
pub(super) fn mesh_volume(mesh: &ManifoldImpl) -> f64 {
    let shell = Shell {
        points: mesh.vert_pos.iter().map(|p| from_kernel_vec(*p)).collect(),
        triangles: (0..mesh.num_tri())
            .map(|t| [0, 1, 2].map(|k| mesh.halfedge[3 * t + k].start_vert as u32))
            .collect(),
        skins: Vec::new(),
    };
    shell_volume(&shell)
}
