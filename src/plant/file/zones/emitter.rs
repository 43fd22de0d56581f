//! A zone's emitter: its kind, its rating, what is taken where the sheet is silent.

use crate::plant::{
    checked::{Emitter, EmitterPoint, Floor, Rating},
    cursor::Cursor,
    quantity::{Length, Power, Quantity as _, Temp, TempDelta, ThermalResistance, Volume},
};

pub(super) fn drop_k(e: &Emitter) -> f64 {
    match e {
        Emitter::Floor(_) => 10.0 / 1.8,
        _ => 20.0 / 1.8,
    }
}

pub(super) fn emitter(zone: &Cursor<'_>) -> Emitter {
    #[derive(Clone, Copy, PartialEq)]
    enum K {
        Panel,
        Finned,
        Cast,
        FanCoil,
        UnitHeater,
        Floor,
        Points,
    }
    let kinds = [
        ("panel-radiator", K::Panel),
        ("finned-tube", K::Finned),
        ("cast-iron", K::Cast),
        ("fan-coil", K::FanCoil),
        ("unit-heater", K::UnitHeater),
        ("floor", K::Floor),
        ("points", K::Points),
    ];
    let c = zone.table("emitter", "What it gives its heat with; one table for all that the zone has.");
    let kind =
        c.word("kind", "panel-radiator, finned-tube, cast-iron, fan-coil, unit-heater, floor or points.", &kinds, true);
    let output: Option<Power> = c.may(
        "output",
        "Output at the rating; left out: must be written, but for a floor and typed points.",
        10.0..=5_000_000.0,
    );
    let mean: Option<Temp> = c.may("mean-water", "Mean water temperature of the rating, halfway between entering and leaving; left out: 70 °C for panels, 215 °F for finned tube and cast iron; fan coils and unit heaters go by `entering`.", 25.0..=120.0);
    let supply: Option<Temp> =
        c.may("supply", "Supply temperature of the rating, with `return`; left out: by `mean-water`.", 25.0..=120.0);
    let back: Option<Temp> =
        c.may("return", "Return temperature of the rating, with `supply`; left out: by `mean-water`.", 20.0..=120.0);
    let entering: Option<Temp> = c.may("entering", "Entering water temperature of the rating at the zone's own flow, in place of `mean-water` or `supply` and `return`; left out: 200 °F for fan coils and unit heaters that are told none of them.", 25.0..=120.0);
    let room: Option<Temp> = c.may("room", "Room or entering-air temperature of the rating; left out: 20 °C for panels, 65 °F for finned tube, 70 °F for cast iron, 60 °F for fan coils and unit heaters.", 0.0..=40.0);
    let exponent = c.number("exponent", "Exponent of output over excess temperature; left out: panels and cast iron 1.3, finned tube 1.4, fan coils and unit heaters 1.", 0.8..=2.0);
    let heating_effect = c.number(
        "heating-effect",
        "What the rating is to be divided by: a finned tube's catalogue rating holds the 15 % heating effect of its trade; left out: 1.15, and 1 for a rating without it.",
        1.0..=1.3,
    );
    let water: Option<Volume> = c.may(
        "water",
        "Water in the emitters; left out: by output and kind, for a floor by its tubes.",
        0.0..=50_000.0,
    );
    let area: Option<crate::plant::quantity::Area> =
        c.may("area", "Heated floor area; left out: must be written for a floor.", 0.5..=20_000.0);
    let covering = c.may::<ThermalResistance>(
        "covering",
        "Thermal resistance of the floor covering; left out: 0.05 m²·K/W, a thin wood floor (our choice).",
        0.0..=0.5,
    );
    let screed = c.may::<Length>("screed", "Screed over the tubes; left out: 45 mm (EN 1264).", 0.01..=0.2);
    let spacing =
        c.may::<Length>("spacing", "Spacing of the tubes; left out: 6 in (common practice, no source).", 0.05..=0.5);
    let points = c.list("points", "Output against mean water temperature above the room: [{ excess = \"90 °F\", output = \"40 MBH\" }, ...], rising; left out: must be written for kind = \"points\".");
    let points: Option<Vec<EmitterPoint>> = points.map(|list| {
        list.iter()
            .map(|p| {
                let out = EmitterPoint {
                    excess: p.need::<TempDelta>("excess", "Mean water temperature above the room.", 0.5..=100.0),
                    output: p.need("output", "Output.", 1.0..=5_000_000.0),
                };
                p.done();
                out
            })
            .collect()
    });
    c.done();
    if c.judged() {
        let rated = ["output", "mean-water", "supply", "return", "entering", "room", "exponent"];
        match kind {
            Some(K::Floor) => {
                c.idle(&rated, "a floor is computed from its area and layers (EN 1264)");
                c.idle(&["points"], "only kind = \"points\" takes typed points");
            }
            Some(K::Points) => {
                c.idle(&rated, "the typed points say it all");
                c.idle(&["area", "covering", "screed", "spacing"], "only kind = \"floor\" has layers");
            }
            Some(K::Panel | K::Finned | K::Cast | K::FanCoil | K::UnitHeater) => {
                c.idle(&["points"], "only kind = \"points\" takes typed points");
                c.idle(&["area", "covering", "screed", "spacing"], "only kind = \"floor\" has layers");
            }
            None => {}
        }
        if kind.is_some_and(|k| k != K::Finned) {
            c.idle(&["heating-effect"], "only a finned tube is rated with a heating effect");
        }
    }
    if !c.there() {
        return Emitter::Points { points: Vec::new(), water: Volume { l: 0.0 } };
    }
    let lacks = |key: &str, why: &str| {
        if c.judged() {
            c.ctx.tell(c.fault(key, "P27", format!("[{}] has no `{key}`", c.path)).hint(why));
        }
    };
    // Water in an emitter: gallons for each MBH at the rating (our choice): panels and finned tube little, cast iron much.
    let gal_per_mbh = |g: f64| Volume::from_gal(output.map_or(0.0, |o| o.w / 293.07) * g);
    match kind {
        Some(K::Floor) => {
            if area.is_none() {
                lacks("area", "add the heated floor area");
            }
            let area = area.unwrap_or(crate::plant::quantity::Area { m2: 1.0 });
            let or = |key: &str, given: Option<Length>, m: f64, reason: &'static str| {
                given.unwrap_or_else(|| {
                    c.assume(key, Length { m }.show_both(), reason);
                    Length { m }
                })
            };
            let spacing = or("spacing", spacing, 0.15, "6 in, common practice, no source");
            let screed = or("screed", screed, 0.045, "EN 1264: 45 mm over the tubes");
            let covering = covering.unwrap_or_else(|| {
                let r = ThermalResistance { m2_k_w: 0.05 };
                c.assume("covering", r.show_both(), "a thin wood floor or tile with underlay (our choice)");
                r
            });
            // A 16 mm bore holds 0.2 L for each metre of tube.
            let water = water.unwrap_or_else(|| {
                let v = Volume { l: area.m2 / spacing.m * 0.2 };
                c.assume("water", v.show_both(), "tube of 16 mm bore at its spacing");
                v
            });
            Emitter::Floor(Floor { area, covering, screed, spacing, water })
        }
        Some(K::Points) => {
            let points = points.unwrap_or_default();
            let rising = points.windows(2).all(|w| w[1].excess.k > w[0].excess.k && w[1].output.w > w[0].output.w);
            if c.ctx.schema.is_none() && (points.len() < 2 || !rising) {
                c.ctx.tell(
                    c.fault(
                        "points",
                        "P27",
                        format!("[{}] needs two points or more, rising in excess and output", c.path),
                    )
                    .hint("write them from small to large excess, like { excess = \"90 °F\", output = \"40 MBH\" }"),
                );
            }
            let water = water.unwrap_or_else(|| {
                let most = points.last().map_or(0.0, |p| p.output.w);
                let v = Volume::from_gal(most / 293.07 * 0.1);
                c.assume("water", v.show_both(), "0.1 gal for each MBH of the last point (our choice)");
                v
            });
            Emitter::Points { points, water }
        }
        None => Emitter::Points { points: Vec::new(), water: Volume { l: 0.0 } },
        Some(k) => {
            if output.is_none() {
                lacks("output", "add the output of all of the zone's emitters together, at its rating");
            }
            let supply_return = match (supply, back) {
                (Some(s), Some(r)) if s.c > r.c => Some((s, r)),
                (Some(_), Some(_)) => {
                    c.ctx.tell(
                        c.fault("supply", "P27", format!("[{}]: supply must be above return", c.path))
                            .hint("copy the rating's temperatures: supply, return, room, like 75 / 65 / 20 °C"),
                    );
                    None
                }
                (None, None) => None,
                _ => {
                    lacks(
                        if supply.is_none() { "supply" } else { "return" },
                        "a rating names both supply and return, or mean-water alone, or entering alone",
                    );
                    None
                }
            };
            // Rating points: EN 442 75/65/20 °C; finned tube and cast iron 215 °F over 65 and 70 °F; fan units by 200 °F
            // entering over 60 °F.
            let (d_water, d_room, d_exponent, d_gal) = match k {
                K::Panel => (70.0, 20.0, 1.3, 0.15),
                K::Finned => (f(215.0), f(65.0), 1.4, 0.03),
                K::Cast => (f(215.0), f(70.0), 1.3, 0.5),
                K::FanCoil | K::UnitHeater => (f(200.0), f(60.0), 1.0, 0.03),
                K::Floor | K::Points => (70.0, 20.0, 1.0, 0.1),
            };
            if entering.is_some() && (mean.is_some() || supply.is_some() || back.is_some()) {
                c.ctx.tell(
                    c.fault("entering", "P27", format!("[{}]: the rating is told twice", c.path)).hint(
                        "write entering alone, or supply and return, or mean-water: whichever stands on the sheet",
                    ),
                );
            }
            let told = |key: &str, value: String| c.assume(key, value, "the usual rating of its kind; read the sheet");
            let untold = mean.is_none() && supply_return.is_none() && entering.is_none();
            let usual = Temp { c: d_water };
            // A rating point of fan units is that of the water that enters them.
            let entering = entering.or((untold && matches!(k, K::FanCoil | K::UnitHeater)).then_some(usual));
            let mean_water =
                mean.or(supply_return.map(|(s, r)| Temp { c: (s.c + r.c) / 2.0 })).or(entering).unwrap_or(usual);
            if untold {
                told(if entering.is_some() { "entering" } else { "mean-water" }, mean_water.show_both());
            }
            if room.is_none() {
                told("room", Temp { c: d_room }.show_both());
            }
            if exponent.is_none() {
                c.assume("exponent", d_exponent.to_string(), "the usual one of its kind: EN 442 and ASHRAE practice");
            }
            if k == K::Finned && heating_effect.is_none() {
                c.assume(
                    "heating-effect",
                    "1.15".into(),
                    "the catalogue rating holds the trade's 15 % heating effect, which the room does not get as hot-water heat \
                     (ASHRAE practice, from memory); write 1 for a rating without it",
                );
            }
            if water.is_none() {
                c.assume(
                    "water",
                    gal_per_mbh(d_gal).show_both(),
                    "by its output, as its kind usually holds (our choice)",
                );
            }
            let rating = Rating {
                output: output.unwrap_or(Power { w: 1.0 }),
                mean_water,
                supply_return: supply_return.or((k == K::Panel && mean.is_none() && entering.is_none())
                    .then(|| (Temp::from_c(75.0), Temp::from_c(65.0)))),
                entering,
                room: room.unwrap_or(Temp { c: d_room }),
                exponent: exponent.unwrap_or(d_exponent),
                heating_effect: if k == K::Finned { heating_effect.unwrap_or(1.15) } else { 1.0 },
                water: water.unwrap_or(gal_per_mbh(d_gal)),
            };
            if rating.mean_water.c <= rating.room.c + 1.0 {
                c.ctx.tell(
                    c.fault(
                        "mean-water",
                        "P27",
                        format!(
                            "[{}]: the rating's water, {}, is no warmer than its room, {}",
                            c.path,
                            rating.mean_water.show_both(),
                            rating.room.show_both()
                        ),
                    )
                    .hint(
                        "copy the temperatures at which `output` is rated: mean-water (or supply and return, or entering) and room",
                    ),
                );
            }
            match k {
                K::Panel => Emitter::PanelRadiator(rating),
                K::Finned => Emitter::FinnedTube(rating),
                K::Cast => Emitter::CastIron(rating),
                K::FanCoil => Emitter::FanCoil(rating),
                K::UnitHeater | K::Floor | K::Points => Emitter::UnitHeater(rating),
            }
        }
    }
}

fn f(f: f64) -> f64 {
    (f - 32.0) / 1.8
}
