//! The edges of a mesh with their uses: which don't pair, and which triangles hang together.
//!
//! Uses are sorted by counting on the lesser vertex, then within its few edges.

/// One triangle's use of an edge.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Use {
    /// The greater vertex; the lesser one is the group's.
    pub greater: u32,
    /// Which side of which triangle: three a triangle, in its order.
    pub side: u32,
    /// Whether the triangle runs from the lesser vertex to the greater.
    pub rising: bool,
}

impl Use {
    /// The triangle.
    pub(super) fn triangle(&self) -> u32 {
        self.side / 3
    }
}

/// A side that none runs against.
pub(super) const ALONE: u32 = u32::MAX;

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
            let sides = triangles
                .iter()
                .flat_map(|t| [(t[0], t[1]), (t[1], t[2]), (t[2], t[0])]);
            (0u32..).zip(sides)
        };
        let most = triangles.iter().flatten().copied().max().unwrap_or(0) as usize;
        let mut start = vec![0u32; most + 2];
        for (_, (a, b)) in sides() {
            start[a.min(b) as usize + 1] += 1;
        }
        for v in 0..=most {
            start[v + 1] += start[v];
        }
        let none = Use {
            greater: 0,
            side: 0,
            rising: false,
        };
        let mut uses = vec![none; 3 * triangles.len()];
        let mut free = start.clone();
        for (side, (a, b)) in sides() {
            let at = &mut free[a.min(b) as usize];
            uses[*at as usize] = Use {
                greater: a.max(b),
                side,
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

    /// For each side of a triangle the one that runs against it, or [`ALONE`].
    pub(super) fn across(&self) -> Vec<u32> {
        let mut across = vec![ALONE; self.uses.len()];
        for uses in self.groups() {
            let (mut rising, mut falling) = (
                uses.iter().filter(|u| u.rising),
                uses.iter().filter(|u| !u.rising),
            );
            while let (Some(a), Some(b)) = (rising.next(), falling.next()) {
                across[a.side as usize] = b.side;
                across[b.side as usize] = a.side;
            }
        }
        across
    }

    /// How many vertices there are when surfaces that touch in a point have one each there. Only for a mesh whose
    /// edges pair.
    pub(super) fn fans(&self) -> usize {
        let across = self.across();
        let mut seen = vec![false; across.len()];
        let mut fans = 0;
        for side in 0..across.len() {
            fans += usize::from(!seen[side]);
            let mut around = side;
            while !std::mem::replace(&mut seen[around], true) {
                // The side that ends where this one starts, and what runs against it.
                let before = if around % 3 == 0 {
                    around + 2
                } else {
                    around - 1
                };
                match across[before] {
                    ALONE => break,
                    other => around = other as usize,
                }
            }
        }
        fans
    }

    /// The surface that each triangle is of, numbered by their first triangles, and how many there are. Triangles
    /// hang together by edges.
    pub(super) fn surfaces(&self) -> (Vec<usize>, usize) {
        let mut parent: Vec<u32> = (0..self.uses.len() as u32 / 3).collect();
        for pair in self.groups().flat_map(|uses| uses.windows(2)) {
            let a = root(&mut parent, pair[0].triangle());
            let b = root(&mut parent, pair[1].triangle());
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
