//! The meter's readings against an outside circuit simulator, node by node.
//!
//! ngspice solves the exported netlist; every potential of ours must be its potential within 0.1 per cent. Without ngspice on the
//! machine the test says so and does nothing; `scripts/readings` installs it where it may and sets `HEATWRIGHT_NGSPICE=1`, with
//! which a missing ngspice is a failure.

mod spice_kit;

use heatwright_core::{BoilerId, Points, PumpId, config::BoilerDrive};
use heatwright_wiring::{
    fixtures,
    job::{Control, Job},
    net::{ActuatorSet, Changes, Network, meter::Meter},
    part::Actuator,
    plan::plan,
    proof::{observe, positions},
};
use spice_kit::{compare, ngspice, outside};

/// Rest, everything, each boiler's switch off, each pump at HAND with nothing called for.
fn states(job: &Job, net: &Network) -> Vec<ActuatorSet> {
    let busy = positions::busy(&observe::actuators(net));
    let mut out = vec![ActuatorSet::default(), busy];
    out.extend((0..job.boilers.len()).map(|b| busy.with(Actuator::BoilerSwitchOff(BoilerId(b as u8)), true)));
    out.extend((0..job.pumps.len()).map(|p| ActuatorSet::default().with(Actuator::Hand(PumpId(p as u8)), true)));
    out
}

#[test]
fn every_potential_agrees_within_a_thousandth() {
    if !ngspice() {
        return;
    }
    let mut relays_alone = fixtures::workshop();
    relays_alone.control = Control::ZoneRelays;
    relays_alone.points = Points::default();
    relays_alone.sensors = Vec::new();
    relays_alone.beacon = None;
    relays_alone.boilers[0].drive = BoilerDrive::DemandOnly;
    relays_alone.boilers[0].marks.signal = None;
    let mut handing_over = fixtures::library();
    handing_over.panel.hand_over = true;
    for (name, job) in [
        ("workshop", fixtures::workshop()),
        ("library", fixtures::library()),
        ("mill", fixtures::mill()),
        ("zone relays alone", relays_alone),
        ("library that hands over", handing_over),
    ] {
        let made = plan(&job).unwrap();
        let net = Network::rebuild(&made.devices, &made.rows).unwrap();
        compare(name, &net, &states(&job, &net));
    }
}

/// The comparison would see a fault: a conductor of double length is told.
#[test]
fn a_longer_wire_is_told() {
    if !ngspice() {
        return;
    }
    let job = fixtures::workshop();
    let made = plan(&job).unwrap();
    let mut rows = made.rows.clone();
    let at = rows.iter().position(|r| r.amps > 1.0 && !r.run.is_empty() && r.volts > 100.0).unwrap();
    rows[at].length_ft *= 2.0;
    let sound = Network::rebuild(&made.devices, &made.rows).unwrap();
    let longer = Network::rebuild(&made.devices, &rows).unwrap();
    let busy = positions::busy(&observe::actuators(&sound));
    let m = Meter::take(&sound, &Changes::default(), &busy);
    let theirs = outside(&Meter::take(&longer, &Changes::default(), &busy).netlist("longer"));
    let off = (0..m.node_count() as u32)
        .filter_map(|n| Some((m.potential(n)?, theirs.get(&n)?)))
        .map(|(v, [re, im])| (v.re - re).hypot(v.im - im))
        .fold(0.0, f64::max);
    assert!(off > 0.01, "{off}");
}
