//! What each zone needs: the inverse of its emitter's law at its own flow.
//!
//! `Q = UA (t_i - t_o)` heat loss in W, with `UA` in W/K, room and outdoor temperature in degrees Celsius. The return is
//! `t_r = t_s - Q/C`, with `C` the capacity rate of the zone's flow in W/K, and `t_s` is where the emitter's law gives `Q`. For a
//! power law with the arithmetic mean this is the textbook reset `t_s = t_i + dT_m,d q^(1/n) + q dT_d/2`, `q = Q/Q_d`.
//!
//! Source: emitter laws as named in [`emitter`](crate::emitter); the linear load is the standard steady-state picture of
//! hydronics texts. The room stands at the thermostat's occupied setting.
//!
//! Deliberately left out, all on the safe side: gains from people, light and sun; heat of fans. Left out on the other side:
//! heat to warm a room up after setback, losses of pipes.

use crate::{
    fluid::RUN_C,
    plant::{Mix, Plant, Zone},
};
use heatwright_core::{
    Span, Temp, TempDelta, ZoneId,
    config::{MixConfig, ResetConfig},
    law, mixing,
    reset::Asked,
};

/// Where a zone needs hotter water than there can be and its drop is more than this share of the excess, its flow is too small:
/// our choice.
const FLOW_SHORT_SHARE: f64 = 0.5;

/// One zone at one outdoor temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Need {
    /// Which zone.
    pub zone: ZoneId,
    /// Its heat loss, in watts; zero where it is as warm outdoors as in the room.
    pub load_w: f64,
    /// The supply temperature at its emitter that covers the loss, in degrees Celsius; `None` where its flow cannot carry it
    /// with any water that the boilers can make.
    pub supply_c: Option<f64>,
}

/// A zone's flow as a capacity rate, in watts per kelvin.
pub(super) fn flow_w_k(plant: &Plant, kg_s: f64) -> f64 {
    kg_s * plant.fluid.specific_heat_j_kgk(RUN_C)
}

/// The hottest water that a zone's emitter can be given from a header supply, in degrees Celsius.
pub(in crate::study) fn emitter_supply_c(zone: &Zone, header_c: f64) -> f64 {
    match zone.mix {
        Some(Mix::SelfActing { set_c: most_c, .. } | Mix::Modulated { max_c: most_c, .. }) => header_c.min(most_c),
        None => header_c,
    }
}

/// The same while the curve in `reset` is followed at an outdoor temperature in degrees Celsius, without trim and shift: a motorised
/// valve holds what the controller's own law makes of the curve, and that falls with the weather.
pub(in crate::study) fn given_c(zone: &Zone, reset: &ResetConfig, outdoor_c: f64, header_c: f64) -> f64 {
    let Some(Mix::Modulated { max_c, .. }) = zone.mix else { return emitter_supply_c(zone, header_c) };
    let temp = |c: f64| Temp::from_centi_c((c * 100.0).round() as i16);
    let mix = MixConfig {
        mixed_max: temp(max_c),
        mixed_design: temp(max_c),
        room: temp(zone.thermostat.set_c),
        band: TempDelta::ZERO,
        integral: Span::ZERO,
        stroke: Span::ZERO,
    };
    let outdoor = temp(outdoor_c);
    let mixed = law::curve::supply(&reset.points, outdoor).map(|c| {
        let asked = Asked { curve: c, heating: c };
        mixing::target(&mix, reset, outdoor, asked)
    });
    header_c.min(mixed.map_or(max_c, |t| f64::from(t.centi_c()) / 100.0))
}

/// The hottest water that a zone's emitter can ever be given, in degrees Celsius; infinite where nothing mixes it down.
pub(in crate::study) fn emitter_most_c(zone: &Zone) -> f64 {
    emitter_supply_c(zone, f64::INFINITY)
}

/// The supply that covers what a zone loses, in degrees Celsius.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Carry {
    /// This does.
    Supply(f64),
    /// This would, and its mixing valve does not let it through.
    PastMixing(f64),
    /// No water that the boilers can make does: its flow is too small.
    Never,
}

/// What a zone needs at an outdoor temperature and a room temperature in degrees Celsius, with these gains in watts.
pub fn needed_c(plant: &Plant, zone: usize, outdoor_c: f64, room_c: f64, gains_w: f64) -> Carry {
    let z = &plant.zones[zone];
    let load_w = (z.loss_w_k() * (room_c - outdoor_c) - gains_w).max(0.0);
    match carried(plant, z, load_w, room_c) {
        None => Carry::Never,
        Some(c) if c > emitter_most_c(z) + 0.05 => Carry::PastMixing(c),
        Some(c) => Carry::Supply(c),
    }
}

/// The supply at a zone's emitter that gives a heat in watts, in degrees Celsius.
fn carried(plant: &Plant, z: &Zone, load_w: f64, room_c: f64) -> Option<f64> {
    let flow_w_k = flow_w_k(plant, z.flow_kg_s);
    let needed_c = z.emitter.supply_needed_c(load_w, flow_w_k, room_c);
    // By the logarithmic mean some supply is always enough on paper. Past what the boilers can make, the smaller of emitter and
    // flow is to blame: here the flow, where the drop is most of the excess.
    let carried = |c: &f64| *c <= hottest_c(plant, z) || load_w / flow_w_k <= FLOW_SHORT_SHARE * (c - room_c);
    needed_c.filter(carried)
}

/// What a zone loses at an outdoor temperature in degrees Celsius, in watts.
pub(super) fn load_w(z: &Zone, outdoor_c: f64) -> f64 {
    (z.loss_w_k() * (z.thermostat.set_c - outdoor_c)).max(0.0)
}

/// What one zone loses in watts, and the supply at its emitter that covers it in degrees Celsius.
fn need(plant: &Plant, z: &Zone, outdoor_c: f64) -> (f64, Option<f64>) {
    let load_w = load_w(z, outdoor_c);
    (load_w, carried(plant, z, load_w, z.thermostat.set_c))
}

/// The hottest water that a zone's emitter can be given: what the boilers' own limits let them make, or its mixing valve through.
fn hottest_c(plant: &Plant, z: &Zone) -> f64 {
    let limits_c = plant.boilers.iter().map(|b| b.control.limit_c);
    emitter_supply_c(z, limits_c.max_by(f64::total_cmp).unwrap_or(f64::INFINITY))
}

/// What each zone needs at an outdoor temperature in degrees Celsius.
pub fn needs(plant: &Plant, outdoor_c: f64) -> Vec<Need> {
    let each = plant.zones.iter().enumerate();
    each.map(|(k, z)| {
        let (load_w, supply_c) = need(plant, z, outdoor_c);
        Need { zone: ZoneId(k as u8), load_w, supply_c }
    })
    .collect()
}

/// The zone that needs the hottest header supply at an outdoor temperature in degrees Celsius, and how hot in degrees Celsius;
/// the first of equals; `None` when no zone can be served at all. A zone that is mixed down asks for no more than its valve
/// lets through: hotter water in the header would not help it. A zone whose flow cannot carry its loss at the design temperature
/// asks for nothing at any: no curve helps it, and one that followed it in mild weather alone would fall where it gets colder.
pub fn governing(plant: &Plant, outdoor_c: f64) -> Option<(ZoneId, f64)> {
    let coldest_c = outdoor_c.min(plant.site.design_outdoor_c);
    let header_c = |z: &Zone, c: f64| c.min(emitter_most_c(z));
    let served = plant.zones.iter().enumerate().filter(|(_, z)| need(plant, z, coldest_c).1.is_some());
    let known = served.filter_map(|(k, z)| Some((ZoneId(k as u8), header_c(z, need(plant, z, outdoor_c).1?))));
    known.fold(None, |best, n| if best.is_some_and(|b: (ZoneId, f64)| b.1 >= n.1) { best } else { Some(n) })
}
