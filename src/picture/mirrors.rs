//! Which nodes over the film are mirror images of others.

use crate::camera::{Blur, Camera};
use crate::geometry::Outline;

/// The nodes across and down of which others are mirror images.
pub(super) struct Mirrors {
    nodes: [usize; 2],
    /// Nodes that are computed, from the left and from the top.
    computed: [usize; 2],
}

impl Mirrors {
    pub(super) fn of(camera: &Camera, outline: &Outline, nodes: [usize; 2]) -> Mirrors {
        let mirrors =
            outline.mirrors().map(|mirror| mirror && Blur::of(camera, outline).is_round());
        let computed =
            [0, 1].map(|axis| if mirrors[axis] { nodes[axis].div_ceil(2) } else { nodes[axis] });
        Mirrors { nodes, computed }
    }

    pub(super) fn computed(&self) -> Vec<[usize; 2]> {
        let [across, down] = self.computed;
        (0..across * down).map(|node| [node % across, node / across]).collect()
    }

    /// The computed node that a node is a mirror image of, and along which axes it is turned.
    pub(super) fn of_node(&self, node: [usize; 2]) -> (usize, [bool; 2]) {
        let turned = [0, 1].map(|axis| node[axis] >= self.computed[axis]);
        let [i, j] = [0, 1]
            .map(|axis| if turned[axis] { self.nodes[axis] - 1 - node[axis] } else { node[axis] });
        (j * self.computed[0] + i, turned)
    }

    /// How many nodes there are to one that is computed.
    pub(super) fn nodes_to_one(&self) -> f64 {
        let count = |of: [usize; 2]| (of[0] * of[1]) as f64;
        count(self.nodes) / count(self.computed)
    }
}
