//! What each phase of a panelboard carries, and how even that is.
//!
//! Connected load of the plan's own circuits, nothing taken off for what never runs together; a transformer counts by its plate. Volt-amperes of a
//! circuit lie evenly on its poles. Amperes are the arithmetical sum of the circuits' currents, which is at least the true one: currents of
//! two-pole loads on 208 V and 480 V are not in phase with those to neutral. What else hangs on the panelboard adds to both.
//! Uneven = how far the phase with the most lies above the mean; 10 per cent and less is usually sought (common practice, no source). With five small
//! breakers it cannot be had, so that nothing is found about it.

use crate::plan::Plan;

/// Load of one panelboard.
#[derive(Clone, Debug, PartialEq)]
pub struct Balance {
    /// Its tag.
    pub panel: String,
    /// Volt-amperes on each phase or leg.
    pub va: Vec<f64>,
    /// Amperes on each at most.
    pub amps: Vec<f64>,
}

impl Balance {
    /// All of it, volt-amperes.
    pub fn total_va(&self) -> f64 {
        self.va.iter().sum()
    }

    /// The phase with the most, from 0, and how far above the mean it lies, per cent; `None` where nothing hangs on it.
    pub fn most(&self) -> Option<(usize, f64)> {
        let mean = self.total_va() / self.va.len().max(1) as f64;
        let (at, most) = self.va.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1))?;
        (mean > 0.0).then(|| (at, 100.0 * (most / mean - 1.0)))
    }
}

/// Each panelboard of the plan, in the order of its directory.
pub fn balances(plan: &Plan) -> Vec<Balance> {
    let mut out: Vec<Balance> = Vec::new();
    for e in &plan.directory {
        if out.last().is_none_or(|b| b.panel != e.panel) {
            let phases =
                plan.directory.iter().filter(|o| o.panel == e.panel).map(|o| usize::from(o.phase)).max().unwrap_or(1);
            out.push(Balance { panel: e.panel.clone(), va: vec![0.0; phases], amps: vec![0.0; phases] });
        }
        let (Some(b), Some(at)) = (out.last_mut(), usize::from(e.phase).checked_sub(1)) else { continue };
        if e.amps == 0 {
            continue;
        }
        if let Some(va) = b.va.get_mut(at) {
            *va += e.va;
        }
        let amps = plan.circuits.iter().find(|c| c.name == e.circuit).map_or(0.0, |c| c.amps);
        if let Some(a) = b.amps.get_mut(at) {
            *a += amps;
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        fixtures::{library, mill, workshop},
        plan::plan,
    };

    /// The sum is that of the circuits, whatever their poles; three phases on 208 V and 480 V, two legs on 120/240 V.
    #[test]
    fn the_phases_carry_what_the_circuits_take() {
        for (job, phases) in [(library(), vec![3]), (mill(), vec![3, 2]), (workshop(), vec![2])] {
            let p = plan(&job).unwrap();
            let all = balances(&p);
            assert_eq!(all.iter().map(|b| b.va.len()).collect::<Vec<_>>(), phases);
            for b in &all {
                let of_board = p
                    .circuits
                    .iter()
                    .filter(|c| matches!(&c.feed, crate::plan::Feed::Panelboard { panel, .. } if *panel == b.panel));
                let sum: f64 = of_board.map(|c| c.va).sum();
                assert!((sum - b.total_va()).abs() < 1e-6, "{}: {sum} {:?}", b.panel, b.va);
                let (at, over) = b.most().unwrap();
                assert!(b.va.iter().all(|va| *va <= b.va[at]) && over >= 0.0);
            }
        }
    }

    /// One single-pole load more falls on its own phase alone, in volt-amperes and amperes; a three-pole one on all alike.
    #[test]
    fn a_load_falls_on_the_phases_of_its_poles() {
        let moved = |change: &dyn Fn(&mut crate::job::Job)| {
            let mut job = library();
            let before = balances(&plan(&job).unwrap()).remove(0);
            change(&mut job);
            let after = balances(&plan(&job).unwrap()).remove(0);
            let by = |a: &[f64], b: &[f64]| {
                a.iter().zip(b).map(|(a, b)| ((a - b) * 10.0).round() / 10.0).collect::<Vec<_>>()
            };
            (by(&after.va, &before.va), by(&after.amps, &before.amps))
        };
        let (va, amps) = moved(&|j| j.boilers[0].amps += 1.0);
        assert_eq!(va.iter().filter(|v| **v == 120.0).count(), 1, "{va:?}");
        assert_eq!((va.iter().filter(|v| **v == 0.0).count(), amps.iter().sum::<f64>()), (2, 1.0), "{va:?} {amps:?}");
        let (va, amps) = moved(&|j| j.pumps[3].motor = crate::job::PumpMotor::Induction { hp: 2.0 });
        assert!(va[0] > 0.0 && va.iter().all(|v| *v == va[0]) && amps.iter().all(|a| *a == amps[0]), "{va:?} {amps:?}");
    }

    /// 900, 600 and 300 VA: the mean is 600, the most 50 per cent above it.
    #[test]
    fn uneven_is_how_far_the_most_lies_above_the_mean() {
        let b = Balance { panel: "A2".into(), va: vec![600.0, 900.0, 300.0], amps: vec![0.0; 3] };
        let (at, over) = b.most().unwrap();
        assert_eq!((at, b.total_va()), (1, 1800.0));
        assert!((over - 50.0).abs() < 1e-9);
        assert_eq!(Balance { va: vec![0.0, 0.0], ..b }.most(), None);
    }
}
