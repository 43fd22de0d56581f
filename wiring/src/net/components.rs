//! Union-find: which nodes are one, and by how many volts two nodes of one group differ.
//!
//! [`Groups`] joins without an offset. [`Potentials`] carries a complex offset along every link, so that ideal sources and
//! closed contacts are the same operation: `join(a, b, e)` states `V(a) - V(b) = e`. A statement that contradicts earlier
//! ones is a short, and is returned as such rather than taken.
//!
//! Bounds: path length is logarithmic (union by size); no recursion.

use num_complex::Complex64;

/// Plain union-find.
#[derive(Clone, Debug)]
pub(crate) struct Groups {
    parent: Vec<u32>,
}

impl Groups {
    pub(crate) fn new(n: usize) -> Self {
        Self { parent: (0..n as u32).collect() }
    }

    pub(crate) fn find(&mut self, mut x: u32) -> u32 {
        while self.parent[x as usize] != x {
            let up = self.parent[self.parent[x as usize] as usize];
            self.parent[x as usize] = up;
            x = up;
        }
        x
    }

    /// Joins two; the lower number becomes the root, so that roots do not depend on the order of joining.
    pub(crate) fn join(&mut self, a: u32, b: u32) {
        let (a, b) = (self.find(a), self.find(b));
        let (low, high) = if a < b { (a, b) } else { (b, a) };
        self.parent[high as usize] = low;
    }

    /// Numbers the groups from 0 in the order of their lowest member.
    pub(crate) fn numbered(&mut self) -> (Vec<u32>, usize) {
        let mut number = vec![u32::MAX; self.parent.len()];
        let mut next = 0;
        let mut out = Vec::with_capacity(self.parent.len());
        for i in 0..self.parent.len() as u32 {
            let r = self.find(i) as usize;
            if number[r] == u32::MAX {
                number[r] = next;
                next += 1;
            }
            out.push(number[r]);
        }
        (out, next as usize)
    }
}

/// Union-find with a complex offset to the parent, volts.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Potentials {
    parent: Vec<u32>,
    size: Vec<u32>,
    offset: Vec<Complex64>,
}

/// Offsets nearer than this are one potential, volts.
pub(crate) const SAME_V: f64 = 1e-6;

impl Potentials {
    pub(crate) fn new(n: usize) -> Self {
        Self { parent: (0..n as u32).collect(), size: vec![1; n], offset: vec![Complex64::ZERO; n] }
    }

    /// Takes over the state of another without giving up the buffers.
    pub(crate) fn copy_from(&mut self, other: &Self) {
        self.parent.clone_from(&other.parent);
        self.size.clone_from(&other.size);
        self.offset.clone_from(&other.offset);
    }

    /// Root of `x` and `V(x) - V(root)`.
    pub(crate) fn find(&self, mut x: u32) -> (u32, Complex64) {
        let mut sum = Complex64::ZERO;
        while self.parent[x as usize] != x {
            sum += self.offset[x as usize];
            x = self.parent[x as usize];
        }
        (x, sum)
    }

    /// States `V(a) - V(b) = e`. The contradiction in volts, if there is one.
    pub(crate) fn join(&mut self, a: u32, b: u32, e: Complex64) -> Result<(), f64> {
        let ((ra, va), (rb, vb)) = (self.find(a), self.find(b));
        if ra == rb {
            let off = (va - vb - e).norm();
            return if off > SAME_V { Err(off) } else { Ok(()) };
        }
        // V(ra) - V(rb) = e + vb - va
        let link = e + vb - va;
        let (ra, rb) = (ra as usize, rb as usize);
        if self.size[ra] <= self.size[rb] {
            self.parent[ra] = rb as u32;
            self.offset[ra] = link;
            self.size[rb] += self.size[ra];
        } else {
            self.parent[rb] = ra as u32;
            self.offset[rb] = -link;
            self.size[ra] += self.size[rb];
        }
        Ok(())
    }

    /// `V(a) - V(b)` when both are of one group.
    pub(crate) fn between(&self, a: u32, b: u32) -> Option<Complex64> {
        let ((ra, va), (rb, vb)) = (self.find(a), self.find(b));
        (ra == rb).then_some(va - vb)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn offsets_add_up_along_links_and_contradictions_are_shorts() {
        let mut p = Potentials::new(4);
        let v = |re| Complex64::new(re, 0.0);
        assert_eq!(p.join(0, 1, v(120.0)), Ok(()));
        assert_eq!(p.join(2, 1, v(-120.0)), Ok(()));
        assert_eq!(p.between(0, 2), Some(v(240.0)));
        assert_eq!(p.between(0, 3), None);
        assert_eq!(p.join(0, 2, v(0.0)), Err(240.0));
        assert_eq!(p.join(0, 2, v(240.0)), Ok(()));
    }

    #[test]
    fn groups_are_numbered_by_their_lowest_member() {
        let mut g = Groups::new(5);
        g.join(4, 2);
        g.join(3, 1);
        assert_eq!(g.numbered(), (vec![0, 1, 2, 1, 2], 3));
    }
}
