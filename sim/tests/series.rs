//! A row of a series at a moment shows what stands from that moment on: a pump that is started at it runs, and a mixing valve is told
//! what it holds from then on.

mod common;

use common::{config, large};
use heatwright_core::{RelayUse, Temp, ZoneId};
use heatwright_sim::{
    Ideal, Options,
    control::InProcess,
    outdoor::Steady,
    plant::Mix,
    run,
    run::{Change, Sample, Watch},
};

/// Time, pumps that run and mixed targets of every second.
#[derive(Default)]
struct Rows(Vec<(f64, u64, Vec<Option<Temp>>)>);

impl Watch for Rows {
    fn sample(&mut self, s: &Sample<'_>) {
        self.0.push((s.at_s, s.powered.pumps, s.mixed.to_vec()));
    }
}

fn hours(outdoor_c: f64) -> (heatwright_sim::Run, Rows) {
    let mut plant = large();
    plant.zones[2].mix = Some(Mix::Modulated { stroke_s: 120.0, max_c: 45.0 });
    let options = Options { duration_s: 6.0 * 3600.0, warm_up_s: 6.0 * 3600.0, sample_s: 1.0, ..Options::default() };
    let mut rows = Rows::default();
    let mut control = InProcess::new(config(&plant));
    let ran = run(&plant, &mut control, &mut Ideal::new(&plant), &Steady { outdoor_c }, &options, &mut rows).unwrap();
    (ran, rows)
}

#[test]
fn a_row_at_the_second_of_a_switching_shows_what_stands_after_it() {
    let (ran, Rows(rows)) = hours(0.0);
    let mut switched = 0;
    for e in &ran.events {
        let Change::Relay { what: RelayUse::Pump(p), on, .. } = e.change else { continue };
        let at = rows.iter().position(|r| r.0 == e.at_s).unwrap();
        let runs = |row: usize| rows[row].1 & p.bit() != 0;
        assert_eq!((at == 0 || runs(at - 1), runs(at)), (at == 0 || !on, on), "{p:?} at {} s", e.at_s);
        switched += 1;
    }
    assert!(switched > 10, "{switched}");
}

/// By hand, from the head of `core/src/mixing.rs`: the curve from 75 °C at -15 °C to 32 °C at 16 °C has 54.2 °C at 0 °C; of 40 °C mixed
/// at its end above a room of 20 °C that leaves 20 + 20 x 34.2 / 55 = 32.4 °C.
#[test]
fn a_mixed_target_is_what_the_curve_leaves_of_it() {
    for (outdoor_c, by_hand_c) in [(0.0, 32.43), (-15.0, 40.0)] {
        let (_, Rows(rows)) = hours(outdoor_c);
        let told: Vec<f64> = rows.iter().filter_map(|r| r.2[2]).map(|t| f64::from(t.centi_c()) / 100.0).collect();
        assert!(told.len() > 600, "{} of {}", told.len(), rows.len());
        assert!(told.iter().all(|c| (c - by_hand_c).abs() < 0.4), "{outdoor_c}: {:?}", told.first());
        let others =
            |r: &(f64, u64, Vec<Option<Temp>>)| (0..r.2.len()).any(|k| k != ZoneId(2).index() && r.2[k].is_some());
        assert!(!rows.iter().any(others), "zones without a valve are told something");
    }
}
