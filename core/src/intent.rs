//! What calls alone ask for: control without our controller.
//!
//! * A call starts its zone's circulator or opens its valve; a valve with an end switch starts pump and boilers by that switch.
//! * Any call asks every boiler, starts every boiler pump that is switched for it, and opens the damper.
//! * Zones that may be shed wait while the tank calls, where the plant gives the tank its priority.
//!
//! This is what relays at the thermostats do (common practice), and what the wiring of such a plant, or of a hand-over from a dead controller, is
//! proved against. It has no state: no debounce, no time limit of the priority, no overrun, no minimum times, no staging, no
//! frost protection. Boilers follow a reset of their own.

use crate::{
    config::{BoilerPump, Config, ZoneDrive},
    ids::{BoilerId, PumpId, ZoneId},
    points::ContactUse,
};

/// Who calls, one bit an id.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Calls {
    /// Zone thermostats that call, by `ZoneId`.
    pub zones: u64,
    /// Made end switches of zone valves, by `ZoneId`.
    pub end_switches: u64,
    /// The tank's aquastat calls.
    pub tank: bool,
}

/// What shall run, one bit an id.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Intent {
    /// Circulators that run, by `PumpId`.
    pub pumps: u64,
    /// Valves that are driven open, by `ZoneId`.
    pub valves: u64,
    /// Boilers that are asked for heat, by `BoilerId`.
    pub boilers: u64,
    /// The damper is driven open.
    pub damper: bool,
}

impl Intent {
    /// What these calls ask for.
    pub fn of(config: &Config, calls: Calls) -> Self {
        let mut out = Self::default();
        let tank = config.tank.as_ref().filter(|_| calls.tank);
        let mut any = tank.is_some();
        if let Some(t) = tank {
            out.pumps |= t.pump.bit();
        }
        for (i, zone) in config.zones.iter().enumerate() {
            let z = ZoneId(i as u8);
            let called = calls.zones & z.bit() != 0;
            let waits = zone.sheddable && tank.is_some_and(|t| !t.priority_max.is_zero());
            let runs = called && !waits;
            let by_end_switch = config.points.contact(ContactUse::EndSwitch(z)).is_some();
            let made = calls.end_switches & z.bit() != 0;
            let pump = match zone.drive {
                ZoneDrive::Pump(p) => Some(p).filter(|_| runs),
                ZoneDrive::Valve { pump } => {
                    if runs {
                        out.valves |= z.bit();
                    }
                    pump.filter(|_| if by_end_switch { made } else { runs })
                }
            };
            out.pumps |= pump.map_or(0, PumpId::bit);
            let valve = matches!(zone.drive, ZoneDrive::Valve { .. });
            any |= if valve && by_end_switch { made } else { called };
        }
        if any {
            out.damper = true;
            for (i, b) in config.boilers.iter().enumerate() {
                out.boilers |= BoilerId(i as u8).bit();
                if let BoilerPump::Controller(p) | BoilerPump::Either(p) = b.pump {
                    out.pumps |= p.bit();
                }
            }
        }
        out
    }
}
