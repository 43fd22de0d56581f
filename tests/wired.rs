//! Control, physics and wires together: a day over the wiring plan's own network ends where a day over ideal wires ends,
//! and no longer does once a wire is out.

use heatwright::{
    field::{prove, wired::Wired},
    plant::{Loaded, load},
};
use heatwright_core::{
    Calls, ContactUse, Inputs, Intent, Outputs, RelayUse, State, ZoneId,
    config::{SafetyKind, ZoneDrive},
};
use heatwright_sim::{
    control::InProcess,
    fault::{Fault, FaultyWires, Script, Stuck, Timed},
    run::{Options, Run, run},
    weather::{Series, builtin},
    wires::{Field, Ideal, Powered, Wires},
};
use heatwright_wiring::{
    net::{Changes, Network},
    plan::{Plan, plan},
    proof::Mutant,
    row::{Class, Row},
};

fn example(name: &str) -> Loaded {
    changed(name, &[])
}

/// An example with pieces of its text exchanged, each of which stands there once.
fn changed(name: &str, pieces: &[(&str, &str)]) -> Loaded {
    let path = format!("{}/docs/examples/{name}.toml", env!("CARGO_MANIFEST_DIR"));
    let mut text = std::fs::read_to_string(&path).unwrap();
    for (from, to) in pieces {
        assert_eq!(text.matches(from).count(), 1, "{from}");
        text = text.replace(from, to);
    }
    load(&path, text.as_bytes()).unwrap_or_else(|r| panic!("{}", r.render(Default::default())))
}

fn plan_of(l: &Loaded) -> Plan {
    plan(&l.job()).unwrap()
}

fn cold_day() -> Series {
    builtin().unwrap().coldest_days(1).unwrap()
}

/// A quarter of the coldest day, from a plant at rest: everything starts, satisfies and starts again.
fn ran(l: &Loaded, wires: &mut dyn Wires, hours: f64) -> (Run, State) {
    let mut control = InProcess::new(l.config.clone());
    let options = Options { duration_s: hours * 3600.0, warm_up_s: 1800.0, ..Options::default() };
    let run = run(&l.physics, &mut control, wires, &cold_day(), &options, &mut ()).unwrap();
    (run, control.state().clone())
}

fn solved(l: &Loaded, rows: &[Row], plan: &Plan) -> Wired {
    Wired::new(&plan.devices, rows, &l.points).unwrap()
}

fn same_end(name: &str, hours: f64) {
    same(&example(name), hours);
}

/// Runs over ideal and over solved wires; what came out of both.
fn same(l: &Loaded, hours: f64) -> Run {
    let p = plan_of(l);
    let ideal = ran(l, &mut Ideal::new(&l.physics), hours);
    let wired = ran(l, &mut solved(l, &p.rows, &p), hours);
    assert!(ideal.0.summary.boilers.iter().any(|b| b.starts > 0 || b.hours_h > 1.0), "nothing happened");
    assert_eq!(ideal.0.events, wired.0.events);
    assert_eq!(ideal.0.state, wired.0.state);
    assert_eq!(ideal.0.outputs, wired.0.outputs);
    assert_eq!(ideal.1, wired.1);
    ideal.0
}

#[test]
fn a_wired_day_of_the_workshop_ends_as_the_ideal_one() {
    same_end("workshop", 24.0);
}

#[test]
fn a_wired_day_of_the_library_ends_as_the_ideal_one() {
    same_end("library", 24.0);
}

/// A limit of the office that the water of a cold day opens again and again.
const LIMIT: &str = "[safety.limit]\nname = \"Office limit\"\nkind = \"floor-limit\"\nscope = \"office\"\n\
    opens-at = \"120 °F\"\nrun = \"20 ft\"\n\n[safety.door]";
const VALVE: &str = "[zone.office.valve]\nstroke = \"30 s\"\n\n# ---------------------------------------------------------------- pumps";
const NO_OFFICE_PUMP: [(&str, &str); 2] = [
    ("[pump.p-office]\nname = \"Office pump\"\nmotor = \"wet-rotor\"\namps = \"0.8 A\"\nrun = \"20 ft\"\n", ""),
    ("pump = \"p-office\"", "pump = \"p-shop\""),
];

#[test]
fn what_a_zone_limit_stops_is_the_same_over_ideal_and_solved_wires() {
    let valve = ("# ---------------------------------------------------------------- pumps", VALVE);
    let shop_valve = ("[zone.office]", "[zone.shop.valve]\nstroke = \"30 s\"\n\n[zone.office]");
    let [no_pump, shared] = NO_OFFICE_PUMP;
    // The last says whether the shop stops with the office. Where it has the pump to itself and the office a valve behind it, the
    // office's calls move the shop's water too: that says nothing.
    type Case<'a> = (&'a str, Vec<(&'a str, &'a str)>, Option<bool>);
    let cases: [Case<'_>; 5] = [
        ("a pump of its own", vec![], Some(false)),
        ("two zones on one pump", vec![no_pump, shared], Some(true)),
        ("a valve alone behind a pump", vec![valve], Some(false)),
        ("a valve beside a pump zone", vec![no_pump, shared, valve], None),
        ("two valves behind one pump", vec![no_pump, shared, valve, shop_valve], Some(false)),
    ];
    for (name, mut pieces, shop_too) in cases {
        let free = same(&changed("workshop", &pieces), 12.0);
        pieces.push(("[safety.door]", LIMIT));
        let limited = same(&changed("workshop", &pieces), 12.0);
        let share = |zone: usize| limited.summary.zones[zone].flow_h / free.summary.zones[zone].flow_h;
        assert!(free.summary.zones[1].flow_h > 1.0, "{name}: the office never had water");
        assert!(share(1) < 0.5, "{name}: the limit left the office {} of its water", share(1));
        match shop_too {
            Some(true) => assert!(share(0) < 0.5, "{name}: the limit left the shop {} of its water", share(0)),
            Some(false) => assert!(share(0) > 0.7, "{name}: the limit left the shop only {} of its water", share(0)),
            None => {}
        }
    }
}

#[test]
fn a_fan_without_a_given_aquastat_turns_over_ideal_and_solved_wires_alike() {
    let l = changed("library", &[("aquastat = \"100 °F\"\n", "")]);
    let garage = l.physics.zones.iter().rposition(|z| z.fan.is_some()).unwrap();
    assert!((l.physics.zones[garage].fan.unwrap().aquastat_c.unwrap() - 37.8).abs() < 0.05, "assumed: 100 °F");
    let run = same(&l, 6.0);
    assert!(
        run.state.field.fan_aquastats != 0 || run.summary.zones[garage].calls > 0,
        "{:?}",
        run.summary.zones[garage]
    );
}

/// Faults of one device, by either of its names, over ideal and over solved wires.
#[test]
fn a_fault_of_the_damper_or_of_a_flow_switch_is_the_same_over_ideal_and_solved_wires() {
    let l = example("library");
    let p = plan_of(&l);
    let safety = |kind: SafetyKind| l.physics.safeties.iter().position(|s| s.kind == kind).unwrap();
    let id = |at: usize| heatwright_core::SafetyId(at as u8);
    let (damper, flow) = (id(safety(SafetyKind::DamperSwitch)), id(safety(SafetyKind::FlowSwitch)));
    let run_with = |fault: Fault, wires: &mut dyn Wires| {
        // Wires behind a pointer, so that both kinds go the same way.
        struct Behind<'a>(&'a mut dyn Wires);
        impl Wires for Behind<'_> {
            fn powered(&mut self, o: &heatwright_core::Outputs, f: &Field) -> Powered {
                self.0.powered(o, f)
            }
            fn seen(&mut self, o: &heatwright_core::Outputs, f: &Field) -> heatwright_core::Inputs {
                self.0.seen(o, f)
            }
        }
        let script = Script::new([Timed { from_s: 1800.0, to_s: 5400.0, fault }], 1800.0);
        let (run, state) = ran(&l, &mut FaultyWires::new(Behind(wires), &l.physics, script), 3.0);
        (run.events, run.state, state)
    };
    for stuck in [Stuck::Open, Stuck::Closed] {
        for fault in [Fault::DamperSwitch(stuck), Fault::Safety(damper, stuck), Fault::Safety(flow, stuck)] {
            let ideal = run_with(fault, &mut Ideal::new(&l.physics));
            let wired = run_with(fault, &mut solved(&l, &p.rows, &p));
            assert_eq!(ideal, wired, "{fault:?}");
        }
        let by = |fault| run_with(fault, &mut Ideal::new(&l.physics));
        assert_eq!(by(Fault::DamperSwitch(stuck)), by(Fault::Safety(damper, stuck)), "one device by two names");
    }
}

/// The stand-in for zone relays over ideal wires, and the relays themselves over the plan's own network.
#[test]
fn a_wired_day_of_the_terrace_ends_as_its_intent_says() {
    let l = example("terrace");
    let p = plan_of(&l);
    let day = |wires: &mut dyn Wires| {
        let options = Options { duration_s: 24.0 * 3600.0, warm_up_s: 1800.0, ..Options::default() };
        run(&l.physics, l.control().as_mut(), wires, &cold_day(), &options, &mut ()).unwrap()
    };
    let ideal = day(&mut Ideal::new(&l.physics));
    let wired = |rows: &[Row]| Wired::without_controller(&p.devices, rows, Ideal::new(&l.physics)).unwrap();
    let relays = day(&mut wired(&p.rows));
    assert!(ideal.summary.boilers.iter().all(|b| b.hours_h > 1.0), "both boilers burn: {:?}", ideal.summary.boilers);
    for z in &ideal.summary.zones {
        assert!(z.mean_c > 20.0 && z.highest_c < 23.0, "{z:?}");
    }
    assert_eq!(ideal.events, relays.events);
    assert_eq!(ideal.state, relays.state);
    // One wire less at a zone's relay, and it is another day.
    let mut rows = p.rows.clone();
    rows.retain(|r| ![&r.from, &r.to].iter().any(|e| e.device == "KU3" && e.terminal == "24"));
    assert!(rows.len() < p.rows.len());
    assert_ne!(day(&mut wired(&rows)).state, relays.state);
}

/// The stand-in tick by tick, every pattern of the six calls: each flat's pump by its own call and no other, both boilers by any, and
/// in all what [`Intent`] says. Seen to move: one call's contact left out of the inputs is another intent.
#[test]
fn the_stand_in_of_the_terrace_does_what_the_calls_ask_for() {
    let l = example("terrace");
    let (c, mut control) = (&l.config, l.control());
    let contact = |z: u8| c.points.contact(ContactUse::Call(ZoneId(z))).unwrap();
    let mut out = Outputs::SAFE;
    for zones in 0..64u64 {
        let mut inputs = Inputs::default();
        (0..6).for_each(|z| inputs.set(contact(z), zones & (1 << z) != 0));
        control.tick(heatwright_core::Instant::default(), &inputs, &mut out).unwrap();
        let intent = Intent::of(c, Calls { zones, ..Calls::default() });
        assert_ne!(intent, Intent::of(c, Calls { zones: zones ^ 4, ..Calls::default() }), "flat 3 counts");
        let mut seen = 0;
        for (what, relay) in c.points.relays.iter().zip(&out.relays) {
            let (by_hand, by_intent) = match *what {
                RelayUse::Demand(b) => (zones != 0, intent.boilers & b.bit() != 0),
                RelayUse::Pump(p) => {
                    let own = c.zones.iter().position(|z| z.drive == ZoneDrive::Pump(p));
                    (own.map_or(zones != 0, |z| zones & (1 << z) != 0), intent.pumps & p.bit() != 0)
                }
                _ => continue,
            };
            seen += 1;
            assert_eq!((relay.on, relay.on), (by_hand, by_intent), "{zones:06b}: {what:?}");
        }
        assert!(seen >= 8, "{seen}");
    }
}

/// The terrace, and the workshop with its hand-over wired.
fn by_calls() -> Vec<(Loaded, &'static str)> {
    let workshop = changed("workshop", &[("fallback = \"fixed-target\"", "fallback = \"zone-relays\"")]);
    vec![(example("terrace"), "calls alone"), (workshop, "controller dead")]
}

#[test]
fn calls_that_act_alone_are_proved_against_their_intent() {
    for (l, line) in by_calls() {
        let (name, p) = (&l.plant.site.name, plan_of(&l));
        let proved = prove::prove(&l.job(), &p, &l);
        assert_eq!(proved.faults, Vec::<String>::new(), "{name}");
        assert!(proved.unseen.is_empty(), "{name}: {:#?}", proved.unseen);
        assert!(proved.lines.iter().any(|x| x.starts_with(line)), "{name}: {:#?}", proved.lines);
        // The coils of two zones' relays exchanged: the calls ask for other pumps than run.
        let mut bad = p.clone();
        for end in bad.rows.iter_mut().flat_map(|r| [&mut r.from, &mut r.to]).filter(|e| e.terminal == "A1") {
            match end.device.as_str() {
                "KU1" => end.device = "KU2".into(),
                "KU2" => end.device = "KU1".into(),
                _ => {}
            }
        }
        let faults = prove::prove(&l.job(), &bad, &l).faults;
        assert!(faults.iter().any(|f| f.contains("the calls ask for")), "{name}: {faults:#?}");
    }
}

/// Rows that land on the contact of the relay that serves `what`.
fn rows_of_relay(l: &Loaded, p: &Plan, what: RelayUse) -> Vec<usize> {
    let relay = l.points.relay(what).unwrap();
    let mark = format!("K{}.14", u16::from(relay.0) + 1);
    let hit = |e: &heatwright_wiring::row::Landing| e.device == "A1" && e.terminal == mark;
    (0..p.rows.len()).filter(|i| hit(&p.rows[*i].from) || hit(&p.rows[*i].to)).collect()
}

#[test]
fn a_wire_taken_out_of_a_zone_pump_changes_the_day() {
    let l = example("workshop");
    let p = plan_of(&l);
    let pump = heatwright_core::PumpId(1);
    let rows = rows_of_relay(&l, &p, RelayUse::Pump(pump));
    assert!(!rows.is_empty());
    let mut without = p.rows.clone();
    without.remove(rows[0]);
    let ideal = ran(&l, &mut Ideal::new(&l.physics), 3.0);
    let broken = ran(&l, &mut solved(&l, &without, &p), 3.0);
    assert!(ideal.0.summary.pumps[1].hours_h > 0.5);
    assert!(broken.0.summary.pumps[1].hours_h < 0.01, "the pump must stand: {:?}", broken.0.summary.pumps[1]);
    assert_ne!(ideal.0.state, broken.0.state);
}

#[test]
fn the_proof_names_a_wire_that_landed_on_the_wrong_terminal() {
    let l = example("workshop");
    let job = l.job();
    let mut p = plan_of(&l);
    assert!(prove::prove(&job, &p, &l).faults.is_empty());
    // The shop pump's relay wire lands on the office pump's relay contact.
    let (shop, office) = (heatwright_core::PumpId(1), heatwright_core::PumpId(2));
    let row = rows_of_relay(&l, &p, RelayUse::Pump(shop))[0];
    let office = l.points.relay(RelayUse::Pump(office)).unwrap();
    let r = &mut p.rows[row];
    for end in [&mut r.from, &mut r.to] {
        if end.device == "A1" {
            end.terminal = format!("K{}.14", u16::from(office.0) + 1);
        }
    }
    let faults = prove::prove(&job, &p, &l).faults;
    assert!(!faults.is_empty(), "a wire on the wrong relay must be a fault");
}

#[test]
fn every_wire_of_the_examples_is_caught_or_harmless() {
    for name in ["workshop", "library"] {
        let l = example(name);
        let p = plan_of(&l);
        let proved = prove::prove(&l.job(), &p, &l);
        assert_eq!(proved.faults, Vec::<String>::new(), "{name}");
        assert!(proved.unseen.is_empty(), "{name}: {:#?}", proved.unseen);
        for (kind, score) in &proved.scores {
            assert!(score.total > 0, "{name}: {kind:?}");
            assert_eq!(score.caught + score.harmless.len(), score.total, "{name}: {kind:?}");
        }
        let removed = &proved.scores[0].1;
        assert_eq!(removed.total, p.rows.len());
        // The plan does without no wire but grounds that run twice: to flexible ends and along wires of another circuit.
        for m in &removed.harmless {
            let ground = matches!(m, Mutant::Removed(i) if p.rows[*i].class == Class::Ground);
            assert!(ground, "{name}: nobody needs {m:?}");
        }
    }
}

#[test]
fn an_opened_breaker_is_a_change_and_not_another_plan() {
    let l = example("workshop");
    let p = plan_of(&l);
    let net = Network::rebuild(&p.devices, &p.rows).unwrap();
    let space = p.directory.iter().find(|d| d.feeds.starts_with("Boiler 1,")).unwrap().space;
    let opened = Changes { breakers: vec![(net.device("A2").unwrap(), space)], ..Changes::default() };
    let line = |changes: &Changes| {
        let mut wires = Wired::with_changes(&p.devices, &p.rows, &l.points, changes).unwrap();
        wires.powered(&heatwright_core::Outputs::default(), &heatwright_sim::wires::Field::default()).boiler_line
    };
    assert_eq!(line(&Changes::default()), 1, "the boiler has line power at rest");
    assert_eq!(line(&opened), 0, "and none behind its open breaker");
}

/// Two terminals of the controller change the wires that land on them.
fn swapped(p: &Plan, a: &str, b: &str) -> Plan {
    let mut p = p.clone();
    let mut moved = 0;
    for end in p.rows.iter_mut().flat_map(|r| [&mut r.from, &mut r.to]).filter(|e| e.device == "A1") {
        if end.terminal == a {
            end.terminal = b.to_owned();
            moved += 1;
        } else if end.terminal == b {
            end.terminal = a.to_owned();
            moved += 1;
        }
    }
    assert!(moved >= 2, "{a} and {b}: {moved} ends");
    p
}

#[test]
fn two_boilers_demand_wires_swapped_are_found() {
    let l = example("library");
    let p = plan_of(&l);
    let mark = |b: u8| {
        let relay = l.points.relay(RelayUse::Demand(heatwright_core::BoilerId(b))).unwrap();
        format!("K{}.14", u16::from(relay.0) + 1)
    };
    let faults = prove::prove(&l.job(), &swapped(&p, &mark(0), &mark(2)), &l).faults;
    assert!(faults.iter().any(|f| f.contains("demand pair")), "{faults:?}");
}

#[test]
fn two_sensors_leads_swapped_are_found_and_one_sensors_own_are_harmless() {
    let l = example("library");
    let p = plan_of(&l);
    let job = l.job();
    // The first leads of supply and return sensor change places: each input sees half of each.
    let half = prove::prove(&job, &swapped(&p, "S2.1", "S3.1"), &l).faults;
    assert!(!half.is_empty());
    // Both leads: each input reads the other's element.
    let whole = prove::prove(&job, &swapped(&swapped(&p, "S2.1", "S3.1"), "S2.2", "S3.2"), &l).faults;
    assert!(whole.len() >= 2, "{whole:?}");
    // A resistor has no polarity.
    assert_eq!(prove::prove(&job, &swapped(&p, "S2.1", "S2.2"), &l).faults, Vec::<String>::new());
}

#[test]
fn alarm_and_automation_of_the_library_are_wired() {
    let l = example("library");
    let p = plan_of(&l);
    for relay in [RelayUse::Alarm, RelayUse::Health] {
        let n = u16::from(l.points.relay(relay).unwrap().0) + 1;
        for contact in [11, 12, 14] {
            let mark = format!("K{n}.{contact}");
            let lands = p.landings.iter().any(|x| x.at.device == "A1" && x.at.terminal == mark);
            assert!(lands, "{relay:?}: nothing lands on {mark}");
        }
    }
    let place = |tag: &str| {
        let d = p.devices.iter().find(|d| d.tag == tag).unwrap();
        p.places[usize::from(d.place.0)].as_str()
    };
    assert_eq!(place("PA1"), "circulation desk");
    assert_eq!(place("XA1"), "automation panel, electrical room");
    // Valves stand where the file says, or in the boiler room, not in the zone's room.
    assert_eq!(place("MV7"), "boiler room");
    assert_eq!(place("MX4"), "boiler room");
}
