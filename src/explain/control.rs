//! Codes of what stands between a sound plant file and a controller: its points (L), its configuration (C), its board (B).

use super::{ERROR, Entry, NOTE, WARNING, Weight};

/// In the order of the codes.
pub(super) const ENTRIES: &[Entry] = &[
    Entry {
        code: "B01",
        name: "block-too-long",
        weight: ERROR,
        source: "the form of the configuration block, our choice",
        finds: "The configuration of this plant is longer than the 2048 bytes that a board keeps for it.",
        matters: "A block that is cut short would be refused by the board, which then holds every output at its safe side.",
        mend: "Split the plant between two controllers.",
        example: "",
    },
    Entry {
        code: "B02",
        name: "block-not-read-back",
        weight: ERROR,
        source: "our choice: what is handed out is first read as a board reads it",
        finds: "The configuration block does not read back as it was written. That is a fault of this program, not of the plant.",
        matters: "A board would run another configuration than the one that was planned and simulated.",
        mend: "Use no block of this plant; report it with the plant file.",
        example: "",
    },
    Entry {
        code: "C01",
        name: "controller-refuses",
        weight: ERROR,
        source: "our choice: what the control logic takes for granted",
        finds: "The controller's own check refuses the configuration that follows from the plant file. Most such faults are found before \
            it; these come out here, among others: a tank's `target` above every boiler's `outlet-max`, a `fixed-target` above the `outlet-max` of its \
            boiler, drive = \"rate\" with an on/off burner, `stage-by` by load without a return sensor, `otherwise` of the purge naming a \
            zone behind a mixing valve.",
        matters: "The logic does not panic on a bad configuration, but it would heat in ways that nobody wanted: it is not run.",
        mend: "The sentence names the thing, the hint the key.",
        example: "[tank]\ntarget = \"180 °F\"\n[boiler.b1]\noutlet-max = \"190 °F\"\n[sensor.return]\nmeasures = \"return\"",
    },
    Entry {
        code: "C03",
        name: "marks-not-typed",
        weight: NOTE,
        source: "our choice: no maker's marks are shipped",
        finds: "A boiler for which the printed marks of terminals that are wired are not typed: limit, proving, demand and line, and \
            signal, status, alarm and pump where the boiler has them; the sentence says which.",
        matters: "The schedule then names these terminals by what they are. In front of the boiler somebody has to guess which screws \
            are meant, and limit, proving and demand are not to be guessed.",
        mend: "Read them off the boiler and type them under its marks.",
        example: "[boiler.b1.marks]\nline = [\"L\", \"N\", \"PE\"]\nlimit = [\"11\", \"12\"]\nproving = [\"13\", \"14\"]\ndemand = [\"15\", \"16\"]",
    },
    Entry {
        code: "C04",
        name: "fallback-not-wired",
        weight: WARNING,
        source: "our choice",
        finds: "`guard.fallback` states that boilers hold their fixed target while the controller is dead, and leaves it to somebody else \
            to wire that.",
        matters: "The health relay drops when the controller stops, but nothing of this plan hangs on its contacts: a dead controller \
            leaves the plant without heat.",
        mend: "Write fallback = \"zone-relays\": relays of every call then take over, planned and proved with the rest. Or wire the health \
            relay's contacts yourself, with every limit left in force; or write fallback = \"none\" and plan for a person who comes.",
        example: "[guard]\nfallback = \"zone-relays\"",
    },
    Entry {
        code: "C05",
        name: "flow-not-proved",
        weight: WARNING,
        source: "common practice, no source",
        finds: "A boiler for which no contact tells the controller that water flows through it.",
        matters: "The controller then asks for fire without knowing whether the pump that it counts on runs: an open disconnect or an \
            air-locked pump is found by the high limit. A flow switch in the proving pair still holds the burner; the controller \
            just cannot say why.",
        mend: "Add a flow switch for this boiler with a second, isolated contact.",
        example: "[safety.flow1]\nkind = \"flow-switch\"\nscope = \"b1\"\naux = true",
    },
    Entry {
        code: "C07",
        name: "alarm-shows-nowhere",
        weight: NOTE,
        source: "our choice",
        finds: "No alarm beacon or horn is described.",
        matters: "A latched boiler, a sensor in fault or a dead controller shows on the controller alone, and is noticed when it is cold.",
        mend: "Add one: it hangs on a 120 V circuit of its own and lights when the alarm or the health relay drops. A building-automation \
            system gets its contacts under [automation.ID]; this note stays with that alone.",
        example: "[alarm]\nplace = \"beside the boiler-room door\"\nva = \"15 VA\"",
    },
    Entry {
        code: "C08",
        name: "needs-controller",
        weight: ERROR,
        source: "our choice",
        finds: "A study of our controller, its firmware, or a run on a board, asked for of a plant with zone relays in its place.",
        matters: "There is no such controller in the plan: what came out would be of another plant.",
        mend: "Use the simulated run or the redundancy study, which drive the relays by a stand-in; or give the plant a controller with its sensors.",
        example: "[panel]\ncontrol = \"zone-relays\"",
    },
    Entry {
        code: "C09",
        name: "tank-on-own-reset",
        weight: WARNING,
        source: "common practice, no source",
        finds: "A tank in a plant of zone relays whose boilers' own reset comes down below what the tank wants (`tank.target`).",
        matters: "A demand contact does not tell a boiler who calls. In mild weather it makes water for the rooms, and the tank is never \
            warm: its call then stands for hours, and zones that wait for it stay cold.",
        mend: "Raise `reset.supply-min` to the tank's target. A boiler with a tank input of its own could do better; this plan does not \
            wire one.",
        example: "[reset]\nsupply-min = \"180 °F\"",
    },
    Entry {
        code: "C10",
        name: "signal-ends-too-low",
        weight: WARNING,
        source: "our choice: the curve with `boost` held to `supply-max`, or the tank's `target`, with `header-trim-max`, held to `outlet-max`",
        finds: "A boiler that is told its target over 0-10 V and whose `signal-high` is below the highest target that it will be told.",
        matters: "10 V is all that the controller has. Where the scale is misread the boiler makes another temperature than is meant, \
            or never fires since its water is warmer than it believes to be asked for.",
        mend: "Read the scale in the boiler's instructions or its settings and type both ends. Where it truly ends there, lower `supply-max` \
            and what adds to it.",
        example: "[boiler.b1]\ndrive = \"target\"\nsignal-low = \"32 °F\"\nsignal-high = \"212 °F\"",
    },
    Entry {
        code: "C11",
        name: "return-not-measured",
        weight: WARNING,
        source: "our choice; see staging by required heat in the guide",
        finds: "Several boilers with drive = \"target\" and no sensor that measures the return.",
        matters: "Boilers that hold their target by themselves leave no excess from which a boiler too many shows. One is dropped by the heat \
            required, flow times (target - return); without the return all that were added run on at their least fire.",
        mend: "Add a sensor in the return of the zones.",
        example: "[sensor.return]\nmeasures = \"return\"",
    },
    Entry {
        code: "C12",
        name: "fan-units-without-fans",
        weight: WARNING,
        source: "common practice, no source",
        finds: "A zone whose emitter is a unit heater or a fan coil and that has no fans in the file.",
        matters: "Its rating holds with the fan running. With a fan that nobody feeds it gives next to nothing, while curve and run count \
            full output.",
        mend: "Describe the fans with the zone: circuit, aquastat and heat follow. Where somebody else feeds and switches them, leave the \
            warning and see that they run.",
        example: "[zone.bay.fans]\ncount = 1\nvolts = \"120 V\"\namps = \"2 A\"",
    },
    Entry {
        code: "C13",
        name: "fans-never-run",
        weight: ERROR,
        source: "our choice",
        finds: "The aquastat of a zone's fans waits for hotter water than the curve ever asks for.",
        matters: "The fans never run, and a unit heater without its fan gives next to nothing.",
        mend: "Lower the `aquastat` of the fans below the coolest water that is to heat.",
        example: "[zone.bay.fans]\ncount = 1\namps = \"2 A\"\naquastat = \"100 °F\"",
    },
    Entry {
        code: "C14",
        name: "setback-too-deep",
        weight: WARNING,
        source: "heat balance of each zone at the design temperature, its room at `room-setback` where it follows the curve's schedule",
        finds: "A curve whose `setback` takes it below the water that the set-back rooms need at the design temperature.",
        matters: "The rooms go on cooling past what their thermostats are set back to, and come back late. A zone that does not follow the \
            same schedule is short of heat while people are in it.",
        mend: "Lower the curve by less, or by nothing: thermostats set back by themselves, and less water flows hot.",
        example: "[reset]\nsetback = \"10 °F\"\nschedule = \"hours\"",
    },
    Entry {
        code: "C15",
        name: "floor-unmixed",
        weight: Weight::Varies,
        source: "140 °F (60 °C) at a floor: common practice, no source; EN 1264-4 names 55 °C at the screed, from memory",
        finds: "A heated floor without a `mixing` valve on a plant that makes hotter water than a floor bears. An error under a controller; a \
            warning where zone relays control, since a self-acting valve may stand there.",
        matters: "What reaches it is the hottest of the curve with `boost` and `demand-trim-max` (held to `supply-max`), the tank's `target`, and \
            the boilers' `fixed-target` where they go by that alone. Boiler water in a floor burns feet, cracks screed and kills adhesive.",
        mend: "Give the zone a mixing valve. Where the whole plant is floors, hold `supply-max` and the rest to what they bear.",
        example: "[zone.lobby.mixing]\nmixed-max = \"120 °F\"",
    },
    Entry {
        code: "C16",
        name: "floor-mixed-hot",
        weight: WARNING,
        source: "140 °F (60 °C) at a floor: common practice, no source",
        finds: "A heated floor whose `mixed-max` is above 140 °F (60 °C).",
        matters: "The valve may let through what floor and covering do not bear.",
        mend: "Lower `mixed-max`: 120 °F is usual.",
        example: "[zone.lobby.mixing]\nmixed-max = \"120 °F\"",
    },
    Entry {
        code: "L01",
        name: "points-used-up",
        weight: ERROR,
        source: "the room of one controller, our choice",
        finds: "The plant needs more points of one kind than a controller has: 40 relays, 64 contact inputs, 16 sensor inputs, 8 outputs \
            of 0-10 V. Spares count.",
        matters: "A plan with a load that no relay switches is no plan.",
        mend: "Leave out spares, let zones share a pump, read fewer contacts back, or split the plant between two controllers.",
        example: "[panel]\nspare-relays = 2\nspare-contacts = 2",
    },
    Entry {
        code: "L02",
        name: "relay-pinned-twice",
        weight: ERROR,
        source: "our choice",
        finds: "Two uses are given one relay. It is the second guard behind P46, which finds it first and shows both places.",
        matters: "A relay serves one thing.",
        mend: "Give each its own `relay`, or leave one of the numbers out.",
        example: "[pump.p-hall]\nrelay = 7",
    },
    Entry {
        code: "L03",
        name: "relay-does-not-exist",
        weight: ERROR,
        source: "the room of one controller, our choice",
        finds: "A `relay`, `alarm-relay` or `health-relay` with a number that the controller does not have. It is the second guard behind \
            P05, which finds it first.",
        matters: "The load would have no relay.",
        mend: "Write a number from 1 to 40, or leave it out.",
        example: "[panel]\nalarm-relay = 39",
    },
    Entry {
        code: "L04",
        name: "controller-full",
        weight: ERROR,
        source: "the room of one controller, our choice",
        finds: "More things of a kind, or more points on the reset curve, than the controller's memory holds. It is the second guard behind \
            P08 and P41.",
        matters: "The controller's memory is of a fixed size; what does not fit is refused, never cut short.",
        mend: "Split the plant between two controllers.",
        example: "",
    },
    Entry {
        code: "L05",
        name: "no-curve",
        weight: ERROR,
        source: "our choice: the curve is fitted to the hottest supply that any zone needs",
        finds: "No reset curve can be computed: at some outdoor temperature no zone's flow can carry its heat loss, or there is no stretch \
            between `site.outdoor-design` and warm-weather shutdown to compute it on.",
        matters: "Loss = flow x 500 x drop (Btu/h, gal/min, °F). Where the drop that this asks for is larger than all the water has above \
            the room, no supply temperature is hot enough.",
        mend: "Look for a slip in `design-loss`, in `flow` and in the emitters' ratings, and that `warm-weather-off` is well above the design \
            temperature; or type the curve's points.",
        example: "[zone.hall]\nflow = \"4 gal/min\"",
    },
];
