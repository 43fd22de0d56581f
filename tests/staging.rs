//! How many boilers burn: a run in steady weather ends with as many as the steady study says, without hunting.

use heatwright::plant::{Loaded, load};
use heatwright_core::CivilMinute;
use heatwright_sim::{
    control::InProcess,
    outdoor::Outdoor,
    run::{Fresh, Options, Run, run_checked},
    study::curve,
    wires::Ideal,
};

fn example(name: &str) -> Loaded {
    let path = format!("{}/docs/examples/{name}.toml", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read(&path).unwrap();
    load(&path, &text).unwrap_or_else(|r| panic!("{}", r.render(Default::default())))
}

/// Steady weather, from a Monday on.
struct Steady(f64);

impl Outdoor for Steady {
    fn outdoor_c(&self, _at_s: f64) -> f64 {
        self.0
    }
    fn civil_start(&self) -> CivilMinute {
        CivilMinute::new(2 * 1440)
    }
}

/// A third of a day after a day and a half of the same weather.
fn settled(l: &Loaded, outdoor_c: f64) -> Run {
    let options = Options { duration_s: 8.0 * 3600.0, warm_up_s: 28.0 * 3600.0, ..Options::default() };
    let fresh = || -> Fresh { (Box::new(InProcess::new(l.config.clone())), Box::new(Ideal::new(&l.physics))) };
    run_checked(&l.physics, &fresh, &Steady(outdoor_c), &options, &mut ()).unwrap()
}

/// Boilers that burn, as a mean over the run.
fn lit(ran: &Run) -> f64 {
    ran.summary.boilers.iter().map(|b| b.hours_h).sum::<f64>() / 8.0
}

/// Boilers that burn at this outdoor temperature by the steady study.
fn studied(l: &Loaded, outdoor_c: f64) -> usize {
    let study = curve::study(&l.physics, &l.config.reset, &heatwright_sim::weather::builtin().unwrap());
    let off = |r: &&curve::Row| (r.outdoor_c - outdoor_c).abs();
    let row = study.rows.iter().min_by(|a, b| off(a).total_cmp(&off(b))).unwrap();
    row.water.as_ref().map_or(0, |w| w.boilers)
}

#[test]
fn as_many_burn_as_the_steady_study_says_without_hunting() {
    // The mill has two boilers that hold their own target and two by rate, the library three that hold their own.
    for (name, outdoor_f, want) in [("mill", 33.0, 2), ("library", 33.0, 2), ("library", 2.0, 3)] {
        let outdoor_c = (outdoor_f - 32.0) / 1.8;
        let l = example(name);
        assert_eq!(studied(&l, outdoor_c), want, "{name}");
        let ran = settled(&l, outdoor_c);
        assert!((lit(&ran) - want as f64).abs() < 0.1, "{name}: {:.2} boilers burn", lit(&ran));
        for b in &ran.summary.boilers {
            assert!(b.starts <= 3, "{name}: {} starts in eight hours", b.starts);
        }
    }
}

#[test]
fn never_more_than_one_above_the_steady_study_and_half_the_step_agrees() {
    // One is dropped once the rest could carry the load at 80 % of their input: the study lets them burn at all of it.
    for name in ["mill", "library", "workshop"] {
        let l = example(name);
        for outdoor_f in [2.0, 17.0, 33.0, 45.0] {
            let outdoor_c = (outdoor_f - 32.0) / 1.8;
            let ran = settled(&l, outdoor_c);
            let most = studied(&l, outdoor_c) as f64 + 1.05;
            assert!(lit(&ran) < most, "{name} at {outdoor_f} °F: {:.2} boilers burn", lit(&ran));
            let half = ran.balance.half_step.unwrap();
            // What is left in rooms and water at the end hangs on where the last call stood.
            assert!(half.used_percent() < 0.5, "{name} at {outdoor_f} °F: {half:?}");
            for b in &ran.summary.boilers {
                assert!(b.starts_per_h_max <= 6, "{name} at {outdoor_f} °F: {b:?}");
            }
        }
    }
}
