//! ngspice as the outside judge of the meter's readings.
#![allow(clippy::print_stderr, reason = "what was compared, and that nothing was")]

use heatwright_wiring::net::{ActuatorSet, Changes, Network, meter::Meter};
use std::{collections::HashMap, process::Command};

/// True when ngspice is on this machine. Without it the test says so; where it is wanted, its absence is a failure.
pub(crate) fn ngspice() -> bool {
    let found = Command::new("ngspice").arg("--version").output().is_ok_and(|o| o.status.success());
    assert!(found || std::env::var_os("HEATWRIGHT_NGSPICE").is_none(), "ngspice is wanted and is not on this machine");
    if !found {
        eprintln!("SKIPPED: ngspice is not on this machine; the readings were compared with nothing");
    }
    found
}

/// Potentials by node as ngspice has them.
pub(crate) fn outside(netlist: &str) -> HashMap<u32, [f64; 2]> {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("plan.cir");
    std::fs::write(&file, netlist).unwrap();
    let out = Command::new("ngspice").arg("-b").arg(&file).output().unwrap();
    let text = String::from_utf8_lossy(&out.stdout).into_owned();
    let mut nodes = HashMap::new();
    for line in text.lines() {
        let Some((name, value)) = line.split_once(" = ") else { continue };
        let Some(n) = name.trim().strip_prefix('n').and_then(|n| n.parse().ok()) else { continue };
        let parts: Vec<f64> = value.trim().split(',').filter_map(|v| v.parse().ok()).collect();
        if let [re, im] = parts[..] {
            nodes.insert(n, [re, im]);
        }
    }
    assert!(!nodes.is_empty(), "{text}\n{}", String::from_utf8_lossy(&out.stderr));
    nodes
}

/// Every potential of every state within 0.1 per cent of the simulator's.
pub(crate) fn compare(name: &str, net: &Network, sets: &[ActuatorSet]) {
    let mut worst = 0.0_f64;
    let mut compared = 0;
    for set in sets {
        let m = Meter::take(net, &Changes::default(), set);
        let theirs = outside(&m.netlist(name));
        for n in 0..m.node_count() as u32 {
            let Some([re, im]) = theirs.get(&n) else { continue };
            let v = m.potential(n).unwrap();
            let size = re.hypot(*im);
            let off = (v.re - re).hypot(v.im - im);
            // Below 10 mV both are rounding.
            assert!(off <= 1e-3 * size.max(0.01), "{name}: node {n}: {v} against {re},{im}");
            if size > 0.01 {
                worst = worst.max(off / size);
                compared += 1;
            }
        }
    }
    eprintln!("{name}: {compared} potentials, worst {worst:.2e} of its size");
    assert!(compared > 100, "{name}: {compared}");
}
