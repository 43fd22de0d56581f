//! Codes of the control settings in a plant file.

use super::{ERROR, Entry, WARNING, Weight};

/// In the order of the codes.
pub(super) const ENTRIES: &[Entry] = &[
    Entry {
        code: "P40",
        name: "supply-bounds-crossed",
        weight: ERROR,
        source: "our choice",
        finds: "`supply-max` of the reset is not above its `supply-min`.",
        matters: "Whatever the curve says is held between the two; crossed, they leave no temperature.",
        mend: "Correct the one that is wrong. Boilers that must not condense want a high `supply-min`, condensing ones a low one.",
        example: "[reset]\nsupply-min = \"90 °F\"\nsupply-max = \"185 °F\"",
    },
    Entry {
        code: "P41",
        name: "curve-points",
        weight: ERROR,
        source: "our choice; up to 8 points is the room of the controller",
        finds: "A typed reset curve of fewer than 2 or more than 8 points, one that does not run from cold to warm outdoors, or one that \
            asks for hotter water on a warmer day. Of two points that contradict each other both are shown.",
        matters: "Between two points the target follows a straight line, past the ends it stays level. A curve that runs back has two \
            answers; one that rises with the day heats least when it is coldest.",
        mend: "Write the points from the coldest outdoor temperature to the warmest, each once, the supply falling. Left out, they are \
            computed from the emitters.",
        example: "[reset]\npoints = [\n  { outdoor = \"0 °F\", supply = \"180 °F\" },\n  { outdoor = \"60 °F\", supply = \"95 °F\" },\n]",
    },
    Entry {
        code: "P42",
        name: "staging-contradicts-itself",
        weight: ERROR,
        source: "our choice",
        finds: "Under [staging]: `down-rate` not 5 % or more below `up-rate`, `up-rate` no more than the smallest fire of a \
            boiler that is told its rate where there are several, `low-load-band` narrower than `band`, or as many `plant-ignored-calls` as \
            the plant has zones.",
        matters: "With the rates crossed or close together a boiler that was just added is dropped again, for ever. Above its smallest fire any \
            boiler that burns brings the next. The low-load band is there to make burns \
            longer. A plant that ignores every call never heats.",
        mend: "Keep the rates well apart: 80 and 60 % are taken where neither is written. Ignore fewer calls than there are zones.",
        example: "[staging]\nup-rate = \"80 %\"\ndown-rate = \"60 %\"",
    },
    Entry {
        code: "P43",
        name: "rotation-not-whole-days",
        weight: ERROR,
        source: "our choice",
        finds: "The time between two changes of the lead boiler (`every`) is not a whole number of days.",
        matters: "The change happens at one time of day, `at`, when people are there to see it.",
        mend: "Write it in days.",
        example: "[rotation]\npolicy = \"calendar\"\nevery = \"7 d\"\nat = \"10:00\"",
    },
    Entry {
        code: "P44",
        name: "target-above-boilers",
        weight: ERROR,
        source: "our choice",
        finds: "`reset.supply-max` is above the lowest `outlet-max` of the boilers.",
        matters: "The curve could ask for water that a boiler is never told to give: the zones run short while that boiler believes it is \
            done.",
        mend: "Lower `supply-max`, or raise `outlet-max` of the boilers as far as their limits and their instructions allow.",
        example: "[reset]\nsupply-max = \"185 °F\"\n[boiler.b1]\noutlet-max = \"190 °F\"",
    },
    Entry {
        code: "P66",
        name: "glycol-freezes",
        weight: Weight::Varies,
        source: "freezing points of ASHRAE Fundamentals, from memory; the bounds are our choice",
        finds: "Glycol that freezes at a warmer temperature than `site.outdoor-design`. A warning where it freezes 18 °F (10 K) or \
            more above it or its `share` is below 20 %, else a note.",
        matters: "Where the water stands in the cold it turns to slush and moves no more. Pipes burst only colder still; how far down a \
            mixture keeps them whole is in its maker's table. A weak mixture also keeps badly.",
        mend: "Take the `share` from the maker's table for the coldest place that the water reaches. Where all of it stays indoors, \
            this is for you to judge.",
        example: "[fluid]\nkind = \"propylene-glycol\"\nshare = \"35 %\"",
    },
    Entry {
        code: "P67",
        name: "fallback-off",
        weight: ERROR,
        source: "our choice",
        finds: "`outdoor-fallback` is warmer than where heating comes back: `warm-weather-off` less `warm-weather-differential`.",
        matters: "With a broken outdoor sensor the controller takes that temperature for granted. It would hold the plant in \
            warm-weather shutdown in January.",
        mend: "Leave it out: the outdoor design temperature is taken.",
        example: "[reset]\noutdoor-fallback = \"0 °F\"",
    },
    Entry {
        code: "P68",
        name: "heating-comes-late",
        weight: WARNING,
        source: "our choice: 40 % of the design loss, 20 % where `warm-weather-off` is below 50 °F (10 °C)",
        finds: "Where heating comes back (`warm-weather-off` less `warm-weather-differential`) some zone loses more than 40 % of its \
            `design-loss`, `gains` taken off; more than 20 % where `warm-weather-off` is below 50 °F (10 °C).",
        matters: "Above that temperature outdoors nothing is heated: rooms are cold on every mild day.",
        mend: "Raise `warm-weather-off`, or narrow `warm-weather-differential`.",
        example: "[reset]\nwarm-weather-off = \"62 °F\"\nwarm-weather-differential = \"3 °F\"",
    },
    Entry {
        code: "P69",
        name: "frozen-too-soon",
        weight: ERROR,
        source: "our choice: 5 min",
        finds: "`frozen-after` is so short that a sound sensor would be taken for broken.",
        matters: "A reading stands still for minutes while nothing changes. Each time the alarm would be raised and the stated fallback \
            would be taken.",
        mend: "Leave it out, or write 0 s for no check.",
        example: "[guard]\nfrozen-after = \"30 min\"",
    },
    Entry {
        code: "P70",
        name: "purge-never",
        weight: ERROR,
        source: "our choice",
        finds: "The heat purge ends (`until`) at a temperature that the supply never rises above: `reset.supply-max`.",
        matters: "It would end in the moment in which it begins, and the heat stays in the boiler.",
        mend: "Lower `until`.",
        example: "[purge]\nuntil = \"110 °F\"",
    },
    Entry {
        code: "P71",
        name: "tank-against-itself",
        weight: ERROR,
        source: "our choice",
        finds: "Temperatures of the tank that contradict each other: `tap` not above `cold`, `aquastat` below `tap`, `purge-max` at or \
            above the tank's limit.",
        matters: "Nobody ever gets the water that the taps want, or each purge ends in a trip of the limit.",
        mend: "Correct the one that is wrong: `cold` below `tap`, `tap` below `aquastat`, `purge-max` below the limit's `opens-at`.",
        example: "[tank]\naquastat = \"140 °F\"\ntap = \"120 °F\"\ncold = \"50 °F\"",
    },
    Entry {
        code: "P72",
        name: "priority-never",
        weight: WARNING,
        source: "our choice",
        finds: "`priority-above` is less than 14 °F (8 K) colder than `warm-weather-off`: the tank has priority only while hardly anything is heated.",
        matters: "Priority that never comes is probably a slip: the key says how cold it may be with priority still on.",
        mend: "Write the outdoor temperature below which zones are more urgent than the tank, or `priority-max` of nothing.",
        example: "[tank]\npriority-above = \"10 °F\"",
    },
    Entry {
        code: "P73",
        name: "draw-too-large",
        weight: WARNING,
        source: "heat balance of one draw",
        finds: "One of the `draws` takes more heat than the full tank holds above `cold` and the `coil` brings while it lasts.",
        matters: "Its end is cold whatever the plant does.",
        mend: "See the draw's flow: a shower takes 2 gal/min, a bath 5 (common practice). If it is right, a larger tank or `coil`.",
        example: "[tank]\ncoil = \"150 MBH\"",
    },
    Entry {
        code: "P74",
        name: "motor-gives-more-than-it-takes",
        weight: ERROR,
        source: "volts x amps, x 1.73 for three phases, is all that a motor takes",
        finds: "The `hp` of a pump or of fans is more than its `volts` and `amps` can bring in.",
        matters: "Breaker, contactor and wire are chosen by these figures; one of them is wrong.",
        mend: "Copy all from one nameplate. A pump that is rated in amps alone has no `hp`.",
        example: "[pump.p-hall]\nmotor = \"standard\"\nhp = \"1/6 hp\"\namps = \"4.4 A\"",
    },
    Entry {
        code: "P75",
        name: "volume-too-small",
        weight: ERROR,
        source: "addition; a tenth of slack is our choice",
        finds: "`water.volume` is less than nine tenths of what header, boilers, mains and emitters of the same file hold.",
        matters: "The expansion tank is sized by it: too little water silences the finding on a tank that is too small, and the relief \
            valves open.",
        mend: "Leave it out: the parts are added up. Or write all water, branch pipes included.",
        example: "[water]\nvolume = \"400 gal\"",
    },
    Entry {
        code: "P76",
        name: "gains-above-loss",
        weight: WARNING,
        source: "our choice",
        finds: "A zone whose `gains` are more than its `design-loss`.",
        matters: "It never needs heat while it is occupied, on the coldest day either: one of the two is probably a slip.",
        mend: "Gains are people, lights and equipment: a person gives some 250 Btu/h of warmth (common practice, no source).",
        example: "[zone.hall]\ngains = \"15 MBH\"",
    },
    Entry {
        code: "P87",
        name: "protection-off",
        weight: Weight::Varies,
        source: "our choice; 55 °F for rooms is common practice, no source",
        finds: "A protection that is switched off or set where it no longer protects: `frozen-after` of 0 s, `frost-water` below 39 °F (4 °C), \
            `frost-outdoor` more than 18 °F (10 K) below `outdoor-design`, `low-water-stops-pumps` = false where boilers have pumps, a \
            `room-setback` below 45 °F (7 °C): warnings. `hot-cuts` of 0: a note. Frost of water is not looked at with glycol.",
        matters: "Each is there for a day that seldom comes, and nothing misses it until then: ice in a pipe, a sensor that is believed while \
            rooms freeze, a pump without water.",
        mend: "Leave the key out and the usual value is taken. Leave it as it is where the plant has another protection.",
        example: "[guard]\nfrozen-after = \"30 min\"\nfrost-water = \"45 °F\"\nhot-cuts = 3",
    },
];
