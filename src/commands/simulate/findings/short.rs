//! A supply that stays short with every boiler that can at full fire: whether they are too small, or too few were left.

use crate::{finding::Finding, plant::Loaded, show::units::In};
use heatwright_core::{BoilerId, Severity, Subject};
use heatwright_sim::{run::why::Short, study::curve::load_and_output_w};

/// Rooms that lose less than this share of what the boilers give do not make them too small: our choice.
const ENOUGH_SHARE: f64 = 0.9;

/// `out` are the boilers that a fault of the run kept from burning, and by what.
pub(super) fn boilers_short(l: &Loaded, s: &Short, out: &[(BoilerId, String)], u: In) -> Finding {
    let sentence = format!(
        "with every boiler that can at full fire the supply stayed below its target for {:.1} h, {:.1} h without a break: by {} on \
         average, at {} outdoors",
        s.hours_h,
        s.longest_h,
        u.diff_text(s.short_k),
        u.temp_text(s.outdoor_c)
    );
    let finding = Finding::new("R06", Severity::Warning, Subject::Plant, sentence);
    let mut could = l.physics.clone();
    let mut id = (0u8..).map(BoilerId);
    could.boilers.retain(|_| id.next().is_none_or(|b| out.iter().all(|o| o.0 != b)));
    let (load_w, output_w) = load_and_output_w(&could, s.outdoor_c);
    let large = load_w < ENOUGH_SHARE * output_w;
    if !out.is_empty() {
        let each = |(b, how): &(BoilerId, String)| format!("{} ({how})", l.names.title(Subject::Boiler(*b)));
        let named = out.iter().map(each).collect::<Vec<_>>().join(", ");
        return finding.hint(format!(
            "out of order in this run: {named}. The rooms lose {} at that temperature and {}{}",
            u.heat_text(load_w),
            match could.boilers.len() {
                0 => "no boiler was left".to_owned(),
                _ => format!("those that were left give about {}", u.heat_text(output_w)),
            },
            if large {
                ": enough for the rooms; see what draws all at once (setbacks that end together, the tank)"
            } else {
                ": too little"
            }
        ));
    }
    if large {
        finding.hint(format!(
            "the rooms lose {} at that temperature and all boilers give about {}: they are large enough. See which were cut off by their own \
             water (R09, R11), out of order (R10) or called late (R07), and what draws all at once: setbacks that end together, the tank",
            u.heat_text(load_w),
            u.heat_text(output_w)
        ))
    } else {
        finding.hint("see boilers-short of 'heatwright curve' and the design losses; where mornings alone are short, stagger the schedules")
    }
}
