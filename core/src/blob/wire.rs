//! How one value stands in a block: written to the end of a [`Sink`], read from the front of a [`Source`] into its place.
//!
//! Every value has exactly one form; any other bytes are refused. `blank` is what a place holds before it is filled: a function,
//! since a constant would lie in a board's flash at full length.

use crate::{
    ids::{AnalogId, BoilerId, ContactId, PumpId, RelayId, SafetyId, ScheduleId, SensorId, ZoneId},
    mask::Mask,
    units::{Permille, Span, Temp, TempDelta},
};
use heapless::{LenType, Vec};

/// Bytes that cannot be the value wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Refused;

/// Where a block is written; keeps count past its end, so that one look at the end tells whether all fitted.
pub(crate) struct Sink<'a> {
    room: core::slice::IterMut<'a, u8>,
    written: usize,
    full: bool,
}

impl<'a> Sink<'a> {
    pub(crate) fn new(room: &'a mut [u8]) -> Self {
        Self { room: room.iter_mut(), written: 0, full: false }
    }

    /// Bytes written, if all fitted.
    pub(crate) fn written(&self) -> Option<usize> {
        (!self.full).then_some(self.written)
    }

    pub(crate) fn bytes<const N: usize>(&mut self, bytes: [u8; N]) {
        for b in bytes {
            match self.room.next() {
                Some(slot) => *slot = b,
                None => self.full = true,
            }
            self.written = self.written.saturating_add(1);
        }
    }
}

/// What a block is read from.
pub(crate) struct Source<'a> {
    rest: &'a [u8],
    at: u16,
    began: u16,
}

impl<'a> Source<'a> {
    pub(crate) fn new(body: &'a [u8]) -> Self {
        Self { rest: body, at: 0, began: 0 }
    }

    /// Where the last value began: the one that cannot stand there, once something was refused.
    pub(crate) fn began(&self) -> u16 {
        self.began
    }

    /// Bytes not read yet.
    pub(crate) fn left(&self) -> usize {
        self.rest.len()
    }

    /// A value of one byte.
    #[inline(never)]
    pub(crate) fn byte(&mut self) -> Result<u8, Refused> {
        self.began = self.at;
        self.next()
    }

    fn next(&mut self) -> Result<u8, Refused> {
        let (first, rest) = self.rest.split_first().ok_or(Refused)?;
        self.rest = rest;
        self.at = self.at.saturating_add(1);
        Ok(*first)
    }

    fn bytes<const N: usize>(&mut self) -> Result<[u8; N], Refused> {
        self.began = self.at;
        let mut out = [0; N];
        for slot in &mut out {
            *slot = self.next()?;
        }
        Ok(out)
    }
}

/// A value with a place in a block.
pub(crate) trait Wire: Sized {
    /// What a place holds before it is filled.
    fn blank() -> Self;
    /// Writes the value.
    fn put(&self, sink: &mut Sink<'_>);
    /// Reads the value into its place.
    fn fill(&mut self, source: &mut Source<'_>) -> Result<(), Refused>;
    /// Some value, for tests.
    #[cfg(test)]
    fn any(dice: &mut Dice) -> Self;
}

/// Random numbers for tests: a 64-bit xorshift.
#[cfg(test)]
pub(crate) struct Dice {
    pub(crate) state: u64,
    /// Lists are as long as they can be.
    pub(crate) full: bool,
}

#[cfg(test)]
impl Dice {
    pub(crate) fn roll(&mut self) -> u64 {
        self.state ^= self.state << 13;
        self.state ^= self.state >> 7;
        self.state ^= self.state << 17;
        self.state
    }
}

macro_rules! number {
    ($($int:ty),*) => {$(
        impl Wire for $int {
            fn blank() -> Self {
                0
            }
            fn put(&self, sink: &mut Sink<'_>) {
                sink.bytes(self.to_le_bytes());
            }
            #[inline(never)]
            fn fill(&mut self, source: &mut Source<'_>) -> Result<(), Refused> {
                *self = <$int>::from_le_bytes(source.bytes()?);
                Ok(())
            }
            #[cfg(test)]
            fn any(dice: &mut Dice) -> Self {
                dice.roll() as $int
            }
        }
    )*};
}
number!(u8, u16, u32, i16);

impl Wire for bool {
    fn blank() -> Self {
        false
    }
    fn put(&self, sink: &mut Sink<'_>) {
        sink.bytes([u8::from(*self)]);
    }
    #[inline(never)]
    fn fill(&mut self, source: &mut Source<'_>) -> Result<(), Refused> {
        *self = match source.byte()? {
            0 => false,
            1 => true,
            _ => return Err(Refused),
        };
        Ok(())
    }
    #[cfg(test)]
    fn any(dice: &mut Dice) -> Self {
        dice.roll() & 1 == 1
    }
}

impl<T: Wire> Wire for Option<T> {
    fn blank() -> Self {
        None
    }
    fn put(&self, sink: &mut Sink<'_>) {
        self.is_some().put(sink);
        if let Some(v) = self {
            v.put(sink);
        }
    }
    fn fill(&mut self, source: &mut Source<'_>) -> Result<(), Refused> {
        let mut there = false;
        there.fill(source)?;
        *self = None;
        if there {
            self.insert(T::blank()).fill(source)?;
        }
        Ok(())
    }
    #[cfg(test)]
    fn any(dice: &mut Dice) -> Self {
        bool::any(dice).then(|| T::any(dice))
    }
}

impl<T: Wire, const N: usize, L: LenType> Wire for Vec<T, N, L> {
    fn blank() -> Self {
        Vec::new()
    }
    fn put(&self, sink: &mut Sink<'_>) {
        sink.bytes([u8::try_from(self.len()).unwrap_or(u8::MAX)]);
        for v in self {
            v.put(sink);
        }
    }
    fn fill(&mut self, source: &mut Source<'_>) -> Result<(), Refused> {
        self.clear();
        let many = source.byte()?;
        if usize::from(many) > N {
            return Err(Refused);
        }
        for _ in 0..many {
            if self.push(T::blank()).is_err() {
                return Err(Refused);
            }
            self.last_mut().ok_or(Refused)?.fill(source)?;
        }
        Ok(())
    }
    #[cfg(test)]
    fn any(dice: &mut Dice) -> Self {
        let many = if dice.full { N } else { dice.roll() as usize % (N + 1) };
        (0..many).map(|_| T::any(dice)).collect()
    }
}

impl<T: Wire, const N: usize> Wire for [T; N] {
    fn blank() -> Self {
        core::array::from_fn(|_| T::blank())
    }
    fn put(&self, sink: &mut Sink<'_>) {
        for v in self {
            v.put(sink);
        }
    }
    fn fill(&mut self, source: &mut Source<'_>) -> Result<(), Refused> {
        self.iter_mut().try_for_each(|v| v.fill(source))
    }
    #[cfg(test)]
    fn any(dice: &mut Dice) -> Self {
        core::array::from_fn(|_| T::any(dice))
    }
}

macro_rules! quantity {
    ($($name:ident $int:ty: $from:ident, $to:ident;)*) => {$(
        impl Wire for $name {
            fn blank() -> Self {
                $name::$from(0)
            }
            fn put(&self, sink: &mut Sink<'_>) {
                self.$to().put(sink);
            }
            #[inline(never)]
            fn fill(&mut self, source: &mut Source<'_>) -> Result<(), Refused> {
                let mut v: $int = 0;
                v.fill(source)?;
                *self = $name::$from(v);
                // A share past full scale has no form of its own.
                if self.$to() == v { Ok(()) } else { Err(Refused) }
            }
            #[cfg(test)]
            fn any(dice: &mut Dice) -> Self {
                $name::$from(Wire::any(dice))
            }
        }
    )*};
}
quantity! {
    Temp i16: from_centi_c, centi_c;
    TempDelta i16: from_centi_k, centi_k;
    Span u32: from_tenths, tenths;
    Permille u16: new, get;
    Mask u32: from_bits, bits;
}

macro_rules! ids {
    ($($name:ident),*) => {$(
        impl Wire for $name {
            fn blank() -> Self {
                $name(0)
            }
            fn put(&self, sink: &mut Sink<'_>) {
                self.0.put(sink);
            }
            #[inline(never)]
            fn fill(&mut self, source: &mut Source<'_>) -> Result<(), Refused> {
                self.0.fill(source)
            }
            #[cfg(test)]
            fn any(dice: &mut Dice) -> Self {
                $name(Wire::any(dice))
            }
        }
    )*};
}
ids!(ZoneId, PumpId, BoilerId, SafetyId, SensorId, RelayId, ContactId, AnalogId, ScheduleId);

/// A record: its fields in this order. A field that is left out does not compile.
macro_rules! record {
    ($($name:ident { $($field:ident),* $(,)? })*) => {$(
        impl Wire for $name {
            fn blank() -> Self {
                Self { $($field: Wire::blank()),* }
            }
            fn put(&self, sink: &mut Sink<'_>) {
                let Self { $($field),* } = self;
                $($field.put(sink);)*
            }
            fn fill(&mut self, source: &mut Source<'_>) -> Result<(), Refused> {
                let Self { $($field),* } = self;
                $($field.fill(source)?;)*
                Ok(())
            }
            #[cfg(test)]
            fn any(dice: &mut Dice) -> Self {
                Self { $($field: Wire::any(dice)),* }
            }
        }
    )*};
}

/// A choice: the tag of each variant and its values. A variant that is left out does not compile.
macro_rules! choice {
    ($($name:ident { $tag0:literal $variant0:ident { $($field0:tt $value0:ident),* }
        $(, $tag:literal $variant:ident { $($field:tt $value:ident),* })* $(,)? })*) => {$(
        impl Wire for $name {
            fn blank() -> Self {
                $name::$variant0 { $($field0: Wire::blank()),* }
            }
            fn put(&self, sink: &mut Sink<'_>) {
                match self {
                    $name::$variant0 { $($field0: $value0),* } => { sink.bytes([$tag0]); $($value0.put(sink);)* }
                    $($name::$variant { $($field: $value),* } => { sink.bytes([$tag]); $($value.put(sink);)* })*
                }
            }
            #[inline(never)]
            fn fill(&mut self, source: &mut Source<'_>) -> Result<(), Refused> {
                *self = match source.byte()? {
                    $tag0 => $name::$variant0 { $($field0: Wire::blank()),* },
                    $($tag => $name::$variant { $($field: Wire::blank()),* },)*
                    _ => return Err(Refused),
                };
                match self {
                    $name::$variant0 { $($field0: $value0),* } => { $($value0.fill(source)?;)* }
                    $($name::$variant { $($field: $value),* } => { $($value.fill(source)?;)* })*
                }
                Ok(())
            }
            #[cfg(test)]
            fn any(dice: &mut Dice) -> Self {
                let tags = [$tag0 $(, $tag)*];
                match tags[dice.roll() as usize % tags.len()] {
                    $($tag => $name::$variant { $($field: Wire::any(dice)),* },)*
                    _ => $name::$variant0 { $($field0: Wire::any(dice)),* },
                }
            }
        }
    )*};
}
pub(crate) use {choice, record};
