//! Codes of runs: what a simulated stretch shows (R), why it cannot be made (S), weather and records that it needs (W).

use super::{ERROR, Entry, NOTE, WARNING};

/// In the order of the codes.
pub(super) const ENTRIES: &[Entry] = &[
    Entry {
        code: "R01",
        name: "zone-cold",
        weight: WARNING,
        source: "our choice: 1.8 °F (1 K), 5 % of the time",
        finds: "In a run, a zone was more than 1.8 °F (1 K) colder than its thermostat asked for, for more than 5 % of the time. The hours are \
            parted by their cause, looked for every two minutes and then brought to the sum: thermostat, what holds its water off, flow, mixing valve, \
            fan, emitter, curve, setback of the curve, coming back from that of the room, limit, staging, boilers.",
        matters: "Each cause has another mend, and the hint is that of the longest. An emitter is too small where it needs hotter water than \
            `supply-max`, the curve is too low where it lies below what the emitter needs at that outdoor temperature. Where it does not and the \
            target still did, the outdoor filter lagged behind falling weather.",
        mend: "Curve: leave its points out. Filter: `outdoor-filter`. Mixing valve: `mixed-design`. Fan: its `aquastat`. Emitter or flow: 'heatwright curve'. Setback: `boost`, an earlier schedule; that of the curve: `setback` of the reset. Held off: `priority-max` of \
            the tank, `warm-weather-off`, the events. Not calling: `thermostat-differential`, `thermostat-cycles`. Boilers: R06. Staging: R07.",
        example: "[reset]\nschedule = \"school\"\nboost = \"10 °F\"\nboost-for = \"2 h\"\n[tank]\npriority-max = \"45 min\"",
    },
    Entry {
        code: "R02",
        name: "boiler-starts-often",
        weight: WARNING,
        source: "our choice; six starts an hour is common practice, no source",
        finds: "In a run, a boiler started more than six times in some hour, or more than 20 times in all with more than a quarter of its \
            burns shorter than five minutes. Both figures stand in the sentence, whichever was passed.",
        matters: "Each start costs purge, ignition and wear, and a short burn never gets the boiler to its efficiency.",
        mend: "The sentence says what ended most of the short burns. Where a limit opened in the same run, mend that first. Its own limit: `outlet-max`, \
            `signal-high`, `fixed-target`, its flow. Calls: `call-min`, `thermostat-cycles`, `on-min`. Its target: a smaller fire, more water, a wider \
            `band`, a longer `off-min`, or the low-load band; finding short-cycle has the sum behind it.",
        example: "[staging]\nband = \"8 °F\"\n[boiler.b1]\noff-min = \"8 min\"",
    },
    Entry {
        code: "R03",
        name: "limit-opened",
        weight: WARNING,
        source: "our choice: a limit is no control",
        finds: "In a run, a limit that opens on temperature did: a boiler's high limit, a floor limit or a tank limit. One that stood open when \
            the run began counts.",
        matters: "In a plant that works, only a fault opens a limit. One that opens in ordinary work wears out, and those with hand reset stop \
            the heat until somebody comes.",
        mend: "Compare `opens-at` with the temperatures that the plant runs at: the target, the trim above it and the overshoot of the smallest \
            load. Lower the targets before you raise a limit.",
        example: "[safety.high1]\nkind = \"high-limit\"\nscope = \"b1\"\nopens-at = \"210 °F\"",
    },
    Entry {
        code: "R04",
        name: "burned-on-cold-return",
        weight: WARNING,
        source: "the boiler's instructions, as typed in `return-min`",
        finds: "In a run, a boiler burned while water colder than its `return-min` entered it. Time in which a `return-valve` led all of its \
            water round, until it was warm, does not count.",
        matters: "Its flue gas condenses there. A few minutes at each cold start are common, hours eat a boiler that is not built for it: the \
            sentence has both figures.",
        mend: "A self-acting three-way valve that mixes its outlet water into its return: enter it as `return-valve`. Or raise the curve or \
            `supply-min`.",
        example: "[boiler.b1]\nefficiency = \"non-condensing\"\npump = \"p-b1\"\nreturn-min = \"130 °F\"\nreturn-valve = \"135 °F\"",
    },
    Entry {
        code: "R05",
        name: "tap-cold",
        weight: WARNING,
        source: "our choice",
        finds: "In a run, hot water was drawn while the tank was colder than `tap`.",
        matters: "Somebody stands under a cold shower. A tank that hovers there is also no place for a long stay (legionella).",
        mend: "A larger tank or `coil`, a hotter `aquastat` behind a mixing valve at the tap, longer `priority-max`, or draws spread out.",
        example: "[tank]\naquastat = \"140 °F\"\ntap = \"120 °F\"",
    },
    Entry {
        code: "R06",
        name: "boilers-short-in-run",
        weight: WARNING,
        source: "our choice: 5.4 °F (3 K) for 3 h without a break, longer than a morning's climb",
        finds: "In a run, the supply stayed more than 5.4 °F (3 K) below its target for 3 h without a break while every boiler that was able to burn \
            did so at full fire.",
        matters: "All rooms fall behind together. The finding boilers-short asks the same of the design day without hot water and recovery; a run \
            has both.",
        mend: "Check the `design-loss` of each zone first. Where it is short in the morning alone, stagger the schedules or set back less. The \
            tank's `coil` counts while it has priority. Else more boiler is needed. Boilers that --fault took out are named and not counted.",
        example: "[schedule.early]\noccupied = [\"mon-fri 04:30-21:00\"]",
    },
    Entry {
        code: "R07",
        name: "boiler-stood-by",
        weight: WARNING,
        source: "our choice: 5.4 °F (3 K) for 30 min",
        finds: "In a run, the supply stayed more than 5.4 °F (3 K) below its target for 30 min without a break, those boilers that were called burned at \
            full fire, and one that could have helped was not called.",
        matters: "The plant has the heat and does not give it: the staging waits too long, or a shortest stop has not run out.",
        mend: "Lower `up-error` or `up-rate`, shorten `start-spacing` under staging, or `off-min` of the boiler, as its instructions allow.",
        example: "[staging]\nup-error = \"20 °F·min\"\nstart-spacing = \"5 min\"",
    },
    Entry {
        code: "R08",
        name: "return-valve-shut",
        weight: WARNING,
        source: "our choice: more than 1 h and more than a quarter of the hours in which it burned",
        finds: "In a run, a boiler burned for long with its `return-valve` shut to the header. Such a valve lets nothing out before the \
            boiler's water is hotter than its setting.",
        matters: "All of that fire warms the boiler alone, and is lost again when it cools. A boiler that is told less than the setting never \
            gives any heat at all.",
        mend: "Where the water is told too low: `supply-min`, or `signal-low` of a boiler that is told a target. Where it starts too often: \
            `on-min`, `off-min`, and which boiler leads.",
        example: "[boiler.b1]\ndrive = \"target\"\nsignal-low = \"140 °F\"\nsignal-high = \"200 °F\"\nreturn-valve = \"130 °F\"",
    },
    Entry {
        code: "R09",
        name: "alarm-stood",
        weight: WARNING,
        source: "the controller's own statement of its alarm relay",
        finds: "In a run or on a record, the alarm relay was dropped. One line a cause: since when, how often, for how many hours, whether it \
            stood at the end. While several causes stand the controller names one of them; boilers that are out of order are told apart by R10.",
        matters: "In the boiler room the beacon burns. Most causes wait for somebody to acknowledge them, and a run has nobody: so the first alarm of \
            a run usually stands to its end.",
        mend: "Cut by its own hot water (`hot-cuts` times within `hot-cuts-within`): see in the events how many boilers burned just before. Several, on \
            a load that one carries: staging brings too many (`up-error`, `start-spacing`, `up-rate`). One: its flow does not carry its heat \
            away. See `flow`, smallest fire (`turndown`), `outlet-max` against its target, and the zones that take little. A sensor: it is not recorded, stands still or is \
            out of range. A safety: R03. A boiler: R10.",
        example: "[guard]\nhot-cuts = 3\nhot-cuts-within = \"1 h\"",
    },
    Entry {
        code: "R10",
        name: "boiler-out-of-order",
        weight: WARNING,
        source: "the controller's own statement of the boiler's demand",
        finds: "In a run or on a record, a boiler was not asked because it failed to prove flow or flame and is locked out, or because its own alarm \
            contact says so.",
        matters: "The others carry its load, or nobody does. A lockout is not lifted by waiting: somebody looks, mends and acknowledges.",
        mend: "Flow not proved: its pump, its valves, its flow switch, `flow-proof-max`. Flame not proved: gas, ignition, `flame-proof-max` shorter than \
            the burner's own trial. Its own fault: its display.",
        example: "[boiler.b1]\nstatus-contact = true\nalarm-contact = true",
    },
    Entry {
        code: "R11",
        name: "own-limit-stops",
        weight: WARNING,
        source: "our choice: a limit is no control; short by more than 5.4 °F (3 K)",
        finds: "In a run, a boiler's own operating `limit` put its flame out. Where a boiler that is called was held off so while the supply \
            stood more than 5.4 °F (3 K) below its target, the hours and the mean are told: of all boilers together.",
        matters: "Below its limit by its differential, with flame again, the water swings as the limit says and not as the target does: the \
            zones get less than the curve asks for.",
        mend: "Lower `outlet-max`, `signal-high` or `fixed-target`, with room for what the burner goes above them; too little `flow` through \
            the boiler does the same. Or raise `limit` as its instructions allow.",
        example: "[boiler.b1]\nlimit = \"200 °F\"\noutlet-max = \"185 °F\"",
    },
    Entry {
        code: "R12",
        name: "fault-without-alarm",
        weight: WARNING,
        source: "our choice: what only the rooms show is found late",
        finds: "In a run with --fault, something failed and the alarm relay did not drop for it, to the next fault or the end. An alarm that \
            stood already is no such case: the report says so.",
        matters: "Nobody is called. The rooms tell, hours later; or nobody does, where the other boilers carry the load and the next failure \
            finds no reserve.",
        mend: "A proof at that place: `status-contact` and `alarm-contact` of a boiler, a flow switch in the safeties, `aux` of a safety; the \
            finding names what is missing. A `service-switch` that is read and off is taken for meant and raises no alarm. Where no proof \
            can be had, somebody looks on a round.",
        example: "[boiler.b1]\nstatus-contact = true\nalarm-contact = true",
    },
    Entry {
        code: "R13",
        name: "short-burns",
        weight: NOTE,
        source: "our choice: 10 burns under five minutes, and more than 5 % of all; the bounds of R02 are higher",
        finds: "In a run, ten burns of a boiler or more, and more than one in twenty, were shorter than five minutes. The sentence says what ended \
            them: the call, or the boiler's own control and the staging while somebody called.",
        matters: "Each start costs purge, ignition and wear, and a short burn never gets the boiler to its efficiency. The sum of short-cycle looks \
            at one zone on the smallest fire, and at no call that is shorter than the burn: a run has both.",
        mend: "Ended by calls: a longer `call-min` or smaller `thermostat-cycles` of zones that call alone, a longer `on-min` of the boiler. Else a smaller \
            fire (`turndown`), more water, a wider `band`.",
        example: "[zone.hall]\ncall-min = \"8 min\"",
    },
    Entry {
        code: "R14",
        name: "zone-kept-hot",
        weight: WARNING,
        source: "our choice: 5.4 °F (3 K), 5 % of the time",
        finds: "In a run, a zone got heat from its water for more than 5 % of the time without a call, while it was more than 5.4 °F (3 K) warmer than its \
            `room`. People, sun and weather alone are no such case. The temperatures are means of those hours.",
        matters: "Nobody asked for that heat: windows are opened, and the fuel is lost. Where the `circulation` of the zone is constant, its water is as hot \
            as the curve while any other zone calls; zone-hot says by how much over the year.",
        mend: "`circulation` on-call, a mixing valve of its own, or emitters that fit one curve. Without circulation: a pump that it shares with another \
            zone, a valve that stands open.",
        example: "[zone.hall]\ncirculation = \"on-call\"",
    },
    Entry {
        code: "S01",
        name: "not-simulated",
        weight: ERROR,
        source: "the simulator's own ranges, our choice",
        finds: "The physics that follow from the plant file mean nothing: a figure outside its range, two that must lie apart and do not. The \
            figures are the simulator's, in °C, K, W, L, kg/s and s.",
        matters: "A run would blow up or show a plant that cannot be. Most such faults are found before; what comes out here is a combination of \
            keys that are each in range.",
        mend: "Look at the keys that the figure comes from. rating.*: `supply`, `return` or `mean-water` and `room` of the emitter; the return \
            must be warmer than the room. draw.*: `tap` and `cold` of the tank. loss_*: `room`, `design-loss`, `outdoor-design`. \
            open_c: `opens-at`. Others bear nearly the name of their key.",
        example: "[zone.office.emitter]\nkind = \"panel-radiator\"\noutput = \"21 MBH\"\nsupply = \"75 °C\"\nreturn = \"65 °C\"\nroom = \"20 °C\"",
    },
    Entry {
        code: "S02",
        name: "run-stopped",
        weight: ERROR,
        source: "our choice: half a run is no result",
        finds: "A run could not be finished: the controller at the other end of a link fell silent, answered what cannot be read, or did \
            otherwise than the same logic in this process; or the weather gave no temperature.",
        matters: "Nothing is reported, so that no half run is taken for a whole one. A controller that does otherwise runs other code or \
            another configuration than was planned.",
        mend: "See cable, port and power, and that image and configuration block were made by this version from this plant file.",
        example: "",
    },
    Entry {
        code: "S03",
        name: "no-controller",
        weight: ERROR,
        source: "our choice",
        finds: "With --controller, no controller was reached: image or port cannot be opened, nobody answers, the board refuses its \
            configuration block, or it runs another one.",
        matters: "The run was asked for on that controller; it is never made on another in silence.",
        mend: "'scripts/firmware' builds the image; 'heatwright firmware PLANT --block FILE' writes the block that the board must run, and \
            prints its fingerprint.",
        example: "",
    },
    Entry {
        code: "W01",
        name: "weather-refused",
        weight: ERROR,
        source: "the form of each file: EPW, TMY3, ISD-Lite; bounds and longest gap are our choice",
        finds: "A weather file that cannot be used, with its line: not one of the known forms, a time twice or out of order, a gap of more \
            than 6 hours, a value outside -90 to 60 °C, a year that looks like the wrong unit, a column without its unit, a cut-off \
            end, UTC without an offset; or a stretch of days that is not in the weather.",
        matters: "A study over wrong weather looks just like one over right weather. Small gaps are filled by a straight line, and said so; \
            the rest is refused.",
        mend: "The sentence says what to do. Files in UTC need --utc-offset; the column of a CSV is called dry_bulb_c or dry_bulb_f.",
        example: "",
    },
    Entry {
        code: "W02",
        name: "calls-refused",
        weight: ERROR,
        source: "the form of the file, our choice",
        finds: "A record of thermostats (--calls) that cannot be used, with its line where one is to blame: a head that does not begin with time, a column that is no \
            zone of this plant, a field that is neither 0 nor 1, a missing field, a time that does not rise, or a record that does not reach over the run.",
        matters: "Holes in such a record cannot be repaired: nobody can guess whether somebody called.",
        mend: "Name each column by the id of a zone, or tank. Sort by time; choose days that the record holds with --from and --days.",
        example: "",
    },
    Entry {
        code: "W03",
        name: "record-refused",
        weight: ERROR,
        source: "the form of the file, our choice; gaps of up to two hours are bridged",
        finds: "A record of temperatures (--recorded) that cannot be used, with its line where one is to blame: a column that is no sensor of this plant or says no \
            unit, a reading that such a sensor cannot have, a field that is no number, a time that does not rise, a longer gap, no outdoor or no supply column; or that comes without --calls.",
        matters: "The controller is driven by it. Without calls nobody asks for heat, and nothing would happen.",
        mend: "Name each column by the id of a sensor, a blank and its unit; leave the field empty where a reading is missing; give the \
            thermostats with --calls.",
        example: "",
    },
];
