//! The edges of a mesh with their uses: which don't pair, and which triangles hang together.
//!
//! Uses are sorted by counting on the lesser vertex, then within its few edges.

/// One triangle's use of an edge.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Use {
    /// The greater vertex; the lesser one is the group's.
    pub greater: u32,
    /// The triangle.
    pub triangle: u32,
    /// Whether the triangle runs from the lesser vertex to the greater.
    pub rising: bool,
}

/// All edges of a mesh.
pub(super) struct Edges {
    /// Where the uses of each lesser vertex start; one more at the end.
    start: Vec<u32>,
    uses: Vec<Use>,
}

impl Edges {
    /// The edges of some triangles.
    pub(super) fn of(triangles: &[[u32; 3]]) -> Edges {
        let sides = || {
            triangles.iter().enumerate().flat_map(|(i, t)| {
                [(t[0], t[1]), (t[1], t[2]), (t[2], t[0])].map(|(a, b)| (i as u32, a, b))
            })
        };
        let most = triangles.iter().flatten().copied().max().unwrap_or(0) as usize;
        let mut start = vec![0u32; most + 2];
        for (_, a, b) in sides() {
            start[a.min(b) as usize + 1] += 1;
        }
        for v in 0..=most {
            start[v + 1] += start[v];
        }
        let none = Use {
            greater: 0,
            triangle: 0,
            rising: false,
        };
        let mut uses = vec![none; 3 * triangles.len()];
        let mut free = start.clone();
        for (triangle, a, b) in sides() {
            let at = &mut free[a.min(b) as usize];
            uses[*at as usize] = Use {
                greater: a.max(b),
                triangle,
                rising: a < b,
            };
            *at += 1;
        }
        for v in 0..=most {
            uses[start[v] as usize..start[v + 1] as usize].sort_unstable();
        }
        Edges { start, uses }
    }

    /// The uses of each edge.
    pub(super) fn groups(&self) -> impl Iterator<Item = &[Use]> {
        self.start.windows(2).flat_map(|w| {
            self.uses[w[0] as usize..w[1] as usize].chunk_by(|a, b| a.greater == b.greater)
        })
    }

    /// How many edges are open, doubled, misoriented or without length.
    pub(super) fn bad(&self) -> usize {
        // An edge without length never rises, so that it never pairs.
        let unpaired = |uses: &&[Use]| uses.len() != 2 || uses[0].rising == uses[1].rising;
        self.groups().filter(unpaired).count()
    }

    /// How many vertices there are when surfaces that touch in a point have one each there.
    pub(super) fn fans(&self, triangles: &[[u32; 3]]) -> usize {
        let mut parent: Vec<u32> = (0..self.uses.len() as u32).collect();
        let corner = |triangle: u32, v: u32| {
            let place = triangles[triangle as usize].iter().position(|&c| c == v);
            3 * triangle + place.unwrap_or(0) as u32
        };
        for (lesser, w) in self.start.windows(2).enumerate() {
            let uses = &self.uses[w[0] as usize..w[1] as usize];
            for pair in uses.windows(2).filter(|p| p[0].greater == p[1].greater) {
                for v in [lesser as u32, pair[0].greater] {
                    let a = root(&mut parent, corner(pair[0].triangle, v));
                    let b = root(&mut parent, corner(pair[1].triangle, v));
                    parent[a.max(b) as usize] = a.min(b);
                }
            }
        }
        (0..).zip(&parent).filter(|(i, p)| i == *p).count()
    }

    /// The surface that each triangle is of, numbered by their first triangles, and how many there are. Triangles
    /// hang together by edges.
    pub(super) fn surfaces(&self) -> (Vec<usize>, usize) {
        let mut parent: Vec<u32> = (0..self.uses.len() as u32 / 3).collect();
        for pair in self.groups().flat_map(|uses| uses.windows(2)) {
            let a = root(&mut parent, pair[0].triangle);
            let b = root(&mut parent, pair[1].triangle);
            // The least triangle stands for its surface.
            parent[a.max(b) as usize] = a.min(b);
        }
        let mut of = vec![0; parent.len()];
        let mut count = 0;
        for i in 0..parent.len() {
            let stands_for = root(&mut parent, i as u32) as usize;
            if stands_for == i {
                of[i] = count;
                count += 1;
            } else {
                of[i] = of[stands_for];
            }
        }
        (of, count)
    }
}

/// The least one joined with this one so far.
fn root(parent: &mut [u32], mut i: u32) -> u32 {
    while parent[i as usize] != i {
        parent[i as usize] = parent[parent[i as usize] as usize];
        i = parent[i as usize];
    }
    i
}
