//! What stands below each list of the wiring plan, so that it can be read without the guide.

use heatwright_wiring::{
    device::Kind,
    job::Job,
    pass::labels::{colour_code, foreign_colour},
    plan::Plan,
};

/// The colours of each panelboard's system, and of control circuits that stay live from elsewhere: beside [`KEY`].
pub fn colours(plan: &Plan) -> String {
    let mut boards: Vec<&str> = plan.directory.iter().map(|e| e.panel.as_str()).collect();
    boards.dedup();
    let coded = boards.into_iter().map(|b| (b, colour_code(plan, b))).filter(|(_, code)| !code.is_empty());
    let mut list: Vec<String> = coded.map(|(b, code)| format!("{b} {code}.")).collect();
    list.extend(foreign_colour(plan).map(|c| format!("Control from elsewhere, live with the relay panel off: {c}.")));
    // The beacon has a circuit of its own, so that it works when the control circuit is dead; pumps have theirs.
    list.push(
        "Pumps and the beacon keep the colors of their phases in the relay panel, and are live with it off, too."
            .into(),
    );
    format!("Colors: {}", list.join(" "))
}

/// The limits of voltage drop that sized the conductors, each with its source: beside [`KEY`].
pub fn drops(job: &Job) -> String {
    let s = &job.settings;
    format!(
        "Voltage drop at most: {:.1} % on a branch circuit, {:.1} % with the feeder (guidance of NEC 210.19(A) and 215.2(A), \
         informational notes, from memory), {:.1} % on a 24 V circuit (our choice: {:.1} of 24 V are left, and most actuators are \
         rated from 85 %, 20.4 V). HW102 tells what is over its limit.",
        s.drop_branch_max_percent,
        s.drop_total_max_percent,
        s.drop_class2_max_percent,
        24.0 * (1.0 - s.drop_class2_max_percent / 100.0)
    )
}

/// Below the list of jumper bars.
pub const BARS: &str = "A jumper bar joins neighboring terminals of one strip without a conductor: from the first through the \
     last, so many poles. Terminals that stand side by side without a bar are not joined.";
/// Below the list of terminals.
pub const DEVICE_LEGEND: [&str; 4] = [
    "Size: AWG and color, or the conductor of a cable ('cond.'; thermostat cable: 1 white, 2 red, the rest as it has them). Other end: where it goes. In: its raceway or cable; 'panel' means \
     inside one enclosure. A terminal with two conductors stands twice.",
    "N, C1 and C2 of a switch are splices in its box and PE the ground bar of the box: they are to be bought with it.",
    "Marks on a boiler are those typed in the plant file, or plain words where none were. Marks on pumps, valves, thermostats and \
     safeties are ours: read the device before a wire is landed, above all whether a contact and a 0-10 V common are isolated.",
    "Marks on transformers are those of usual stock: a primary of 240 x 480 V stands with H1 and H4 on the line, joined by its links for the \
     voltage that its plate names: H2/H3 is the terminal on which H2 meets H3 at 480 V, and no wire goes there; X2/X3 are joined and are the \
     neutral of 120/240 V. Where the plate shows otherwise, the plate \
     is right (common practice, no source).",
];
/// Below the list of raceways.
pub const RUN_LEGEND: [&str; 2] = [
    "Wires: conductors in it, equipment grounds among them. Live: those that count as current-carrying. Fill: share of the \
     tube's inside that they take; Max: the most that is allowed (NEC Chapter 9, Table 1). 'Safety only': safety-control \
     conductors, which share no raceway. Ground 'the tubing': the metal tube is the equipment ground (250.118).",
    "Control of a fan's starter runs with the power of that fan, one machine in one tube (300.3(C)(1), 725.48(B)(1) of 2020, from memory): \
     every conductor in it is insulated for 600 V. It does not count as live, since it carries a tenth of its ampacity at most \
     (310.15(C)(1), from memory). The box of the disconnect at the fan then holds two sources.",
];
/// Below the list of cores.
pub const CABLE_LEGEND: [&str; 1] = [
    "Conductor: AWG and color; in a cable its number ('cond.'; thermostat cable: 1 white, 2 red, the rest as it has them). A shield is grounded at the panel and taped back at the far end.",
];
/// Below the directory.
pub const DIRECTORY_LEGEND: [&str; 1] = [
    "Phase: A, B and C in turn (A and B of 120/240 V), one row of spaces after the other. Load: on this pole. Close unused spaces with blanks.",
];
/// Below the motors.
pub const MOTOR_LEGEND: [&str; 1] = [
    "Sizing: the current for conductor, breaker and disconnect (table current of the horsepower, or the nameplate where the \
     code takes it). Plate: the nameplate current, for the overload. Set: the overload; Most: never above this (125 or 115 % by \
     the plate, NEC 430.32(A)(1), for 1 hp or less that starts by itself 430.32(B)(1)); To start: up to this only where the motor will not start or carry its load at Most \
     (430.32(C)). At controller: the disconnect ahead of what switches it. At least: smallest rating of the disconnects (115 %, \
     430.110(A)).",
];
/// Below the transformers.
pub const TRANSFORMER_LEGEND: [&str; 1] = [
    "Sealed: what the loads take once they have moved. All starting: what they take in the moment in which every valve, coil \
     and motor starts at once (a motor six times its plate), the inrush added at right angles to the sealed load (a bound on the safe side). *: over the plate for \
     the second that they take to move; Then: the volts that are left at its terminals, by the formula of the meter readings: the \
     plate's volts at the plate's load, more below it. A valve moves above 85 % of its volts (common practice, no source).",
];
/// Above the loads of the phases.
pub const BALANCE: &str = "Connected load of these circuits by phase, nothing taken off; a transformer counts by its plate. Most, A: the heaviest phase, currents \
     added as numbers, a bound on the safe side. Over the mean: 10 % and less is usually sought (common practice, no source); to even it out move single-pole \
     breakers to spaces of a lighter phase (space in the plant file). What else hangs on the panelboard adds to it.";
/// Below the materials.
pub const MATERIAL_LEGEND: [&str; 2] = [
    "Lengths hold an allowance of 10 per cent and are rounded up. Not counted: fittings, supports, markers, the volume of \
     boxes and the size of the enclosure. Bodies of \
     valves, wells and flow switches go by pipe and flow: add their sizes; where a set point is not in the plan, ask.",
    "THHN is bought marked THHN/THWN-2: outdoors the inside of a tube is a wet place (300.9). Cable: CL2R in risers, CL2P in \
     plenums, sunlight-resistant outdoors.",
];
/// The same, where there is a breaker of 10 A.
pub const SMALL_BREAKERS: &str = "Breakers of 10 A are standard in the code and often not in stock: order early.";
/// Below the labels.
pub const LABEL_LEGEND: [&str; 1] = [
    "An upright bar | starts a new line. Wire labels go on both ends; MORE THAN ONE SOURCE goes on the outside of the enclosure.",
];
/// Below the score of planted faults.
pub const SCORE_LEGEND: [&str; 3] = [
    "Caught: something shows it; of these, Opened: only while some breaker, fuse or disconnect is open, so that the wrong one would \
     be locked out; Off: only an ohmmeter shows it with the power off, so test for it before power is put on and when the plant \
     is serviced (a welded contact behind its twin, a first ground fault of a circuit that floats, a neutral grounded twice).",
    "Harmless: the same terminals stay joined in every position, or the same circuit with ends exchanged that have no polarity, or a \
     spare contact.",
    "Every pair of conductors in a raceway or cable is exchanged and shorted once; every wire, contact and coil fails once.",
];
/// What the letters of a tag and some colours mean: on every print.
const KEY: &str = "A2 panelboard, Q disconnect or contactor (QB of a pump, QC of a boiler, QR of the relay \
     panel), K relay, {S}E boiler, M motor or actuator, F safety, B sensor, aquastat or thermostat, X strip \
     or box, PE equipment ground (green). Red is phase B in a power run and control in a control run: go by the wire number.";

/// The same, with the controller where the plan has one.
pub fn key(plan: &Plan) -> String {
    let controller = if plan.devices.iter().any(|d| d.tag == "A1") { "A1 controller, " } else { "" };
    let door = plan.devices.iter().any(|d| matches!(d.kind, Kind::Selector | Kind::Button));
    let door = if door { "S selector or button, " } else { "" };
    format!("Key: {controller}{}", KEY.replace("{S}", door))
}

#[cfg(test)]
mod tests {
    use super::*;
    use heatwright_wiring::{fixtures::library, plan::plan};

    /// A letter that no tag of the plan bears is not explained.
    #[test]
    fn the_key_names_what_is_there() {
        let Ok(mut p) = plan(&library()) else { panic!("the library compiles") };
        assert!(key(&p).contains("A1 controller, ") && key(&p).contains("S selector or button, E boiler"));
        p.devices.retain(|d| !matches!(d.kind, Kind::Selector | Kind::Button));
        assert!(key(&p).contains("K relay, E boiler") && !key(&p).contains("S selector"), "{}", key(&p));
        p.devices.retain(|d| d.kind != Kind::Controller);
        assert!(!key(&p).contains("A1"));
    }
}
