//! What an open zone or tank limit stops by its wires, whatever the controller says.
//!
//! | limit | zone | what its contact opens |
//! |---|---|---|
//! | of a zone | on a pump | that pump's circuit; other zones on the same pump stop with it |
//! | of a zone | on a valve, with a pump behind it, shared or not, or with none | the valve's circuit: it closes, the pump stays free |
//! | of the tank | | the circuit of the pump that charges it |
//!
//! Said once for the ideal wires of the simulator, for the planner and for the proof of its plan. Common practice, no source.
//! Nothing is opened where the scope does not fit the circuit or names what is not there. Not here: limits of boilers, and what
//! the controller itself does about an open limit.

use super::{SafetyCircuit, SafetyScope, ZoneDrive};
use crate::ids::{PumpId, ZoneId};

/// The circuit that a limit opens.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Opens {
    /// A pump's.
    Pump(PumpId),
    /// A zone valve's.
    Valve(ZoneId),
}

/// What a safety of this circuit and scope opens, by how each zone takes its water and which pump charges the tank.
pub fn opens(
    circuit: SafetyCircuit,
    scope: SafetyScope,
    drive: impl FnOnce(ZoneId) -> Option<ZoneDrive>,
    tank: Option<PumpId>,
) -> Option<Opens> {
    match (circuit, scope) {
        (SafetyCircuit::ZoneLimit, SafetyScope::Zone(z)) => Some(match drive(z)? {
            ZoneDrive::Pump(p) => Opens::Pump(p),
            ZoneDrive::Valve { .. } => Opens::Valve(z),
        }),
        (SafetyCircuit::TankLimit, _) => tank.map(Opens::Pump),
        (SafetyCircuit::ZoneLimit | SafetyCircuit::Limit | SafetyCircuit::Proving | SafetyCircuit::Alarm, _) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ids::BoilerId;

    #[test]
    fn each_row_of_the_table() {
        let zone = SafetyScope::Zone(ZoneId(3));
        let limit = |drive| opens(SafetyCircuit::ZoneLimit, zone, |z| (z == ZoneId(3)).then_some(drive), None);
        assert_eq!(limit(ZoneDrive::Pump(PumpId(1))), Some(Opens::Pump(PumpId(1))));
        for pump in [None, Some(PumpId(1))] {
            assert_eq!(limit(ZoneDrive::Valve { pump }), Some(Opens::Valve(ZoneId(3))));
        }
        let tank = |pump| opens(SafetyCircuit::TankLimit, SafetyScope::Tank, |_| None, pump);
        assert_eq!(tank(Some(PumpId(2))), Some(Opens::Pump(PumpId(2))));
        assert_eq!(tank(None), None);
    }

    #[test]
    fn what_is_no_zone_or_tank_limit_opens_neither_pump_nor_valve() {
        let pump = |_| Some(ZoneDrive::Pump(PumpId(1)));
        let circuits = [SafetyCircuit::Limit, SafetyCircuit::Proving, SafetyCircuit::Alarm];
        for scope in [SafetyScope::Plant, SafetyScope::Boiler(BoilerId(0)), SafetyScope::Zone(ZoneId(0))] {
            for circuit in circuits {
                assert_eq!(opens(circuit, scope, pump, Some(PumpId(2))), None, "{circuit:?} {scope:?}");
            }
        }
        assert_eq!(opens(SafetyCircuit::ZoneLimit, SafetyScope::Plant, pump, None), None);
        assert_eq!(opens(SafetyCircuit::ZoneLimit, SafetyScope::Zone(ZoneId(0)), |_| None, None), None);
    }
}
