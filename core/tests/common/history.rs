//! Random histories of inputs: calls, weather, water, proofs, faults of sensors, safeties, switches, buttons.

use super::*;
use proptest::prelude::*;

/// One thing that happens to the inputs.
#[derive(Clone, Debug)]
pub enum Happening {
    Contact(ContactUse, bool),
    Read(SensorUse, Reading),
    /// The plant answers truthfully again: proofs follow relays.
    Follow(bool),
}

#[derive(Clone, Debug)]
pub struct History {
    /// Seconds to the next happening, and what happens then.
    pub steps: Vec<(u32, Happening)>,
}

fn contact(shape: Shape) -> impl Strategy<Value = ContactUse> {
    let b = move || (0..shape.boilers).prop_map(BoilerId);
    let z = (0..shape.zones).prop_map(ZoneId);
    prop_oneof![
        6 => z.prop_map(ContactUse::Call),
        2 => Just(ContactUse::TankCall),
        1 => b().prop_map(ContactUse::Flow),
        1 => b().prop_map(ContactUse::Flame),
        1 => b().prop_map(ContactUse::BoilerFault),
        1 => b().prop_map(ContactUse::BoilerSwitch),
        1 => (0..2 + 2 * shape.boilers).prop_map(|s| ContactUse::Safety(SafetyId(s), if s < 2 { Tap::Aux } else { Tap::Chain })),
        1 => Just(ContactUse::Acknowledge),
        1 => Just(ContactUse::DamperOpen),
        1 => Just(ContactUse::EndSwitch(ZoneId(0))),
        1 => Just(ContactUse::Hand(PumpId(1))),
        1 => Just(ContactUse::Auto(PumpId(1))),
        1 => Just(ContactUse::Safety(SafetyId(2 + 2 * shape.boilers), Tap::Aux)),
    ]
}

fn reading() -> impl Strategy<Value = Reading> {
    prop_oneof![
        8 => (-2500i16..9500).prop_map(|t| Reading::At(Temp::from_centi_c(t))),
        1 => Just(Reading::Open),
        1 => Just(Reading::Short),
        1 => Just(Reading::NeverRead),
    ]
}

fn sensor(shape: Shape) -> impl Strategy<Value = SensorUse> {
    prop_oneof![
        Just(SensorUse::Outdoor),
        Just(SensorUse::Supply),
        Just(SensorUse::Return),
        Just(SensorUse::Tank),
        Just(SensorUse::Mixed(ZoneId(shape.zones - 1))),
        (0..shape.boilers).prop_map(|b| SensorUse::BoilerOutlet(BoilerId(b))),
    ]
}

fn happening(shape: Shape) -> impl Strategy<Value = Happening> {
    prop_oneof![
        6 => (contact(shape), prop::bool::weighted(0.65)).prop_map(|(u, on)| Happening::Contact(u, on)),
        3 => (sensor(shape), reading()).prop_map(|(u, r)| Happening::Read(u, r)),
        2 => prop::bool::weighted(0.8).prop_map(Happening::Follow),
    ]
}

pub fn shapes() -> impl Strategy<Value = Shape> {
    let drive = prop_oneof![
        Just(BoilerDrive::DemandOnly),
        Just(BoilerDrive::Target { low: c(20), high: c(90) }),
        Just(BoilerDrive::Rate),
    ];
    let policy = prop_oneof![
        Just(RotationPolicy::Fixed),
        Just(RotationPolicy::HoursDifference(1)),
        Just(RotationPolicy::StartsDifference(2)),
        Just(RotationPolicy::Calendar { every_h: 24, minute_of_day: 120 }),
    ];
    let off_order = prop_oneof![Just(OffOrder::FirstOnFirstOff), Just(OffOrder::FirstOnLastOff)];
    (1u8..=4, 1u8..=5, drive, any::<(bool, bool, bool, bool, bool, bool)>(), policy, off_order).prop_map(
        |(boilers, zones, drive, (tank, damper, extras, by_load, low_load, by_requests), policy, off_order)| Shape {
            boilers,
            zones,
            drive,
            tank,
            damper,
            policy,
            off_order,
            extras,
            by_load,
            low_load,
            by_requests,
        },
    )
}

pub fn histories(shape: Shape, length: usize) -> impl Strategy<Value = History> {
    let wait = prop_oneof![3 => 1u32..60, 3 => 60u32..1200, 1 => 1200u32..30_000];
    prop::collection::vec((wait, happening(shape)), 1..length).prop_map(|steps| History { steps })
}

pub fn plants(length: usize) -> impl Strategy<Value = (Shape, History)> {
    shapes().prop_flat_map(move |s| (Just(s), histories(s, length)))
}

/// Applies a happening to a bench's inputs; tells whether proofs follow relays from here.
pub fn apply(bench: &mut Bench, h: &Happening, follow: &mut bool) {
    match h {
        Happening::Contact(u, on) => bench.contact(*u, *on),
        Happening::Read(u, r) => bench.read(*u, *r),
        Happening::Follow(f) => *follow = *f,
    }
}
