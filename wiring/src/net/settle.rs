//! A block solved for one position of its actuators.
//!
//! Contacts and stiff supplies join nodes with known offsets; what is left between the joined groups are conductances,
//! solved by Kirchhoff's current law (`linear`). Coils then move: pull-in at 85 % of rated volts, drop-out below 50 %
//! (`watch`); a transformer that is not stiff follows its primary in volts and phase, and one without primary power is a
//! winding that carries nothing. This repeats until nothing moves, at most `2 x (coils + supplies) + 8` times; past that the
//! block is reported as unsettled.
//!
//! A block whose coils move its own contacts is solved twice, from all coils dropped and from all pulled in. If the two ends
//! differ the block latches: its state depends on history, which a proof over positions cannot cover, so it is reported.
//!
//! A winding that is not stiff and whose ends another supply holds at other volts than its own is a short too, once all is at rest.
//!
//! A short counts in whatever step it stands, also before a coil would have opened it: the breaker is faster.
//!
//! All coils move at once in a step; two relays that race are therefore reported as unsettled even where luck would decide.

use super::{
    block::{Block, By, CoilAt, Emf, Scratch, Solved, Stand, Supply, difference, stand},
    components::{Groups, Potentials},
    joins::FED,
    watch::{DROP_OUT, PULL_IN, Trouble},
};
use num_complex::Complex64;

/// How far another supply may hold a winding's ends from its own volts, as a share of these (our choice): past it that is a short.
const FORCED: f64 = 0.25;

impl Block {
    /// Solves the block. `bits`: its actuators, then the coils before it.
    pub(crate) fn solve(&self, bits: &[bool], s: &mut Scratch) -> Solved {
        let mut first = self.settle(bits, false, s);
        if bits[self.actuators.len()..].contains(&true) {
            // As the block stands before the coils of earlier blocks have pulled in: only shorts count.
            s.shorts.clear();
            s.coils.iter_mut().for_each(|c| *c = false);
            self.connect(&bits[..self.actuators.len()], s);
            for t in s.shorts.drain(..) {
                if !first.troubles.contains(&t) {
                    first.troubles.push(t);
                }
            }
        }
        if self.feedback {
            let second = self.settle(bits, true, s);
            if first.troubles.is_empty() && second.coils != first.coils {
                let k = first.coils.iter().zip(&second.coils).position(|(a, b)| a != b).unwrap_or(0);
                first.troubles.push(Trouble::Latching { at: self.coils[k].terminal });
            }
        }
        first
    }

    fn settle(&self, bits: &[bool], coils_in: bool, s: &mut Scratch) -> Solved {
        s.shorts.clear();
        s.coils.clear();
        s.coils.resize(self.coils.len(), coils_in);
        s.emf.clear();
        s.emf.extend(self.supplies.iter().map(|u| match u.emf {
            Emf::Fixed(e) => e,
            Emf::Follows { .. } => Complex64::ZERO,
        }));
        let cap = 2 * (self.coils.len() + self.supplies.len()) + 8;
        let mut settled = false;
        for _ in 0..cap {
            self.connect(bits, s);
            self.nodal(s);
            if !self.advance(s) {
                settled = true;
                break;
            }
        }
        let mut troubles = std::mem::take(&mut s.shorts);
        for (k, c) in self.coils.iter().enumerate() {
            let share = self.coil_share(c, s);
            if (DROP_OUT..PULL_IN).contains(&share) {
                troubles.push(Trouble::WeakCoil { at: self.coils[k].terminal });
            }
        }
        troubles.extend(self.supplies.iter().zip(&s.emf).filter_map(|(u, e)| self.forced(u, *e, &s.pot)));
        if !settled {
            troubles.push(Trouble::Unsettled { at: self.coils.first().map_or(0, |c| c.terminal) });
        }
        for (i, a) in self.systems.iter().enumerate().filter(|(_, a)| a.live) {
            for b in self.systems[i + 1..].iter().filter(|b| b.live) {
                if s.pot.find(a.anchor).0 == s.pot.find(b.anchor).0 {
                    troubles.push(Trouble::SuppliesJoined { a: a.terminal, b: b.terminal });
                }
            }
        }
        troubles.sort_unstable();
        troubles.dedup();
        let seen = self.looks.iter().map(|l| self.see(l, s)).collect();
        Solved { seen, coils: s.coils.clone(), troubles }
    }

    /// A winding that gives volts while another supply holds both its ends at other volts: its fuse goes, or it burns.
    fn forced(&self, u: &Supply, e: Complex64, pot: &Potentials) -> Option<Trouble> {
        if !matches!(u.emf, Emf::Follows { .. }) || e == Complex64::ZERO {
            return None;
        }
        let ((ra, oa), (rb, ob)) = (pot.find(u.a), pot.find(u.b));
        let off = (oa - ob - e).norm();
        let (a, b) = u.terminals;
        (ra == rb && off > FORCED * e.norm()).then(|| Trouble::Short { a, b, volts: off.round() as u16 })
    }

    /// Closes contacts.
    fn connect(&self, bits: &[bool], s: &mut Scratch) {
        s.pot.copy_from(&self.template);
        for c in &self.switches {
            let moved = match c.by {
                By::Actuator(k) => bits[k],
                By::Coil(k) => s.coils[k],
                By::Before(k) => bits.get(self.actuators.len() + k).copied().unwrap_or(false),
            };
            if c.closed_at_rest != moved
                && let Err(volts) = s.pot.join(c.a, c.b, Complex64::ZERO)
            {
                s.shorts.push(Trouble::Short { a: c.terminals.0, b: c.terminals.1, volts: volts.round() as u16 });
            }
        }
    }

    /// Potentials of all groups.
    fn nodal(&self, s: &mut Scratch) {
        let n = self.nodes.len();
        s.x.clear();
        s.x.resize(n, Complex64::ZERO);
        s.piece.clear();
        s.piece.extend(0..n as u32);
        let mut pieces = Groups::new(n);
        let mut any = false;
        let ends = |pot: &Potentials, a, b| {
            let ((ra, oa), (rb, ob)) = (pot.find(a), pot.find(b));
            (ra, rb, oa - ob)
        };
        let branches = self.branches.iter().map(|b| (b.a, b.b, b.y, Complex64::ZERO));
        let supplies = self.supplies.iter().zip(&s.emf).map(|(u, e)| {
            let dead = matches!(u.emf, Emf::Follows { rated, ratio, .. } if e.norm() <= FED * rated * ratio);
            if dead { (u.a, u.b, u.idle, Complex64::ZERO) } else { (u.a, u.b, u.y, *e) }
        });
        for (a, b, _, _) in branches.clone().chain(supplies.clone()) {
            let (ra, rb, _) = ends(&s.pot, a, b);
            if ra != rb {
                pieces.join(ra, rb);
                any = true;
            }
        }
        for i in 0..n as u32 {
            s.piece[i as usize] = pieces.find(i);
        }
        if !any {
            return;
        }
        // One reference a piece: the first system in it, or any of its groups.
        s.place.clear();
        s.place.resize(n, None);
        let mut held = vec![false; n];
        let mut reference = vec![false; n];
        for y in &self.systems {
            let (root, _) = s.pot.find(y.anchor);
            let piece = s.piece[root as usize] as usize;
            if !held[piece] {
                held[piece] = true;
                reference[root as usize] = true;
            }
        }
        let mut next = 0;
        for (a, b, _, _) in branches.clone().chain(supplies.clone()) {
            let (ra, rb, _) = ends(&s.pot, a, b);
            if ra == rb {
                continue;
            }
            for r in [ra, rb] {
                let piece = s.piece[r as usize] as usize;
                if !held[piece] {
                    held[piece] = true;
                    reference[r as usize] = true;
                }
                if !reference[r as usize] && s.place[r as usize].is_none() {
                    s.place[r as usize] = Some(next);
                    next += 1;
                }
            }
        }
        s.linear.start(next);
        for (a, b, y, e) in branches.chain(supplies) {
            let (ra, rb, offset) = ends(&s.pot, a, b);
            if ra != rb {
                s.linear.branch(s.place[ra as usize], s.place[rb as usize], y, e - offset);
            }
        }
        let v = s.linear.solve();
        for (node, place) in s.place.iter().enumerate() {
            if let Some(k) = place {
                s.x[node] = v[*k];
            }
        }
    }

    /// Moves coils and windings to what they see; true when something moved.
    fn advance(&self, s: &mut Scratch) -> bool {
        let mut moved = false;
        for (k, c) in self.coils.iter().enumerate() {
            let share = self.coil_share(c, s);
            let next = share >= if s.coils[k] { DROP_OUT } else { PULL_IN };
            moved |= next != s.coils[k];
            s.coils[k] = next;
        }
        for (k, u) in self.supplies.iter().enumerate() {
            if let Emf::Follows { a, b, ratio, rated } = u.emf {
                let v = difference(stand(a, s), stand(b, s)).unwrap_or_default();
                let next = if v.norm() > FED * rated { v * ratio } else { Complex64::ZERO };
                moved |= (next - s.emf[k]).norm() > 1e-4;
                s.emf[k] = next;
            }
        }
        moved
    }

    fn coil_share(&self, c: &CoilAt, s: &Scratch) -> f64 {
        difference(stand(c.a, s), stand(c.b, s)).map_or(0.0, |v| v.norm()) / c.volts
    }

    /// Where each node of the block stands after the last solution, with the root of the rail system if it has one.
    pub(crate) fn stands(&self, bits: &[bool], s: &mut Scratch) -> Vec<(u32, Stand)> {
        let _ = self.settle(bits, false, s);
        self.nodes
            .iter()
            .enumerate()
            .map(|(i, global)| {
                let here = stand(i as u32, s);
                (*global, here)
            })
            .collect()
    }
}
