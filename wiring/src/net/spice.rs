//! The solved network as a netlist for a circuit simulator, so that an outside program can check the meter's readings.
//!
//! SPICE form: `R`, `V`, `E` and `G` elements (a winding follows its primary by `E` and draws its current there by `G`), one line each, node 0 is ground. Every other piece is held to node 0 through 1 ohm at its
//! reference, which carries nothing. One small-signal analysis at 60 Hz with rms amplitudes: the network is linear, so that
//! this is its state.
//!
//! What it deliberately does not do: contacts as elements. A netlist is one position.

use super::meter::{Branch, Meter};
use std::fmt::Write as _;

impl Meter {
    /// The netlist, with a control part that prints the potential of every node as `n7 = real,imaginary`.
    pub fn netlist(&self, title: &str) -> String {
        let name = |n: u32| if Some(n) == self.earth { "0".to_owned() } else { format!("n{n}") };
        let plain = |s: &str| -> String { s.chars().map(|c| if c.is_control() { ' ' } else { c }).collect() };
        let mut s = format!("* {}\n.options noacct\n", plain(title));
        for (i, e) in self.elements.iter().enumerate() {
            let label = plain(&e.label);
            let (a, b) = (name(e.a), name(e.b));
            let _ = match e.what {
                Branch::Ohm(ohm) => writeln!(s, "R{i} {a} {b} {ohm:e} ; {label}"),
                Branch::Source(volts, degrees, ohm) => {
                    writeln!(s, "V{i} m{i} {b} dc 0 ac {volts:e} {degrees:e} ; {label}\nR{i} m{i} {a} {ohm:e}")
                }
                Branch::Follows { from, to, ratio, ohm } => {
                    let (from, to) = (name(from), name(to));
                    let siemens = ratio / ohm;
                    writeln!(
                        s,
                        "E{i} m{i} {b} {from} {to} {ratio:e} ; {label}\nR{i} m{i} {a} {ohm:e}\nG{i} {from} {to} m{i} {a} {siemens:e}"
                    )
                }
            };
        }
        for n in (0..self.volts.len() as u32).filter(|n| self.piece[*n as usize] == *n && Some(*n) != self.earth) {
            let _ = writeln!(s, "Rhold{n} n{n} 0 1");
        }
        s.push_str(".control\nset numdgt=12\nac lin 1 60 60\nprint all\nquit\n.endc\n.end\n");
        s
    }
}
