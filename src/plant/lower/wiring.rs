//! Plant to wiring job: the same facts in the electrician's units, feet and volt-amperes.
//!
//! What the file does not hold is taken here, each with its reason:
//!
//! * A boiler's power run is the way to the control panel and on to the boiler: never shorter than the real one.
//! * Places outside the boiler room are taken at `site.elsewhere`; the boiler room never below 30 °C, the ambient of the
//!   ampacity table itself.
//! * A pair of a boiler carries its control amps at its control volts.
//! * Terminals whose marks nobody typed are named by what they are ("limit a"); `check` lists them.
//! * A zone valve or a mixing valve draws 1.5 times its holding volt-amperes while it moves (our choice).

use crate::plant::checked::{self, Motor, Plant, Rest, Service};
use crate::plant::quantity::Power;
use heatwright_core::{
    Points, PumpId,
    config::{SafetyConfig, SafetyKind},
    ids::{BoilerId, ZoneId},
};
use heatwright_wiring::{device::PlaceId, job, part};

/// What a receptacle is fed with.
const RECEPTACLE: job::Supply = job::Supply { volts: 120.0, phases: 1 };

/// The wiring job of a plant.
pub fn job(p: &Plant, points: &Points) -> job::Job {
    let mut places = Places::new(p);
    let panel = places.id(&p.panel.place);
    let panelboard = places.id(&p.power.panel_place);
    let service = job::Service {
        name: p.power.panel.clone(),
        volts: match p.power.service {
            Service::Split120_240 => job::ServiceVolts::Single120240,
            Service::Wye208_120 => job::ServiceVolts::Wye208,
            Service::Wye480_277 => job::ServiceVolts::Wye480,
        },
        fault_ka: (p.power.fault_current.a > 0.0).then_some(p.power.fault_current.a / 1000.0),
        panelboard,
        to_relay_panel_ft: feet(p.power.panel_run),
        in_sight_of_relay_panel: p.power.panel_in_sight
            && p.power.panel_place == p.panel.place
            && feet(p.power.panel_run) <= heatwright_wiring::tables::disconnect::IN_SIGHT_FT,
        feeder_drop_percent: p.power.feeder_drop.of_one * 100.0,
        spaces: spaces(p),
        step_down: p.power.transformer.as_ref().map(|t| job::StepDown {
            va: t.va.va,
            impedance_percent: t.impedance.map(|z| z.of_one * 100.0),
            place: places.id(&t.place),
            panelboard: places.id(&t.panel_place),
            primary_ft: feet(t.run),
            secondary_ft: feet(t.secondary_run),
            electrode_ft: feet(t.electrode_run),
            to_relay_panel_ft: feet(t.panel_run),
            in_sight_of_relay_panel: t.panel_in_sight
                && t.panel_place == p.panel.place
                && feet(t.panel_run) <= heatwright_wiring::tables::disconnect::IN_SIGHT_FT,
        }),
    };
    job::Job {
        points: points.clone(),
        names: super::named::names(p),
        boilers: p.boilers.iter().map(|b| boiler(&service, b, &mut places)).collect(),
        orders: orders(p, points),
        receptacles: p
            .panel
            .receptacle
            .then(|| job::ReceptacleOutlet {
                place: panel,
                run_ft: service.to_relay_panel_ft(RECEPTACLE),
                ground_fault_protected: true,
            })
            .into_iter()
            .collect(),
        service,
        panel: job::RelayPanel {
            name: p.panel.name.clone(),
            place: panel,
            enclosure: p.panel.enclosure,
            moisture: p.panel.moisture,
            short_circuit_ka: p.panel.short_circuit_rating.map(|a| a.a / 1000.0),
            wire_ft: 3.0,
            controller_va: 12.0,
            relay: job::RelayRating::default(),
            hand_over: p.fallback == checked::Fallback::ZoneRelays,
        },
        settings: job::Settings {
            edition: if p.code.nec >= 2023 { job::Edition::Nec2023 } else { job::Edition::Nec2020 },
            drop_branch_max_percent: p.panel.drop_max.of_one * 100.0,
            door_switch_wanted: p.code.door_switch,
            hand_reset_wanted: p.code.manual_high_limit,
            no_low_water_cutoff_accepted: !p.code.low_water_cutoff,
            no_air_proof_accepted: !p.code.combustion_air_proof,
            single_relay_accepted: p.code.single_interposing_relay,
            spare_room: p.panel.spare_room.of_one,
            pump_circuits: p.power.pump_circuits,
            raceway_min_in: p.panel.raceway_min.m / 0.0254,
            hand_reset_above_btu_h: p.code.hand_reset_above.btu_h(),
            gas_switches_above_btu_h: p.code.gas_switches_above.map(Power::btu_h),
            inputs_add_up: p.code.inputs_add_up,
            power_min_awg: p.panel.power_awg_min,
            control_min_awg: p.panel.control_awg_min,
            class2_min_awg: p.panel.class2_awg_min,
            ..job::Settings::default()
        },
        pumps: p.pumps.iter().map(|u| pump(u, &mut places)).collect(),
        zones: p.zones.iter().map(|z| zone(z, &mut places)).collect(),
        safeties: p.safeties.iter().map(|s| safety(s, &mut places)).collect(),
        sensors: sensors(p, points, &mut places),
        tank: p.tank.as_ref().map(|t| job::Tank { place: places.id(&t.place), run_ft: feet(t.run), pump: t.pump }),
        damper: p.damper.as_ref().map(|d| job::Damper {
            place: places.id(&d.place),
            run_ft: feet(d.run),
            volts: d.volts.v,
            va: d.va.va,
        }),
        condensate_pumps: boilers_with_condensate_pump(p, &mut places),
        beacon: p.alarm.as_ref().map(|a| job::Beacon { place: places.id(&a.place), run_ft: feet(a.run), va: a.va.va }),
        automation: p.automation.iter().map(|a| automation(a, &mut places)).collect(),
        control: match p.panel.control {
            checked::Control::Controller => job::Control::Controller,
            checked::Control::ZoneRelays => job::Control::ZoneRelays,
        },
        wait_for_tank: wait_for_tank(p),
        fallback: match p.fallback {
            checked::Fallback::None => job::Fallback::None,
            checked::Fallback::FixedTarget | checked::Fallback::ZoneRelays => job::Fallback::FixedTarget,
        },
        starter_panel: p.starter_panel.as_ref().map(|s| job::StarterPanel {
            name: s.name.clone(),
            place: places.id(&s.place),
            from_relay_panel_ft: feet(s.run),
            to_panelboard_ft: feet(s.panel_run),
            in_sight_of_panelboard: s.panel_in_sight
                && s.place == p.power.panel_place
                && feet(s.panel_run) <= heatwright_wiring::tables::disconnect::IN_SIGHT_FT,
            enclosure: s.enclosure,
            moisture: s.moisture,
            short_circuit_ka: s.short_circuit_rating.map(|a| a.a / 1000.0),
        }),
        spare_spaces: 2,
        places: places.list,
    }
}

/// Zones that wait for the tank over its relays: without a controller, those that may be shed. A relay knows no time limit.
fn wait_for_tank(p: &Plant) -> Vec<ZoneId> {
    let first = p.tank.as_ref().is_some_and(|t| t.priority_max.s > 0.0);
    let waits = p.panel.control == checked::Control::ZoneRelays && first;
    let zones = p.zones.iter().enumerate().filter(|(_, z)| waits && z.sheddable);
    zones.map(|(i, _)| ZoneId(i as u8)).collect()
}

/// The spaces that the file gives.
fn spaces(p: &Plant) -> Vec<job::GivenSpace> {
    use job::Fed;
    let n = |i: usize| i as u8;
    let mut list = vec![(Fed::RelayPanel, p.panel.space), (Fed::Receptacles, p.panel.receptacle_space)];
    list.extend(p.boilers.iter().enumerate().map(|(i, b)| (Fed::Boiler(BoilerId(n(i))), b.electrical.space)));
    list.extend(p.pumps.iter().enumerate().map(|(i, u)| (Fed::Pump(PumpId(n(i))), u.space)));
    let fans = p.zones.iter().enumerate().filter_map(|(i, z)| Some((Fed::Fans(ZoneId(n(i)), 0), z.fans?.space)));
    list.extend(fans);
    let condensate = p.boilers.iter().filter_map(|b| b.condensate_pump).enumerate();
    list.extend(condensate.map(|(i, c)| (Fed::CondensatePump(n(i)), c.space)));
    list.extend(p.alarm.iter().map(|a| (Fed::Beacon, a.space)));
    list.into_iter().filter_map(|(fed, space)| Some(job::GivenSpace { fed, space: space? })).collect()
}

fn feet(l: crate::plant::quantity::Length) -> f64 {
    l.m / 0.3048
}

/// Places by name, in order of first mention.
struct Places {
    list: Vec<job::Place>,
    /// Where boilers stand.
    rooms: Vec<String>,
    room_c: f64,
    elsewhere_c: f64,
}

impl Places {
    fn new(p: &Plant) -> Self {
        Self {
            list: Vec::new(),
            rooms: p.boilers.iter().map(|b| b.place.clone()).collect(),
            room_c: p.site.boiler_room.c,
            elsewhere_c: p.site.elsewhere.c,
        }
    }

    fn id(&mut self, name: &str) -> PlaceId {
        let at = self.list.iter().position(|q| q.name == name).unwrap_or_else(|| {
            // "boiler room, east wall" is in the boiler room.
            let within =
                |room: &String| name.strip_prefix(room.as_str()).is_some_and(|r| r.is_empty() || r.starts_with(','));
            let ambient_c = if self.rooms.iter().any(within) { self.room_c.max(30.0) } else { self.elsewhere_c };
            self.list.push(job::Place { name: name.to_owned(), ambient_c });
            self.list.len() - 1
        });
        PlaceId(at as u16)
    }
}

fn boiler(service: &job::Service, b: &checked::Boiler, places: &mut Places) -> job::Boiler {
    let e = &b.electrical;
    let m = &b.marks;
    let typed = |pair: &Option<[String; 2]>, what: &str| {
        pair.clone().unwrap_or_else(|| [format!("{what} a"), format!("{what} b")])
    };
    let supply = job::Supply { volts: e.volts.v, phases: e.phases };
    let contact = |pair: &Option<[String; 2]>, what: &str| job::BoilerContact {
        marks: typed(pair, what),
        dry: e.contacts_dry,
        pilot: job::PilotDuty::C300,
        amps_max: None,
    };
    let mut line = m.line.clone().unwrap_or_default();
    let ground = if line.len() > usize::from(e.phases.max(2)) { line.pop() } else { None };
    if line.is_empty() {
        line = match e.phases {
            3 => vec!["line 1".into(), "line 2".into(), "line 3".into()],
            _ if service.to_neutral(supply) => vec!["line".into(), "neutral".into()],
            _ => vec!["line 1".into(), "line 2".into()],
        };
    }
    job::Boiler {
        place: places.id(&b.place),
        // Whole Btu/h: a threshold of "more than 400,000" must not turn on the last bit of a unit factor.
        input_btu_h: b.plate_input.btu_h().round(),
        supply,
        amps: e.amps.a,
        breaker_max_a: e.breaker_max,
        control_volts: e.control_volts.v,
        control_grounded: e.control_grounded,
        pair_va: e.control_amps.a * e.control_volts.v,
        drive: match b.drive {
            checked::Drive::DemandOnly => heatwright_core::config::BoilerDrive::DemandOnly,
            checked::Drive::Target { low, high } => {
                heatwright_core::config::BoilerDrive::Target { low: low.to_core(), high: high.to_core() }
            }
            checked::Drive::Rate => heatwright_core::config::BoilerDrive::Rate,
        },
        pump: b.pump,
        marks: job::BoilerMarks {
            line,
            ground: ground.unwrap_or_else(|| "ground".into()),
            limit: typed(&m.limit, "limit"),
            proving: typed(&m.proving, "proving"),
            demand: typed(&m.demand, "demand"),
            signal: (!matches!(b.drive, checked::Drive::DemandOnly))
                .then(|| m.signal.clone().unwrap_or_else(|| ["0-10 V plus".into(), "0-10 V minus".into()])),
            flame: b.status_contact.then(|| contact(&m.status, "burner on")),
            fault: b.alarm_contact.then(|| contact(&m.alarm, "fault")),
            pump: e.pump_contact.map(|most| job::BoilerContact { amps_max: Some(most.a), ..contact(&m.pump, "pump") }),
        },
        switch: job::ServiceSwitch { lockable_in_sight: e.switch_in_sight, aux: b.service_switch },
        power_run_ft: feet(b.run) + service.to_relay_panel_ft(supply),
        control_run_ft: feet(b.run),
    }
}

fn boilers_with_condensate_pump(p: &Plant, places: &mut Places) -> Vec<job::CondensatePump> {
    let all = p.boilers.iter().enumerate();
    all.filter_map(|(i, b)| {
        b.condensate_pump.map(|c| job::CondensatePump {
            boiler: Some(BoilerId(i as u8)),
            place: places.id(&b.place),
            run_ft: feet(c.run),
            amps: c.amps.a,
        })
    })
    .collect()
}

fn automation(a: &checked::Automation, places: &mut Places) -> job::AutomationContact {
    job::AutomationContact {
        name: a.name.clone(),
        shows: match a.shows {
            checked::Shown::Alarm => job::Shown::Alarm,
            checked::Shown::Health => job::Shown::Health,
        },
        place: places.id(&a.place),
        run_ft: feet(a.run),
        volts: a.volts.v,
    }
}

fn pump(u: &checked::Pump, places: &mut Places) -> job::Pump {
    job::Pump {
        role: u.role,
        place: places.id(&u.place),
        motor: match u.motor {
            Motor::ElectronicallyCommutated => job::PumpMotor::ElectronicallyCommutated { start_input: u.start_input },
            // Listed as an appliance it goes by its plate, NEC 430.6(A)(1); else by its horsepower.
            Motor::Standard | Motor::WetRotor => match u.hp.filter(|_| !u.appliance_listed) {
                Some(hp) => job::PumpMotor::Induction { hp: hp.hp },
                None => job::PumpMotor::WetRotor,
            },
        },
        supply: job::Supply { volts: u.volts.v, phases: u.phases },
        nameplate_a: u.amps.a,
        service_factor: u.service_factor,
        rise_k: u.temperature_rise.map(|d| d.k),
        overload_built_in: u.thermally_protected,
        selector: if u.hand_switch { job::Selector::HandOffAuto } else { job::Selector::None },
        run_ft: feet(u.run),
        in_sight_of_panel: u.in_sight && feet(u.run) <= heatwright_wiring::tables::disconnect::IN_SIGHT_FT,
    }
}

fn zone(z: &checked::Zone, places: &mut Places) -> job::Zone {
    let place = places.id(&z.place);
    job::Zone {
        drive: z.drive,
        thermostat: job::Thermostat {
            kind: match z.thermostat {
                checked::Thermostat::TwoWire => job::ThermostatKind::TwoWire,
                checked::Thermostat::Powered => job::ThermostatKind::Powered,
            },
            place,
            run_ft: feet(z.thermostat_run),
            va: 3.0,
        },
        valve: z.valve.as_ref().map(|v| job::ZoneValve {
            place: places.id(&v.place),
            run_ft: feet(v.run),
            volts: v.volts.v,
            va: v.va.va,
            inrush_va: v.va.va * 1.5,
            end_switch: match (v.end_switch, v.end_switch_isolated) {
                (false, _) => job::EndSwitch::None,
                (true, true) => job::EndSwitch::Isolated,
                (true, false) => job::EndSwitch::Joined,
            },
        }),
        mixing: z.mixing.as_ref().map(|m| job::MixingValve {
            place: places.id(&m.place),
            run_ft: feet(m.run),
            va: m.va.va,
            signal_isolated: m.signal_isolated,
        }),
        floor: matches!(z.emitter, checked::Emitter::Floor(_)),
        fan: z.fans.map(|f| job::Fan {
            place,
            count: f.count,
            run_ft: feet(f.run),
            spacing_ft: feet(f.spacing),
            supply: job::Supply { volts: f.volts.v, phases: f.phases },
            amps: f.amps.a,
            hp: f.hp.map_or(0.0, |h| h.hp),
            overload_built_in: f.thermally_protected,
            service_factor: f.service_factor,
            switch_at_fan: f.starter_at_fan,
        }),
    }
}

fn safety(s: &checked::Safety, places: &mut Places) -> job::Safety {
    // A trip moves a contact away from its healthy position; a proof is open until what it proves is there.
    let rest = match (s.rest, s.kind) {
        (Rest::Open, _) | (_, SafetyKind::FlowSwitch | SafetyKind::DamperSwitch) => part::Rest::Open,
        (Rest::Closed, _) => part::Rest::Closed,
    };
    job::Safety {
        config: SafetyConfig { kind: s.kind, scope: s.scope, circuit: s.circuit, reset: s.reset },
        place: places.id(&s.place),
        run_ft: feet(s.run),
        rest,
        aux: s.aux,
        supply: s.supply.map(|v| job::SafetySupply { volts: v.v, va: s.supply_va.map_or(0.0, |va| va.va) }),
    }
}

/// What is ordered by and no wire shows.
fn orders(p: &Plant, points: &Points) -> job::Orders {
    let element = |s: &checked::Sensor| match s.element {
        checked::Element::Thermistor10k2 => job::SensorElement::Thermistor10k2,
        checked::Element::Thermistor10k3 => job::SensorElement::Thermistor10k3,
        checked::Element::Platinum1000 => job::SensorElement::Platinum1000,
    };
    job::Orders {
        elements: p.sensors.iter().take(points.sensors.len()).map(element).collect(),
        opens_at_c: p.safeties.iter().map(|s| s.opens_at.map(|t| t.c)).collect(),
        fans_c: p.zones.iter().map(|z| z.fans.map(|f| f.aquastat.c)).collect(),
        tank_c: p.tank.as_ref().map(|t| (t.aquastat.c, t.differential.k)),
        valves_s: p.zones.iter().map(|z| z.valve.as_ref().map(|v| v.stroke.s)).collect(),
        mixing_s: p.zones.iter().map(|z| z.mixing.as_ref().map(|m| m.stroke.s)).collect(),
        damper_s: p.damper.as_ref().map(|d| d.stroke.s),
    }
}

fn sensors(p: &Plant, points: &Points, places: &mut Places) -> Vec<Option<job::Sensor>> {
    (0..points.sensors.len())
        .map(|i| p.sensors.get(i).map(|s| job::Sensor { place: places.id(&s.place), run_ft: feet(s.run) }))
        .collect()
}
