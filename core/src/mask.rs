//! Sets of up to 32 ids in one word.
//!
//! Contacts and relays come as lists of uses; machines ask "is this zone calling". A tick turns the lists into sets once,
//! and no inner loop ever searches a list. An index past 31 is in no set: capacities are held below that by a `const`
//! assertion beside them.

/// A set of small indices.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(transparent))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Mask(u32);

/// A set of indices below 16, such as zones, where it is kept: half the room of a [`Mask`].
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(transparent))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub(crate) struct Half(u16);

impl Half {
    /// The set to work with.
    pub(crate) const fn all(self) -> Mask {
        Mask(self.0 as u32)
    }
}

impl Mask {
    /// The part of it below 16, to be kept.
    pub(crate) const fn half(self) -> Half {
        Half(self.0 as u16)
    }

    /// The empty set.
    pub const NONE: Self = Self(0);

    /// The set of one index.
    pub const fn of(index: u8) -> Self {
        Self(if index < 32 { 1 << index } else { 0 })
    }
    /// True when the index is in the set.
    pub const fn has(self, index: u8) -> bool {
        self.0 & Self::of(index).0 != 0
    }
    /// Puts an index in.
    pub const fn add(&mut self, index: u8) {
        self.0 |= Self::of(index).0;
    }
    /// Puts an index in when `when` holds.
    pub const fn add_if(&mut self, index: u8, when: bool) {
        if when {
            self.add(index);
        }
    }
    /// The first places of a list, as many as it has.
    pub(crate) const fn first_of(many: usize) -> Self {
        Self(if many < 32 { u32::MAX.wrapping_shl(many as u32) ^ u32::MAX } else { u32::MAX })
    }
    /// The places of a list at which `is` holds.
    pub(crate) fn places<T>(list: &[T], mut is: impl FnMut(&T) -> bool) -> Self {
        // The last first: each place then pushes those behind it one up.
        Self(list.iter().rev().fold(0, |set, item| set << 1 | u32::from(is(item))))
    }
    /// The items of a list, each with the set of its own place.
    pub(crate) fn each<I: IntoIterator>(items: I) -> impl Iterator<Item = (Self, I::Item)> {
        let mut bit = 1u32;
        items.into_iter().map(move |item| {
            let it = Self(bit);
            bit <<= 1;
            (it, item)
        })
    }
    /// This set where `when` holds, the empty set elsewhere.
    pub(crate) const fn only_if(self, when: bool) -> Self {
        if when { self } else { Self::NONE }
    }
    /// What is in both.
    pub const fn and(self, other: Self) -> Self {
        Self(self.0 & other.0)
    }
    /// What is in either.
    pub const fn or(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }
    /// True when some index is in both.
    pub(crate) const fn meets(self, other: Self) -> bool {
        self.0 & other.0 != 0
    }
    /// What is in this set and not in the other.
    pub const fn without(self, other: Self) -> Self {
        Self(self.0 & !other.0)
    }
    /// The set of a word, bit by index.
    pub(crate) const fn from_bits(bits: u32) -> Self {
        Self(bits)
    }
    /// The set as a word, bit by index.
    pub const fn bits(self) -> u32 {
        self.0
    }
    /// True for the empty set.
    pub const fn is_empty(self) -> bool {
        self.0 == 0
    }
    /// How many indices are in the set.
    pub const fn count(self) -> u8 {
        self.0.count_ones() as u8
    }
    /// The lowest index in the set.
    pub const fn first(self) -> Option<u8> {
        if self.0 == 0 { None } else { Some(self.0.trailing_zeros() as u8) }
    }
    /// The indices in rising order.
    pub fn iter(self) -> impl Iterator<Item = u8> {
        let mut rest = self.0;
        core::iter::from_fn(move || {
            let i = Self(rest).first()?;
            rest &= rest.wrapping_sub(1);
            Some(i)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_set_holds_what_was_put_in_and_nothing_past_its_width() {
        let mut m = Mask::NONE;
        m.add(0);
        m.add_if(31, true);
        m.add_if(5, false);
        m.add(32);
        assert!(m.iter().eq([0, 31]));
        assert!(m.has(31) && !m.has(5) && !m.has(32) && !m.has(255));
        assert!(m.meets(Mask::of(31)) && !m.meets(Mask::of(5)) && !m.meets(Mask::of(32)));
        assert!(Mask::each([7u8, 8, 9]).eq([(Mask::of(0), 7), (Mask::of(1), 8), (Mask::of(2), 9)]));
        assert_eq!((m.count(), m.first(), Mask::NONE.first()), (2, Some(0), None));
    }
}
