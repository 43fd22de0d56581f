//! What a study rests on, in words for its head and foot: the weather that it was reckoned on, the plant's peak load, and what figures
//! of a year along the curve leave out.

use crate::{plant::Loaded, show::units::In};
use heatwright_sim::{study::curve, tank, weather::Series};

/// The plant's peak load: what a designer compares first.
pub(super) fn peak(l: &Loaded, u: In) -> String {
    let design_c = l.physics.site.design_outdoor_c;
    let (load_w, _) = curve::load_and_output_w(&l.physics, design_c);
    let zones = l.physics.zones.len();
    format!(
        "Peak load: {}, what {} {} outdoors.",
        u.heat_text(load_w),
        if zones == 1 { "the one zone loses at".to_owned() } else { format!("all {zones} zones lose at") },
        u.temp_text(design_c)
    )
}

/// The weather and the peak load.
pub(super) fn weather(l: &Loaded, label: &str, series: &Series, u: In) -> String {
    format!("On the weather of {label}, {} to {}. {}", series.start().date(), series.end().date(), peak(l, u))
}

/// What heat, fuel and condensate along the curve do not have, over so many hours.
pub(super) fn left_out(l: &Loaded, hours: f64, u: In) -> String {
    let mut parts = Vec::new();
    if let Some(t) = &l.physics.tank {
        let means = tank::means(t, l.physics.site.boiler_room_c);
        let kwh = |w: f64| u.energy(w * hours / 1000.0);
        parts.push(format!(
            "the hot-water tank ({:.0} {} at its taps and {:.0} by standing in that time)",
            kwh(means.taps_w),
            u.energy_unit(),
            kwh(means.standing_w)
        ));
    }
    let zones = (0u8..).zip(&l.plant.zones).filter(|(_, z)| z.schedule.is_some() && z.room_setback.c < z.room.c);
    let back: Vec<String> = zones.map(|(k, _)| l.names.zone(heatwright_core::ZoneId(k)).into_owned()).collect();
    if !back.is_empty() {
        parts.push(format!(
            "setback of rooms ({} {} reckoned as occupied all the time, which is too much)",
            back.join(", "),
            if back.len() == 1 { "is" } else { "are" }
        ));
    }
    if l.controlled() && l.plant.reset.schedule.is_some() {
        parts.push("setback and boost of the curve".to_owned());
    }
    parts.push("losses of pipes and jackets, and starting and cycling".to_owned());
    let last = parts.pop().unwrap_or_default();
    let list = if parts.is_empty() { last } else { format!("{}; and {last}", parts.join("; ")) };
    format!("Left out: {list}. 'heatwright simulate --days 364' has them.")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn example(name: &str) -> Loaded {
        let text = std::fs::read(format!("docs/examples/{name}.toml")).unwrap();
        crate::plant::load("plant.toml", &text).unwrap_or_else(|e| panic!("{:?}", e.findings))
    }

    #[test]
    fn what_is_left_out_is_what_the_plant_has() {
        let u = In(Default::default());
        let (library, workshop) = (left_out(&example("library"), 8760.0, u), left_out(&example("workshop"), 8760.0, u));
        assert!(library.contains("hot-water tank (") && library.contains("setback of rooms ("), "{library}");
        assert!(!workshop.contains("tank") && workshop.contains("losses of pipes"), "{workshop}");
    }

    /// The zones of the workshop add up.
    #[test]
    fn the_peak_load_is_the_sum_of_the_design_losses() {
        let l = example("workshop");
        let u = In(Default::default());
        let sum_w: f64 = l.plant.zones.iter().map(|z| z.design_loss.w).sum();
        assert!(peak(&l, u).contains(&u.heat_text(sum_w)), "{} {sum_w}", peak(&l, u));
    }
}
