//! Wire numbers: one a potential, taken from the terminal that owns it.
//!
//! Terminals are of one potential when wires or the jumper bars of strips join them. A number changes at every contact, coil
//! and fuse (ladder habit, from memory), and at the panelboard's bars, so that each circuit's neutral keeps its own. The owner is
//! the terminal of highest rank: panelboard, then disconnect, transformer, boiler, safety, thermostat and sensor, selector,
//! controller, relay, contactor, other equipment, and within a kind the first in the schedule (our choice). The number is its tag and mark, so it survives any change that
//! leaves its owner alone. All equipment grounds are PE; SBJ and GEC are the system bonding jumper and
//! the grounding electrode conductor of a transformer.

use crate::{
    device::Kind,
    part::Part,
    pass::loom::{At, Carries, Loom, Way},
};

/// A wire number for each conductor, in the loom's order.
pub fn potentials(loom: &Loom) -> Vec<String> {
    let mut sets = Sets::new(loom);
    // The bonding jumper joins neutral and ground; each keeps its number all the same.
    for w in loom.wires.iter().filter(|w| w.carries != Carries::Bond) {
        sets.join(sets.index(w.from), sets.index(w.to));
    }
    for (d, device) in loom.inventory.devices.iter().enumerate() {
        if device.kind == Kind::Strip {
            for part in &device.parts {
                if let Part::Bond(a, b) = part {
                    sets.join(sets.first[d] + usize::from(a.0), sets.first[d] + usize::from(b.0));
                }
            }
        }
    }
    let mut owner: Vec<Option<(u8, usize)>> = vec![None; sets.parent.len()];
    for (d, device) in loom.inventory.devices.iter().enumerate() {
        let rank = rank(device.kind);
        for t in 0..device.terminals.len() {
            let i = sets.first[d] + t;
            let root = sets.root(i);
            if owner[root].is_none_or(|o| (rank, i) < o) {
                owner[root] = Some((rank, i));
            }
        }
    }
    loom.wires
        .iter()
        .map(|w| match w.carries {
            Carries::Ground => "PE".to_owned(),
            Carries::Bond => {
                let word = if w.way == Way::Inside { "SBJ" } else { "GEC" };
                format!("{word}-{}", loom.device(w.from.device).tag)
            }
            Carries::Shield => format!("SH-{}", loom.device(w.to.device).tag),
            _ => {
                let root = sets.root(sets.index(w.from));
                owner[root].map_or_else(String::new, |(_, i)| sets.name(loom, i))
            }
        })
        .collect()
}

fn rank(k: Kind) -> u8 {
    match k {
        Kind::Panelboard => 0,
        Kind::Disconnect | Kind::Fuse => 1,
        Kind::Transformer | Kind::ControlTransformer | Kind::DryTransformer => 2,
        Kind::Boiler => 3,
        Kind::Safety => 4,
        Kind::Aquastat | Kind::Thermostat | Kind::Sensor => 5,
        Kind::Selector | Kind::Button => 6,
        Kind::Controller => 7,
        Kind::Relay => 8,
        Kind::Contactor | Kind::Starter => 9,
        Kind::Strip => 11,
        _ => 10,
    }
}

/// Disjoint sets over all terminals.
struct Sets {
    first: Vec<usize>,
    parent: Vec<usize>,
}

impl Sets {
    fn new(loom: &Loom) -> Self {
        let mut first = Vec::new();
        let mut n = 0;
        for d in &loom.inventory.devices {
            first.push(n);
            n += d.terminals.len();
        }
        Self { first, parent: (0..n).collect() }
    }

    fn index(&self, at: At) -> usize {
        self.first[usize::from(at.device.0)] + usize::from(at.t.0)
    }

    fn root(&self, mut i: usize) -> usize {
        while self.parent[i] != i {
            i = self.parent[i];
        }
        i
    }

    fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.root(a), self.root(b));
        let (low, high) = (a.min(b), a.max(b));
        self.parent[high] = low;
    }

    fn name(&self, loom: &Loom, i: usize) -> String {
        let d = self.first.partition_point(|f| *f <= i).saturating_sub(1);
        // Empty devices share their first index with the next one; step on to the one that holds the terminal.
        let device = &loom.inventory.devices[d];
        let mark = device.terminals.get(i - self.first[d]).map_or("", |t| t.mark.as_str());
        format!("{}-{mark}", device.tag)
    }
}
