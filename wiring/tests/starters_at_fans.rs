//! Starters that stand at their fans: the line runs to the fan, one disconnect makes motor and coil circuit dead, nothing of the fan goes to
//! a panel. Each plan is compiled, read back from rows and devices, proved, and every fault planted in it must be seen or be harmless.

mod proved_kit;

use heatwright_core::{Subject, ZoneId};
use heatwright_wiring::{
    fixtures::{mill, workshop},
    job::{Fan, Job, ServiceVolts, Supply},
    pass::{
        checkout::checkout,
        lockout::{Isolator, Item, in_panels, lockout},
    },
    plan::{MotorSwitch, Plan},
    row::{Class, Row},
    rules,
};
use proved_kit::{compiled, every_planted_fault_is_seen, proved};

/// The workshop on 208Y/120 V with so many three-phase fans.
fn with_fans(count: u8, overload_built_in: bool) -> Job {
    let mut job = workshop();
    job.service.volts = ServiceVolts::Wye208;
    let place = job.zones[1].thermostat.place;
    job.zones[1].fan = Some(Fan {
        place,
        count,
        run_ft: 120.0,
        spacing_ft: 30.0,
        supply: Supply { volts: 208.0, phases: 3 },
        amps: 2.2,
        hp: 0.5,
        overload_built_in,
        service_factor: 1.15,
        switch_at_fan: true,
    });
    job
}

fn of_fan(p: &Plan) -> impl Iterator<Item = &Row> {
    let tags = ["QF2", "QAF2", "TF2", "MF2", "BF2", "XF2"];
    p.rows.iter().filter(move |r| {
        tags.iter().any(|t| r.from.device.starts_with(t)) || tags.iter().any(|t| r.to.device.starts_with(t))
    })
}

#[test]
fn starters_and_contactors_at_fans_are_proved() {
    for (count, built_in) in [(1, false), (1, true), (3, false)] {
        let job = with_fans(count, built_in);
        let p = proved(&job);
        every_planted_fault_is_seen(&p);
        let found = rules::check(&job, &p).findings;
        let about = found.iter().filter(|f| f.about == Subject::Zone(ZoneId(1))).map(|f| (f.code, &f.sentence));
        assert_eq!(about.collect::<Vec<_>>(), [], "{count} {built_in}");
        let place = job.zones[1].fan.unwrap().place;
        let mut fans = 0;
        for m in p.motors.iter().filter(|m| m.device.starts_with("MF")) {
            let of = m.device.trim_start_matches("MF");
            assert_eq!(m.switch, if built_in { MotorSwitch::Contactor } else { MotorSwitch::Starter });
            let own = format!("QF{of}");
            assert_eq!((m.disconnect.as_str(), m.controller_disconnect.as_str()), (own.as_str(), own.as_str()));
            for tag in [format!("QAF{of}"), format!("TF{of}"), own] {
                assert_eq!(p.devices.iter().find(|d| d.tag == tag).map(|d| d.place), Some(place), "{tag}");
            }
            fans += 1;
        }
        assert_eq!(fans, count);
        assert!(!p.devices.iter().any(|d| d.tag.starts_with("QLF")), "no disconnect of the fan in a panel");
    }
}

/// The branch circuit alone comes from elsewhere: no conductor of the fan lands in a panel but on its breaker and its ground bar.
#[test]
fn nothing_of_the_fan_goes_to_a_panel() {
    for count in [1, 3] {
        let job = with_fans(count, false);
        let p = compiled(&job);
        let [relay, starters] = in_panels(&p);
        assert_eq!(starters, [0usize; 0], "a starter at its fan makes no starter panel");
        for r in of_fan(&p) {
            for end in [&r.from, &r.to] {
                let d = p.devices.iter().position(|d| d.tag == end.device).unwrap();
                assert!(!relay.contains(&d), "{} on {}", r.wire, end.device);
            }
        }
        // One raceway from the panelboard, whatever the number of fans.
        let mut runs: Vec<&str> = of_fan(&p).filter(|r| r.from.device == "A2").map(|r| r.run.as_str()).collect();
        runs.dedup();
        assert_eq!(runs, [if count > 1 { "R-A2-XF2-P" } else { "R-A2-QF2-P" }]);
    }
}

/// Open and lock the disconnect at the fan: nothing is left, the aquastat and its 120 V neither, and the labels do not say otherwise.
#[test]
fn one_disconnect_makes_fan_starter_and_aquastat_dead() {
    let job = with_fans(2, false);
    let p = compiled(&job);
    let sheets = lockout(&job, &p).sheets;
    let mut seen = 0;
    for sheet in sheets.iter().filter(|s| s.item == Item::Fan) {
        let of = sheet.devices.iter().find_map(|d| d.strip_prefix("MF")).unwrap();
        for tag in [format!("QAF{of}"), format!("TF{of}"), format!("BF{of}")] {
            assert!(sheet.devices.contains(&tag), "{tag}: {:?}", sheet.devices);
        }
        let points: Vec<_> = sheet.points.iter().map(|p| p.isolator.clone()).collect();
        assert_eq!(points, [Isolator::Disconnect { tag: format!("QF{of}") }]);
        let tested: Vec<&str> = sheet.tests.iter().flat_map(|t| [t.at.as_str(), t.against.as_str()]).collect();
        for tag in [format!("QAF{of}:"), format!("BF{of}:")] {
            assert!(tested.iter().any(|t| t.starts_with(&tag)), "{tag} is measured nowhere: {tested:?}");
        }
        seen += 1;
    }
    assert_eq!(seen, 2);
    assert!(!sheets.iter().any(|s| s.item == Item::Other && s.devices.iter().any(|d| d.starts_with("QAF"))));
    for l in p.labels.iter().filter(|l| ["QF2", "BF2", "QAF2"].iter().any(|t| l.on.starts_with(t))) {
        assert!(!l.text.contains("LEAVES") && !l.text.contains("MORE THAN ONE SOURCE"), "{l:?}");
        assert!(!l.text.contains("does not make it dead"), "{l:?}");
    }
}

/// The coil circuit is measured at its live side, which shows its volts to ground.
#[test]
fn the_coil_circuit_is_measured_where_it_is_live() {
    let job = with_fans(2, false);
    let p = compiled(&job);
    let supplies = checkout(&job, &p).supplies;
    for fan in ["2.1", "2.2"] {
        let s = supplies.iter().find(|s| s.from == format!("TF{fan}")).unwrap();
        assert_eq!((s.at.as_str(), s.to_ground_v), (format!("BF{fan}:1").as_str(), Some(120.0)));
        assert_eq!(s.close, format!("QF{fan}"));
    }
}

/// Beside a starter panel: pumps keep theirs in it, and what stands in it is no more and no less than that.
#[test]
fn the_starter_panel_keeps_the_pumps() {
    let mut job = mill();
    let fan = job.zones[5].fan.as_mut().unwrap();
    fan.switch_at_fan = true;
    let p = proved(&job);
    let [_, starters] = in_panels(&p);
    let inside: Vec<&str> = starters.iter().map(|d| p.devices[*d].tag.as_str()).collect();
    assert!(inside.contains(&"QA1") && !inside.iter().any(|t| t.contains("F6")), "{inside:?}");
    // The green wire of each machine ends in its box, and the frame of the transformer stands on it.
    let grounds = |tag: &str| {
        p.rows.iter().filter(|r| r.class == Class::Ground && (r.from.device == tag || r.to.device == tag)).count()
    };
    // From the disconnect, to the motor, to the aquastat, to the transformer's frame.
    assert_eq!((grounds("QAF6.1"), grounds("MF6.1"), grounds("BF6.1")), (4, 1, 1));
}
