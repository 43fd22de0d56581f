//! A power cut at every byte that is written or erased, with the byte in flight torn in four ways, loses nothing; neither does
//! one after which the torn word cannot be read at all, as in flash with error correction.

extern crate std;
use super::*;
use crate::blob::wire::Wire;
use embedded_storage::nor_flash::{ErrorType, NorFlashError, NorFlashErrorKind, ReadNorFlash};

const PAGE: usize = 1024;
/// Fingerprint of the configuration that is run here.
const PLANT: u32 = 0x1234_5678;

#[derive(Clone, Copy, Debug, PartialEq)]
enum Fault {
    Cut,
    Bounds,
    Overwrite,
    Read,
}

impl NorFlashError for Fault {
    fn kind(&self) -> NorFlashErrorKind {
        NorFlashErrorKind::Other
    }
}

/// Flash whose power is cut after so many byte operations. Of the byte in flight the bits of `torn` keep their old value.
#[derive(Clone)]
struct Flash {
    bytes: std::vec::Vec<u8>,
    left: Option<usize>,
    torn: u8,
    operations: usize,
    /// With error correction: a torn word of so many bytes cannot be read until it is erased.
    word: Option<usize>,
    unreadable: std::collections::BTreeSet<usize>,
}

impl Flash {
    fn new() -> Self {
        Self {
            bytes: std::vec![0xFF; 2 * PAGE],
            left: None,
            torn: 0xFF,
            operations: 0,
            word: None,
            unreadable: [].into(),
        }
    }

    /// Counts one byte operation; false once the power is gone.
    fn powered(&mut self) -> bool {
        match &mut self.left {
            Some(0) => return false,
            Some(n) => *n -= 1,
            None => {}
        }
        self.operations += 1;
        true
    }

    /// The byte in flight when the power went: its word is spoilt, if words are corrected.
    fn tear(&mut self, at: usize) {
        self.unreadable.extend(self.word.map(|n| at - at % n));
    }
}

impl ErrorType for Flash {
    type Error = Fault;
}

impl ReadNorFlash for Flash {
    const READ_SIZE: usize = 1;
    fn read(&mut self, at: u32, out: &mut [u8]) -> Result<(), Fault> {
        let at = at as usize;
        let word = self.word.unwrap_or(1);
        if self.unreadable.iter().any(|w| *w < at + out.len() && at < *w + word) {
            return Err(Fault::Read);
        }
        out.copy_from_slice(self.bytes.get(at..at + out.len()).ok_or(Fault::Bounds)?);
        Ok(())
    }
    fn capacity(&self) -> usize {
        self.bytes.len()
    }
}

impl NorFlash for Flash {
    const WRITE_SIZE: usize = 4;
    const ERASE_SIZE: usize = PAGE;
    fn write(&mut self, at: u32, bytes: &[u8]) -> Result<(), Fault> {
        for (i, new) in (at as usize..).zip(bytes) {
            let (powered, torn) = (self.powered(), self.torn);
            let slot = self.bytes.get_mut(i).ok_or(Fault::Bounds)?;
            if !powered {
                *slot &= *new | torn;
                self.tear(i);
                return Err(Fault::Cut);
            }
            // Bits of flash only fall; a one over a zero is a fault of the store.
            if *slot & *new != *new {
                return Err(Fault::Overwrite);
            }
            *slot = *new;
        }
        Ok(())
    }
    fn erase(&mut self, from: u32, to: u32) -> Result<(), Fault> {
        for i in from as usize..to as usize {
            let (powered, torn) = (self.powered(), self.torn);
            let slot = self.bytes.get_mut(i).ok_or(Fault::Bounds)?;
            if !powered {
                *slot |= !torn;
                self.tear(i);
                return Err(Fault::Cut);
            }
            *slot = 0xFF;
            self.unreadable.remove(&i);
        }
        Ok(())
    }
}

fn memory(n: u32) -> Memory {
    let mut m = Memory::blank();
    m.meter.starts = [n; 4];
    m.meter.operations = [n.wrapping_mul(7919); 40];
    m
}

/// How a store is used here; the good one and a bad one.
trait Keeps: Sized {
    fn open(flash: Flash) -> Result<(Self, Found), StoreFault<Fault>>;
    fn keep(&mut self, m: &Memory) -> Result<(), StoreFault<Fault>>;
    fn flash(self) -> Flash;
}

impl Keeps for Store<Flash> {
    fn open(flash: Flash) -> Result<(Self, Found), StoreFault<Fault>> {
        Store::open(flash, PLANT)
    }
    fn keep(&mut self, m: &Memory) -> Result<(), StoreFault<Fault>> {
        self.store(m)
    }
    fn flash(self) -> Flash {
        self.free()
    }
}

/// One slot, erased and written over: the plain thing to do, and wrong.
struct OneSlot(Flash);

impl Keeps for OneSlot {
    fn open(mut flash: Flash) -> Result<(Self, Found), StoreFault<Fault>> {
        let mut bytes = [0; Memory::RECORD_BYTES];
        flash.read(0, &mut bytes).map_err(StoreFault::Flash)?;
        Ok((
            Self(flash),
            if bytes == [0xFF; Memory::RECORD_BYTES] { Found::Nothing } else { Memory::decode(&bytes, PLANT) },
        ))
    }
    fn keep(&mut self, m: &Memory) -> Result<(), StoreFault<Fault>> {
        self.0.erase(0, PAGE as u32).map_err(StoreFault::Flash)?;
        self.0.write(0, &m.encode(PLANT)).map_err(StoreFault::Flash)
    }
    fn flash(self) -> Flash {
        self.0
    }
}

/// Stores twelve memories, several pages full, cutting the power after each byte operation in turn; then opens, wants the last
/// memory that was stored or the one that was being stored, and goes on. Gives how many cuts were tried and how many lost it.
fn cut_everywhere<S: Keeps>(stride: usize, word: Option<usize>) -> (usize, usize) {
    const MANY: u32 = 12;
    let (mut s, before) = S::open(Flash::new()).unwrap();
    assert_eq!(before, Found::Nothing, "new flash holds nothing");
    for n in 1..=MANY {
        s.keep(&memory(n)).unwrap();
    }
    let total = s.flash().operations;
    let (mut tried, mut lost) = (0, 0);
    for cut in (0..total).step_by(stride) {
        for torn in [0xFF, 0xF0, 0x55, 0x80] {
            tried += 1;
            let (mut s, _) = S::open(Flash { left: Some(cut), torn, word, ..Flash::new() }).unwrap();
            let stored = (1..=MANY).take_while(|n| s.keep(&memory(*n)).is_ok()).last().unwrap_or(0);
            let (mut s, found) = S::open(Flash { left: None, ..s.flash() }).unwrap();
            let before = if stored > 0 { Found::Whole(memory(stored)) } else { Found::Nothing };
            let kept = found == before || found == Found::Whole(memory(stored + 1));
            if !kept {
                lost += 1;
                continue;
            }
            for n in 100..108 {
                s.keep(&memory(n)).unwrap_or_else(|e| panic!("cut {cut}, torn {torn:x}: afterwards {e:?}"));
            }
            assert_eq!(S::open(s.flash()).unwrap().1, Found::Whole(memory(107)), "cut {cut}, torn {torn:x}");
        }
    }
    (tried, lost)
}

#[test]
fn a_cut_at_every_byte_loses_nothing() {
    let (tried, lost) = cut_everywhere::<Store<Flash>>(1, None);
    assert!(tried > 20_000, "{tried} cuts");
    assert_eq!(lost, 0, "of {tried} cuts");
}

#[test]
fn a_cut_that_leaves_an_unreadable_word_loses_nothing() {
    let (tried, lost) = cut_everywhere::<Store<Flash>>(5, Some(8));
    assert!(tried > 4_000, "{tried} cuts");
    assert_eq!(lost, 0, "of {tried} cuts");
}

#[test]
fn flash_that_can_be_read_nowhere_says_so() {
    let broken = Flash { word: Some(8), unreadable: (0..2 * PAGE).step_by(SLOT_BYTES).collect(), ..Flash::new() };
    assert_eq!(Store::open(broken.clone(), PLANT).err(), Some(StoreFault::Flash(Fault::Read)));
    let one_slot = Flash { unreadable: broken.unreadable.into_iter().skip(1).collect(), word: Some(8), ..Flash::new() };
    assert_eq!(Store::open(one_slot, PLANT).unwrap().1, Found::Nothing);
}

#[test]
fn the_cuts_find_a_store_that_erases_what_it_has() {
    let (tried, lost) = cut_everywhere::<OneSlot>(7, None);
    assert!(lost * 2 > tried, "{lost} of {tried} cuts");
}

#[test]
fn flash_that_does_not_fit_is_refused() {
    let small = Flash { bytes: std::vec![0xFF; PAGE], ..Flash::new() };
    assert_eq!(Store::open(small, PLANT).err(), Some(StoreFault::Geometry));
}

/// A flash of another make.
struct Odd<const PAGE_BYTES: usize, const WRITE: usize, const READ: usize>(usize);

impl<const P: usize, const W: usize, const R: usize> ErrorType for Odd<P, W, R> {
    type Error = Fault;
}

impl<const P: usize, const W: usize, const R: usize> ReadNorFlash for Odd<P, W, R> {
    const READ_SIZE: usize = R;
    fn read(&mut self, _at: u32, out: &mut [u8]) -> Result<(), Fault> {
        out.fill(0xFF);
        Ok(())
    }
    fn capacity(&self) -> usize {
        self.0
    }
}

impl<const P: usize, const W: usize, const R: usize> NorFlash for Odd<P, W, R> {
    const WRITE_SIZE: usize = W;
    const ERASE_SIZE: usize = P;
    fn write(&mut self, _at: u32, _bytes: &[u8]) -> Result<(), Fault> {
        Ok(())
    }
    fn erase(&mut self, _from: u32, _to: u32) -> Result<(), Fault> {
        Ok(())
    }
}

#[test]
fn pages_and_words_must_fit_a_slot() {
    fn open<const P: usize, const W: usize, const R: usize>(capacity: usize) -> Option<StoreFault<Fault>> {
        Store::open(Odd::<P, W, R>(capacity), PLANT).err()
    }
    let no = Some(StoreFault::Geometry);
    assert_eq!(open::<512, 4, 1>(1024), None);
    assert_eq!(open::<1024, 512, 512>(2048), None);
    assert_eq!(open::<4096, 4, 4>(1 << 20), None);
    assert_eq!(open::<512, 4, 1>(1023), no, "a byte short of two pages");
    assert_eq!(open::<4096, 4, 1>(4600), no, "one page");
    assert_eq!(open::<700, 4, 1>(4096), no, "a page that is no whole number of slots");
    assert_eq!(open::<256, 4, 1>(4096), no, "half a slot");
    assert_eq!(open::<1024, 3, 1>(4096), no, "words that do not fill a slot");
    assert_eq!(open::<1024, 4, 3>(4096), no, "reads that do not fill a slot");
    assert_eq!(open::<0, 4, 1>(4096), no, "no page");
}

#[test]
fn opened_again_it_goes_on_in_the_next_slot() {
    let (mut s, _) = Store::open(Flash::new(), PLANT).unwrap();
    s.store(&memory(1)).unwrap();
    let (mut s, found) = Store::open(s.free(), PLANT).unwrap();
    assert_eq!(found, Found::Whole(memory(1)));
    let before = s.flash.operations;
    s.store(&memory(2)).unwrap();
    assert_eq!(s.flash.operations - before, SLOT_BYTES, "nothing is erased while the page has room");
    let (_, found) = Store::open(s.free(), PLANT).unwrap();
    assert_eq!(found, Found::Whole(memory(2)));
}

#[test]
fn random_bytes_in_flash_are_no_memory() {
    let mut bytes = std::vec![0; 2 * PAGE];
    let mut x = 1u32;
    for b in &mut bytes {
        x = x.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        *b = (x >> 24) as u8;
    }
    let (mut s, found) = Store::open(Flash { bytes, ..Flash::new() }, PLANT).unwrap();
    assert_eq!(found, Found::Nothing);
    s.store(&memory(3)).unwrap();
    assert_eq!(Store::open(s.free(), PLANT).unwrap().1, Found::Whole(memory(3)));
}

/// Two slots fill a page here. The slot that comes next holds the rest of a write that was cut short.
#[test]
fn a_slot_that_is_not_blank_is_passed_over() {
    let (mut s, _) = Store::open(Flash::new(), PLANT).unwrap();
    s.store(&memory(1)).unwrap();
    let mut flash = s.free();
    flash.bytes[SLOT_BYTES + 7] = 0x0F;
    let (mut s, found) = Store::open(flash, PLANT).unwrap();
    assert_eq!(found, Found::Whole(memory(1)));
    s.store(&memory(2)).unwrap();
    let flash = s.free();
    assert_eq!(flash.bytes[SLOT_BYTES + 7], 0x0F, "the spoilt slot is left as it is");
    let (mut s, found) = Store::open(flash, PLANT).unwrap();
    assert_eq!(found, Found::Whole(memory(2)));
    // The third goes into the other page's second slot, the fourth begins the first page anew.
    s.store(&memory(3)).unwrap();
    s.store(&memory(4)).unwrap();
    assert_eq!(Store::open(s.free(), PLANT).unwrap().1, Found::Whole(memory(4)));
}

/// What is stored last counts, in whichever page it stands.
#[test]
fn of_two_pages_the_newer_counts() {
    let (mut s, _) = Store::open(Flash::new(), PLANT).unwrap();
    for n in 1..=9 {
        s.store(&memory(n)).unwrap();
        let (again, found) = Store::open(s.free(), PLANT).unwrap();
        assert_eq!(found, Found::Whole(memory(n)));
        s = again;
    }
}

/// Which flash a store takes, and which of what is stored there counts.
mod geometry {
    use super::super::*;
    use embedded_storage::nor_flash::{ErrorType, NorFlashErrorKind, ReadNorFlash};

    use super::std::{vec, vec::Vec};

    /// Blank flash of so many bytes, with these sizes of what is erased, written and read at once.
    struct Blank<const ERASE: usize, const WRITE: usize, const READ: usize>(Vec<u8>);

    impl<const E: usize, const W: usize, const R: usize> ErrorType for Blank<E, W, R> {
        type Error = NorFlashErrorKind;
    }

    impl<const E: usize, const W: usize, const R: usize> ReadNorFlash for Blank<E, W, R> {
        const READ_SIZE: usize = R;
        fn read(&mut self, at: u32, out: &mut [u8]) -> Result<(), NorFlashErrorKind> {
            let at = at as usize;
            out.copy_from_slice(self.0.get(at..at + out.len()).ok_or(NorFlashErrorKind::OutOfBounds)?);
            Ok(())
        }
        fn capacity(&self) -> usize {
            self.0.len()
        }
    }

    impl<const E: usize, const W: usize, const R: usize> NorFlash for Blank<E, W, R> {
        const WRITE_SIZE: usize = W;
        const ERASE_SIZE: usize = E;
        fn write(&mut self, at: u32, bytes: &[u8]) -> Result<(), NorFlashErrorKind> {
            let at = at as usize;
            self.0.get_mut(at..at + bytes.len()).ok_or(NorFlashErrorKind::OutOfBounds)?.copy_from_slice(bytes);
            Ok(())
        }
        fn erase(&mut self, from: u32, to: u32) -> Result<(), NorFlashErrorKind> {
            self.0.get_mut(from as usize..to as usize).ok_or(NorFlashErrorKind::OutOfBounds)?.fill(0xFF);
            Ok(())
        }
    }

    fn takes<const E: usize, const W: usize, const R: usize>(bytes: usize) -> bool {
        Store::open(Blank::<E, W, R>(vec![0xFF; bytes]), 7).is_ok()
    }

    /// A slot has 512 bytes: a page holds a whole number of them, and two pages are needed.
    #[test]
    fn flash_of_two_whole_pages_is_taken_and_no_other() {
        assert_eq!(SLOT_BYTES, 512);
        assert!(takes::<1024, 4, 1>(2048), "exactly two pages");
        assert!(takes::<512, 8, 4>(4096), "a slot a page, and more pages than are used");
        assert!(!takes::<1024, 4, 1>(2047), "a byte short");
        assert!(!takes::<768, 4, 1>(4096), "a slot and a half a page");
        assert!(!takes::<256, 4, 1>(4096), "half a slot a page");
        assert!(!takes::<0, 4, 1>(4096));
        assert!(!takes::<1024, 3, 1>(4096), "a slot is no whole number of what is written at once");
        assert!(!takes::<1024, 4, 3>(4096), "or read at once");
        assert!(!takes::<1024, 0, 1>(4096) && !takes::<1024, 4, 0>(4096));
    }

    /// Memories go round both pages, slot by slot, and the newest counts wherever it stands.
    #[test]
    fn the_newest_of_two_pages_counts_wherever_it_stands() {
        let mut flash = Blank::<1024, 4, 1>(vec![0xFF; 2048]);
        for n in 1..=9 {
            let Ok((mut store, before)) = Store::open(flash, 7) else { panic!("it opened before") };
            assert_eq!(before.memory().map(|m| m.meter.starts[0]), (n > 1).then_some(n - 1));
            let mut memory = before.memory().copied().unwrap_or_else(crate::blob::wire::Wire::blank);
            memory.meter.starts[0] = n;
            assert!(store.store(&memory).is_ok());
            flash = store.free();
            let written = flash.0.chunks(SLOT_BYTES).filter(|s| s.iter().any(|b| *b != 0xFF)).count();
            // A page is erased when its first slot is written anew.
            assert_eq!(written, [1, 2, 3, 4, 3, 4, 3, 4, 3][n as usize - 1], "after {n}");
        }
    }
}

#[test]
fn what_was_stored_for_another_configuration_says_so_and_is_written_over() {
    let (mut s, _) = Store::open(Flash::new(), PLANT).unwrap();
    s.store(&memory(1)).unwrap();
    let (mut s, found) = Store::open(s.free(), PLANT + 1).unwrap();
    assert_eq!(found, Found::OtherPlant(Memory::blank()));
    s.store(&memory(2)).unwrap();
    assert_eq!(Store::open(s.free(), PLANT + 1).unwrap().1, Found::Whole(memory(2)));
}
