//! Every configuration comes back as it was; every spoilt block is refused, and for the right reason.

use super::{wire::Dice, *};
use crate::{
    config::{Circulation, PumpConfig, PumpRole, ZoneConfig, ZoneDrive, check::Fault},
    ids::{PumpId, Subject, ZoneId},
    schedule::Step,
    units::{Permille, Span},
};
use proptest::prelude::*;

fn block(config: &Config) -> ([u8; BYTES_MAX], usize) {
    let mut bytes = [0; BYTES_MAX];
    let length = encode(config, &mut bytes).expect("it fits");
    (bytes, length)
}

/// Reads the body alone: these configurations are random and seldom sound.
fn read(bytes: &[u8]) -> Result<Config, BlobFault> {
    let (version, body) = open(bytes)?;
    if version != VERSION {
        return Err(BlobFault::Version(version));
    }
    let mut source = Source::new(body);
    let mut config = blank();
    config.fill(&mut source).map_err(|_| BlobFault::Value(source.began()))?;
    if source.left() > 0 { Err(BlobFault::LeftOver) } else { Ok(config) }
}

/// Writes a head that fits the body, so that what stands in the body is looked at.
fn seal(bytes: &mut [u8]) {
    let (head, body) = bytes.split_at_mut(HEAD_BYTES);
    head[8..12].copy_from_slice(&(body.len() as u32).to_le_bytes());
    let sum = sum(head, body);
    head[12..16].copy_from_slice(&sum.to_le_bytes());
}

fn rolled(seed: u64, full: bool) -> Config {
    Config::any(&mut Dice { state: seed | 1, full })
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(300) })]

    #[test]
    fn a_configuration_comes_back_as_it_was(seed: u64) {
        let config = rolled(seed, false);
        let (bytes, length) = block(&config);
        prop_assert_eq!(read(&bytes[..length]), Ok(config));
    }

    #[test]
    fn a_flipped_bit_is_refused(seed: u64, at: prop::sample::Index, bit in 0u8..8) {
        let (mut bytes, length) = block(&rolled(seed, false));
        bytes[at.index(length)] ^= 1 << bit;
        let mut room = blank();
        prop_assert!(decode(&bytes[..length], &mut room).is_err());
        // The CRC, the length and the first letters see it: not the soundness of what was read.
        prop_assert!(matches!(open(&bytes[..length]), Err(BlobFault::Crc | BlobFault::Length | BlobFault::NotABlob)));
    }

    #[test]
    fn what_can_be_read_writes_the_same_bytes(seed: u64, at: prop::sample::Index, value: u8, cut: prop::sample::Index) {
        // The CRC fits: only the values themselves can be at fault.
        let (mut bytes, length) = block(&rolled(seed, false));
        bytes[HEAD_BYTES + at.index(length - HEAD_BYTES)] = value;
        let cut = HEAD_BYTES + cut.index(length - HEAD_BYTES + 1);
        for end in [length, cut] {
            seal(&mut bytes[..end]);
            if let Ok(config) = read(&bytes[..end]) {
                let (again, n) = block(&config);
                prop_assert_eq!(&again[..n], &bytes[..end]);
            }
        }
    }

    #[test]
    fn no_bytes_make_it_panic(mut bytes in prop::collection::vec(any::<u8>(), 0..600)) {
        let mut room = blank();
        prop_assert!(decode(&bytes, &mut room).is_err());
        if bytes.len() >= HEAD_BYTES {
            bytes[..8].copy_from_slice(b"HWcf\x01\0\0\0");
            seal(&mut bytes);
            let _ = decode(&bytes, &mut room);
        }
    }
}

#[test]
fn the_fullest_configuration_fits() {
    for seed in 1..200 {
        let config = rolled(seed * 7919, true);
        let (bytes, length) = block(&config);
        assert_eq!(read(&bytes[..length]), Ok(config));
        assert_eq!(encode(&rolled(seed, true), &mut [0; 600]), Err(BlobFault::NoRoom));
    }
    assert_eq!(encode(&blank(), &mut [0; 8]), Err(BlobFault::NoRoom));
}

#[test]
fn each_spoilt_block_has_its_own_fault() {
    let (good, length) = block(&rolled(3, false));
    let with = |spoil: fn(&mut [u8])| {
        let mut bytes = good;
        spoil(&mut bytes[..length]);
        read(&bytes[..length])
    };
    assert_eq!(read(&good[..HEAD_BYTES - 1]), Err(BlobFault::Short));
    assert_eq!(read(&[0xFF; 64]), Err(BlobFault::NotABlob), "flash that was never written");
    assert_eq!(read(&good[..length - 1]), Err(BlobFault::Length));
    assert_eq!(read(&good[..length + 1]), Err(BlobFault::Length));
    assert_eq!(with(|b| b[20] ^= 1), Err(BlobFault::Crc));
    let of_version_9 = |b: &mut [u8]| {
        b[4] = 9;
        seal(b);
    };
    assert_eq!(with(of_version_9), Err(BlobFault::Version(9)));

    // A plant without points: one count of each list of points, then the curve's.
    let (bytes, length) = block(&blank());
    let mut bytes = bytes[..length].to_vec();
    bytes[HEAD_BYTES] = 99;
    seal(&mut bytes);
    assert_eq!(read(&bytes), Err(BlobFault::Value(0)), "more relays than there are");
    bytes[HEAD_BYTES..HEAD_BYTES + 2].copy_from_slice(&[0, 1]);
    bytes.insert(HEAD_BYTES + 2, 13);
    seal(&mut bytes);
    assert_eq!(read(&bytes), Err(BlobFault::Value(2)), "contacts are used for twelve things");
    bytes.drain(HEAD_BYTES + 5..);
    bytes[HEAD_BYTES + 2..].copy_from_slice(&[1, 3, 0]);
    seal(&mut bytes);
    assert_eq!(read(&bytes), Err(BlobFault::Value(5)), "cut short where the analogs are counted");
    let mut longer = block(&blank()).0[..length + 1].to_vec();
    seal(&mut longer);
    assert_eq!(read(&longer), Err(BlobFault::LeftOver));
    let mut room = blank();
    let whole = block(&blank()).0;
    let unsound = decode(&whole[..length], &mut room).unwrap_err();
    let first = ConfigFault { fault: Fault::NothingToHeat, about: Subject::Plant };
    assert_eq!((unsound, unsound.code()), (BlobFault::Unsound(first), (8, 0)));
}

#[test]
fn a_share_past_full_scale_is_refused() {
    let mut share = Permille::ZERO;
    assert!(share.fill(&mut Source::new(&1001u16.to_le_bytes())).is_err());
    assert!(share.fill(&mut Source::new(&1000u16.to_le_bytes())).is_ok());
    let mut yes = false;
    assert!(yes.fill(&mut Source::new(&[2])).is_err());
}

/// The layout as it is written on boards. When this fails, the layout has changed: raise `VERSION` and only then write down
/// the new number.
#[test]
fn the_layout_is_that_of_its_version() {
    let mut all = CRC.digest();
    for seed in 1..400 {
        let (bytes, length) = block(&rolled(seed, false));
        all.update(&bytes[HEAD_BYTES..length]);
    }
    assert_eq!((VERSION, all.finalize()), (4, 1_036_830_617));
}

#[test]
fn a_zone_in_bytes() {
    // Drive 1 (valve) with no pump, constant circulation, 5 s, 60 s and 120 s in tenths, no-shed, no mixing, 300 W/K.
    let zone = ZoneConfig {
        drive: ZoneDrive::Valve { pump: None },
        circulation: Circulation::Constant,
        debounce: Span::from_s(5),
        call_min: Span::from_s(60),
        overrun: Span::from_s(120),
        sheddable: false,
        mix: None,
        flow_w_per_k: 300,
    };
    let mut bytes = [0; 64];
    let mut sink = Sink::new(&mut bytes);
    zone.put(&mut sink);
    let n = sink.written().unwrap();
    assert_eq!(bytes[..n], [1, 0, 1, 50, 0, 0, 0, 0x58, 2, 0, 0, 0xB0, 4, 0, 0, 0, 0, 0x2C, 1, 0, 0]);
    let pump = PumpConfig {
        role: PumpRole::Zone,
        on_min: Span::ZERO,
        off_min: Span::ZERO,
        exercise_every: Span::ZERO,
        exercise_for: Span::ZERO,
    };
    let mut sink = Sink::new(&mut bytes);
    ZoneDrive::Pump(PumpId(3)).put(&mut sink);
    pump.put(&mut sink);
    assert_eq!(sink.written(), Some(2 + 17));
    assert_eq!(bytes[..2], [0, 3]);
}

/// Both ends of a link tell configurations apart by the sum of their blocks.
#[test]
fn the_fingerprint_is_the_sum_that_the_block_carries() {
    let (bytes, length) = block(&rolled(7, false));
    let (other, other_length) = block(&rolled(8, false));
    let (head, body) = bytes[..length].split_at(HEAD_BYTES);
    assert_eq!(fingerprint(&bytes[..length]), sum(head, body));
    assert_ne!(fingerprint(&bytes[..length]), fingerprint(&other[..other_length]));
    assert_eq!(fingerprint(&[]), 0);
}

/// What cannot be read is named by its place: the byte at which it begins.
#[test]
fn a_source_tells_where_it_stands() {
    let mut source = Source::new(&[1, 2, 7]);
    assert_eq!((source.began(), source.left()), (0, 3));
    let mut number = 0u16;
    assert!(number.fill(&mut source).is_ok());
    assert_eq!((number, source.began(), source.left()), (0x0201, 0, 1));
    assert!(true.fill(&mut source).is_err(), "seven is neither yes nor no");
    assert_eq!((source.began(), source.left()), (2, 0));
}

/// Values of more than one byte and of more than one part are named by the part that is wrong.
#[test]
fn a_value_past_its_bounds_is_named_by_its_first_byte() {
    fn began<T: Wire>(bytes: &[u8]) -> u16 {
        let mut source = Source::new(bytes);
        let mut value: heapless::Vec<T, 4> = Wire::blank();
        assert!(value.fill(&mut source).is_err());
        source.began()
    }
    assert_eq!(began::<Permille>(&[2, 100, 0, 0xE9, 3]), 3, "1001 thousandths");
    assert_eq!(began::<Step>(&[1, 0xFF, 0xFF, 0]), 1, "no such minute");
    assert_eq!(began::<Step>(&[1, 0, 0, 9]), 3, "no such level");
    assert_eq!(began::<Option<ZoneId>>(&[2, 0, 2]), 2, "neither there nor not");
    assert_eq!(began::<u32>(&[1, 7, 7, 7]), 1, "cut short");
}

/// The number of a fault on a board's display; the tables outlive the firmware, so the numbers are written down.
#[test]
fn an_unsound_configuration_says_what_and_about_what() {
    let known = [
        (Fault::NothingToHeat, Subject::Plant, 0),
        (Fault::NoBoiler, Subject::Plant, 1 << 10),
        (Fault::NoCall, Subject::Tank, 13 << 10 | 2 << 6),
        (Fault::NoFlowKnown, Subject::Zone(ZoneId(5)), 34 << 10 | 4 << 6 | 5),
        (Fault::NoHand, Subject::Contact(crate::ContactId(63)), 37 << 10 | 10 << 6 | 63),
        (Fault::SameUse, Subject::Schedule(crate::ScheduleId(200)), 8 << 10 | 12 << 6 | 63),
    ];
    for (fault, about, code) in known {
        assert_eq!(BlobFault::Unsound(ConfigFault { fault, about }).code(), (8, code), "{fault:?}");
    }
    let mut faults = 0;
    for code in 0..=u16::MAX {
        let Some(f) = ConfigFault::from_code(code) else { continue };
        assert_eq!(f.code(), code);
        faults += u32::from(f.about == Subject::Plant);
    }
    assert_eq!(faults, 38, "each fault of the plant once");
    let about = [
        Subject::Header,
        Subject::Tank,
        Subject::Damper,
        Subject::Zone(ZoneId(3)),
        Subject::Pump(PumpId(3)),
        Subject::Boiler(crate::BoilerId(3)),
        Subject::Safety(crate::SafetyId(3)),
        Subject::Sensor(crate::SensorId(3)),
        Subject::Relay(crate::RelayId(3)),
        Subject::Contact(crate::ContactId(3)),
        Subject::Analog(crate::AnalogId(3)),
        Subject::Schedule(crate::ScheduleId(3)),
    ];
    for about in about {
        let fault = ConfigFault { fault: Fault::SameUse, about };
        assert_eq!(ConfigFault::from_code(fault.code()), Some(fault));
    }
}

#[test]
fn a_block_of_another_version_is_refused_whatever_it_holds() {
    let (mut bytes, length) = block(&crate::tests::plant());
    let other = VERSION.wrapping_add(1);
    bytes[4..6].copy_from_slice(&other.to_le_bytes());
    seal(&mut bytes[..length]);
    assert_eq!(decode(&bytes[..length], &mut blank()), Err(BlobFault::Version(other)));
}

#[test]
fn a_byte_too_many_is_refused_though_its_sum_is_right() {
    // What is read of it is looked at only after that.
    let (mut bytes, length) = block(&crate::tests::plant());
    let mut room = blank();
    assert!(matches!(decode(&bytes[..length], &mut room), Err(BlobFault::Unsound(_))));
    seal(&mut bytes[..length + 1]);
    assert_eq!(decode(&bytes[..length + 1], &mut room), Err(BlobFault::LeftOver));
}

/// Four letters and two zeros say that a block is one of ours: each is looked at.
#[test]
fn a_block_with_one_wrong_byte_in_its_mark_is_none() {
    let (good, length) = block(&rolled(3, false));
    for at in [0, 1, 2, 3, 6, 7] {
        let mut bytes = good;
        bytes[at] ^= 1;
        seal(&mut bytes[..length]);
        assert_eq!(read(&bytes[..length]), Err(BlobFault::NotABlob), "byte {at}");
    }
}
