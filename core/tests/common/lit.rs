//! A lead that has just lit, on water that stands as the test sets it.

use super::*;

pub const TARGET: BoilerDrive = BoilerDrive::Target { low: Temp::from_c(20), high: Temp::from_c(90) };

/// The lead has just lit; the water stands as the test sets it.
pub fn lit(shape: Shape) -> Bench {
    let mut b = Bench::new(Shape { drive: TARGET, ..shape });
    b.water = false;
    b.config.guard.frozen_after = Span::ZERO;
    b.supply(30);
    b.call(0, true);
    b.until(900, |b| b.demand(0).why == Reason::Lead);
    b
}

/// The supply reads so many hundredths of a kelvin less than its target, and every outlet so many more than that.
pub fn reads(b: &mut Bench, short: i32, outlet_over: i32) {
    let supply = i32::from(b.outputs.target.unwrap().centi_c()) - short;
    b.read(SensorUse::Supply, Reading::At(Temp::from_centi_c(supply as i16)));
    for i in 0..2 {
        let outlet = Temp::from_centi_c((supply + outlet_over) as i16);
        b.read(SensorUse::BoilerOutlet(BoilerId(i)), Reading::At(outlet));
    }
}
