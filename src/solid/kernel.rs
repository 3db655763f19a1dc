//! The boolean kernel behind one small door: shells in, shells out, panics caught.

use std::cell::Cell;
use std::panic::{self, AssertUnwindSafe, catch_unwind};
use std::sync::Once;

use manifold_rust::manifold::Manifold;
use manifold_rust::types::{BooleanEngine, Error, MeshGL64, OpType};

use crate::measure::Vec3;
use crate::solid::{Shell, Skin};

/// Why a boolean failed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SolidFault {
    /// The kernel panicked; what it said.
    Panicked {
        /// The body it was working on, where one is known.
        body: Option<usize>,
        /// The kernel's own words.
        what: String,
    },
    /// The kernel refused a mesh.
    Refused {
        /// The body it was working on, where one is known.
        body: Option<usize>,
        /// Its status.
        status: String,
    },
    /// A result keeps what it should have dropped, or the other way round.
    Doubtful {
        /// The body it was working on, where one is known.
        body: Option<usize>,
    },
    /// A result isn't a closed, oriented mesh.
    Broken {
        /// The body it was working on, where one is known.
        body: Option<usize>,
        /// How many edges are bad.
        edges: usize,
    },
}

impl SolidFault {
    /// The same fault of a body.
    pub fn of_body(self, index: usize) -> SolidFault {
        let body = Some(index);
        match self {
            SolidFault::Panicked { what, .. } => SolidFault::Panicked { body, what },
            SolidFault::Refused { status, .. } => SolidFault::Refused { body, status },
            SolidFault::Doubtful { .. } => SolidFault::Doubtful { body },
            SolidFault::Broken { edges, .. } => SolidFault::Broken { body, edges },
        }
    }

    /// The body it was working on.
    pub fn body(&self) -> Option<usize> {
        match self {
            SolidFault::Panicked { body, .. }
            | SolidFault::Refused { body, .. }
            | SolidFault::Doubtful { body }
            | SolidFault::Broken { body, .. } => *body,
        }
    }

    /// In words.
    pub fn text(&self) -> String {
        match self {
            SolidFault::Panicked { what, .. } => format!("the geometry kernel failed: {what}"),
            SolidFault::Refused { status, .. } => {
                format!("the geometry kernel refused the body: {status}")
            }
            SolidFault::Doubtful { .. } => {
                "it meets another body's faces so nearly that the result can't be trusted; \
                 move it by a hundredth of a millimetre"
                    .to_string()
            }
            SolidFault::Broken { edges, .. } => {
                format!("the result has {edges} open or doubled edges")
            }
        }
    }
}

thread_local! {
    /// How many guarded calls this thread is in.
    static GUARDED: Cell<u32> = const { Cell::new(0) };
}

/// Counts a guarded call for as long as it lives.
struct Guard;

impl Guard {
    fn enter() -> Guard {
        static HOOK: Once = Once::new();
        HOOK.call_once(|| {
            let plain = panic::take_hook();
            panic::set_hook(Box::new(move |info| {
                // While a thread winds down its own cells may be gone; then it isn't in the kernel either.
                if GUARDED.try_with(Cell::get).unwrap_or(0) == 0 {
                    plain(info);
                }
            }));
        });
        GUARDED.with(|count| count.set(count.get() + 1));
        Guard
    }
}

impl Drop for Guard {
    fn drop(&mut self) {
        GUARDED.with(|count| count.set(count.get() - 1));
    }
}

/// Runs kernel code; a panic becomes a fault, and prints nothing.
pub(crate) fn guarded<T>(work: impl FnOnce() -> Result<T, SolidFault>) -> Result<T, SolidFault> {
    let _guard = Guard::enter();
    catch_unwind(AssertUnwindSafe(work)).unwrap_or_else(|cause| {
        let what = cause
            .downcast_ref::<String>()
            .cloned()
            .or_else(|| cause.downcast_ref::<&str>().map(ToString::to_string))
            .unwrap_or_else(|| "no reason given".to_string());
        Err(SolidFault::Panicked { body: None, what })
    })
}

/// A shell as the kernel's mesh; each triangle's skin rides along as its face.
pub(crate) fn to_kernel(shell: &Shell) -> Result<Manifold, SolidFault> {
    let mut mesh = MeshGL64 {
        num_prop: 3,
        ..MeshGL64::default()
    };
    mesh.vert_properties = shell.points.iter().flat_map(|p| p.to_array()).collect();
    mesh.tri_verts = shell
        .triangles
        .iter()
        .flatten()
        .map(|&i| u64::from(i))
        .collect();
    mesh.face_id = shell.skins.iter().map(|s| *s as u64).collect();
    checked(Manifold::from_mesh_gl64(&mesh))
}

/// The kernel's mesh as a shell.
pub(crate) fn from_kernel(solid: &Manifold) -> Shell {
    let mesh = solid.get_mesh_gl64(-1);
    let skin = |id: u64| match id {
        0 => Skin::Foot,
        1 => Skin::Top,
        3 => Skin::Flare,
        4 => Skin::Edge,
        _ => Skin::Side,
    };
    Shell {
        points: points_of(&mesh),
        triangles: triangles_of(&mesh),
        skins: mesh.face_id.iter().map(|&id| skin(id)).collect(),
    }
}

/// The vertices of what the kernel gives out.
pub(crate) fn points_of(mesh: &MeshGL64) -> Vec<Vec3> {
    let vertices = mesh.vert_properties.chunks(mesh.num_prop as usize);
    vertices.map(|c| Vec3::new(c[0], c[1], c[2])).collect()
}

/// The triangles of what the kernel gives out.
pub(crate) fn triangles_of(mesh: &MeshGL64) -> Vec<[u32; 3]> {
    let corners = mesh.tri_verts.chunks(3);
    corners
        .map(|t| [t[0] as u32, t[1] as u32, t[2] as u32])
        .collect()
}

/// A kernel mesh whose status is sound.
pub(crate) fn checked(solid: Manifold) -> Result<Manifold, SolidFault> {
    match solid.status() {
        Error::NoError => Ok(solid),
        status => Err(SolidFault::Refused {
            body: None,
            status: format!("{status:?}"),
        }),
    }
}

/// One boolean by the exact engine.
pub(crate) fn boolean(a: &Manifold, b: &Manifold, op: OpType) -> Result<Manifold, SolidFault> {
    checked(a.boolean_with_engine(b, op, BooleanEngine::Exact))
}
