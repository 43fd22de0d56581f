//! Nodal equations of one connected piece of a network, solved densely.
//!
//! Symbols: node voltages `V` (V), branch conductance `y` (S), branch source `e` (V) in series with `y`, so that the current
//! from `a` to `b` is `y (V(a) - V(b) - e)`. Kirchhoff's current law at every node; one node is held at zero.
//! Loads and coils are conductances `y = VA / V^2` (our choice: settled state, no power factor), so the matrix is real,
//! symmetric and diagonally dominant; the right side is complex. Gaussian elimination without pivoting is stable on it.
//!
//! Edges: a node without any branch must not be handed in. Pieces are small (tens of nodes); cost is cubic.

use num_complex::Complex64;

/// Scratch memory, kept between solutions.
#[derive(Clone, Debug, Default)]
pub(crate) struct Linear {
    n: usize,
    matrix: Vec<f64>,
    right: Vec<Complex64>,
}

impl Linear {
    /// Starts a piece of `n` nodes beside the reference.
    pub(crate) fn start(&mut self, n: usize) {
        self.n = n;
        self.matrix.clear();
        self.matrix.resize(n * n, 0.0);
        self.right.clear();
        self.right.resize(n, Complex64::ZERO);
    }

    /// Adds a branch from `a` to `b` with source `e` towards `a`; `None` is the reference.
    pub(crate) fn branch(&mut self, a: Option<usize>, b: Option<usize>, y: f64, e: Complex64) {
        if let Some(a) = a {
            self.matrix[a * self.n + a] += y;
            self.right[a] += e * y;
        }
        if let Some(b) = b {
            self.matrix[b * self.n + b] += y;
            self.right[b] -= e * y;
        }
        if let (Some(a), Some(b)) = (a, b) {
            self.matrix[a * self.n + b] -= y;
            self.matrix[b * self.n + a] -= y;
        }
    }

    /// Adds a current into `a`, amperes.
    pub(crate) fn inject(&mut self, a: usize, amps: f64) {
        self.right[a] += amps;
    }

    /// Node voltages. A node that nothing holds comes out at zero.
    pub(crate) fn solve(&mut self) -> &[Complex64] {
        let n = self.n;
        for k in 0..n {
            let pivot = self.matrix[k * n + k];
            if pivot <= 1e-15 {
                continue;
            }
            for i in k + 1..n {
                let f = self.matrix[i * n + k] / pivot;
                if f != 0.0 {
                    for j in k..n {
                        self.matrix[i * n + j] -= f * self.matrix[k * n + j];
                    }
                    let r = self.right[k];
                    self.right[i] -= r * f;
                }
            }
        }
        for k in (0..n).rev() {
            let pivot = self.matrix[k * n + k];
            let mut sum = self.right[k];
            for j in k + 1..n {
                sum -= self.right[j] * self.matrix[k * n + j];
            }
            self.right[k] = if pivot <= 1e-15 { Complex64::ZERO } else { sum / pivot };
        }
        &self.right
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Series 0.35 ohm and 2 x 12 ohm on 24 V, by hand: 24 * 12 / 24.35 = 11.8275 V over each.
    #[test]
    fn a_divider_agrees_with_hand_calculation() {
        let mut l = Linear::default();
        l.start(2);
        l.branch(Some(0), None, 1.0 / 0.35, Complex64::new(24.0, 0.0));
        l.branch(Some(0), Some(1), 1.0 / 12.0, Complex64::ZERO);
        l.branch(Some(1), None, 1.0 / 12.0, Complex64::ZERO);
        let v = l.solve();
        assert!((v[1].re - 11.827_515).abs() < 1e-5, "{v:?}");
    }
}
