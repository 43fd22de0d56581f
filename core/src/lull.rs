//! A lull: for a moment no zone wants heat, and the next call is seconds away.
//!
//! Boilers that are wanted stay wanted for [`LULL`] after the last zone was content, all of them towards the heating target, as
//! long as the water of a zone still runs on (its `overrun`, or constant circulation) and the supply is below that target: there
//! is somewhere for their heat to go, and the water wants it. Otherwise each would stop, and its shortest stop would hold up
//! the zones that call half a minute later. None is added or started, and the lead does not pass on; a safety, a fault and a switch
//! stop a boiler as ever. Water at its target, or a supply that nobody can read, ends the lull at once; so does the end of
//! the season, and a plant that too few zones call for. A plant with one zone has no other to wait for.
//!
//! Source: a delay before the last call lets the boilers go is common practice, no source; one minute is our choice.

use crate::{
    clock::Clock,
    units::{Instant, Span},
};

/// Boilers are kept for so long after the last zone was content.
pub const LULL: Span = Span::from_s(60);

/// Follows the lull in `since`, where boilers `may` be kept; `heated` says that until now a zone wanted heat. True while they are.
pub(crate) fn decide(since: &mut Option<Instant>, may: bool, heated: bool, clock: &mut Clock) -> bool {
    let began = since.or(heated.then_some(clock.now())).filter(|_| may);
    clock.put(since, began);
    began.is_some_and(|t| !clock.elapsed(t, LULL))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_lull_is_counted_from_its_first_moment_and_its_end_is_due() {
        let mut since = None;
        let mut at = |s: u32, may, heated| {
            let mut clock = Clock::at(Instant::from_s(s));
            (decide(&mut since, may, heated, &mut clock), since, clock.due())
        };
        let s = Instant::from_s;
        assert_eq!(at(5, false, true), (false, None, None));
        assert_eq!(at(10, true, true), (true, Some(s(10)), Some(s(10))));
        assert_eq!(at(69, true, false), (true, Some(s(10)), Some(s(70))));
        assert_eq!(at(70, true, false), (false, Some(s(10)), None), "over, and it does not begin anew");
        assert_eq!(at(71, false, false), (false, None, Some(s(71))));
        assert_eq!(at(72, true, false), (false, None, None), "no zone wanted heat before");
    }
}
