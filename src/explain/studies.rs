//! Codes of the supply-temperature study and of short cycling. Here a code is a name.

use super::{ERROR, Entry, NOTE, WARNING, Weight};

/// In the order in which the studies look.
pub(super) const ENTRIES: &[Entry] = &[
    Entry {
        code: "curve-short",
        name: "curve-short",
        weight: Weight::Varies,
        source: "heat balance of a zone; more than 0.2 % of its loss is told, more than 20 % is an error: our choice",
        finds: "At some outdoor temperature the reset curve in effect gives a zone cooler water than its emitters need. Outdoor temperature, \
            degrees and heat missing are those of the worst place.",
        matters: "There the room cools, however long the zone calls: emitter heat at that supply and the zone's own flow is less than \
            `design-loss` x (room - outdoors) / (room - `site.outdoor-design`).",
        mend: "Raise the curve or `reset.supply-max`, leave the points out so that they are computed, or give that zone a larger \
            emitter. 'heatwright curve' shows every zone at every temperature.",
        example: "[reset]\nsupply-max = \"185 °F\"",
    },
    Entry {
        code: "curve-generous",
        name: "curve-generous",
        weight: NOTE,
        source: "our choice: 5 °F (2.8 K)",
        finds: "The curve lies more than 5 °F (2.8 K) above what any zone needs, at every outdoor temperature from design to warm-weather \
            shutdown.",
        matters: "Cooler water comes back cooler: condensing boilers condense more, mains lose less, valves and thermostats hold steadier.",
        mend: "Lower the typed points or `supply-min`, or leave the points out.",
        example: "[reset]\nsupply-min = \"90 °F\"",
    },
    Entry {
        code: "fan-waits",
        name: "fan-waits",
        weight: WARNING,
        source: "our choice: as long as the zone loses more than 5 % of its loss at design",
        finds: "In mild weather the curve in effect falls below the `aquastat` of a zone's fans while the zone still loses more than 5 % of what it \
            loses at `site.outdoor-design`.",
        matters: "From there on the fans never start, however long the thermostat calls, and a heater without its fan gives about a tenth: the room \
            is cold on mild days and right in the cold. A run tells it by its cause (R01). The swing of a burner may start them now and then.",
        mend: "An `aquastat` below the coolest water that is to heat, or `supply-min` above it. An aquastat keeps a fan from blowing cold air: \
            with water of less than about 100 °F (38 °C) people feel a draft (common practice, no source), and then the curve has to stay up.",
        example: "[reset]\nsupply-min = \"110 °F\"\n[zone.bay.fans]\ncount = 1\namps = \"2 A\"\naquastat = \"100 °F\"",
    },
    Entry {
        code: "flow-short",
        name: "flow-short",
        weight: ERROR,
        source: "heat balance: Q = q rho c dT",
        finds: "A zone whose `flow` is too small for its loss: the water would have to cool by more than emitter and room allow, or would \
            need hotter water than the boilers' own `limit` lets them make, most of it for the drop.",
        matters: "Loss (Btu/h) = 500 x flow (gal/min) x drop (°F), less with glycol. A hotter boiler does not help, so the computed curve \
            leaves the zone out.",
        mend: "Give it more `flow`: 10 to 20 °F of drop at design is usual. Then see that pump and pipe carry it.",
        example: "[zone.hall]\ndesign-loss = \"40 MBH\"\nflow = \"4 gal/min\"",
    },
    Entry {
        code: "flow-odd",
        name: "flow-odd",
        weight: WARNING,
        source: "our choice: a drop of 2 to 60 °F (1 to 33 K)",
        finds: "A zone whose `flow` hardly fits its `design-loss`: the water would cool by less than 2 °F or more than 60 °F at design.",
        matters: "Loss (Btu/h) = 500 x flow (gal/min) x drop (°F), less with glycol. Most such figures are a slip: gallons a minute for litres, \
            or a figure too many.",
        mend: "See both figures. A flow that is left out is taken from the loss.",
        example: "[zone.hall]\ndesign-loss = \"40 MBH\"\nflow = \"4 gal/min\"",
    },
    Entry {
        code: "emitter-odd",
        name: "emitter-odd",
        weight: WARNING,
        source: "our choice: 0.3 to 5 times the loss",
        finds: "A zone whose emitters give less than 0.3 or more than 5 times its `design-loss` with the hottest water that they can be given: \
            `reset.supply-max`, or `mixed-max` behind a mixing valve.",
        matters: "`output` is that of the whole zone at its rating; a figure of one radiator, or in the wrong unit, makes every study wrong.",
        mend: "See `output`, its rating temperatures and `design-loss`. A zone that is made for cool water is right at five times and more: \
            then lower `supply-max`, so that nothing hotter is ever asked for.",
        example: "[reset]\nsupply-max = \"130 °F\"",
    },
    Entry {
        code: "outlet-near",
        name: "outlet-near",
        weight: WARNING,
        source: "the boiler's own differential; above its target it stops 4 K (7.2 °F) later, our choice",
        finds: "A boiler whose highest target lies so near its `outlet-max` that its own differential goes past it: the curve with what the \
            header dilutes or with its `boost`, the `target` of the tank, or its own `fixed-target` where it is only called.",
        matters: "Above `outlet-max` the controller takes the call away. The boiler would be cut off in ordinary work, again and again.",
        mend: "Lower the target, or raise `outlet-max` together with `limit`, as the boiler's instructions allow.",
        example: "[boiler.b1]\noutlet-max = \"195 °F\"\nlimit = \"205 °F\"\n[reset]\nsupply-max = \"180 °F\"",
    },
    Entry {
        code: "mixed-short",
        name: "mixed-short",
        weight: Weight::Varies,
        source: "heat balance at the mixed temperature of the controller's own law; a fifth is our choice",
        finds: "A zone behind a mixing valve that needs hotter water than its controller mixes: in the coldest weather, `mixed-design`; or in milder, \
            where the mixed target falls with the curve. At design, or where more than a fifth of its loss is missing, it is an error.",
        matters: "Whatever the header has, the valve holds the zone at that; the sentence says how much of its loss it covers. A floor's need \
            falls on a straight line to its room, and so does its target; radiators need more than that in mild weather.",
        mend: "Raise `mixed-design` to what the sentence says it needs, and `mixed-max` with it, only where floor, covering and the floor \
            limit bear it. Else more or denser floor, less loss, or a second emitter.",
        example: "[zone.lobby.mixing]\nmixed-max = \"120 °F\"\n[zone.lobby.emitter]\nkind = \"floor\"\nspacing = \"6 in\"",
    },
    Entry {
        code: "floor-hot",
        name: "floor-hot",
        weight: WARNING,
        source: "EN 1264-2: 9 K (16 °F) above the room where people stay, 29 °C (84 °F) at 20 °C, 33 °C (91 °F) at most, and its basic characteristic q = 8.92 W/m2 x (surface - room)^1.1",
        finds: "A floor whose surface would have to be more than 16 °F (9 K) warmer than its room at the design temperature.",
        matters: "Surface = room + (loss / (8.92 x area))^(1/1.1), in W, m2 and K. Warmer than that feet tire and coverings suffer.",
        mend: "More heated area, less loss, or a second emitter for the coldest days. See that `area` is the area with tubes in it.",
        example: "[zone.lobby.emitter]\nkind = \"floor\"\narea = \"900 ft²\"",
    },
    Entry {
        code: "design-warm",
        name: "design-warm",
        weight: WARNING,
        source: "our choice: ten times the 0.4 % of a design condition",
        finds: "More than 4 % of the hours of the weather are colder than `site.outdoor-design`.",
        matters: "The curve is level below its coldest point, and emitters and boilers were sized for a day that is too mild; or the weather \
            is of another place.",
        mend: "See that the weather is of this place (--weather), then lower the design temperature.",
        example: "[site]\noutdoor-design = \"-5 °F\"",
    },
    Entry {
        code: "return-cold",
        name: "return-cold",
        weight: WARNING,
        source: "the boiler's instructions, as typed in `return-min`; 130 °F (54 °C) of a non-condensing boiler that has none is common practice, no source",
        finds: "Hours of the weather in which water enters a boiler that burns colder than its `return-min`, behind its `return-valve` where it \
            has one. The temperature that is named is the highest `return-min` of the plant.",
        matters: "Below it the flue gas condenses in a boiler that is not built for it: sulfuric and nitric acid eat heat exchanger and vent.",
        mend: "A self-acting three-way valve that mixes its outlet water into its return: enter it as `return-valve`. Or raise the curve or \
            `supply-min`. Where the boiler may condense, leave `return-min` out and say so under `efficiency`.",
        example: "[boiler.b1]\nefficiency = \"non-condensing\"\npump = \"p-b1\"\nreturn-min = \"130 °F\"\nreturn-valve = \"135 °F\"",
    },
    Entry {
        code: "return-valve-short",
        name: "return-valve-short",
        weight: Weight::Varies,
        source: "heat balance of the valve; an error where the zones get less than half of their need: our choice",
        finds: "A boiler gives the header no more than flow x (its water - the setting of its `return-valve`), however large its fire. With the \
            hottest water that it may be told that is so little that the zones lack heat. Its water: `fixed-target` where nobody tells it one, \
            the target of the curve with `header-trim-max` or `signal-low` where one is told, `outlet-max` where it is told a rate.\n\
            Or its own control comes on below that setting: its target less its differential, which 'heatwright settings' has. Between the \
            two the valve is shut to the header and nothing burns, until the jacket has cooled the boiler; what is told is the mean of such \
            rounds.",
        matters: "The valve leads the rest round and the burner stops on its own target: rooms are cold beside a boiler that is large enough. \
            It stands hot and does not fire, at every outdoor temperature whose target is that low.",
        mend: "Hotter water: `supply-min`, `signal-low`, `outlet-max`, `fixed-target`: at least the setting and the differential. Or more flow \
            through the boiler, or the valve set no higher than `return-min` asks for.",
        example: "[boiler.b1]\ndrive = \"target\"\nsignal-low = \"140 °F\"\nsignal-high = \"200 °F\"\nreturn-min = \"130 °F\"\nreturn-valve = \"130 °F\"",
    },
    Entry {
        code: "boilers-short",
        name: "boilers-short",
        weight: Weight::Varies,
        source: "heat balance at design; an error where more than 20 % is missing: our choice",
        finds: "At the design temperature the zones lose more than all boilers give at full fire, `input` times the efficiency at the \
            return of that day. The tank is not counted.",
        matters: "All rooms cool together, and a failed boiler makes it worse: 'heatwright redundancy' says how much. What water that circulates \
            all season gives some zones beyond their loss is in it and told; it is no error by itself.",
        mend: "Check the `design-loss` of each zone first: losses are often taken with a margin on each. If they are right, more boiler is \
            needed.",
        example: "",
    },
    Entry {
        code: "zone-hot",
        name: "zone-hot",
        weight: WARNING,
        source: "heat balance; 5.4 °F (3 K) and 5 % of the hours of heating are our choice",
        finds: "A zone with `circulation` constant that the curve in effect keeps more than 5.4 °F (3 K) above its `room` in more than 5 % of the hours \
            of heating. Its water moves whether it calls or not, and while any zone calls that water is hot: the room warms until it loses what its \
            emitter gives, and no thermostat stops it.",
        matters: "The room is too warm and heat is lost that nobody asked for: windows are opened. What it takes beyond its need is in the heat, fuel and hours \
            of 'heatwright curve'. Thermostatic radiator valves, which the plant file does not know, would hold the room.",
        mend: "`circulation` on-call; a mixing valve with a `mixed-design` of its own; or emitters of all zones that fit one curve: the zone that governs \
            sets the water of all. Fans on an `aquastat` are no help: they run while the water is hot.",
        example: "[zone.hall]\ncirculation = \"on-call\"\n[zone.hall.mixing]\nmixed-max = \"150 °F\"\nmixed-design = \"140 °F\"",
    },
    Entry {
        code: "tank-beside",
        name: "tank-beside",
        weight: WARNING,
        source: "heat balance at design; the coil by its own rating",
        finds: "At the design temperature the tank has no priority (colder than `priority-above`, or `priority-max` is nothing), the boilers carry the \
            zones, and zones and coil together need more than all boilers give at full fire.",
        matters: "While the tank charges, all rooms and the tank share what there is: both come late. The coil is reckoned at `target` against a tank \
            that has just called.",
        mend: "Nothing where the tank is drawn on for minutes: rooms hardly notice. Else a larger tank with a smaller `coil`, draws away from the \
            morning climb, `priority-above` lower, or more boiler.",
        example: "[tank]\ncoil = \"80 MBH\"\npriority-above = \"10 °F\"",
    },
    Entry {
        code: "boiler-large",
        name: "boiler-large",
        weight: NOTE,
        source: "our choice: twice what zones and tank take at design",
        finds: "A boiler that gives more than twice what all zones lose at `site.outdoor-design` and the tank's coil takes, together.",
        matters: "Even on the coldest day it burns at less than half. Through most of the season its smallest fire is more than the zones take: it \
            starts and stops, and each start costs heat, wear and noise. Often it is a figure too many in `input` or one too few in `design-loss`.",
        mend: "See both figures. Else a smaller boiler, two small ones that take turns, a larger `turndown`, or a buffer (short-cycle).",
        example: "[boiler.b1]\ninput = \"800 MBH\"",
    },
    Entry {
        code: "boilers-large",
        name: "boilers-large",
        weight: NOTE,
        source: "our choice: 1.5 times what zones and tank take at design, without the largest boiler",
        finds: "Several boilers that give more than 1.5 times what all zones lose at `site.outdoor-design` and the tank's coil takes, even without the largest. \
            One that is too large by itself is boiler-large.",
        matters: "A spare is one boiler; what is beyond it burns at its smallest fire or not at all, and is bought, vented and kept for nothing. Often it is a \
            figure too many in `input` or one too few in `design-loss`.",
        mend: "See both figures. Else fewer or smaller boilers, or a larger `turndown`.",
        example: "[boiler.b1]\ninput = \"400 MBH\"",
    },
    Entry {
        code: "spare-short",
        name: "spare-short",
        weight: NOTE,
        source: "our choice: 60 %; two boilers of two thirds each are common practice, no source",
        finds: "In a plant of several boilers, the others give less than 60 % of what all zones lose at `site.outdoor-design` when the one that gives most is out.",
        matters: "A failure on a cold day is then more than a cool building: 'heatwright redundancy' says how cold each zone gets, and how soon. Where pipes or \
            people cannot bear it, the plant has no spare although it has several boilers.",
        mend: "Boilers nearer alike in `input`, or one more. Where the building bears it, nothing.",
        example: "[boiler.b2]\ninput = \"600 MBH\"",
    },
    Entry {
        code: "altitude-high",
        name: "altitude-high",
        weight: Weight::Varies,
        source: "NFPA 54, from memory: 4 % for each 1,000 ft (305 m) above the sea, where the site lies above 2,000 ft (610 m)",
        finds: "`site.altitude` is above 2,000 ft (610 m), and a boiler does not say by `input-at` what its `input` holds for. Thin air carries less \
            oxygen: a burner that is rated at sea level gives less. It is a warning where all boilers together would then give less than the zones \
            lose.",
        matters: "Load, staging and fuel are reckoned with `input` as it is written. The dew point of the flue gas goes by the altitude already.",
        mend: "`input-at` = \"sea-level\" takes 4 % for each 1,000 ft from `input` in all that is reckoned, but for its relief valve, which carries \
            the plate. `input-at` = \"site\" where the maker's instructions give the input for this altitude: some burners are set or made for it \
            and lose less.",
        example: "[site]\naltitude = \"7200 ft\"\n[boiler.b1]\ninput = \"80 MBH\"\ninput-at = \"sea-level\"",
    },
    Entry {
        code: "header-trim-short",
        name: "header-trim-short",
        weight: WARNING,
        source: "mixing at the tees; 1.8 °F (1 K) of slack is our choice",
        finds: "Behind the header more return water mixes into the supply than the controller may make up for: boilers that are told a \
            target would have to run further above the curve than `header-trim-max`.",
        matters: "The supply stays below the curve and the zones fall short, although the boilers are large enough. 'heatwright curve' \
            counts the water that can be made.",
        mend: "Look for a slip in `flow` of the boilers and of the zones first. Larger boiler pumps or smaller zone flows do away with \
            it; else raise `header-trim-max`.",
        example: "[reset]\nheader-trim-max = \"20 °F\"",
    },
    Entry {
        code: "outlet-over",
        name: "outlet-over",
        weight: WARNING,
        source: "mixing at the tees; 1.8 °F (1 K) of slack is our choice",
        finds: "The curve needs hotter water at a boiler's outlet than its `outlet-max`, most often since the header dilutes it.",
        matters: "The controller never asks for it and the boiler's own limit would end it: the zones fall short. 'heatwright curve' \
            counts the water that can be made.",
        mend: "Look for a slip in `flow` of the boilers and of the zones; larger boiler pumps, or larger emitters and a lower curve.",
        example: "[boiler.b1]\nflow = \"22 gal/min\"",
    },
    Entry {
        code: "header-dilutes",
        name: "header-dilutes",
        weight: NOTE,
        source: "mixing at the tees; told above 1.8 °F (1 K), our choice",
        finds: "The zones draw more water than the pumps of the running boilers move, so return water mixes into the supply behind the tees.",
        matters: "Boiler outlet - supply = (zone flow / boiler flow - 1) x (supply - return). The boilers must run that much above the curve, \
            and condense less.",
        mend: "Larger boiler pumps or smaller zone flows do away with it; else `header-trim-max` must allow for it and `outlet-max` leave \
            room.",
        example: "[reset]\nheader-trim-max = \"15 °F\"",
    },
    Entry {
        code: "seldom-condensing",
        name: "seldom-condensing",
        weight: NOTE,
        source: "dew point of the flue gas by combustion; less than half of the hours, our choice",
        finds: "Boilers that can condense do so in less than half of the hours of heating.",
        matters: "Above a return of some 130 °F (54 °C) at sea level a condensing boiler is an ordinary one at a higher price: the latent \
            heat, about a tenth of the fuel, goes up the vent.",
        mend: "The zone that governs the curve decides: larger emitters there let the whole curve be lower. Smaller zone flows bring colder \
            water back. 'heatwright curve' shows what 10 °F less would take.",
        example: "",
    },
    Entry {
        code: "short-cycle",
        name: "short-cycle",
        weight: WARNING,
        source: "buffer-tank formula of hydronics texts; more than six starts an hour, common practice",
        finds: "The zone that takes least, calling alone, against the smallest fire of its lead, the worst of those that may lead: starts an hour \
            and length of a burn at the outdoor temperature where starts are most.",
        matters: "Burn = K d / (p - q), rest = K d / q, with K heat capacity of water and metal that take part, d the band, p the smallest \
            fire, q what the zone takes. Each start costs purge, ignition and wear. A real burn is shorter: it begins on a larger fire, the outlet is ahead \
            of what comes back, and it ends with its call. Losses and shortest stops lengthen the rest. A run counts the true ones (R02, R13).",
        mend: "Add the water that is named as a buffer, a boiler with a smaller fire (`turndown`), a wider `band`, a low-load band, or put \
            the zone together with another.",
        example: "[staging]\nband = \"8 °F\"\nlow-load-run = \"5 min\"\nlow-load-band = \"20 °F\"",
    },
    Entry {
        code: "short-burn",
        name: "short-burn",
        weight: WARNING,
        source: "buffer-tank formula of hydronics texts; burns under five minutes, common practice",
        finds: "The zone that takes least, calling alone, against the smallest fire of its lead, the worst of those that may lead: the shortest \
            burn over the weather, which is where the zone takes least.",
        matters: "Burn = K d / (p - q), with K heat capacity of water and metal that take part, d the band, p the smallest fire, q what the \
            zone takes: no burn is longer, most are shorter (R13). A burn ends before the boiler is warm: it purges, lights, condenses where it \
            should not and wears.",
        mend: "Add the water that is named as a buffer, a boiler with a smaller fire (`turndown`), a wider `band`, or put the zone together \
            with another.",
        example: "[staging]\nband = \"8 °F\"",
    },
];
