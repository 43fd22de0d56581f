//! A call is answered from thermostat to flame and back, on the smallest plant.

mod common;
use common::*;
use heatwright_core::*;

#[test]
fn a_call_brings_pump_then_flow_then_demand_then_flame_and_its_end_takes_them_away_in_turn() {
    let mut b = Bench::new(Shape::default());
    b.tick();
    b.run(400);
    assert_eq!(
        (b.demand(0), b.pump(0)),
        (Stated { on: false, why: Reason::NoCall }, Stated { on: false, why: Reason::NoCall })
    );
    assert_eq!(b.outputs.target, None);
    b.call(0, true);
    b.run(4);
    assert!(!b.pump(0).on, "not counted yet");
    b.run(3);
    assert_eq!(b.pump(0), Stated { on: true, why: Reason::Call(ZoneId(0)) });
    assert!(!b.demand(0).on);
    assert!(b.outputs.target.is_some());
    b.run(12);
    assert_eq!(b.pump(2), Stated { on: true, why: Reason::BoilerCall(BoilerId(0)) });
    assert_eq!(b.demand(0), Stated { on: true, why: Reason::FlameProof });
    b.run(40);
    assert_eq!(b.demand(0), Stated { on: true, why: Reason::Lead });
    assert_eq!(b.relay(RelayUse::Alarm), Stated { on: true, why: Reason::Healthy });
    b.call(0, false);
    b.run(300);
    assert!(!b.demand(0).on);
    assert_eq!(b.pump(2), Stated { on: true, why: Reason::BoilerOverrun(BoilerId(0)) });
    b.run(2000);
    assert!(!b.pump(0).on && !b.pump(2).on);
    assert_eq!(b.state.meter.starts[0], 1);
}
