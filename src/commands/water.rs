//! `water`: the water side of the plant, each figure with the formula that it follows from.

use super::{Common, Failure, PlantFile, WeatherFile};
use crate::{
    exit::Exit,
    plant::{Loaded, carrier, checked::BoilerMains, lower},
    show::{
        Report, Table,
        units::{In, tidy},
    },
};
use clap::Args;
use heatwright_core::{BoilerId, Severity, Subject};
use heatwright_sim::study::{
    curve,
    water_side::{self, Given, WaterSide, balance, condensate, pressure},
};

/// Fill pressure, expansion tank, relief valves, boiler flow, condensate.
#[derive(Debug, Args)]
pub(super) struct Water {
    #[command(flatten)]
    file: PlantFile,
    #[command(flatten)]
    weather: WeatherFile,
}

impl Water {
    pub(super) fn run(&self, common: &Common) -> Result<Report, Failure> {
        let loaded = self.file.read()?;
        let weather = self.weather.read()?;
        let u = common.shown();
        let year = super::curve_study(&loaded, &weather.series).year;
        let (given, study) = of(&loaded, &year);
        let mut r = Report::of(&loaded.source, format!("Water side of {}", loaded.plant.site.name));
        r.text(
            "A planning aid: what is chosen by it is checked against the equipment's instructions and the local code. The \
             relief valve is the last thing between a boiler and a burst: no valve, cap or plug belongs in its inlet or its \
             discharge; the discharge runs full size, downhill, to where hot water and steam hurt nobody.",
        );
        r.text(super::basis::weather(&loaded, &weather.label, &weather.series, u));
        let mut facts = Facts { table: Facts::head(u), part: "", u };
        fill(&mut r, &mut facts, &given, &study);
        expansion(&mut r, &mut facts, &loaded, &given, &study);
        relief(&mut r, &mut facts, &loaded, &study);
        flow(&mut r, &mut facts, &loaded, &study);
        mains(&mut r, &mut facts, &loaded, &study);
        if loaded.physics.boilers.iter().any(|b| b.efficiency.can_condense()) {
            drip(&mut r, &mut facts, &study, &weather.label);
            r.text(format!("The year: heat along the curve. {}", super::basis::left_out(&loaded, year.hours, u)));
        } else {
            r.heading("Condensate");
            r.text(
                "No boiler of this plant is built to condense: no drain and no neutralizer are reckoned. Water that comes back below \
                 their return-min makes their flue gas condense where it harms them: see return-cold of 'heatwright curve'.",
            );
        }
        if !study.findings.is_empty() {
            r.heading("Findings");
        }
        for f in &study.findings {
            r.finding(&super::study_finding(f, &loaded, u));
        }
        super::weather_notes(&weather.series, &mut r);
        assumed(&mut r, &loaded);
        r.main = facts.table;
        let found = study.findings.iter().map(|f| super::study_json(f, &loaded));
        r.json = serde_json::json!({
            "plant": loaded.plant.site.name,
            "given": loaded.plant.water,
            "water": study,
            "findings": found.collect::<Vec<_>>(),
        });
        if study.findings.iter().any(|f| f.severity == Severity::Error) {
            r.exit = Exit::Findings;
        }
        Ok(r)
    }
}

/// The study of a plant whose curve was studied over a year.
pub(super) fn of(l: &Loaded, year: &curve::Year) -> (Given, WaterSide) {
    let given = lower::water::given(&l.plant);
    let study = water_side::study(&l.physics, &given, &l.config.reset, year);
    (given, study)
}

/// Figures and how each follows, part by part.
struct Facts {
    table: Table,
    part: &'static str,
    u: In,
}

impl Facts {
    fn head(_: In) -> Table {
        Table::new(&["Part", "What", ">Value", "Unit", "How it follows"])
    }

    /// One part as text: its heading and its figures, each `(what, value, unit, how)`.
    fn put(&mut self, r: &mut Report, part: &'static str, rows: Vec<(String, String, &'static str, String)>) {
        self.part = part;
        r.heading(part);
        let mut t = Table::new(&["What", ">Value", "", "How it follows"]);
        for (what, value, unit, how) in rows {
            t.row([what.clone(), value.clone(), unit.to_owned(), how.clone()]);
            self.table.row([part.to_owned(), what, value, unit.to_owned(), how]);
        }
        r.table(t);
    }

    /// A pressure in kilopascals.
    fn p(&self, kpa: f64) -> String {
        tidy(self.u.pressure(kpa), usize::from(self.u.is_us()))
    }

    fn pressure(&self, what: &str, kpa: f64, how: String) -> (String, String, &'static str, String) {
        (what.to_owned(), self.p(kpa), self.u.pressure_unit(), how)
    }
}

fn fill(r: &mut Report, f: &mut Facts, g: &Given, s: &WaterSide) {
    let (u, p) = (f.u, &s.pressure);
    let height = if u.is_us() { g.height_m / 0.3048 } else { g.height_m };
    let weight = if u.is_us() {
        // A plant without height has no weight to divide by.
        format!("{} ft / {} ft for 1 psi", tidy(height, 1), tidy(height / u.pressure(p.static_kpa).max(1e-9), 2))
    } else {
        format!("{} m x {} kPa/m", tidy(height, 1), tidy(p.static_kpa / height.max(1e-9), 2))
    };
    let weight = if g.height_m > 0.0 { weight } else { "nothing stands above the gauge".to_owned() };
    let sum = format!("{} + {} at the top", f.p(p.static_kpa), f.p(g.top_kpa));
    let mut rows = vec![
        f.pressure("weight of the water above the gauge", p.static_kpa, weight),
        f.pressure("fill pressure that is needed, cold", p.fill_needed_kpa, sum),
    ];
    if g.fill_kpa.is_some() {
        rows.push(f.pressure("fill pressure that is set", p.fill_kpa, "water.fill".to_owned()));
    }
    rows.push(f.pressure("relief valves open at", p.relief_kpa, "the lowest of the boilers' `relief`".to_owned()));
    let most = format!(
        "the smaller of {} x {} and {} - {}, less {} of pumps",
        1.0 - pressure::MARGIN_SHARE,
        f.p(p.relief_kpa),
        f.p(p.relief_kpa),
        f.p(pressure::MARGIN_KPA),
        f.p(g.pump_rise_kpa)
    );
    rows.push(f.pressure("most at the expansion tank, hot", p.max_kpa, most));
    let top = format!("{} - {} + {} of air", f.p(p.fill_kpa), f.p(p.static_kpa), f.p(p.air_kpa));
    rows.push(f.pressure("at the highest point, absolute", p.top_abs_kpa, top));
    let boils = format!("saturation at {}; the line above must be more", u.temp_text(g.hottest_c));
    rows.push(f.pressure("below this it boils, absolute", p.boils_abs_kpa, boils));
    f.put(r, "Fill pressure", rows);
    r.text("At the gauge of the boilers, above the air's pressure, unless called absolute.");
}

fn expansion(r: &mut Report, f: &mut Facts, l: &Loaded, g: &Given, s: &WaterSide) {
    let (u, e) = (f.u, &s.expansion);
    let unit = u.water_unit();
    let litres = |l: f64| tidy(u.water(l), 1);
    let mut rows = vec![
        ("water of the plant".to_owned(), litres(e.volume_l), unit, "water.volume".to_owned()),
        (
            "the fluid expands by".to_owned(),
            tidy((e.ratio - 1.0) * 100.0, 2),
            "%",
            format!("v2 / v1 - 1, from {} to {}", u.temp_text(g.fill_c), u.temp_text(g.hottest_c)),
        ),
        (
            "the pipes by".to_owned(),
            tidy(e.pipes_share * 100.0, 2),
            "%",
            format!(
                "3 x {:.1}e-6 1/{} x {}",
                g.pipe.expansion_1_k() * 1e6 / if u.is_us() { 1.8 } else { 1.0 },
                u.diff_unit(),
                u.diff_text(g.hottest_c - g.fill_c)
            ),
        ),
        (
            "water that the tank takes".to_owned(),
            litres(e.net_l),
            unit,
            format!(
                "{} x ({} % - {} %)",
                litres(e.volume_l),
                tidy((e.ratio - 1.0) * 100.0, 2),
                tidy(e.pipes_share * 100.0, 2)
            ),
        ),
    ];
    let need = match e.tank_l {
        Some(t) => (
            litres(t),
            format!("{} / (1 - {} / {}), absolute", litres(e.net_l), f.p(e.low_abs_kpa), f.p(e.high_abs_kpa)),
        ),
        None => ("none".to_owned(), "the fill pressure leaves no room below the relief valves".to_owned()),
    };
    rows.push(("diaphragm tank, at least".to_owned(), need.0, unit, need.1));
    if (e.charge_abs_kpa - e.low_abs_kpa).abs() > 0.5 {
        let (with, how) = match e.charged_l {
            Some(t) if e.charge_abs_kpa > e.low_abs_kpa => (
                litres(t),
                format!("{} / (1 - {} / {}), absolute", litres(e.net_l), f.p(e.charge_abs_kpa), f.p(e.high_abs_kpa)),
            ),
            Some(t) => {
                (litres(t), format!("the line above x {} / {}, absolute", f.p(e.low_abs_kpa), f.p(e.charge_abs_kpa)))
            }
            None => ("none".to_owned(), "that charge leaves no room below the relief valves".to_owned()),
        };
        rows.push(("the same with its air charge as given".to_owned(), with, unit, how));
    }
    let stands = if e.acceptance_l > e.net_l * 1.001 {
        "the water that it takes, and what stands in it cold by its charge"
    } else {
        "its acceptance volume: the water that it takes, above"
    };
    rows.push(("its diaphragm lets in, at least".to_owned(), litres(e.acceptance_l), unit, stands.to_owned()));
    if let Some(a) = g.acceptance_l {
        let how = "water.expansion-tank-acceptance".to_owned();
        rows.push(("diaphragm that is there".to_owned(), litres(a), unit, how));
    }
    if let Some(t) = g.tank_l {
        rows.push(("tank that is there".to_owned(), litres(t), unit, "water.expansion-tank".to_owned()));
        let hot = e.hot_kpa.map_or("full".to_owned(), |k| f.p(k));
        rows.push((
            "pressure with it at the hottest".to_owned(),
            hot,
            u.pressure_unit(),
            "P1 Vair / (Vair - net), less the air's pressure".to_owned(),
        ));
    }
    f.put(r, "Expansion tank", rows);
    let volume_assumed = l.plant.assumptions.iter().any(|a| a.key == "water.volume");
    r.text(format!(
        "Vt = Vs ((v2/v1 - 1) - 3 a dT) / (1 - P1/P2) (ASHRAE, diaphragm tank). Charge the empty tank to the fill pressure.{}",
        if volume_assumed { " The plant's volume is added up from the plant file: long branches hold more." } else { "" }
    ));
}

fn relief(r: &mut Report, f: &mut Facts, l: &Loaded, s: &WaterSide) {
    let u = f.u;
    let mut rows = Vec::new();
    for x in &s.reliefs {
        let name = l.names.title(Subject::Boiler(x.boiler));
        let input = l.physics.boilers.get(x.boiler.index()).map_or(0.0, |b| b.input_w);
        rows.push((
            format!("{name} can give"),
            tidy(u.heat(x.needed_w), 1),
            u.heat_unit(),
            format!(
                "{} x {} %, its best at full fire; as steam {} {}/h",
                u.heat_text(input),
                tidy(x.needed_w / input.max(1e-9) * 100.0, 1),
                tidy(u.weight(x.needed_steam_kg_h), 0),
                u.weight_unit()
            ),
        ));
        rows.push(match x.rated_w {
            Some(w) => {
                (format!("{name} relief carries"), tidy(u.heat(w), 1), u.heat_unit(), "relief-capacity".to_owned())
            }
            None => (format!("{name} relief carries"), "not said".into(), "", "read the valve's plate".to_owned()),
        });
        let plate = x.working_kpa.map_or("the boiler's plate is not given".to_owned(), |k| {
            format!("no higher than the boiler's plate, {}", u.pressure_text(k))
        });
        rows.push(f.pressure(&format!("{name} relief opens at"), x.set_kpa, plate));
    }
    f.put(r, "Relief valves", rows);
    r.text(
        "Each must carry at least what its boiler can give, and open no higher than the plate allows (ASME Section IV).",
    );
}

fn flow(r: &mut Report, f: &mut Facts, l: &Loaded, s: &WaterSide) {
    let u = f.u;
    let factor = water_side::flow::factor_w_m3s_k(&l.physics);
    let (factor, per) = if u.is_us() {
        (factor * 3.785_411_784e-3 / 60.0 / 1.8 * 3600.0 / 1_055.055_852_62, "Btu/h per gal/min °F")
    } else {
        (factor * 1e-6, "kW per L/s K")
    };
    let figures = if u.is_us() { 0 } else { 2 };
    let mut rows = vec![(
        "the fluid carries".to_owned(),
        tidy(factor, figures),
        per,
        format!(
            "density times specific heat, both at {}, as all flows here",
            u.temp_text(heatwright_sim::fluid::RUN_C)
        ),
    )];
    let kg_l = carrier::kg_l(&l.physics.fluid);
    let q = |kg_s: f64| tidy(u.flow(kg_s / kg_l), if u.is_us() { 1 } else { 2 });
    for b in &s.flows {
        let name = l.names.title(Subject::Boiler(b.boiler));
        let bounds = match b.max_kg_s {
            Some(m) => format!("allowed {} to {}", q(b.min_kg_s), q(m)),
            None => format!("at least {}; flow-max is not given", q(b.min_kg_s)),
        };
        let who = if b.by_zones { "its share of all zones; " } else { "its pump; " };
        rows.push((format!("{name} flow at design"), q(b.design_kg_s), u.flow_unit(), format!("{who}{bounds}")));
        if b.by_zones {
            rows.push((
                format!("{name} least flow"),
                q(b.least_kg_s),
                u.flow_unit(),
                "its share of the smallest zone alone".to_owned(),
            ));
        }
        rows.push((
            format!("{name} rise at full fire"),
            tidy(u.diff(b.rise_k), 1),
            u.diff_unit(),
            format!("{} / ({} x {})", u.heat_text(b.output_w), tidy(factor, figures), q(b.design_kg_s)),
        ));
    }
    f.put(r, "Boiler flow", rows);
}

fn mains(r: &mut Report, f: &mut Facts, l: &Loaded, s: &WaterSide) {
    let Some(b) = &s.balance else { return };
    let u = f.u;
    let kg_l = carrier::kg_l(&l.physics.fluid);
    let q = |kg_s: f64| tidy(u.flow(kg_s / kg_l), if u.is_us() { 1 } else { 2 });
    let rated: Vec<f64> = l.physics.boilers.iter().map(|b| b.flow_kg_s).collect();
    let apart = |all: &[f64]| format!("{} % apart", tidy(balance::uneven(all, &rated) * 100.0, 1));
    let here = |m: BoilerMains| if l.plant.water.boiler_mains == Some(m) { "as built; " } else { "" };
    let layout = |words: &str, main: BoilerMains, all: &[f64]| {
        let how = format!("{}{}", here(main), apart(all));
        let each = all.iter().enumerate().map(|(k, x)| {
            let name = l.names.title(Subject::Boiler(BoilerId(k as u8)));
            (format!("{name} by {words}"), q(*x), u.flow_unit(), how.clone())
        });
        each.collect::<Vec<_>>()
    };
    let mut rows = layout("direct return", BoilerMains::DirectReturn, &b.direct_kg_s);
    rows.extend(layout("reverse return", BoilerMains::ReverseReturn, &b.reverse_kg_s));
    rows.push((
        "fastest in the mains".to_owned(),
        tidy(if u.is_us() { b.velocity_m_s / 0.3048 } else { b.velocity_m_s }, 1),
        if u.is_us() { "ft/s" } else { "m/s" },
        "all boilers' flow over the bore's area".to_owned(),
    ));
    f.put(r, "Boilers side by side", rows);
    r.text(
        "All boilers' flow, each in the order of the file, by equal loss of pressure along every way: K q^2 of the boiler and f L/D rho \
         v^2/2 of each piece of main. First supplied, last returned makes the ways equally long. A pump for each boiler evens out \
         what is left.",
    );
}

fn drip(r: &mut Report, f: &mut Facts, s: &WaterSide, weather: &str) {
    let (u, c) = (f.u, &s.condensate);
    let unit = u.water_unit();
    let amount = |kg: f64, decimals| tidy(u.water(kg), decimals);
    let hour = if u.is_us() { "gal/h" } else { "L/h" };
    let per = if u.is_us() {
        format!(
            "0.0405 kg/MJ of fuel, 1.13 gal a therm; {} {} burn",
            tidy(u.energy(c.year_fuel_kwh), 0),
            u.energy_unit()
        )
    } else {
        format!("0.0405 kg/MJ of fuel at most; {} kWh burn", tidy(c.year_fuel_kwh, 0))
    };
    let rows = vec![
        (
            "in a year".to_owned(),
            amount(c.year_kg, 0),
            unit,
            format!("the combustion model along the curve over {weather}; {per}"),
        ),
        (
            "fastest of the year".to_owned(),
            amount(c.fastest_kg_h, 1),
            hour,
            format!("all boilers at full fire, return {}", u.temp_text(c.return_c)),
        ),
        (
            "drain and pump carry".to_owned(),
            amount(c.start_kg_h, 1),
            hour,
            format!("all boilers at full fire into a cold plant; the fuel's water is {}", amount(c.ceiling_kg_h, 1)),
        ),
        (
            "limestone a year, acids".to_owned(),
            tidy(u.weight(c.acid_carbonate_kg), 2),
            u.weight_unit(),
            format!("V x 10^-pH x 100.09 / 2 g/L at pH {}", condensate::PH),
        ),
        (
            "and dissolved gas, at most".to_owned(),
            tidy(u.weight(c.gas_carbonate_kg), 2),
            u.weight_unit(),
            "V x 0.0244 mol/(L atm) x CO2 x 100.09 g/L".to_owned(),
        ),
    ];
    f.put(r, "Condensate and neutralizer", rows);
    if c.ceiling_kg_h > 0.0 {
        r.text(
            "It is sour (pH 3.8 to 5.4): neutralize it, and lead it to the drain in plastic, not in copper, \
             cast iron or over concrete. Fill the trap with water before the first fire: a dry trap lets flue gas, with carbon \
             monoxide, into the room. A frozen or blocked drain must stop the burner.",
        );
    }
}

/// What of the answers hangs on a value that nobody has given.
fn assumed(r: &mut Report, l: &Loaded) {
    let keys = ["relief", "pressure-drop", "flow", "flow-min", "water"];
    let about = |k: &str| {
        k.starts_with("water.")
            || k.strip_prefix("boiler.").is_some_and(|k| keys.iter().any(|e| k.ends_with(&format!(".{e}"))))
    };
    let mut lines: Vec<String> = Vec::new();
    for a in l.plant.assumptions.iter().filter(|a| about(&a.key)) {
        lines.push(format!("{} = {} ({})", a.key, a.value, a.reason));
    }
    if lines.is_empty() {
        return;
    }
    r.heading("Assumed");
    r.text(
        "These answers hang on values that the plant file does not give. Measure them, read the plates, and type them.",
    );
    for line in lines {
        r.item(line);
    }
}
