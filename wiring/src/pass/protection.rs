//! Breakers, motor protection, conductor sizes: what each leg needs.
//!
//! * Motor current I: table current of the horsepower (NEC 430.6(A)(1), Tables 430.248 and 430.250); the nameplate for wet-rotor,
//!   listed and electronically commutated pumps (430.6(A)(1) exception) and for ratings that the tables do not have.
//! * Motor breaker: the largest is 250 % I and the next standard size (Table 430.52). Chosen: the smallest standard size of 175 %
//!   I or more, 15 A where the table allows it, never over the largest. 175 % is our choice: it rides through starting. For
//!   pumps of an ampere or two that gives 10 A in the 2023 edition, which made 10 A a standard breaker; a general-purpose
//!   circuit of 15 or 20 A by 430.53(A) may be accepted too, but is not planned.
//! * Several motors on one circuit: the next standard size above 125 % of the largest and the rest (430.24), of fans that start
//!   together 175 % of it and the rest, 15 A at least, never over 20 A (15 A above 125 V, 430.53(A)); conductors by 430.24.
//! * Transformer between two panelboards: see [`crate::tables::derived`]; its secondary conductors carry the whole rating of the
//!   main breaker at their end (240.21(C)).
//! * Other circuits: the smallest standard size of 125 % of a continuous current (210.20(A), from memory), 15 A at least, 20 A for
//!   receptacles; the supply of Class 2 transformers 20 A at most (725.127).
//! * Conductors: 125 % I by ampacity with ambient and number in the raceway, then the owner's minimum, then voltage drop
//!   (`100 k I L r / (1000 U)`, feet and ohm per 1000 ft). Equipment ground by 250.122.
//! * Overload: set to the nameplate current; at most 125 % of it where the plate has a service factor of 1.15 or more or a rise
//!   of 40 °C or less, else 115 % (430.32(A)(1)); where it will not start 140 or 130 % (430.32(C)). Disconnect: 115 % I
//!   (430.110(A)).
//!
//! A size that the tables do not hold is taken as the largest that they hold, and rules report the leg.

use crate::{
    job::{Fan, Job, Pump, PumpMotor},
    part::LoadUse,
    pass::{
        boards::{Board, board_of},
        choose::{Choices, PumpDisconnect, fan_switch, pump_disconnect, switched_at_fan, table_a},
        devices::{Role, condensate_pump_name},
        loom::{Carries, Group, Leg, Loom, RunKey, Way},
    },
    plan::{Breaker, Circuit, Duty, Feed, MotorProtection, MotorSwitch, Overload, TransformerLoad},
    row::Class,
    tables::{
        Awg, adjustment,
        ampacity::{self, Column},
        bonding,
        conductor::{self, Conditions},
        derived, disconnect, drop, egc,
        motor::Phases,
        overload, protect, shared, standard, transformer,
    },
};
use heatwright_core::{PumpId, Subject, ZoneId};
use std::collections::BTreeMap;

/// Per cent of the motor current that the chosen breaker has at least.
const START_PERCENT: f64 = 175.0;
/// Largest size we pull to mend a voltage drop in a cable.
const CABLE_MAX: Awg = Awg::A10;

/// What a leg is made of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LegSize {
    /// Conductor.
    pub awg: Awg,
    /// What its current alone would need.
    pub needed: Awg,
    /// Voltage drop to its far end, per cent.
    pub drop_percent: f64,
}

/// Sizes of everything.
#[derive(Clone, Debug)]
pub struct Protection {
    /// By leg.
    pub legs: Vec<LegSize>,
    /// Breakers, in circuit order.
    pub breakers: Vec<Breaker>,
    /// Motors.
    pub motors: Vec<MotorProtection>,
    /// Transformers.
    pub transformers: Vec<TransformerLoad>,
    /// Current-carrying conductors of each run.
    pub carrying: BTreeMap<RunKey, usize>,
}

/// Current for conductor, breaker and disconnect of a pump, amperes.
pub fn motor_amps(p: &Pump) -> f64 {
    match p.motor {
        PumpMotor::Induction { hp } => table_a(hp, p.supply).unwrap_or(p.nameplate_a),
        PumpMotor::WetRotor | PumpMotor::ElectronicallyCommutated { .. } => p.nameplate_a,
    }
}

/// The same of a fan.
pub fn fan_amps(f: &Fan) -> f64 {
    table_a(f.hp, f.supply).unwrap_or(f.amps)
}

/// Sizes everything.
pub fn protection(job: &Job, choices: &Choices, loom: &Loom) -> Protection {
    let carrying = carrying(loom);
    let ratings: Vec<Option<(f64, f64, String)>> = (0..loom.circuits.len()).map(|i| breaker_of(job, loom, i)).collect();
    let legs = legs(job, loom, &carrying, &ratings);
    let breakers = breakers(job, loom, &ratings, &legs);
    let motors = motors(job, choices, loom);
    let mut transformers = transformers(job, choices);
    transformers.extend(derived_transformer(job, choices, loom, &motors));
    transformers.extend(coil_transformers(loom));
    Protection { legs, breakers, motors, transformers, carrying }
}

/// Sizes of all legs: those of the transformer between the panelboards first, since what they lose is lost ahead of every
/// circuit of the second.
fn legs(
    job: &Job,
    loom: &Loom,
    carrying: &BTreeMap<RunKey, usize>,
    ratings: &[Option<(f64, f64, String)>],
) -> Vec<LegSize> {
    let duty = |i: usize| loom.circuits[loom.legs[i].circuit].duty;
    let upstream = |i: &usize| matches!(duty(*i), Duty::Transformer | Duty::Feeder);
    let second: f64 = (0..loom.legs.len())
        .filter(upstream)
        .map(|i| size_leg(job, loom, carrying, ratings, 0.0, i).drop_percent)
        .sum();
    let on_second = |i: usize| matches!(&loom.circuits[loom.legs[i].circuit].feed, Feed::Panelboard { panel, .. } if panel == Board::Second.tag());
    let ahead = |i: usize| if on_second(i) { second } else { 0.0 };
    (0..loom.legs.len()).map(|i| size_leg(job, loom, carrying, ratings, ahead(i), i)).collect()
}

/// Current-carrying conductors a run: phases, neutrals of two-wire circuits, control; beside power only what control carries more than
/// a tenth of its ampacity, taken as that of 14 AWG at 60 °C, the least there is.
fn carrying(loom: &Loom) -> BTreeMap<RunKey, usize> {
    let least = ampacity::amps(Awg::A14, Column::C60).unwrap_or(0.0);
    let mut out = BTreeMap::new();
    for w in &loom.wires {
        if let Way::Run(key, _) = w.way {
            let leg = &loom.legs[w.leg];
            let idle =
                key.group == Group::Power && leg.duty == Duty::Control && !adjustment::control_counts(leg.amps, least);
            let carries = !matches!(w.carries, Carries::Ground | Carries::Shield | Carries::Bond) && !idle;
            *out.entry(key).or_insert(0) += usize::from(carries);
        }
    }
    out
}

/// Rating, largest rating and reason of a branch circuit's breaker.
fn breaker_of(job: &Job, loom: &Loom, circuit: usize) -> Option<(f64, f64, String)> {
    let c = &loom.circuits[circuit];
    let edition = job.settings.edition;
    if c.duty == Duty::Feeder {
        let d = derived::secondary(c.amps, edition)?;
        let why = format!(
            "secondary of {:.1} A: 125 % and the next standard size is {:.0} A at most (NEC 450.3(B)); that \
             carries it all day; main breaker of A3",
            c.amps, d.most
        );
        return Some((d.amps, d.most, why));
    }
    let Feed::Panelboard { .. } = c.feed else { return None };
    let next = |a: f64| standard::breaker_at_least(a, edition).unwrap_or(a);
    let duty_amps = if c.continuous { 1.25 * c.amps } else { c.amps };
    Some(match c.duty {
        Duty::Motor if loom.groups.contains_key(&circuit) => {
            let group = &loom.groups[&circuit];
            let all = conductor::group_amps(group, 0.0, 0.0);
            let most = shared::largest_device_amps(c.volts);
            let largest = group.iter().copied().fold(0.0, f64::max);
            // The last pump starts while the others run, as the fans of one zone do together when their water is hot.
            let start = shared::starting_amps(group);
            let short = if start > most { "; started together they may trip it" } else { "" };
            let why = format!(
                "{} motors, the largest {largest:.1} A: 125 % of it and the rest, {all:.1} A (430.24); chosen over 175 % of it and the \
                 rest, {start:.1} A, to ride through starting; each up to 1 hp and 6 A, so at most {most:.0} A (430.53(A)){short}",
                group.len()
            );
            (next(start).max(15.0).min(most), most, why)
        }
        Duty::Motor => {
            let most = protect::inverse_time_breaker(c.amps, edition).unwrap_or(15.0);
            let wanted = next(c.amps * START_PERCENT / 100.0).max(15.0);
            let chosen = wanted.min(most);
            let table = format!(
                "250 % of {:.1} A = {:.2} A, next standard size {most:.0} A (NEC 430.52(C)(1), 240.6(A))",
                c.amps,
                c.amps * 2.5
            );
            let why = if chosen < most {
                let least = c.amps * START_PERCENT / 100.0;
                format!(
                    "{table}, is the largest; {chosen:.0} A is chosen, over 175 % = {least:.2} A to ride through starting"
                )
            } else {
                table
            };
            (chosen, most, why)
        }
        Duty::Transformer => {
            let d = derived::primary(c.amps, edition)?;
            let (least, comes) = (derived::INRUSH / derived::MAGNETIC * c.amps, derived::INRUSH * c.amps);
            let holds = if derived::holds_inrush(d.amps, c.amps) {
                ""
            } else {
                "; the largest allowed is below that: see that the breaker's curve holds the inrush"
            };
            let why = format!(
                "primary of {:.1} A: 250 % is {:.1} A, so {:.0} A at most beside the secondary's main breaker (NEC 450.3(B)); closed in it \
                 may draw {:.0} x {:.1} A = {comes:.0} A for a tenth of a second, which a breaker with a magnetic trip at {:.0} times its rating \
                 holds from {least:.1} A on (common practice, no source): {:.0} A is chosen{holds}",
                c.amps,
                derived::PRIMARY_SHARE_MAX * c.amps,
                d.most,
                derived::INRUSH,
                c.amps,
                derived::MAGNETIC,
                d.amps
            );
            (d.amps, d.most, why)
        }
        Duty::BoilerLine => {
            let plate = match c.subject {
                Some(Subject::Boiler(b)) => job.boilers.get(b.index()).and_then(|b| b.breaker_max_a),
                _ => None,
            };
            let wanted = next(duty_amps).max(15.0);
            let most = plate.and_then(|a| standard::breaker_at_most(f64::from(a), edition)).unwrap_or(wanted);
            let chosen = wanted.min(most);
            let plate = if most < wanted { format!("; its plate allows {most:.0} A at most") } else { String::new() };
            (chosen, most, format!("{}{plate}", continuous(c.amps, wanted)))
        }
        Duty::Receptacle => (20.0, 20.0, "a 20 A circuit for receptacles (our choice; 210.21(B)(3) allows it)".into()),
        Duty::PanelSupply => {
            let chosen = next(duty_amps).max(15.0);
            let class2 = "20 A at most for the Class 2 supplies behind it (NEC 725.127)";
            (chosen, 20.0, format!("{}; {class2}", continuous(c.amps, chosen)))
        }
        _ => {
            let chosen = next(duty_amps).max(15.0);
            (chosen, 20.0, format!("load {:.2} A, smallest size used here {chosen:.0} A (NEC 240.6(A))", c.amps))
        }
    })
}

/// Why a continuous load has this breaker.
fn continuous(amps: f64, chosen: f64) -> String {
    let least = 1.25 * amps;
    let size = if chosen <= 15.0 { "smallest size used here" } else { "next standard size" };
    format!("125 % of {amps:.2} A = {least:.2} A, {size} {chosen:.0} A (NEC 210.20(A), 240.6(A))")
}

fn awg(number: u8, fallback: Awg) -> Awg {
    number.to_string().parse().unwrap_or(fallback)
}

fn size_leg(
    job: &Job,
    loom: &Loom,
    carrying: &BTreeMap<RunKey, usize>,
    ratings: &[Option<(f64, f64, String)>],
    ahead_percent: f64,
    index: usize,
) -> LegSize {
    let leg = &loom.legs[index];
    let s = &job.settings;
    let phases = if leg.phases == 3 { Phases::Three } else { Phases::One };
    let circuit = &loom.circuits[leg.circuit];
    let (needed, least, most_percent) = match leg.class {
        Class::Class2 => {
            let least = awg(s.class2_min_awg, Awg::A18);
            (least, least, s.drop_class2_max_percent)
        }
        _ => {
            let on = conditions(job, loom, carrying, index);
            let device = ratings[leg.circuit].as_ref().map(|r| r.0);
            let shared = loom.groups.get(&leg.circuit).map(|g| conductor::group_amps(g, 0.0, 0.0));
            let by_current = match (circuit.duty, device) {
                // Also along the taps: full size to each fan (430.53(D) would allow less).
                (Duty::Motor, Some(device)) if shared.is_some() => {
                    conductor::size_for_circuit(shared.unwrap_or(leg.amps), device, on, s.edition)
                }
                (Duty::Motor, _) => conductor::size_for(conductor::motor_amps(leg.amps), on),
                // Secondary conductors: the whole rating of the device at their end (240.21(C)).
                (Duty::Feeder, Some(device)) => conductor::size_for(secondary_ampacity(loom, ratings, leg, device), on),
                (_, Some(device)) => conductor::size_for_circuit(1.25 * leg.amps, device, on, s.edition),
                // A boiler's own control circuit: protected inside the boiler, small currents.
                (_, None) => conductor::size_for(1.25 * leg.amps, on),
            };
            let needed = by_current.unwrap_or(Awg::A4_0);
            let owner = match leg.class {
                Class::Power => awg(s.power_min_awg, Awg::A12),
                _ => awg(s.control_min_awg, Awg::A14),
            };
            // Never below half a per cent, which a rule then reports.
            let total_left = (s.drop_total_max_percent - job.service.feeder_drop_percent - ahead_percent).max(0.5);
            let most =
                if leg.volts < 60.0 { s.drop_class2_max_percent } else { s.drop_branch_max_percent.min(total_left) };
            (needed, needed.max(owner), most)
        }
    };
    let by_drop = drop::size_for(phases, least, leg.amps, leg.length_ft, leg.volts, most_percent);
    let cap = if leg.class == Class::Class2 { CABLE_MAX.max(least) } else { Awg::A4_0 };
    let awg = by_drop.unwrap_or(cap).min(cap).max(least);
    let lost = drop::volts(phases, awg, leg.amps, leg.length_ft, 75.0);
    LegSize { awg, needed: needed.max(Awg::A18), drop_percent: drop::percent(lost, leg.volts).unwrap_or(0.0) }
}

/// What the secondary conductors of the transformer must carry, amperes.
fn secondary_ampacity(loom: &Loom, ratings: &[Option<(f64, f64, String)>], leg: &Leg, device_a: f64) -> f64 {
    let primary = loom.circuits.iter().position(|c| c.duty == Duty::Transformer);
    let primary_a = primary.and_then(|i| ratings[i].as_ref()).map_or(device_a, |r| r.0);
    let ratio = primary.map_or(1.0, |i| loom.circuits[i].volts / leg.volts);
    derived::secondary_ampacity(device_a, primary_a, ratio, leg.length_ft).unwrap_or(device_a)
}

/// The hottest and fullest run that a leg goes through.
fn conditions(job: &Job, loom: &Loom, carrying: &BTreeMap<RunKey, usize>, leg: usize) -> Conditions {
    let terminals = if job.settings.terminal_c >= 75 { Column::C75 } else { Column::C60 };
    let mut on = Conditions { terminals, current_carrying: 1, ..Conditions::default() };
    for w in loom.wires.iter().filter(|w| w.leg == leg) {
        if let Way::Run(key, _) = w.way {
            on.current_carrying = on.current_carrying.max(carrying.get(&key).copied().unwrap_or(1));
        }
        for end in [w.from, w.to] {
            let place = loom.device(end.device).place;
            if let Some(p) = job.places.get(usize::from(place.0)) {
                on.ambient_c = on.ambient_c.max(p.ambient_c);
            }
        }
    }
    on
}

fn breakers(job: &Job, loom: &Loom, ratings: &[Option<(f64, f64, String)>], legs: &[LegSize]) -> Vec<Breaker> {
    let mut out = Vec::new();
    for (i, (c, rating)) in loom.circuits.iter().zip(ratings).enumerate() {
        let Some((amps, most, why)) = rating else { continue };
        let poles = match &c.feed {
            Feed::Panelboard { spaces, .. } => spaces.len() as u8,
            _ => 2,
        };
        let leg = loom.legs.iter().position(|l| l.circuit == i).and_then(|l| legs.get(l));
        let (used, needed) = leg.map_or((Awg::A12, Awg::A12), |l| (l.awg, l.needed));
        let outlets = !job.receptacles.iter().all(|r| r.ground_fault_protected);
        out.push(Breaker {
            circuit: c.name.clone(),
            amps: *amps as u16,
            poles,
            max_a: *most as u16,
            awg: used.mark().into(),
            ground_awg: match c.duty {
                Duty::Feeder => bonding::size(used),
                _ => ground(*amps, needed, used),
            }
            .mark()
            .into(),
            ground_fault: c.duty == Duty::Receptacle && outlets,
            why: why.clone(),
        });
    }
    out
}

/// The equipment ground of a circuit: by its breaker, grown where the conductors are larger than their current needs, for
/// whatever reason (250.122(B)).
pub fn ground(device_a: f64, needed: Awg, used: Awg) -> Awg {
    egc::size(device_a, needed, used).unwrap_or(used)
}

fn motors(job: &Job, choices: &Choices, loom: &Loom) -> Vec<MotorProtection> {
    let mut out = Vec::new();
    let circuit_of = |s: Subject, duty: Duty| {
        let c = loom.circuits.iter().find(|c| c.subject == Some(s) && c.duty == duty);
        c.map_or_else(String::new, |c| c.name.clone())
    };
    let tag = |r: Role| loom.inventory.id(r).map_or_else(String::new, |d| loom.device(d).tag.clone());
    let board = |s| board_of(job, s).map_or_else(String::new, |b| b.tag().to_owned());
    let or_board = |tag: String, s| if tag.is_empty() { board(s) } else { tag };
    for (i, p) in job.pumps.iter().enumerate() {
        let id = PumpId(i as u8);
        let switch = choices.pumps.get(i).copied().unwrap_or(MotorSwitch::Contactor);
        let amps = motor_amps(p);
        let what = if switch == MotorSwitch::StartInput { LoadUse::PumpSupply(id) } else { LoadUse::Pump(id) };
        out.push(MotorProtection {
            what,
            device: tag(Role::Pump(id)),
            circuit: choices
                .pump_circuits
                .iter()
                .find(|c| c.contains(&id))
                .and_then(|c| c.first())
                .map_or_else(String::new, |first| circuit_of(Subject::Pump(*first), Duty::Motor)),
            sizing_a: amps,
            nameplate_a: p.nameplate_a,
            switch,
            overload: (switch == MotorSwitch::Starter).then(|| overload_of(p.nameplate_a, p.service_factor, p.rise_k)),
            disconnect: match pump_disconnect(job, id, switch, choices.alone(id)) {
                PumpDisconnect::Own => tag(Role::PumpDisconnect(id)),
                PumpDisconnect::RelayPanel => tag(Role::LineDisconnect(id)),
                PumpDisconnect::Breaker => board(p.supply),
            },
            controller_disconnect: match switch {
                MotorSwitch::ControllerRelay
                | MotorSwitch::CallRelay
                | MotorSwitch::Contactor
                | MotorSwitch::Starter => or_board(tag(Role::LineDisconnect(id)), p.supply),
                _ => String::new(),
            },
            disconnect_min_a: disconnect::least_amps(amps),
        });
    }
    for (i, z) in job.zones.iter().enumerate() {
        let id = ZoneId(i as u8);
        let Some(f) = &z.fan else { continue };
        for fan in 0..f.count {
            let on = loom.inventory.id(Role::FanDisconnect(id, fan)).and_then(|d| loom.circuit_at(d));
            out.push(MotorProtection {
                what: LoadUse::Fan(id, fan),
                device: tag(Role::Fan(id, fan)),
                circuit: on.map_or_else(String::new, |c| c.name.clone()),
                sizing_a: fan_amps(f),
                nameplate_a: f.amps,
                switch: fan_switch(f),
                overload: (fan_switch(f) == MotorSwitch::Starter).then(|| overload_of(f.amps, f.service_factor, None)),
                disconnect: tag(Role::FanDisconnect(id, fan)),
                controller_disconnect: match fan_switch(f) {
                    MotorSwitch::Aquastat => String::new(),
                    _ if switched_at_fan(f) => tag(Role::FanDisconnect(id, fan)),
                    _ => or_board(tag(Role::FanLineDisconnect(id, fan)), f.supply),
                },
                disconnect_min_a: disconnect::least_amps(fan_amps(f)),
            });
        }
    }
    for (i, c) in job.condensate_pumps.iter().enumerate() {
        let i = i as u8;
        let name = condensate_pump_name(job, c);
        let circuit = loom.circuits.iter().find(|x| x.label == name);
        out.push(MotorProtection {
            what: LoadUse::CondensatePump(i),
            device: tag(Role::CondensatePump(i)),
            circuit: circuit.map_or_else(String::new, |c| c.name.clone()),
            sizing_a: c.amps,
            nameplate_a: c.amps,
            switch: MotorSwitch::OwnSwitch,
            overload: None,
            disconnect: tag(Role::CondensateDisconnect(i)),
            controller_disconnect: String::new(),
            disconnect_min_a: disconnect::least_amps(c.amps),
        });
    }
    out
}

/// Setting of a motor's overload relay and its bounds, by the plate.
fn overload_of(nameplate_a: f64, service_factor: f64, rise_k: Option<f64>) -> Overload {
    let reserve = overload::Reserve::of_plate(service_factor, rise_k);
    Overload {
        set_a: nameplate_a,
        max_a: overload::largest_setting_amps(nameplate_a, reserve),
        max_to_start_a: overload::largest_setting_amps_to_start(nameplate_a, reserve),
        max_percent: reserve.percent(),
    }
}

/// The transformer between the panelboards, with the connected load of the second: no demand factor is taken. All starting: every
/// motor there at locked rotor, and where the control circuit hangs there every coil of a contactor and every 24 V valve with its inrush.
fn derived_transformer(
    job: &Job,
    choices: &Choices,
    loom: &Loom,
    motors: &[MotorProtection],
) -> Option<TransformerLoad> {
    let s = job.service.step_down?;
    let on = |c: &&Circuit| matches!(&c.feed, Feed::Panelboard { panel, .. } if panel == Board::Second.tag());
    let behind: Vec<&Circuit> = loom.circuits.iter().filter(on).collect();
    let sealed_va = behind.iter().map(|c| c.va).sum();
    let loads = behind.iter().map(|c| c.label.clone()).collect();
    let root = |c: &Circuit| if c.phases == 3 { 3.0_f64.sqrt() } else { 1.0 };
    let start = |m: &MotorProtection| {
        let c = behind.iter().find(|c| c.name == m.circuit)?;
        Some(transformer::LOCKED_ROTOR * m.nameplate_a * c.volts * root(c))
    };
    let mut inrush: f64 = motors.iter().filter_map(start).sum();
    if behind.iter().any(|c| c.duty == Duty::PanelSupply) {
        inrush += control_inrush(choices, loom);
    }
    let inrush_va = transformer::pull_in_va(sealed_va, inrush);
    let volts = 2.0 * crate::kinds::derived::HALF_V;
    let starting_v = transformer::loaded_v(volts, crate::kinds::derived::REGULATION, s.va, inrush_va);
    Some(TransformerLoad { tag: "TP1".into(), va: s.va, sealed_va, inrush_va, starting_v, loads })
}

/// Inrush of all that the control circuit pulls in: coils of contactors and starters on it (a fan's has a transformer of its own), and
/// what the 24 V supplies give.
fn control_inrush(choices: &Choices, loom: &Loom) -> f64 {
    use crate::{device::Kind, kinds::relay::CONTACTOR_INRUSH_VA};
    let own = |d: usize| {
        let mut roles = loom.inventory.roles.iter();
        roles.any(|(r, id)| usize::from(id.0) == d && matches!(r, Role::FanSwitch(..)))
    };
    let coils = loom.inventory.devices.iter().enumerate();
    let coils = coils.filter(|(i, d)| matches!(d.kind, Kind::Contactor | Kind::Starter) && !own(*i)).count();
    let valves: f64 = choices.supplies.iter().flat_map(|s| &s.loads).map(|l| l.2).sum();
    coils as f64 * CONTACTOR_INRUSH_VA + valves
}

/// The control transformers of starters: one coil each.
fn coil_transformers(loom: &Loom) -> Vec<TransformerLoad> {
    use crate::kinds::control_transformer::{REGULATION, SECONDARY_V, VA, pull_in_va};
    let own = loom.inventory.devices.iter().filter(|d| d.kind == crate::device::Kind::ControlTransformer);
    own.map(|d| {
        let circuit = loom.circuits.iter().find(|c| c.name == d.tag);
        TransformerLoad {
            tag: d.tag.clone(),
            va: VA,
            sealed_va: circuit.map_or(0.0, |c| c.va),
            inrush_va: pull_in_va(),
            starting_v: transformer::loaded_v(SECONDARY_V, REGULATION, VA, pull_in_va()),
            loads: circuit.map(|c| c.label.clone()).into_iter().collect(),
        }
    })
    .collect()
}

fn transformers(job: &Job, choices: &Choices) -> Vec<TransformerLoad> {
    use crate::{
        job::ThermostatKind,
        pass::choose::{Load24, call_va, calls::Caller},
    };
    let name = |l: Load24| match l {
        Load24::Controller => "controller".to_owned(),
        Load24::Thermostat(z) => {
            // A two-wire thermostat draws nothing: what hangs there are the coils that it pulls.
            let of = job.names.of(Subject::Zone(z));
            let powered = job.zones.get(z.index()).is_some_and(|z| z.thermostat.kind == ThermostatKind::Powered);
            match (powered, call_va(job, Caller::Zone(z)) > 0.0) {
                (true, true) => format!("thermostat and relay coil of the call of {of}"),
                (true, false) => format!("thermostat of {of}"),
                (false, _) => format!("relay coil of the call of {of}"),
            }
        }
        Load24::Tank => "relays of the tank's aquastat".to_owned(),
        Load24::Valve(z) => format!("zone valve of {}", job.names.of(Subject::Zone(z))),
        Load24::Mixing(z) => format!("mixing valve of {}", job.names.of(Subject::Zone(z))),
        Load24::Damper => "combustion-air damper".to_owned(),
        Load24::Safety(s) => job.names.of(Subject::Safety(s)),
    };
    let load = |(i, s): (usize, &crate::pass::choose::Supply24)| {
        let (sealed, inrush) = s.loads.iter().fold((0.0, 0.0), |(a, b), l| (a + l.1, b + l.2));
        TransformerLoad {
            tag: format!("T{}", i + 1),
            va: s.va,
            sealed_va: sealed,
            inrush_va: transformer::pull_in_va(sealed, inrush),
            starting_v: transformer::loaded_v(
                crate::kinds::transformer::SECONDARY_V,
                crate::kinds::transformer::REGULATION,
                s.va,
                transformer::pull_in_va(sealed, inrush),
            ),
            loads: s.loads.iter().map(|l| name(l.0)).collect(),
        }
    };
    choices.supplies.iter().enumerate().map(load).collect()
}

/// True for the groups that run in a raceway.
pub fn in_raceway(g: Group) -> bool {
    !matches!(g, Group::Class2 | Group::Signal | Group::Bare)
}
