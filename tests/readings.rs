//! The meter's readings of every example plant against ngspice, in every state of the checkout's two ends: nothing called for, and
//! everything; and with hot water, where fans hang on aquastats. Without ngspice the test says so and does nothing, see `scripts/readings`.

#[path = "../wiring/tests/spice_kit/mod.rs"]
mod spice_kit;

use heatwright_wiring::{
    net::{ActuatorSet, Network},
    plan::plan,
    proof::{observe, positions},
};
use spice_kit::{compare, ngspice};
use std::{fs, path::Path};

#[test]
fn every_example_plant_agrees_within_a_thousandth() {
    if !ngspice() {
        return;
    }
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/examples");
    let mut plants: Vec<_> = fs::read_dir(folder)
        .unwrap()
        .map(|f| f.unwrap().path())
        .filter(|p| p.extension().is_some_and(|e| e == "toml"))
        .collect();
    plants.sort();
    assert!(plants.len() >= 2);
    for path in plants {
        let name = path.file_stem().unwrap().to_string_lossy().into_owned();
        let loaded = heatwright::plant::load(&name, &fs::read(&path).unwrap());
        let loaded = loaded.unwrap_or_else(|_| panic!("{name} is sound"));
        let job = loaded.job();
        let made = plan(&job).unwrap_or_else(|e| panic!("{name}: {e:?}"));
        let net = Network::rebuild(&made.devices, &made.rows).unwrap_or_else(|e| panic!("{name}: {e:?}"));
        let mut states = vec![ActuatorSet::default(), positions::busy(&observe::actuators(&net))];
        states.extend(heatwright::field::readings::hot(&loaded));
        compare(&name, &net, &states);
    }
}
