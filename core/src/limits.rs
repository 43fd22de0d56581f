//! Capacities of the controller, in one place.
//!
//! They bound every loop of a tick. A plant past one of them is refused when its file is checked, never cut short.
//! The sum of the four records of a tick is held to 4 KiB, so that the smallest board of the family can keep them in RAM.

/// Heating zones.
pub const ZONES: usize = 16;
/// Circulators: one a zone, one a boiler, tank, and spare.
pub const PUMPS: usize = 24;
/// Boilers.
pub const BOILERS: usize = 4;
/// Safety devices.
pub const SAFETIES: usize = 32;
/// Temperature sensor inputs.
pub const SENSORS: usize = 16;
/// Relay outputs.
pub const RELAYS: usize = 40;
/// Contact inputs.
pub const CONTACTS: usize = 64;
/// 0-10 V outputs.
pub const ANALOGS: usize = 8;
/// Points of the outdoor-reset curve.
pub const CURVE_POINTS: usize = 8;
/// Weekly schedules.
pub const SCHEDULES: usize = 4;
/// Switching times in one weekly schedule.
pub const SCHEDULE_STEPS: usize = 16;

/// Bytes that `Config`, `State`, `Inputs` and `Outputs` may take together.
pub const RECORD_BYTES: usize = 4096;

const _: () = assert!(
    size_of::<crate::Config>() + size_of::<crate::State>() + size_of::<crate::Inputs>() + size_of::<crate::Outputs>()
        <= RECORD_BYTES
);
// Sets of ids are words of 32 bits, contacts one of 64.
const _: () = assert!(ZONES <= 32 && PUMPS <= 32 && BOILERS <= 32 && SAFETIES <= 32 && SENSORS <= 32 && CONTACTS <= 64);
