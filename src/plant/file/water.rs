//! `[water]`: height and pressures, expansion tank, mains between the boilers.
//!
//! It is read after boilers and zones, whose water and flow its defaults add up.

use crate::plant::{
    checked::{Boiler, BoilerMains, Emitter, Header, Pipe, WaterSide, Zone},
    cursor::Cursor,
    quantity::{Length, Pressure, Quantity as _, Temp, Volume},
};

/// Kilopascals in one psi.
const PSI: f64 = 6.894_757;

/// Water in an emitter, in litres.
fn emitter_l(e: &Emitter) -> f64 {
    match e {
        Emitter::PanelRadiator(r)
        | Emitter::CastIron(r)
        | Emitter::FinnedTube(r)
        | Emitter::FanCoil(r)
        | Emitter::UnitHeater(r) => r.water.l,
        Emitter::Floor(f) => f.water.l,
        Emitter::Points { water, .. } => water.l,
    }
}

/// Water of header, mains, boilers and emitters as the file gives them, in litres.
pub(in crate::plant) fn parts_l<'b, 'z>(
    header: &Header,
    boilers: impl Iterator<Item = &'b Boiler>,
    zones: impl Iterator<Item = &'z Zone>,
) -> f64 {
    header.boiler_side.l
        + header.zone_side.l
        + boilers.map(|b| b.water.l).sum::<f64>()
        + zones.map(|z| emitter_l(&z.emitter)).sum::<f64>()
}

pub(in crate::plant) fn water<'b, 'z>(
    root: &Cursor<'_>,
    header: &Header,
    boilers: impl Iterator<Item = &'b Boiler> + Clone,
    zones: impl Iterator<Item = &'z Zone>,
) -> WaterSide {
    let c = root.table("water", "Height and pressures, expansion tank, mains between the boilers.");
    let volume_l = parts_l(header, boilers.clone(), zones);
    let hottest_c = boilers.clone().map(|b| b.limit.c).fold(f64::NEG_INFINITY, f64::max);
    let hottest_c = if hottest_c.is_finite() { hottest_c } else { 93.0 };
    let flow_l_s: f64 = boilers.clone().map(|b| b.flow.l_s).sum();
    // Only boilers side by side have mains between them; the schema and the reference name the keys in any case.
    let several = boilers.count() > 1 || c.ctx.schema.is_some();
    let or_if_several = |key: &'static str, doc: &str, allowed, default: Length, reason: &'static str| {
        c.may(key, doc, allowed).unwrap_or_else(|| {
            if several {
                c.assume_by(key, default.show_both(), reason);
            }
            default
        })
    };
    let mains = [("direct-return", BoilerMains::DirectReturn), ("reverse-return", BoilerMains::ReverseReturn)];
    let out = WaterSide {
        height: c.or(
            "height",
            "Highest water above the gauge at the boilers: the top of the highest pipe, emitter or vent.",
            0.0..=150.0,
            Length::from_ft(25.0),
            "our choice: two storeys above the boilers; measure it",
        ),
        top_pressure: c.or(
            "top-pressure",
            "Pressure wanted at the highest point while cold.",
            0.0..=200.0,
            Pressure { kpa: 5.0 * PSI },
            "common practice, no source: 4 to 5 psi keep air out of the vents",
        ),
        fill: c.may("fill", "Fill pressure set at the gauge; left out: just what the height needs.", 0.0..=1_200.0),
        fill_temperature: c.or(
            "fill-temperature",
            "Coldest water that the plant is filled with.",
            -20.0..=40.0,
            Temp::from_f(40.0),
            "the coldest mains; the handbook's example",
        ),
        hottest: c.or_by(
            "hottest",
            "Hottest that all of the water may become.",
            40.0..=130.0,
            Temp::from_c(hottest_c),
            "the boilers' own operating limit",
        ),
        volume: c.or_by(
            "volume",
            "All water of the plant.",
            1.0..=500_000.0,
            Volume { l: volume_l.clamp(1.0, 500_000.0) },
            "boilers, mains and emitters as given, added up; branch pipes may hold more",
        ),
        pipe: c.word_or(
            "pipe",
            "steel or copper: what takes up part of the expansion.",
            &[("steel", Pipe::Steel), ("copper", Pipe::Copper)],
            ("steel", Pipe::Steel),
            "it expands least: the larger tank",
        ),
        pump_rise: c.or(
            "pump-rise",
            "What running pumps add to the pressure at the boilers above that at the expansion tank.",
            0.0..=400.0,
            Pressure { kpa: 0.0 },
            "the tank joins at the boilers, and pumps push away from there",
        ),
        expansion_tank: c.may(
            "expansion-tank",
            "Whole volume of the diaphragm expansion tank that is there; left out: only the size that is needed is said.",
            0.5..=100_000.0,
        ),
        expansion_acceptance: c.may(
            "expansion-tank-acceptance",
            "Most water that its diaphragm lets in, its acceptance volume; left out: what is needed is said, not judged.",
            0.2..=100_000.0,
        ),
        precharge: c.may(
            "precharge",
            "Its air charge, measured while it is empty of water; left out: equal to the fill pressure.",
            0.0..=1_200.0,
        ),
        boiler_mains: c.word(
            "boiler-mains",
            "direct-return or reverse-return: how the mains of boilers side by side run; left out: both are computed, neither judged.",
            &mains,
            false,
        ),
        boiler_spacing: or_if_several(
            "boiler-spacing",
            "Length of each main from one boiler to the next.",
            0.1..=60.0,
            Length::from_ft(4.0),
            "our choice: boilers close together",
        ),
        main_bore: or_if_several(
            "main-bore",
            "Bore of the mains between the boilers.",
            0.005..=1.0,
            Length { m: (4.0 * flow_l_s.max(1e-3) / 1000.0 / (std::f64::consts::PI * 1.2)).sqrt() },
            "4 ft/s at the flow of all boilers",
        ),
    };
    if out.hottest.c <= out.fill_temperature.c && c.judged() {
        c.ctx.tell(c.fault(
            "hottest",
            "P61",
            format!(
                "the hottest water, {}, is no warmer than the water that the plant is filled with, {}",
                out.hottest.show_both(),
                out.fill_temperature.show_both()
            ),
        ));
    }
    if out.precharge.is_some() && out.expansion_tank.is_none() && c.judged() {
        c.idle(&["precharge"], "no expansion-tank is given that it could belong to");
    }
    if let Some((tank, accepts)) = out.expansion_tank.zip(out.expansion_acceptance).filter(|(t, a)| a.l > t.l * 1.001) {
        c.ctx.tell(
            c.fault(
                "expansion-tank-acceptance",
                "P81",
                format!("the expansion tank of {} cannot let in {} of water", tank.show_both(), accepts.show_both()),
            )
            .hint(
                "the acceptance volume is the smaller of the two in the maker's table: see whether they are exchanged",
            ),
        );
    }
    c.done();
    out
}
