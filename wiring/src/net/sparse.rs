//! Nodal equations of a whole plan with every conductor in them, solved sparsely.
//!
//! Symbols as in `linear`: conductance `y` (S), source `e` (V) in series with it. The matrix is real and symmetric, the right
//! side complex. Nodes are eliminated in the order of their neighbours at that moment, fewest first: a plan is nearly a tree, so
//! that hardly anything fills in, and cost grows with the number of nodes.
//!
//! Edges: a node that nothing holds comes out at zero; one node a piece is the reference and is not handed in.

use num_complex::Complex64;
use std::collections::{BTreeMap, BTreeSet};

/// The equations under construction.
#[derive(Clone, Debug)]
pub(super) struct Sparse {
    diagonal: Vec<f64>,
    off: Vec<BTreeMap<u32, f64>>,
    right: Vec<Complex64>,
}

impl Sparse {
    pub(super) fn new(n: usize) -> Self {
        Self { diagonal: vec![0.0; n], off: vec![BTreeMap::new(); n], right: vec![Complex64::ZERO; n] }
    }

    /// Adds a branch from `a` to `b` with source `e` towards `a`; `None` is the reference.
    pub(super) fn branch(&mut self, a: Option<u32>, b: Option<u32>, y: f64, e: Complex64) {
        for (n, sign) in [(a, 1.0), (b, -1.0)] {
            if let Some(n) = n {
                self.diagonal[n as usize] += y;
                self.right[n as usize] += e * (y * sign);
            }
        }
        if let (Some(a), Some(b)) = (a, b) {
            *self.off[a as usize].entry(b).or_default() -= y;
            *self.off[b as usize].entry(a).or_default() -= y;
        }
    }

    /// Takes a current out of `a` into `b`, amperes; `None` is the reference.
    pub(super) fn draw(&mut self, a: Option<u32>, b: Option<u32>, amps: Complex64) {
        for (n, sign) in [(a, -1.0), (b, 1.0)] {
            if let Some(n) = n {
                self.right[n as usize] += amps * sign;
            }
        }
    }

    /// Node voltages.
    pub(super) fn solve(mut self) -> Vec<Complex64> {
        let n = self.diagonal.len();
        let mut queue: BTreeSet<(usize, u32)> = (0..n as u32).map(|i| (self.off[i as usize].len(), i)).collect();
        let mut order = Vec::with_capacity(n);
        let mut rows: Vec<Vec<(u32, f64)>> = vec![Vec::new(); n];
        while let Some((_, k)) = queue.pop_first() {
            let row: Vec<(u32, f64)> = std::mem::take(&mut self.off[k as usize]).into_iter().collect();
            let pivot = self.diagonal[k as usize];
            order.push(k);
            for (i, a) in &row {
                let was = self.off[*i as usize].len();
                queue.remove(&(was, *i));
                self.off[*i as usize].remove(&k);
                if pivot > 0.0 {
                    let f = a / pivot;
                    self.diagonal[*i as usize] -= f * a;
                    let r = self.right[k as usize];
                    self.right[*i as usize] -= r * f;
                    for (j, b) in row.iter().filter(|(j, _)| j != i) {
                        *self.off[*i as usize].entry(*j).or_default() -= f * b;
                    }
                }
            }
            for (i, _) in &row {
                queue.insert((self.off[*i as usize].len(), *i));
            }
            rows[k as usize] = row;
        }
        let mut v = vec![Complex64::ZERO; n];
        for k in order.into_iter().rev() {
            let pivot = self.diagonal[k as usize];
            if pivot > 0.0 {
                let sum: Complex64 = rows[k as usize].iter().map(|(j, a)| v[*j as usize] * *a).sum();
                v[k as usize] = (self.right[k as usize] - sum) / pivot;
            }
        }
        v
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The divider of `linear` and a loop, by hand: 12 V behind 1 ohm into 2 and 3 ohm in parallel (1.2 ohm): 12 * 1.2 / 2.2.
    #[test]
    fn a_divider_and_a_loop_agree_with_hand_calculation() {
        let mut s = Sparse::new(3);
        s.branch(Some(0), None, 1.0 / 0.35, Complex64::new(24.0, 0.0));
        s.branch(Some(0), Some(1), 1.0 / 12.0, Complex64::ZERO);
        s.branch(Some(1), None, 1.0 / 12.0, Complex64::ZERO);
        s.branch(Some(2), None, 1.0, Complex64::new(12.0, 0.0));
        s.branch(Some(2), None, 1.0 / 2.0, Complex64::ZERO);
        s.branch(None, Some(2), 1.0 / 3.0, Complex64::ZERO);
        let v = s.solve();
        assert!((v[1].re - 11.827_515).abs() < 1e-5, "{v:?}");
        assert!((v[2].re - 12.0 * 1.2 / 2.2).abs() < 1e-9, "{v:?}");
    }
}
