//! Codes of single machines in a plant file: ratings that are missing, and entries that contradict each other.

use super::{ERROR, Entry, NOTE, WARNING};

/// In the order of the codes.
pub(super) const ENTRIES: &[Entry] = &[
    Entry {
        code: "P20",
        name: "glycol-half-said",
        weight: ERROR,
        source: "our choice",
        finds: "An antifreeze without its share, or a share of antifreeze in plain water.",
        matters: "Glycol carries less heat, expands more and freezes lower: flows, curve and expansion tank are computed with it.",
        mend: "Write both, the share by mass, or neither.",
        example: "[fluid]\nkind = \"propylene-glycol\"\nshare = \"30 %\"",
    },
    Entry {
        code: "P21",
        name: "target-signal-unsaid",
        weight: ERROR,
        source: "our choice: 18 °F (10 K) at least over the whole signal",
        finds: "A boiler with drive = \"target\" whose temperatures at 0 V and at 10 V are not both written, or lie less than 18 °F (10 K) \
            apart.",
        matters: "The controller sends V = 10 (target - `signal-low`) / (`signal-high` - `signal-low`). With the wrong ends the boiler \
            holds another temperature than the curve asks for, and nothing looks broken.",
        mend: "Read both off the boiler's instructions or its menu.",
        example: "[boiler.b1]\ndrive = \"target\"\nsignal-low = \"32 °F\"\nsignal-high = \"212 °F\"",
    },
    Entry {
        code: "P22",
        name: "boiler-contradicts-itself",
        weight: ERROR,
        source: "our choice",
        finds: "Of one boiler: `outlet-max` or `fixed-target` above its operating `limit`, `flow-min` above the `flow` of its pump, \
            `flow-max` below `flow-min`, or `flame-proof-max` shorter than `pre-purge`, all `trials` of `ignition` and `proof` and the \
            `inter-purge` between them. A `return-valve` of a boiler that condenses or has no `pump`, below its `return-min`, or at or above \
            the hottest water that the boiler is told.",
        matters: "A target above the limit makes the limit end every burn; a boiler below its least flow boils locally or locks out; one that \
            is given up while it still tries is called failed although nothing is wrong. A return valve lets nothing out before the boiler is hotter than its setting.",
        mend: "Lower the targets or correct the limit, with some 10 °F between them. Read the flows off the instructions: flow (gal/min) \
            = output (MBH) x 2 / rise (°F), near enough.",
        example: "[boiler.b1]\nlimit = \"200 °F\"\noutlet-max = \"190 °F\"\nfixed-target = \"180 °F\"",
    },
    Entry {
        code: "P23",
        name: "efficiency-curve",
        weight: ERROR,
        source: "our choice",
        finds: "Typed `efficiency-points` that are fewer than two, or whose return temperatures do not rise.",
        matters: "Between the points a straight line is taken; a line that runs back has two answers.",
        mend: "Write two points or more, the coldest return first; or leave them out and name condensing or non-condensing with \
            `efficiency`.",
        example: "[boiler.b1]\nefficiency-points = [\n  { return = \"100 °F\", efficiency = \"95 %\" },\n  { return = \"150 °F\", efficiency = \"87 %\" },\n]",
    },
    Entry {
        code: "P24",
        name: "mark-typed-twice",
        weight: ERROR,
        source: "our choice",
        finds: "One terminal mark that is typed twice under the `marks` of a boiler.",
        matters: "Two wires of different circuits would land on one screw: line on a demand terminal, at worst.",
        mend: "Stand in front of the boiler and read them again. Where two strips share a number, type the strip's name too.",
        example: "[boiler.b1.marks]\nlimit = [\"X1:5\", \"X1:6\"]\ndemand = [\"X2:5\", \"X2:6\"]",
    },
    Entry {
        code: "P25",
        name: "pump-without-rating",
        weight: ERROR,
        source: "NEC 430.6(A): motor circuits are sized by horsepower and table, overloads by the plate; from memory",
        finds: "A pump whose `amps` are not written and cannot be taken from a table (or are more than 150 A by it), or one with a standard motor and no `hp`.",
        matters: "Conductors, breaker, overload and contactor follow from them.",
        mend: "Read them off the plate. The amps may be left out where `hp` is written and NEC Table 430.248 (one phase) or 430.250 (three) has \
            that motor at its `volts`: they are then listed as assumed.",
        example: "[pump.p-hall]\nmotor = \"standard\"\nhp = \"1/3 hp\"\namps = \"6.2 A\"",
    },
    Entry {
        code: "P26",
        name: "room-temperature",
        weight: ERROR,
        source: "our choice",
        finds: "A zone whose `room` is not more than 1.8 °F (1 K) above `site.outdoor-design`, whose `room-setback` is above its `room`, \
            or that has a `room-setback` and no `schedule`.",
        matters: "Heat loss for each degree is `design-loss` / (`room` - `site.outdoor-design`); with nothing between the two there is no \
            such figure. A setback without hours is never used.",
        mend: "See that both are of the unit meant; name the schedule that sets the zone back.",
        example: "[zone.office]\nroom = \"70 °F\"\nschedule = \"office\"\nroom-setback = \"62 °F\"",
    },
    Entry {
        code: "P27",
        name: "emitter-rating",
        weight: ERROR,
        source: "ratings as printed: EN 442 for panels, the trade's tables for the rest; floors by EN 1264",
        finds: "An emitter without what its law needs: the `output` of a radiator or coil, the `area` of a floor, both ends of a \
            rating by `supply` and `return`, two rising `points`; or a rating whose supply is not above its return, or whose water \
            is not more than 1.8 °F (1 K) warmer than its room.",
        matters: "The reset curve is computed from it: output = rated output x ((mean water - room) / (the same of the rating)) to the \
            power of `exponent`. A rating at other temperatures than those meant gives a curve that is too cold or too hot all \
            winter.",
        mend: "Copy output, water and room temperature from one line of the sheet. The output is that of all emitters of the zone \
            together.",
        example: "[zone.office.emitter]\nkind = \"panel-radiator\"\noutput = \"21 MBH\"\nsupply = \"75 °C\"\nreturn = \"65 °C\"\nroom = \"20 °C\"",
    },
    Entry {
        code: "P28",
        name: "mixing-bounds",
        weight: ERROR,
        source: "our choice",
        finds: "A mixing valve whose `mixed-design` is above its `mixed-max`.",
        matters: "The valve never lets more than `mixed-max` through, so the design temperature could not be reached.",
        mend: "Lower `mixed-design`, or raise `mixed-max` as far as the floor and its covering bear it.",
        example: "[zone.lobby.mixing]\nmixed-design = \"110 °F\"\nmixed-max = \"120 °F\"",
    },
    Entry {
        code: "P29",
        name: "tank-target-low",
        weight: ERROR,
        source: "our choice: 9 °F (5 K) at least",
        finds: "The supply `target` of the hot-water tank is not at least 9 °F (5 K) above its `aquastat`.",
        matters: "Heat goes through the coil only while the supply is hotter than the tank; so close, the tank calls on and on and is \
            never satisfied, and the boilers work for it alone.",
        mend: "Raise the target, 30 to 40 °F above the aquastat as a rule (common practice, no source).",
        example: "[tank]\naquastat = \"140 °F\"\ntarget = \"180 °F\"",
    },
    Entry {
        code: "P32",
        name: "safety-half-said",
        weight: ERROR,
        source: "our choice",
        finds: "A safety with a `supply` and no `supply-va`, or the other way round; or a floor limit or tank limit without `opens-at`.",
        matters: "A powered cutoff needs a circuit that carries it. A floor or tank limit is checked against what it guards, and the \
            simulated run trips it.",
        mend: "Add what is missing: volts and volt-amperes from the plate, the setting from the dial.",
        example: "[safety.floor]\nkind = \"floor-limit\"\nscope = \"lobby\"\nopens-at = \"130 °F\"",
    },
    Entry {
        code: "P33",
        name: "safety-in-wrong-circuit",
        weight: ERROR,
        source: "our choice: what each circuit of this plan can open",
        finds: "A safety that cannot act on its `scope` from the `circuit` it is in, whose contact at `rest` does not fit that circuit, \
            or that stops a tank or proves a damper that is not there.",
        matters: "Limit and proving circuits stop one boiler or the plant, zone circuits the pump or the valve of one zone, tank circuits the tank's \
            pump. A limit contact is closed at rest, or the burner never starts; a proof is open at rest, or it proves nothing. How long a \
            damper's proof is waited for is `damper.proof-max`.",
        mend: "Leave `circuit` and `rest` out where the usual ones of its `kind` fit; write `scope` for whom it must stop.",
        example: "[safety.flow1]\nkind = \"flow-switch\"\nscope = \"b1\"\ncircuit = \"proving\"\nrest = \"open\"",
    },
    Entry {
        code: "P34",
        name: "boiler-cannot-switch-pump",
        weight: ERROR,
        source: "our choice",
        finds: "A boiler that is to switch its pump (`pump-owner` = boiler or either) and for which no pump contact is given.",
        matters: "The contact's rating decides whether it may carry the motor or only a coil.",
        mend: "Add `pump-contact` under its electrical data, or let the controller own the pump.",
        example: "[boiler.b1]\npump-owner = \"boiler\"\n[boiler.b1.electrical]\npump-contact = \"5 A\"",
    },
    Entry {
        code: "P57",
        name: "limit-set-wrong",
        weight: ERROR,
        source: "floors: CSA B214 12.1.2, checked; high limits: CSD-1 for two apart, ASME Section IV for 250 °F, ANSI Z21.22 for 210 °F, from \
            memory; else our choice",
        finds: "A limit whose `opens-at` is not above what it guards: a floor limit not above `mixed-max`, a high limit not above its \
            boiler's `outlet-max`, the one with hand reset not above the automatic one, a tank limit not above the `aquastat`. Also a \
            floor limit more than 20 °F (11 K) above `mixed-design` (above 160 °F where the floor has no mixing valve), a high limit above 250 °F, and a tank limit at or above the 210 °F \
            at which the tank's relief valve opens.",
        matters: "Set too low it trips in ordinary work, and sooner or later somebody bridges it. Set too high over a floor it protects \
            none. A limit without `opens-at` is not looked at here.",
        mend: "Read the dial. Set it above what it guards, or lower that; the hand-reset limit stands highest.",
        example: "[boiler.b1]\noutlet-max = \"190 °F\"\n[safety.high1]\nkind = \"high-limit\"\nscope = \"b1\"\nopens-at = \"210 °F\"\n[safety.high1m]\nkind = \"high-limit-manual\"\nscope = \"b1\"\nopens-at = \"220 °F\"",
    },
    Entry {
        code: "P59",
        name: "transformer-and-service",
        weight: ERROR,
        source: "our choice: controls of this plan are 120 V to neutral",
        finds: "A service of 480Y/277 V without a transformer, or a transformer beside a service that has 120 V.",
        matters: "Controls, safeties and small pumps need 120 V. From 480Y/277 V they have it only behind a dry-type transformer with a \
            panelboard of its own; another service has it already.",
        mend: "Describe the transformer, or leave it out.",
        example: "[power]\nservice = \"480Y/277 V\"\n[power.transformer]\nva = \"15 kVA\"",
    },
    Entry {
        code: "P60",
        name: "damper-proof-early",
        weight: ERROR,
        source: "our choice",
        finds: "A combustion-air damper that must be proved open (`proof-max`) no later than it takes to open (`stroke`).",
        matters: "Every start would fail and be an alarm.",
        mend: "Read the stroke off the actuator's plate and allow twice as long.",
        example: "[damper]\nstroke = \"60 s\"\nproof-max = \"120 s\"",
    },
    Entry {
        code: "P61",
        name: "hottest-not-above-fill",
        weight: ERROR,
        source: "our choice",
        finds: "Under [water] the hottest water (`hottest`) is no warmer than the water that the plant is filled with \
            (`fill-temperature`).",
        matters: "The expansion tank is sized by the growth of the water from one to the other: there would be none.",
        mend: "Correct the one that is wrong. Left out, `hottest` is the highest operating `limit` of the boilers.",
        example: "[water]\nfill-temperature = \"40 °F\"\nhottest = \"200 °F\"",
    },
    Entry {
        code: "P62",
        name: "no-use-without-controller",
        weight: ERROR,
        source: "our choice: what relays at the thermostats can do",
        finds: "Something that only a controller could use in a plant of zone relays: a sensor, an alarm beacon, a contact for building \
            automation, a boiler told over 0-10 V, a motor-driven mixing valve, a fallback.",
        matters: "It would be bought and hung on the wall, and no wire would lead to it.",
        mend: "Take it out, or write control = \"controller\".",
        example: "[panel]\ncontrol = \"zone-relays\"",
    },
    Entry {
        code: "P63",
        name: "in-sight-contradicted",
        weight: WARNING,
        source: "NEC Article 100: visible and within 50 ft, checked",
        finds: "Something that is said to be in sight (`in-sight` of a pump, `panel-in-sight`) and whose run is over 50 ft (15.2 m) or \
            that stands at another place.",
        matters: "A breaker or a panel's disconnect serves a motor only where whoever works on the motor sees it. The run and the place win: \
            a disconnect more is planned, which costs money and harms nobody.",
        mend: "Correct the one that is wrong: measure the run, write one place for what stands in one room, or take the word out.",
        example: "[pump.p-hall]\nin-sight = true\nrun = \"30 ft\"",
    },
    Entry {
        code: "P64",
        name: "odd-time",
        weight: WARNING,
        source: "one table of usual ranges, most of them our choice; docs/plant-file.md shows each beside what is allowed",
        finds: "A time that is allowed and far from what it usually is, such as an `on-min` of 1 h. Of `on-min`, `off-min` and `pump-overrun` of a \
            boiler 0 s is told too; elsewhere 0 s means none and is not.",
        matters: "Hours typed for minutes read right in the file and change how the plant runs: a burner held on for an hour, a pump that is \
            never exercised.",
        mend: "Read the unit again. Leave it as it is if it is meant.",
        example: "[boiler.b1]\non-min = \"3 min\"",
    },
    Entry {
        code: "P65",
        name: "night-stretch",
        weight: NOTE,
        source: "our choice",
        finds: "A stretch of `occupied` hours whose end is earlier than its begin: it is taken to end on the next day.",
        matters: "A night shift is written so; so are morning and evening in the wrong order, which would heat the night and save the day.",
        mend: "Nothing, if the night is meant. Otherwise exchange the two times.",
        example: "[schedule.shift]\noccupied = [\"mon-thu 22:00-06:00\"]",
    },
    Entry {
        code: "P78",
        name: "pump-of-another",
        weight: NOTE,
        source: "our choice: ids are free, and people name pumps by what they serve",
        finds: "A zone or boiler whose `pump` bears the id of another one that runs another pump; two that name each other's.",
        matters: "The controls would start the wrong pump: one room stays cold while another is heated for it, and the wires are landed so.",
        mend: "Correct `pump`, or rename the pump.",
        example: "[zone.shop]\npump = \"p-shop\"",
    },
    Entry {
        code: "P79",
        name: "poison-by-drinking-water",
        weight: WARNING,
        source: "IPC 608 (protection of potable water), from memory: an essentially toxic fluid behind a vented double wall",
        finds: "Ethylene glycol in a plant that heats a domestic hot-water tank.",
        matters: "A coil that leaks lets the plant's water into drinking water. Ethylene glycol poisons whoever drinks it.",
        mend: "Fill propylene glycol of food grade, or use a tank whose coil has a vented double wall. Local plumbing codes rule.",
        example: "[fluid]\nkind = \"ethylene-glycol\"\nshare = \"35 %\"\n[tank]\naquastat = \"140 °F\"",
    },
    Entry {
        code: "P80",
        name: "alarm-without-listener",
        weight: ERROR,
        source: "the plan itself: zone relays have no input and no alarm",
        finds: "A safety with `circuit` = alarm in a plant on zone relays.",
        matters: "It opens nothing, and nothing listens: it would hang on the wall without a wire, and people would count on it.",
        mend: "Give it the `circuit` that it is to open, or take it out. With a controller (`panel.control`) it lights the alarm.",
        example: "[safety.condensate-b1]\ncircuit = \"limit\"",
    },
    Entry {
        code: "P81",
        name: "acceptance-past-the-tank",
        weight: ERROR,
        source: "geometry",
        finds: "An `expansion-tank-acceptance` that is more than the whole `expansion-tank`.",
        matters: "The diaphragm lies in the tank: it cannot let in more. The two columns of a maker's table are exchanged, or a unit is.",
        mend: "Read both off the plate or the table again.",
        example: "[water]\nexpansion-tank = \"30 gal\"\nexpansion-tank-acceptance = \"11 gal\"",
    },
    Entry {
        code: "P82",
        name: "odd-current",
        weight: WARNING,
        source: "NEC Tables 430.248 and 430.250 for motors with `hp`, 1.6 times of which is our choice; 10 A for a circulator rated in amps and \
            1 kA for a panel: common practice, no source",
        finds: "Allowed and far from usual: a single-phase circulator without `hp` that takes more than 10 A, a motor that takes more than 1.6 \
            times what the tables have for its `hp`, a `fault-current` below 1 kA.",
        matters: "A point at the wrong place gives a wrong breaker, wire and overload, and nothing looks broken in the file. A short-circuit \
            current that is too low lets every panel pass.",
        mend: "Read the plate again, and the unit. Leave it as it is if it is meant.",
        example: "[power]\nfault-current = \"14 kA\"\n[pump.p-hall]\namps = \"1.4 A\"",
    },
    Entry {
        code: "P83",
        name: "unvalved-on-shared-pump",
        weight: WARNING,
        source: "our choice",
        finds: "A zone without a valve whose pump serves other zones too.",
        matters: "Whoever of them calls, its water moves: it overheats while its own thermostat is silent.",
        mend: "Give it a `valve` or a pump of its own, or make zones that always call together one.",
        example: "[zone.hall]\npump = \"p-hall\"\n[zone.hall.valve]\nva = \"7 VA\"",
    },
    Entry {
        code: "P84",
        name: "mark-of-another-wire",
        weight: ERROR,
        source: "marks of the trade: L, L1 to L3, N, G, PE; common practice, no source",
        finds: "Under the `marks` of a boiler, a `line` that has not as many marks as its supply takes, or whose marks say another wire than \
            the plan lands there; a control pair with a mark of neutral or ground.",
        matters: "The plan goes by the order: line, neutral, ground at 120 V; two lines and ground at 208 V and 240 V; three lines and ground \
            at three phases. A 208 V boiler entered as one of 120 V gets the white wire on L2; ground on a line is a live case.",
        mend: "Read `volts`, `phases` and marks off the plate and the terminals again. Where the boiler's diagram calls a terminal otherwise \
            than its print, type both, like \"L2/N\".",
        example: "[boiler.b1.electrical]\nvolts = \"208 V\"\nphases = 1\n[boiler.b1.marks]\nline = [\"L1\", \"L2\", \"G\"]",
    },
    Entry {
        code: "P85",
        name: "starter-of-single-phase-fan",
        weight: ERROR,
        source: "our choice",
        finds: "`starter-at` under `fans` of one phase.",
        matters: "An aquastat carries a single-phase fan itself; nothing of the plan would stand where the file says.",
        mend: "Leave `starter-at` out, or correct `phases`.",
        example: "[zone.dock.fans]\nphases = 3\nstarter-at = \"fan\"",
    },
    Entry {
        code: "P86",
        name: "exponent-odd",
        weight: WARNING,
        source: "EN 442 sheets and ASHRAE's chapter on emitters, from memory; the room around their values is our choice",
        finds: "`exponent` outside what emitters of its kind have: 1.15 to 1.4 for panels and cast iron, 1.25 to 1.55 for finned tube, 0.9 to \
            1.15 for fan coils and unit heaters.",
        matters: "Output at other water than the rated follows from it. With 1.9 for 1.3, radiators rated at 215 °F seem to give a third less \
            at 140 °F than they do, and the whole curve is too hot for everybody else.",
        mend: "Copy it from the sheet, or leave it out.",
        example: "[zone.hall.emitter]\nkind = \"cast-iron\"\nexponent = 1.3",
    },
    Entry {
        code: "P88",
        name: "pump-stops-hot",
        weight: WARNING,
        source: "common practice, no source: minutes of flow after the fire; 1 L a kW of input (0.08 gal a MBH) is our choice",
        finds: "With `control` = zone-relays, a boiler of little water and metal whose pump the panel switches.",
        matters: "Such a panel stops the pump with the last call. The heat that the fire left in the exchanger has nowhere to go: water boils in \
            it, it knocks, or its limit trips.",
        mend: "Let the boiler own its pump (`pump-owner`): its control runs it on. Or add a relay with off-delay at the pump, as long as the \
            boiler's instructions ask for.",
        example: "[boiler.b1]\npump = \"p-b1\"\npump-owner = \"boiler\"",
    },
];
