//! Each thing that must hold, broken by hand: its watcher reports it, and no other does.
//!
//! A broken controller is the shipped one with a few lines behind it that falsify what it states. It runs through the same
//! day as the shipped one: two boilers, two zones and a damper, cold water, calls, a rest, a second call. At the first second at
//! which any watcher speaks, exactly the expected one does.

mod common;
use common::checks::*;
use common::invariants::*;
use common::*;
use heatwright_core::{boilers::BoilerState, config::*, pumps::PumpState, reset::Season, *};

const B0: BoilerId = BoilerId(0);
const B1: BoilerId = BoilerId(1);

/// One fault.
struct Planted {
    what: &'static str,
    breaks: Invariant,
    controller: Controller,
    /// What is done to the plant before it starts.
    plant: fn(&mut Config),
    /// What happens to the inputs, every second, after the plant has answered.
    happens: fn(&mut Bench),
}

const fn planted(what: &'static str, breaks: Invariant, controller: Controller) -> Planted {
    Planted { what, breaks, controller, plant: |_| {}, happens: |_| {} }
}

fn relay(config: &Config, o: &mut Outputs, u: RelayUse, on: bool) {
    o.relays[config.points.relay(u).unwrap().index()].on = on;
}

/// Seconds that the first boiler's demand has stood, and that it has rested.
fn burns(state: &State, now: Instant) -> Option<u32> {
    match state.control.boilers[0].state {
        BoilerState::Lighting { began, .. } | BoilerState::Firing { began } | BoilerState::Holding { began } => {
            Some(now.since(began).whole_s())
        }
        _ => None,
    }
}

fn rests(state: &State, now: Instant) -> Option<u32> {
    // Not from power-up on.
    let since = state.control.boilers[0].state.off_since().filter(|t| *t > Instant::ZERO);
    since.map(|t| now.since(t).whole_s())
}

/// Keeps the first boiler's demand while `ignored` does not let it through.
fn keeps(c: &Config, st: &mut State, now: Instant, i: &Inputs, o: &mut Outputs, ignored: ContactUse, when: bool) {
    tick(c, st, now, i, o);
    if c.points.contact(ignored).is_some_and(|p| i.closed(p) == when) && rests(st, now).is_some_and(|s| s < 3) {
        relay(c, o, RelayUse::Demand(B0), true);
    }
}

fn at(b: &mut Bench, second: u32, u: ContactUse, closed: bool) {
    if b.now_s >= second {
        b.contact(u, closed);
    }
}

/// An analog output of the first boiler is shifted upwards.
fn louder(c: &Config, o: &mut Outputs, u: AnalogUse, by: u16) {
    if let Some(a) = c.points.analog(u) {
        let slot = &mut o.analogs[a.index()];
        slot.at = Permille::new((slot.at.get() + by).min(1000));
    }
}

fn supply_is_lost(c: &Config, i: &Inputs) -> bool {
    i.reading(c.supply_sensor().unwrap()).temp().is_none()
}

const TARGET: BoilerDrive = BoilerDrive::Target { low: Temp::from_c(20), high: Temp::from_c(90) };

fn drive(c: &mut Config, drive: BoilerDrive) {
    *c = config(Shape { drive, ..shape() });
}

fn shape() -> Shape {
    Shape { boilers: 2, damper: true, ..Shape::default() }
}

const LIMIT: ContactUse = ContactUse::Safety(SafetyId(2), Tap::Chain);
const FLOW: ContactUse = ContactUse::Flow(B0);
const FAULT: ContactUse = ContactUse::BoilerFault(B0);
const SWITCH: ContactUse = ContactUse::BoilerSwitch(B0);

fn faults() -> Vec<Planted> {
    use Invariant::*;
    vec![
        Planted {
            happens: |b| at(b, 900, LIMIT, false),
            ..planted("fires on through its limit", NoDemandThroughAStop, |c, s, n, i, o| {
                keeps(c, s, n, i, o, LIMIT, false)
            })
        },
        Planted {
            happens: |b| at(b, 900, FAULT, true),
            ..planted("fires on through its fault", NoDemandThroughAStop, |c, s, n, i, o| {
                keeps(c, s, n, i, o, FAULT, true)
            })
        },
        Planted {
            happens: |b| at(b, 900, SWITCH, false),
            ..planted("fires switched off", NoDemandThroughAStop, |c, s, n, i, o| keeps(c, s, n, i, o, SWITCH, false))
        },
        Planted {
            happens: |b| at(b, 900, FLOW, false),
            ..planted("fires without flow", NoDemandThroughAStop, |c, s, n, i, o| keeps(c, s, n, i, o, FLOW, false))
        },
        Planted {
            happens: |b| at(b, 900, ContactUse::DamperOpen, false),
            ..planted("fires without air", NoDemandThroughAStop, |c, s, n, i, o| {
                keeps(c, s, n, i, o, ContactUse::DamperOpen, false);
            })
        },
        Planted {
            happens: |b| {
                if b.now_s >= 900 {
                    b.read(SensorUse::BoilerOutlet(B0), Reading::At(c(96)));
                }
            },
            ..planted("does not look at its outlet", NoDemandOverTheOutletBound, |c, s, n, i, o| {
                tick(c, s, n, i, o);
                if rests(s, n).is_some_and(|s| s < 3) {
                    relay(c, o, RelayUse::Demand(B0), true);
                }
            })
        },
        Planted {
            plant: |c| {
                drive(c, TARGET);
                for b in &mut c.boilers {
                    (b.outlet_max, b.fixed_target) = (common::c(70), common::c(60));
                }
            },
            ..planted("tells a boiler more than it may give", NoTargetOverTheOutletBound, |c, s, n, i, o| {
                tick(c, s, n, i, o);
                louder(c, o, AnalogUse::Target(B0), 300);
            })
        },
        planted("forgets the shortest stop", BoilerRests, |c, s, n, i, o| {
            tick(c, s, n, i, o);
            if rests(s, n).is_some_and(|s| s == 20) {
                relay(c, o, RelayUse::Demand(B0), true);
            }
        }),
        Planted {
            plant: |c| {
                for b in &mut c.boilers {
                    (b.off_min, b.post_purge) = (span(10), span(60));
                }
            },
            ..planted("forgets the post-purge", BoilerRests, |c, s, n, i, o| {
                tick(c, s, n, i, o);
                if rests(s, n).is_some_and(|s| s == 20) {
                    relay(c, o, RelayUse::Demand(B0), true);
                }
            })
        },
        planted("forgets the shortest run", BoilerRuns, |c, s, n, i, o| {
            tick(c, s, n, i, o);
            if burns(s, n).is_some_and(|s| s == 60) {
                relay(c, o, RelayUse::Demand(B0), false);
            }
        }),
        planted("stops the pump of a boiler that fires", BoilerPumpRuns, |c, s, n, i, o| {
            tick(c, s, n, i, o);
            if burns(s, n).is_some_and(|s| s == 200) {
                relay(c, o, RelayUse::Pump(c.boiler_pump(B0).unwrap()), false);
            }
        }),
        planted("forgets the overrun of a boiler's pump", BoilerPumpRuns, |c, s, n, i, o| {
            tick(c, s, n, i, o);
            if rests(s, n).is_some_and(|s| s == 101) {
                relay(c, o, RelayUse::Pump(c.boiler_pump(B0).unwrap()), false);
            }
        }),
        planted("forgets the shortest stop of a pump", PumpRests, |c, s, n, i, o| {
            tick(c, s, n, i, o);
            if let Some(PumpState::On { since }) = s.control.pumps.get(0)
                && (60..65).contains(&n.since(since).whole_s())
            {
                relay(c, o, RelayUse::Pump(PumpId(0)), false);
            }
        }),
        planted("forgets the shortest run of a pump", PumpRuns, |c, s, n, i, o| {
            tick(c, s, n, i, o);
            if let Some(PumpState::On { since }) = s.control.pumps.get(0)
                && n.since(since).whole_s() == 10
            {
                relay(c, o, RelayUse::Pump(PumpId(0)), false);
            }
        }),
        planted("fires when the supply sensor fails", FailedSensorRaisesNothing, |c, s, n, i, o| {
            tick(c, s, n, i, o);
            if supply_is_lost(c, i) {
                relay(c, o, RelayUse::Demand(B0), true);
            }
        }),
        Planted {
            plant: |c| drive(c, BoilerDrive::Rate),
            ..planted("fires harder when the supply sensor fails", FailedSensorRaisesNothing, |c, s, n, i, o| {
                tick(c, s, n, i, o);
                if supply_is_lost(c, i) {
                    louder(c, o, AnalogUse::Rate(B0), 200);
                }
            })
        },
        Planted {
            plant: |c| drive(c, TARGET),
            ..planted("wants hotter water when the supply sensor fails", FailedSensorRaisesNothing, |c, s, n, i, o| {
                tick(c, s, n, i, o);
                if supply_is_lost(c, i) {
                    louder(c, o, AnalogUse::Target(B0), 100);
                }
            })
        },
        planted("stops one boiler for the other's fault", OwnFaultStopsNoOther, |c, s, n, i, o| {
            tick(c, s, n, i, o);
            if i.closed(c.points.contact(FAULT).unwrap()) {
                relay(c, o, RelayUse::Demand(B1), false);
            }
        }),
        planted("never settles", ComesToRest, |c, s, n, i, o| {
            tick(c, s, n, i, o);
            s.control.reset.season = Season::Warm;
        }),
        planted("counts its ticks", EarlyTickChangesNothing, |c, s, n, i, o| {
            tick(c, s, n, i, o);
            let ticks = &mut s.meter.operations[limits::RELAYS - 1];
            *ticks += 1;
            o.target = Some(Temp::from_centi_c((*ticks % 2) as i16));
        }),
        planted("looks at its own clock", RebasedDoesTheSame, |c, s, n, i, o| {
            tick(c, s, n, i, o);
            // By the moment itself at which a demand began, not by how long ago that was.
            if burns(s, n).is_some_and(|ago| n.since(Instant::ZERO).minus(span(ago)) > Span::from_h(24)) {
                o.lead = None;
            }
        }),
        planted("never lights", HeatComes, |c, s, n, i, o| {
            tick(c, s, n, i, o);
            for b in [B0, B1] {
                relay(c, o, RelayUse::Demand(b), false);
            }
        }),
    ]
}

/// The day; what the watchers say at the first second at which one speaks.
fn day(p: &Planted) -> Vec<Invariant> {
    let mut plant = config(shape());
    (p.plant)(&mut plant);
    let mut b = Bench::with(plant);
    (b.controller, b.water) = (p.controller, false);
    b.supply(25);
    let mut observer = Observer::new(&b.config);
    for _ in 0..4500 {
        b.now_s += 1;
        let calls = (400..2500).contains(&b.now_s) || b.now_s > 3600;
        (0..2).for_each(|z| b.call(z, calls));
        b.plant();
        (p.happens)(&mut b);
        b.tick();
        let mut v = observer.second(&b.config, b.now_s, &b.inputs, &b.outputs);
        if b.now_s.is_multiple_of(37) {
            v.extend(failed_sensors_raise(&b));
            v.extend(own_faults_stop_others(&b));
            v.extend(comes_to_rest(&b));
            v.extend(early_tick_changes(&b, 1));
        }
        if !v.is_empty() {
            return v.into_iter().map(|v| v.invariant).collect();
        }
    }
    if let Some(v) = rebased_does_the_same(&mut b.clone(), 1500) {
        return vec![v.invariant];
    }
    if recovers(&mut b).is_none() {
        return vec![Invariant::HeatComes];
    }
    Vec::new()
}

#[test]
fn the_shipped_controller_passes_the_day() {
    for d in [BoilerDrive::DemandOnly, TARGET, BoilerDrive::Rate] {
        let mut p = planted("nothing", Invariant::HeatComes, tick);
        p.plant = match d {
            BoilerDrive::DemandOnly => |_| {},
            BoilerDrive::Target { .. } => |c| drive(c, TARGET),
            BoilerDrive::Rate => |c| drive(c, BoilerDrive::Rate),
        };
        assert_eq!(day(&p), [], "{d:?}");
    }
}

#[test]
fn each_planted_fault_is_reported_by_its_own_watcher_and_by_no_other() {
    let mut broken = Vec::new();
    for p in faults() {
        let mut said = day(&p);
        said.dedup();
        assert_eq!(said, [p.breaks], "a controller that {}", p.what);
        broken.push(p.breaks);
    }
    broken.sort();
    broken.dedup();
    assert_eq!(broken.len(), Invariant::HeatComes as usize + 1, "a watcher without a planted fault");
}
