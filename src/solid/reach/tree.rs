//! A tree of boxes: which of many lie in the way of another.

use crate::measure::{Bounds, Vec3};

/// Boxes in one leaf, at most.
const LEAF: usize = 4;

/// A node: a leaf holds `items[first..first + count]`; else its children are the next node and `first`.
#[derive(Debug, Clone)]
struct Node {
    bounds: Bounds,
    first: u32,
    count: u32,
}

/// Boxes, sorted so that those near a place are found fast.
#[derive(Debug, Clone, Default)]
pub(super) struct Tree {
    nodes: Vec<Node>,
    items: Vec<u32>,
}

/// Whether two boxes share more than their surface.
fn cross(a: &Bounds, b: &Bounds) -> bool {
    a.low.cmplt(b.high).all() && b.low.cmplt(a.high).all()
}

impl Tree {
    /// A tree of these boxes; they are named by their places in the list.
    pub fn new(boxes: &[Bounds]) -> Tree {
        let mut tree = Tree {
            nodes: Vec::with_capacity(boxes.len()),
            items: (0..boxes.len() as u32).collect(),
        };
        if !boxes.is_empty() {
            tree.split(boxes, 0, boxes.len());
        }
        tree
    }

    fn split(&mut self, boxes: &[Bounds], from: usize, to: usize) {
        let me = self.nodes.len();
        let bounds = self.items[from..to]
            .iter()
            .fold(Bounds::EMPTY, |all, &i| all.joined(boxes[i as usize]));
        self.nodes.push(Node {
            bounds,
            first: from as u32,
            count: (to - from) as u32,
        });
        if to - from <= LEAF {
            return;
        }
        let size = bounds.size();
        let axis = if size.x >= size.y && size.x >= size.z {
            Vec3::X
        } else if size.y >= size.z {
            Vec3::Y
        } else {
            Vec3::Z
        };
        let middle = (from + to) / 2;
        self.items[from..to].select_nth_unstable_by(middle - from, |&a, &b| {
            let place = |i: u32| (boxes[i as usize].low + boxes[i as usize].high).dot(axis);
            place(a).total_cmp(&place(b)).then(a.cmp(&b))
        });
        self.split(boxes, from, middle);
        self.nodes[me].first = self.nodes.len() as u32;
        self.nodes[me].count = 0;
        self.split(boxes, middle, to);
    }

    /// Calls `hit` with every box whose leaf crosses `wanted`, until it answers true; says whether it did.
    /// A leaf's boxes come together: look at each one's own box first.
    pub fn any(&self, wanted: &Bounds, mut hit: impl FnMut(u32) -> bool) -> bool {
        let mut open = [0u32; 64];
        let mut left = usize::from(!self.nodes.is_empty());
        while left > 0 {
            left -= 1;
            let at = open[left];
            let node = &self.nodes[at as usize];
            if !cross(&node.bounds, wanted) {
                continue;
            }
            if node.count == 0 {
                open[left] = node.first;
                open[left + 1] = at + 1;
                left += 2;
                continue;
            }
            let (first, count) = (node.first as usize, node.count as usize);
            if self.items[first..first + count].iter().any(|&i| hit(i)) {
                return true;
            }
        }
        false
    }
}
