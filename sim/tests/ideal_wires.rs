//! The wiring as meant: pairs, hand switches, chains, fans.

mod common;

use common::large;
use heatwright_core::{
    BoilerId, ContactUse, Outputs, PumpId, RelayUse, SafetyId, Tap, ZoneId,
    config::{Reset, SafetyCircuit, SafetyKind, SafetyScope},
    outputs::Stated,
};
use heatwright_sim::{
    Field, Ideal, Plant, Wires,
    plant::{Drive, Safety, Trip},
};

fn on(plant: &Plant, uses: &[RelayUse]) -> Outputs {
    let mut outputs = Outputs::default();
    for u in uses {
        let relay = plant.points.relay(*u).unwrap();
        outputs.relays[relay.index()] = Stated { on: true, ..Stated::default() };
    }
    outputs
}

fn open(s: u8) -> Field {
    Field { safeties: !SafetyId(s).bit(), ..Field::default() }
}

#[test]
fn limit_and_proving_pairs_open_by_circuit_and_scope() {
    let plant = large();
    let mut wires = Ideal::new(&plant);
    let mut at = |f: Field| {
        let p = wires.powered(&Outputs::default(), &f);
        (p.limit, p.proving)
    };
    assert_eq!(at(Field::default()), (0b11, 0b11));
    assert_eq!(at(open(0)), (0b11, 0b00), "the damper proves both boilers");
    assert_eq!(at(open(2)), (0b11, 0b01), "the flow switch of the second proves the second");
    assert_eq!(at(open(3)), (0b10, 0b11), "the high limit of the first opens the first");
    assert_eq!(at(open(4)), (0b00, 0b11), "the door switch opens both");
    assert_eq!(at(open(5)), (0b11, 0b11), "a floor limit is no boiler's");
}

#[test]
fn the_demand_pair_is_the_relay_alone() {
    let plant = large();
    let mut wires = Ideal::new(&plant);
    let outputs = on(&plant, &[RelayUse::Demand(BoilerId(1)), RelayUse::Damper, RelayUse::Valve(ZoneId(4))]);
    let p = wires.powered(&outputs, &open(4));
    assert_eq!((p.demand, p.damper, p.valves), (0b10, true, 1 << 4));
    assert_eq!(p.boiler_line, 0b11);
    let off = Field { boiler_switch: !BoilerId(0).bit(), ..Field::default() };
    assert_eq!(wires.powered(&outputs, &off).boiler_line, 0b10);
}

#[test]
fn a_pump_runs_by_hand_by_relay_or_by_its_boiler_but_never_past_overload_and_limit() {
    let plant = large();
    let mut wires = Ideal::new(&plant);
    let (floor, own) = (PumpId(2), PumpId(7));
    let idle = Outputs::default();
    let asked = on(&plant, &[RelayUse::Pump(floor)]);
    let hand = Field { pump_hand: floor.bit(), pump_auto: !floor.bit(), ..Field::default() };
    let off = Field { pump_auto: !floor.bit(), ..Field::default() };
    assert_eq!(wires.powered(&idle, &Field::default()).pumps, 0);
    assert_eq!(wires.powered(&asked, &Field::default()).pumps, floor.bit());
    assert_eq!(wires.powered(&idle, &hand).pumps, floor.bit());
    assert_eq!(wires.powered(&asked, &off).pumps, 0);
    assert_eq!(wires.powered(&asked, &Field { overloads: !floor.bit(), ..hand }).pumps, 0);
    assert_eq!(wires.powered(&asked, &Field { safeties: !SafetyId(5).bit(), ..hand }).pumps, 0, "floor limit");
    let request = Field { boiler_pump_request: 0b11, ..Field::default() };
    assert_eq!(wires.powered(&idle, &request).pumps, own.bit(), "only the boiler that may ask is heard");
    assert_eq!(wires.powered(&idle, &Field { pump_auto: 0, ..request }).pumps, 0);
}

/// Each row of what a zone limit opens: by the drive of its zone, alone or shared.
#[test]
fn a_zone_limit_opens_its_pump_also_when_shared_or_its_valve_alone() {
    let (limited, other, pump) = (ZoneId(2), ZoneId(4), PumpId(2));
    let valve = |pump| Drive::Valve { pump, stroke_s: 30.0, end_switch: true };
    let live = |own: Drive, others: Drive, hand: bool| {
        let mut plant = large();
        (plant.zones[2].drive, plant.zones[4].drive) = (own, others);
        plant.points.relays.push(RelayUse::Valve(limited)).unwrap();
        let outputs = on(&plant, &[RelayUse::Pump(pump), RelayUse::Valve(limited), RelayUse::Valve(other)]);
        let mut wires = Ideal::new(&plant);
        let mut at = |f: Field| {
            let f = if hand { Field { pump_hand: pump.bit(), pump_auto: !pump.bit(), ..f } } else { f };
            let p = wires.powered(&outputs, &f);
            (p.pumps & pump.bit() != 0, p.valves & limited.bit() != 0, p.valves & other.bit() != 0)
        };
        assert_eq!(at(Field::default()), (true, true, true), "healthy, all is live");
        at(open(5))
    };
    for hand in [false, true] {
        let (own, apart) = (Drive::Pump(pump), Drive::Pump(PumpId(4)));
        assert_eq!(live(own, apart, hand), (false, true, true), "a pump of its own");
        assert_eq!(live(own, own, hand), (false, true, true), "two zones on one pump");
        assert_eq!(live(own, valve(Some(pump)), hand), (false, true, true), "and a valve zone behind it");
        assert_eq!(live(valve(Some(pump)), apart, hand), (true, false, true), "a valve alone behind a pump");
        assert_eq!(live(valve(Some(pump)), valve(Some(pump)), hand), (true, false, true), "two valves behind one");
        assert_eq!(live(valve(Some(pump)), own, hand), (true, false, true), "a valve beside a pump zone");
        assert_eq!(live(valve(None), apart, hand), (true, false, true), "a valve without a pump");
    }
}

#[test]
fn a_tank_limit_opens_the_tank_s_pump() {
    let mut plant = large();
    let (circuit, scope) = (SafetyCircuit::TankLimit, SafetyScope::Tank);
    plant.safeties[5] = Safety { kind: SafetyKind::TankLimit, circuit, scope, ..plant.safeties[5] };
    let outputs = on(&plant, &[RelayUse::Pump(PumpId(5)), RelayUse::Pump(PumpId(2))]);
    let mut wires = Ideal::new(&plant);
    assert_eq!(wires.powered(&outputs, &Field::default()).pumps, PumpId(5).bit() | PumpId(2).bit());
    assert_eq!(wires.powered(&outputs, &open(5)).pumps, PumpId(2).bit());
}

#[test]
fn a_fan_follows_its_aquastat_or_without_one_the_call() {
    let mut plant = large();
    let field = Field { calls: 1 << 3, ..Field::default() };
    let warm = Field { fan_aquastats: 1 << 3, ..Field::default() };
    let mut wires = Ideal::new(&plant);
    assert_eq!(wires.powered(&Outputs::default(), &field).fans, 0);
    assert_eq!(wires.powered(&Outputs::default(), &warm).fans, 1 << 3);
    plant.zones[3].fan.as_mut().unwrap().aquastat_c = None;
    let mut wires = Ideal::new(&plant);
    assert_eq!(wires.powered(&Outputs::default(), &field).fans, 1 << 3);
    assert_eq!(wires.powered(&Outputs::default(), &warm).fans, 0);
}

/// Chains of two plant-wide and two boiler safeties: who sees whom.
#[test]
fn a_chain_tap_sees_the_common_safeties_and_its_own_up_to_itself() {
    let mut plant = large();
    let own = |b: u8| Safety {
        kind: SafetyKind::LowWater,
        circuit: SafetyCircuit::Limit,
        scope: SafetyScope::Boiler(BoilerId(b)),
        reset: Reset::Manual,
        trip: Trip::Event,
    };
    plant.safeties.push(own(0));
    plant.safeties.push(own(1));
    plant.points.contacts.clear();
    for s in [3, 4, 6, 7] {
        plant.points.contacts.push(ContactUse::Safety(SafetyId(s), Tap::Chain)).unwrap();
        plant.points.contacts.push(ContactUse::Safety(SafetyId(s), Tap::Aux)).unwrap();
    }
    let mut wires = Ideal::new(&plant);
    let mut seen = |s: u8| {
        let contacts = wires.seen(&Outputs::default(), &open(s)).contacts;
        let tap = |at: usize| contacts >> at & 1;
        ([tap(0), tap(2), tap(4), tap(6)], [tap(1), tap(3), tap(5), tap(7)])
    };
    // Order of the columns: 3 high limit of boiler 0, 4 door switch, 6 low water of boiler 0, 7 low water of boiler 1.
    assert_eq!(seen(4), ([0, 0, 0, 0], [1, 0, 1, 1]), "the door is before every boiler");
    assert_eq!(seen(3), ([0, 1, 0, 1], [0, 1, 1, 1]), "the high limit hides the low water behind it");
    assert_eq!(seen(6), ([1, 1, 0, 1], [1, 1, 0, 1]));
    assert_eq!(seen(7), ([1, 1, 1, 0], [1, 1, 1, 0]));
}
