//! A return valve that cannot do its work: of a boiler that may condense, without a pump, set where it protects nothing or lets
//! nothing out.

use crate::plant::{
    checked::{Boiler, Drive, Efficiency},
    cursor::Cursor,
    quantity::Quantity as _,
};

pub(super) fn judge(c: &Cursor<'_>, id: &str, b: &Boiler, has_pump: bool) {
    let Some(valve) = b.return_valve.filter(|_| c.judged()) else { return };
    let tell = |sentence: String, hint: &str| c.ctx.tell(c.fault("return-valve", "P22", sentence).hint(hint));
    let at = valve.show_both();
    if matches!(b.efficiency, Efficiency::Condensing) {
        tell(
            format!("boiler `{id}` is condensing, and a return valve at {at} would keep it from that"),
            "take the valve out, or say efficiency = \"non-condensing\"",
        );
    }
    if !has_pump {
        tell(
            format!("boiler `{id}` has no pump of its own, and its return valve mixes what that pump moves"),
            "name its pump, which stands between the valve and the boiler",
        );
    }
    if let Some(least) = b.return_min.filter(|m| m.c > valve.c + 0.005) {
        tell(
            format!("boiler `{id}`: its return valve is set to {at}, below its return-min of {}", least.show_both()),
            "set the valve to return-min or a little above",
        );
    }
    let (most, key) = match b.drive {
        Drive::DemandOnly => (b.fixed_target, "fixed-target"),
        Drive::Target { high, .. } if high.c < b.outlet_max.c => (high, "signal-high"),
        Drive::Target { .. } | Drive::Rate => (b.outlet_max, "outlet-max"),
    };
    if valve.c >= most.c {
        tell(
            format!(
                "boiler `{id}`: its return valve is set to {at}, and its water is never told to be above {}: no heat would leave it",
                most.show_both()
            ),
            &format!("set the valve lower, or {key} higher by the rise that the boiler has at full fire"),
        );
    }
}
