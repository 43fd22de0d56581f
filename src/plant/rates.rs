//! The rate that brings the next boiler, against the smallest fires.

use super::{
    checked::{Drive, Firing, Plant},
    quantity::Quantity as _,
};
use crate::finding::Finding;
use heatwright_core::{Severity, Subject};

/// A rate that any boiler that burns is above from the first second on brings them all.
pub(super) fn check(p: &Plant) -> Option<Finding> {
    let several = p.boilers.len() > 1;
    let by_rate = p.boilers.iter().filter(|b| several && matches!(b.drive, Drive::Rate));
    let least = by_rate.filter_map(|b| match b.firing {
        Firing::Modulating { minimum } => Some((b, minimum)),
        Firing::OnOff => None,
    });
    let (b, least) = least.max_by(|a, b| a.1.of_one.total_cmp(&b.1.of_one))?;
    let sentence = format!(
        "`staging.up-rate` is {}, and the smallest fire of {} is {}: whenever it burns, the next is brought",
        p.staging.up_rate.show_both(),
        b.name,
        least.show_both()
    );
    (p.staging.up_rate.of_one <= least.of_one).then(|| {
        Finding::new("P42", Severity::Error, Subject::Plant, sentence)
            .field("staging.up-rate")
            .hint("raise it: 80 % is taken where it is left out")
    })
}

#[cfg(test)]
mod tests {
    use crate::plant::sense::tests::told;
    use heatwright_core::Severity;

    /// Two boilers of the mill are told their rate; their smallest fire is a quarter.
    #[test]
    fn rates_that_bring_every_boiler_or_hunt_are_refused() {
        let mill = include_str!("../../docs/examples/mill.toml");
        let refused = |up: u8, down: u8| {
            let all = told(&format!("{mill}\n[staging]\nup-rate = \"{up} %\"\ndown-rate = \"{down} %\"\n"));
            let found: Vec<_> = all.into_iter().filter(|f| f.0 == "P42").collect();
            assert!(found.iter().all(|f| f.1 == Severity::Error && f.2), "{found:?}");
            found.len()
        };
        assert_eq!([refused(25, 15), refused(26, 15)], [1, 0], "the smallest fire");
        assert_eq!([refused(80, 76), refused(80, 75), refused(80, 90)], [1, 0, 1], "between the two");
    }
}
