//! Records what a controller sees and states, for the replay on a board (`scripts/firmware`).
//!
//! ```text
//! record week PLANT DAYS FOLDER     a simulated run of the plant on the coldest days of the built-in year, a tick a second
//! record storm PLANT TICKS FOLDER   random contacts and readings with late ticks among them: the dearest ticks there are
//! ```
//!
//! Writes into FOLDER: `plant.blob`, the configuration; `seen.bin`, a record a tick (moment in tenths of a second as u32, then
//! the inputs, all little endian); `host.bin`, the outputs of each tick; of a week `events.txt`, what changed in which tick
//! (counted from zero); and prints how many ticks there were and the digest of
//! the last state.

use heatwright::plant::{Loaded, load};
use heatwright_core::{
    CivilMinute, Config, ContactUse, Inputs, Instant, Outputs, Reading, SensorUse, State, Temp, blob, diff, next_due,
    tick,
};
use heatwright_sim::{
    control::{Control, LinkError},
    run::{Options, run},
    weather::builtin,
    wires::Ideal,
};
use std::{
    error::Error,
    fs::File,
    io::{BufWriter, Write},
    path::Path,
};

/// A controller in this process that ticks every time it is asked, and writes down everything.
struct Recorder {
    config: Config,
    state: State,
    outputs: Outputs,
    seen: BufWriter<File>,
    stated: BufWriter<File>,
    events: Option<BufWriter<File>>,
    ticks: u32,
}

impl Recorder {
    fn new(config: &Config, folder: &Path) -> Result<Self, Box<dyn Error>> {
        std::fs::create_dir_all(folder)?;
        let mut block = [0; blob::BYTES_MAX];
        let length = blob::encode(config, &mut block).map_err(|e| format!("{e:?}"))?;
        std::fs::write(folder.join("plant.blob"), block.get(..length).unwrap_or_default())?;
        Ok(Self {
            state: State::new(config, None),
            config: config.clone(),
            outputs: Outputs::SAFE,
            seen: BufWriter::new(File::create(folder.join("seen.bin"))?),
            stated: BufWriter::new(File::create(folder.join("host.bin"))?),
            events: None,
            ticks: 0,
        })
    }

    fn record(&mut self, now: Instant, inputs: &Inputs) -> std::io::Result<()> {
        let before = self.outputs;
        tick(&self.config, &mut self.state, now, inputs, &mut self.outputs);
        if let Some(events) = &mut self.events {
            for e in diff(&before, &self.outputs) {
                writeln!(events, "{} {e:?}", self.ticks)?;
            }
        }
        self.seen.write_all(&now.tenths().to_le_bytes())?;
        self.seen.write_all(&inputs.encode())?;
        self.stated.write_all(&self.outputs.encode())?;
        self.ticks += 1;
        Ok(())
    }

    fn finish(mut self) -> Result<(), Box<dyn Error>> {
        self.seen.flush()?;
        self.stated.flush()?;
        if let Some(events) = &mut self.events {
            events.flush()?;
        }
        writeln!(std::io::stdout(), "ticks {} digest {:016x}", self.ticks, self.state.digest())?;
        Ok(())
    }
}

impl Control for Recorder {
    fn tick(&mut self, now: Instant, inputs: &Inputs, outputs: &mut Outputs) -> Result<(), LinkError> {
        self.record(now, inputs).map_err(|_| LinkError::Closed)?;
        outputs.clone_from(&self.outputs);
        Ok(())
    }

    fn next_due(&self) -> Option<Instant> {
        next_due(&self.state)
    }
}

/// A simulated run: one tick at the start and one each second.
fn week(l: &Loaded, days: u32, mut to: Recorder) -> Result<(), Box<dyn Error>> {
    let series = builtin()?.coldest_days(days)?;
    let options = Options {
        duration_s: f64::from(days) * 86_400.0 - 1.0,
        warm_up_s: 0.0,
        sample_s: 0.0,
        events_max: 0,
        ..Options::default()
    };
    run(&l.physics, &mut to, &mut Ideal::new(&l.physics), &series, &options, &mut ())?;
    to.finish()
}

/// Random numbers: a 64-bit xorshift, the same on every run.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, sides: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 % sides
    }
}

/// Random inputs. Stretches in which the plant obeys (flow and flame follow, safeties closed) stand between stretches in which
/// anything may happen, and every so often the controller was not asked for minutes, hours or days.
fn storm(l: &Loaded, ticks: u32, mut to: Recorder) -> Result<(), Box<dyn Error>> {
    let mut dice = Dice(0x9E37_79B9_7F4A_7C15);
    let points = &l.config.points;
    let mut inputs = Inputs::default();
    let mut now = 0u32;
    let mut calm = 0;
    for n in 0..ticks {
        if n % 900 == 0 {
            calm = dice.roll(3);
        }
        for (i, (u, slot)) in (0u8..).zip(points.sensors.iter().zip(&mut inputs.sensors)) {
            let (low, span) = if *u == SensorUse::Outdoor { (-2500, 4500) } else { (1500, 7500) };
            *slot = match dice.roll(if calm > 0 { 40 } else { 12 }) {
                0 if calm == 0 && dice.roll(8) == 0 => Reading::Open,
                1 if calm == 0 && dice.roll(8) == 0 => Reading::Short,
                2 | 3 => Reading::At(Temp::from_centi_c(low + dice.roll(span) as i16)),
                4..=8 if i % 2 == 0 => slot.temp().map_or(Reading::At(Temp::from_c(40)), |t| {
                    Reading::At(Temp::from_centi_c(t.centi_c().saturating_add(dice.roll(30) as i16 - 15)))
                }),
                _ => *slot,
            };
        }
        for (i, u) in (0u8..).zip(&points.contacts) {
            let c = heatwright_core::ContactId(i);
            let rest = match u {
                ContactUse::Safety(..)
                | ContactUse::BoilerSwitch(_)
                | ContactUse::Auto(_)
                | ContactUse::EndSwitch(_) => true,
                ContactUse::Flow(_) | ContactUse::Flame(_) | ContactUse::DamperOpen => true,
                ContactUse::Call(_) | ContactUse::TankCall => dice.roll(4) > 0,
                ContactUse::Hand(_) | ContactUse::BoilerFault(_) | ContactUse::Spare | ContactUse::Acknowledge => false,
            };
            let changes = dice.roll(if calm > 0 { 60 } else { 8 });
            match changes {
                0 if calm == 0 => inputs.set(c, !inputs.closed(c)),
                1..=3 => inputs.set(c, rest),
                _ => {}
            }
        }
        let civil = 8_000_000 + now / 600;
        inputs.civil = (dice.roll(200) > 0).then(|| CivilMinute::new(civil));
        to.record(Instant::from_tenths(now), &inputs)?;
        now += match dice.roll(400) {
            0 => 600 * (1 + dice.roll(60) as u32),
            1 => 36_000 * (1 + dice.roll(48) as u32),
            2..=40 => 10 * (1 + dice.roll(60) as u32),
            _ => 10,
        };
    }
    to.finish()
}

fn main() -> Result<(), Box<dyn Error>> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let [what, plant, count, folder] = args.as_slice() else {
        return Err("wanted: week PLANT DAYS FOLDER, or storm PLANT TICKS FOLDER".into());
    };
    let loaded = load(plant, &std::fs::read(plant)?).map_err(|r| r.render(Default::default()))?;
    let folder = Path::new(folder);
    let mut to = Recorder::new(&loaded.config, folder)?;
    match what.as_str() {
        "week" => {
            to.events = Some(BufWriter::new(File::create(folder.join("events.txt"))?));
            week(&loaded, count.parse()?, to)
        }
        "storm" => storm(&loaded, count.parse()?, to),
        other => Err(format!("`{other}` is neither week nor storm").into()),
    }
}
