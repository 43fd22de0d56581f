//! Raceways and cables: size, fill, current-carrying conductors.
//!
//! EMT by NEC Chapter 9: sum of the conductors' areas against 53, 31 or 40 per cent of the tube; the smallest size that the job allows at
//! least. Class 2 runs in
//! its own cables; a cable has as many cores as conductors. Names: R for raceways, W for cables, then both ends and the kind:
//! P power, S safety control, C control, F feed with its number, SIG shielded signal.

use crate::{
    job::{Job, Settings},
    pass::{
        conductors::Conductor,
        loom::{Carries, Group, Loom, RunKey, Way},
        protection::{Protection, in_raceway},
    },
    plan::{Run, RunForm, RunGround},
    row::Class,
    tables::{
        Insulation,
        raceway::{self, Emt, Fill},
    },
};
use std::collections::BTreeMap;

/// Name of a run.
pub fn run_name(loom: &Loom, key: RunKey) -> String {
    let (from, to) = (&loom.device(key.from).tag, &loom.device(key.to).tag);
    match key.group {
        Group::Feed(n) => format!("R-{from}-{to}-F{}", n + 1),
        Group::Power => format!("R-{from}-{to}-P"),
        Group::Safety => format!("R-{from}-{to}-S"),
        Group::Control => format!("R-{from}-{to}-C"),
        Group::Class2 => format!("W-{from}-{to}"),
        Group::Signal => format!("W-{from}-{to}-SIG"),
        Group::Bare => format!("G-{from}-{to}"),
    }
}

/// All runs, in the order of their first conductor.
pub fn raceways(job: &Job, loom: &Loom, p: &Protection, conductors: &[Conductor], numbers: &[String]) -> Vec<Run> {
    let mut order: Vec<RunKey> = Vec::new();
    let mut members: BTreeMap<RunKey, Vec<usize>> = BTreeMap::new();
    for (i, w) in loom.wires.iter().enumerate() {
        if let Way::Run(key, _) = w.way {
            let list = members.entry(key).or_default();
            if list.is_empty() {
                order.push(key);
            }
            list.push(i);
        }
    }
    order.iter().map(|key| run(job, loom, p, conductors, numbers, *key, &members[key])).collect()
}

fn run(
    job: &Job,
    loom: &Loom,
    p: &Protection,
    conductors: &[Conductor],
    numbers: &[String],
    key: RunKey,
    wires: &[usize],
) -> Run {
    let (from, to) = (loom.device(key.from), loom.device(key.to));
    let cores = wires.iter().filter(|w| loom.wires[**w].carries != Carries::Shield).count();
    let ambient = |place: crate::device::PlaceId| job.places.get(usize::from(place.0)).map_or(30.0, |p| p.ambient_c);
    let (form, fill_percent, fill_max_percent) = if in_raceway(key.group) {
        let fills: Vec<Fill> = wires
            .iter()
            .map(|w| Fill {
                awg: conductors[*w].awg,
                insulation: Insulation::from_mark(conductors[*w].insulation).unwrap_or(Insulation::Thhn),
                count: 1,
            })
            .collect();
        let emt = with_room(&merged(&fills), fills.len(), &job.settings).unwrap_or(Emt::Two);
        let used = raceway::filled_in2(&fills).unwrap_or(0.0);
        let percent = 100.0 * used / emt.area_in2();
        let most = 100.0 * emt.usable_in2(fills.len(), false) / emt.area_in2();
        (RunForm::Emt(emt.mark().into()), Some(percent), Some(most))
    } else if key.group == Group::Bare {
        (RunForm::Bare, None, None)
    } else {
        let shielded = key.group == Group::Signal;
        (RunForm::Cable { cores: cores.min(255) as u8, shielded }, None, None)
    };
    let class = wires.iter().map(|w| conductors[*w].class).filter(|c| *c != Class::Ground).min();
    let mut names: Vec<String> = wires.iter().map(|w| numbers[*w].clone()).collect();
    names.dedup();
    Run {
        name: run_name(loom, key),
        from: from.tag.clone(),
        to: to.tag.clone(),
        from_place: from.place,
        to_place: to.place,
        class: class.unwrap_or(Class::Ground),
        safety: key.group == Group::Safety,
        form,
        ground: match wires.iter().find(|w| loom.wires[**w].carries == Carries::Ground) {
            Some(green) => RunGround::Wire(conductors[*green].awg.mark().into()),
            None if in_raceway(key.group) => RunGround::Raceway,
            None => RunGround::None,
        },
        length_ft: wires.iter().map(|w| conductors[*w].length_ft).fold(0.0, f64::max),
        conductors: wires.len() as u16,
        current_carrying: p.carrying.get(&key).copied().unwrap_or(0) as u16,
        fill_percent,
        fill_max_percent,
        ambient_c: ambient(from.place).max(ambient(to.place)),
        wires: names,
    }
}

/// The smallest allowed tube that leaves the share of its usable room free; where none is so large, the smallest that holds them.
fn with_room(fills: &[Fill], count: usize, wanted: &Settings) -> Option<Emt> {
    let used = raceway::filled_in2(fills)?;
    // A trade size typed in millimeters is a little off.
    let allowed = |e: &Emt| e.trade_in() >= wanted.raceway_min_in - 0.01;
    let fits = Emt::all().filter(allowed).find(|e| raceway::fits(*e, fills, false) == Some(true))?;
    let roomy = |e: &Emt| e.usable_in2(count, false) * (1.0 - wanted.spare_room) >= used - 1e-9;
    Some(Emt::all().filter(|e| e.area_in2() >= fits.area_in2()).find(roomy).unwrap_or(fits))
}

/// One entry a size and type.
fn merged(fills: &[Fill]) -> Vec<Fill> {
    let mut out: Vec<Fill> = Vec::new();
    for f in fills {
        match out.iter_mut().find(|o| (o.awg, o.insulation) == (f.awg, f.insulation)) {
            Some(o) => o.count += f.count,
            None => out.push(*f),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tables::Awg;

    /// NEC Chapter 9 Tables 1, 4 and 5 (checked where the tables stand): nine 12 AWG THHN of 0.0133 in2 take 0.1197 of the 0.122 in2
    /// that a 1/2 in EMT may hold. With a fifth to be left free only 0.0976 in2 are usable, so the next size is taken.
    #[test]
    fn room_to_spare_makes_the_tube_larger() {
        let nine = [Fill { awg: Awg::A12, insulation: Insulation::Thhn, count: 9 }];
        let take = |spare_room, raceway_min_in| {
            with_room(&nine, 9, &Settings { spare_room, raceway_min_in, ..Settings::default() })
        };
        assert_eq!(take(0.0, 0.5), Some(Emt::Half));
        assert_eq!(take(0.2, 0.5), Some(Emt::ThreeQuarter));
        assert_eq!(take(0.99, 0.5), Some(Emt::Half), "no tube is so large: the smallest that holds them");
        assert_eq!(take(0.0, 0.75), Some(Emt::ThreeQuarter), "the job allows nothing smaller");
        assert_eq!(take(0.0, 19.0 / 25.4), Some(Emt::ThreeQuarter), "3/4 in typed as 19 mm");
        assert_eq!(take(0.0, 2.0), Some(Emt::Two));
    }
}
