//! A controller at the other end of a serial port, which is a pseudo-terminal here: a day there ends as a day in this process,
//! and a board that does otherwise, runs something else, says nonsense or says nothing ends the run.
#![cfg(unix)]

use heatwright::{
    link::{Linked, Refused, serial},
    plant::{Loaded, load},
};
use heatwright_core::{
    Config, Outputs, State, blob,
    link::{Answer, Ask, Receiver, serve},
};
use heatwright_sim::{
    control::{Control, InProcess, LinkError},
    run::{Options, RunError, run},
    weather::builtin,
    wires::Ideal,
};
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use std::{
    fs::File,
    io::{Read, Write},
    path::PathBuf,
    thread,
    time::{Duration, Instant},
};

fn workshop() -> Loaded {
    let path = format!("{}/docs/examples/workshop.toml", env!("CARGO_MANIFEST_DIR"));
    load(&path, &std::fs::read(&path).unwrap()).ok().unwrap()
}

/// What a board does with an answer before it sends it.
type Spoil = fn(&mut Vec<u8>, u32);

/// A pseudo-terminal: the board's end of the line, and the port.
fn line() -> (File, PathBuf) {
    let ours = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY).unwrap();
    grantpt(&ours).unwrap();
    unlockpt(&ours).unwrap();
    let port = PathBuf::from(ptsname(&ours, Vec::new()).unwrap().to_str().unwrap());
    (File::from(ours), port)
}

/// A board on a pseudo-terminal that runs `config`; gives the port.
fn board(config: Config, spoil: Spoil) -> PathBuf {
    let (mut port_file, port) = line();
    thread::spawn(move || {
        let mut block = [0; blob::BYTES_MAX];
        let length = blob::encode(&config, &mut block).unwrap();
        let fingerprint = blob::fingerprint(&block[..length]);
        let (mut state, mut outputs) = (State::new(&config, None), Outputs::SAFE);
        let (mut receiver, mut bytes, mut answers) = (Receiver::default(), [0; 256], 0);
        loop {
            // Until the host has opened the port, and after it has closed it, there is nothing to read.
            let Ok(n) = port_file.read(&mut bytes) else {
                thread::sleep(Duration::from_millis(1));
                continue;
            };
            for b in &bytes[..n] {
                let Some(m) = receiver.take(*b) else { continue };
                let mut frame = serve(&m, fingerprint, &config, &mut state, &mut outputs).to_vec();
                spoil(&mut frame, answers);
                answers += 1;
                port_file.write_all(&frame).unwrap();
            }
        }
    });
    port
}

fn day(l: &Loaded, control: &mut dyn Control) -> Result<heatwright_sim::run::Run, RunError> {
    let options = Options { duration_s: 6.0 * 3600.0, warm_up_s: 600.0, ..Options::default() };
    let weather = builtin().unwrap().coldest_days(1).unwrap();
    run(&l.physics, control, &mut Ideal::new(&l.physics), &weather, &options, &mut ())
}

fn opened(config: Config, spoil: Spoil) -> Result<Linked, Refused> {
    serial::open_port(&board(config, spoil), &workshop().config)
}

#[test]
fn a_run_over_a_port_ends_as_one_in_this_process() {
    let l = workshop();
    let mut far = opened(l.config.clone(), |_, _| {}).unwrap();
    let over_the_port = day(&l, &mut far).unwrap();
    let here = day(&l, &mut InProcess::new(l.config.clone())).unwrap();
    assert_eq!(over_the_port, here);
    assert!(here.summary.boilers.iter().any(|b| b.starts > 0), "nothing happened");
    assert_eq!(far.ticks(), 6 * 3600 + 600 + 1);
    far.digest().unwrap();
}

/// The board is not switched off between the runs: each begins as at power-up. A host that was cut off in the middle of a
/// question went before them.
#[test]
fn a_second_run_on_the_same_board_begins_anew() {
    let l = workshop();
    let port = board(l.config.clone(), |_, _| {});
    let half = Ask::Digest.frame(1);
    let mut cut_off = File::options().write(true).open(&port).unwrap();
    cut_off.write_all(&half[..half.len() / 2]).unwrap();
    thread::sleep(Duration::from_millis(200));
    let once = || {
        let mut far = serial::open_port(&port, &l.config).unwrap();
        let run = day(&l, &mut far).unwrap();
        (run, far.digest().unwrap())
    };
    assert_eq!(once(), once());
}

/// A device that talks without end and never ends a frame: refused in time, not waited for.
#[test]
fn a_port_that_only_chatters_is_given_up() {
    for chatter in [&b"$TEXT,hello\r\n"[..], &[0]] {
        let (mut device, port) = line();
        thread::spawn(move || {
            while device.write_all(chatter).is_ok() {
                thread::sleep(Duration::from_millis(20));
            }
        });
        let began = Instant::now();
        let refused = serial::open_port(&port, &workshop().config).err().unwrap();
        assert!(matches!(refused, Refused::Link(LinkError::Garbled)), "{refused}");
        assert!(began.elapsed() < Duration::from_secs(15), "{:?}", began.elapsed());
    }
}

#[test]
fn a_board_with_another_configuration_is_not_used() {
    let mut config = workshop().config;
    config.staging.up_error_k_s += 1;
    assert!(matches!(opened(config, |_, _| {}), Err(Refused::Other { .. })));
    let refused: Spoil = |frame, _| {
        let hello = Answer::Hello { version: 1, fingerprint: 0, fault: (5, 0) };
        *frame = hello.frame(1).to_vec();
    };
    let said = opened(workshop().config, refused).err().unwrap().to_string();
    assert_eq!(said, "the board refuses its configuration block: a bit of it has changed since it was written");
}

fn ends_with(spoil: Spoil) -> LinkError {
    let l = workshop();
    match day(&l, &mut opened(l.config.clone(), spoil).unwrap()) {
        Err(RunError::Link { error, .. }) => error,
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_board_that_goes_wrong_ends_the_run() {
    // The ninth answer: a flipped bit; the answer of another question; another output than the logic states.
    assert_eq!(ends_with(|f, n| f[5] ^= u8::from(n == 9)), LinkError::Garbled);
    let of_another: Spoil = |f, n| {
        if n == 9 {
            *f = Answer::Stated { outputs: Outputs::SAFE, due: None }.frame(77).to_vec();
        }
    };
    assert_eq!(ends_with(of_another), LinkError::Garbled);
    let otherwise: Spoil = |f, n| {
        if n == 9 {
            *f = Answer::Stated { outputs: Outputs::SAFE, due: None }.frame(10).to_vec();
        }
    };
    assert_eq!(ends_with(otherwise), LinkError::Differs);
    assert_eq!(ends_with(|f, n| f.truncate(if n == 9 { 0 } else { f.len() })), LinkError::Silent);
}

#[test]
fn a_port_that_is_not_there_says_so() {
    let e = serial::open_port(&PathBuf::from("/no/such/port"), &workshop().config).err().unwrap();
    assert!(e.to_string().contains("no such file or folder"), "{e}");
}
