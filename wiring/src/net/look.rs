//! What each watch of a block sees after it was solved.
//!
//! A load is told by its share of rated volts and by where its terminals stand against ground (`watch`). An input is closed
//! only while its terminals are one node, and foreign as soon as another supply's voltage reaches it. A signal input must
//! find plus and minus of one output. A sensor input sees the resistance between its terminals: every element has a test
//! value of its own, far enough from all others that no series or parallel pair looks like a third (`test_ohm`).

use super::{
    block::{Block, Look, Scratch, Stand, difference, stand, test_ohm},
    components::Groups,
    watch::{DEAD_MAX, FOREIGN_V, LIVE_MAX, LIVE_MIN, Seen},
};
use num_complex::Complex64;
use std::collections::HashMap;

impl Block {
    /// Potential of ground (or of the return pole) in the piece, its system, and whether it is ground.
    fn reference(&self, piece: u32, s: &Scratch) -> Option<(Complex64, bool)> {
        self.systems.iter().find_map(|y| {
            let here = stand(y.anchor, s);
            let r = y.reference?;
            (here.piece == piece).then_some((here.volts + r, y.earthed))
        })
    }

    fn foreign(&self, node: u32, s: &Scratch) -> bool {
        let at = stand(node, s);
        self.reference(at.piece, s).is_some_and(|(r, _)| (at.volts - r).norm() > FOREIGN_V)
    }

    pub(super) fn see(&self, look: &Look, s: &mut Scratch) -> Seen {
        match *look {
            Look::Load { a, b, volts } => {
                let (sa, sb) = (stand(a, s), stand(b, s));
                let v = difference(sa, sb).map_or(0.0, |v| v.norm()) / volts;
                let reference = self.reference(sa.piece, s);
                let high = |x: Stand| reference.map(|(r, _)| (x.volts - r).norm() > 0.5 * volts);
                if v <= DEAD_MAX {
                    let grounded = reference.is_some_and(|(_, earthed)| earthed);
                    if grounded && high(sa) == Some(true) { Seen::DeadButHot } else { Seen::Dead }
                } else if !(LIVE_MIN..=LIVE_MAX).contains(&v) {
                    Seen::Odd((v * 1000.0).round().min(60_000.0) as u16)
                } else if high(sa) == Some(false) && high(sb) == Some(true) {
                    Seen::LiveReversed
                } else {
                    Seen::Live
                }
            }
            Look::Load3 { lines, volts } => {
                let at = lines.map(|l| stand(l, s));
                let between = |i: usize, j: usize| difference(at[i], at[j]).unwrap_or_default();
                let legs = [between(0, 1), between(1, 2), between(2, 0)];
                let share = legs.map(|v| v.norm() / volts);
                if share.iter().all(|v| *v <= DEAD_MAX) {
                    let hot = at.iter().any(|x| {
                        self.reference(x.piece, s).is_some_and(|(r, e)| e && (x.volts - r).norm() > 0.25 * volts)
                    });
                    return if hot { Seen::DeadButHot } else { Seen::Dead };
                }
                if let Some(bad) = share.iter().find(|v| !(LIVE_MIN..=LIVE_MAX).contains(*v)) {
                    return Seen::Odd((bad * 1000.0).round().min(60_000.0) as u16);
                }
                // Forward: the second leg lags the first.
                if (legs[0] * legs[1].conj()).im > 0.0 { Seen::Live } else { Seen::LiveReversed }
            }
            Look::Coil(k) => {
                if !s.coils[k] {
                    return Seen::Dead;
                }
                let c = self.coils[k];
                let (sa, sb) = (stand(c.a, s), stand(c.b, s));
                let reversed = self.reference(sa.piece, s).is_some_and(|(r, earthed)| {
                    let high = |x: Stand| (x.volts - r).norm() > 0.5 * c.volts;
                    earthed && !high(sa) && high(sb)
                });
                if reversed { Seen::LiveReversed } else { Seen::Live }
            }
            Look::Input { a, b } => {
                let (sa, sb) = (stand(a, s), stand(b, s));
                let pushed = difference(sa, sb).is_some_and(|v| v.norm() > FOREIGN_V);
                if pushed || self.foreign(a, s) || self.foreign(b, s) {
                    Seen::Foreign
                } else if s.pot.find(a).0 == s.pot.find(b).0 {
                    Seen::Closed
                } else if sa.piece == sb.piece {
                    Seen::Sneak
                } else {
                    Seen::Open
                }
            }
            Look::Sensor { a, b } => {
                if self.foreign(a, s) || self.foreign(b, s) {
                    Seen::Foreign
                } else {
                    self.sensor(a, b, s)
                }
            }
            Look::Signal { plus, minus } => {
                if self.foreign(plus, s) || self.foreign(minus, s) {
                    return Seen::Foreign;
                }
                let root = |x: u32| s.pot.find(x).0;
                let (p, m) = (root(plus), root(minus));
                let mut found = Seen::Nothing;
                for (op, om, id) in &self.outs {
                    let (op, om) = (root(*op), root(*om));
                    let this = match (op == p, om == m, op == m, om == p) {
                        (true, true, ..) if p != m => Seen::Id(*id),
                        (_, _, true, true) if p != m => Seen::IdReversed(*id),
                        // The plus of an output on our minus, or both poles on one node: joined to something else.
                        (true, ..) | (_, _, true, _) => Seen::Mixed,
                        _ => continue,
                    };
                    found = if found == Seen::Nothing { this } else { Seen::Mixed };
                }
                found
            }
        }
    }

    /// Resistance between the terminals of a sensor input, told by the test values.
    fn sensor(&self, a: u32, b: u32, s: &mut Scratch) -> Seen {
        let (ra, rb) = (s.pot.find(a).0, s.pot.find(b).0);
        if ra == rb {
            return Seen::Joined;
        }
        let mut pieces = Groups::new(self.nodes.len());
        for (x, y, _) in &self.elements {
            pieces.join(s.pot.find(*x).0, s.pot.find(*y).0);
        }
        if pieces.find(ra) != pieces.find(rb) {
            return Seen::Nothing;
        }
        let mut place: HashMap<u32, usize> = HashMap::new();
        let mine = pieces.find(ra);
        let mut edges = Vec::new();
        for (x, y, id) in &self.elements {
            let (x, y) = (s.pot.find(*x).0, s.pot.find(*y).0);
            if x == y || pieces.find(x) != mine {
                continue;
            }
            let mut at = |r: u32| {
                (r != rb).then(|| {
                    let next = place.len();
                    *place.entry(r).or_insert(next)
                })
            };
            edges.push((at(x), at(y), 1.0 / test_ohm(*id)));
        }
        s.linear.start(place.len());
        for (x, y, g) in edges {
            s.linear.branch(x, y, g, Complex64::ZERO);
        }
        let Some(at) = place.get(&ra).copied() else { return Seen::Nothing };
        s.linear.inject(at, 1.0);
        let ohm = s.linear.solve()[at].re;
        match self.elements.iter().find(|(_, _, id)| (ohm / test_ohm(*id) - 1.0).abs() < 1e-6) {
            Some((_, _, id)) => Seen::Id(*id),
            None => Seen::Mixed,
        }
    }
}
