/// Three words to search for, fixed bits of a point or of a cell.
pub(crate) type Key = [u32; 3];

/// What [`FirstSeen`] can number: [`Key`], or the bits of a point in double precision.
pub(crate) trait Bits: Copy + Eq {
    /// What stands in an empty slot.
    const ZERO: Self;

    /// Every bit mixed into two words.
    fn folded(self) -> (u64, u64);
}

impl Bits for Key {
    const ZERO: Self = [0; 3];

    #[inline]
    fn folded(self) -> (u64, u64) {
        let [x, y, z] = self;
        (u64::from(x) | u64::from(y) << 32, u64::from(z))
    }
}

impl Bits for [u64; 3] {
    const ZERO: Self = [0; 3];

    #[inline]
    fn folded(self) -> (u64, u64) {
        let [x, y, z] = self;
        // An odd constant with well mixed bits, so that swapped coordinates do not meet.
        (x ^ y.rotate_left(32).wrapping_mul(0x94D0_49BB_1331_11EB), z ^ z >> 32)
    }
}

/// Numbers keys in the order in which they first come.
///
/// Open addressing with linear probing. Key and number share one 16-byte slot, so that a search costs one cache line
/// in a table far larger than the cache; with the standard map, welding a million triangles takes several times as
/// long. The numbering depends on the order of the keys alone, never on the hash.
pub(crate) struct FirstSeen<K = Key> {
    slots: Vec<Slot<K>>,
    /// log2 of the number of slots.
    bits: u32,
    len: usize,
}

/// Aligned so that no slot straddles two cache lines.
#[derive(Clone, Copy)]
#[repr(C, align(16))]
struct Slot<K> {
    key: K,
    number: u32,
}

impl<K: Bits> Slot<K> {
    const EMPTY: Self = Slot { key: K::ZERO, number: u32::MAX };
}

impl<K: Bits> FirstSeen<K> {
    /// A table that holds about `expected` keys before it grows.
    pub(crate) fn with_room_for(expected: usize) -> Self {
        // Twice as many slots as keys keeps probes short; the sum below is log2 of that, rounded up.
        let bits = (usize::BITS - (2 * expected.max(32) - 1).leading_zeros()).min(31);
        FirstSeen { slots: vec![Slot::EMPTY; 1 << bits], bits, len: 0 }
    }

    /// How many different keys came.
    #[cfg(test)]
    pub(crate) fn len(&self) -> usize {
        self.len
    }

    /// The key's number, and whether it came for the first time. At most `u32::MAX - 1` different keys.
    #[inline]
    pub(crate) fn number(&mut self, key: K) -> (u32, bool) {
        let mask = self.slots.len() - 1;
        let mut at = slot_of(key, self.bits);
        loop {
            let slot = &mut self.slots[at];
            if slot.number == u32::MAX {
                let number = self.len as u32;
                *slot = Slot { key, number };
                self.len += 1;
                // Above three quarters full, probes get long.
                if self.len * 4 > self.slots.len() * 3 {
                    self.grow();
                }
                return (number, true);
            }
            if slot.key == key {
                return (slot.number, false);
            }
            at = (at + 1) & mask;
        }
    }

    /// Fetches the keys' slots from memory, all at once, so that [`FirstSeen::number`] finds them in the cache. Changes
    /// nothing.
    #[inline]
    pub(crate) fn fetch(&self, keys: &[K]) {
        let sum = keys.iter().fold(0, |sum, &key| sum ^ self.slots[slot_of(key, self.bits)].number);
        // The reads are the purpose: without this they would be left out.
        std::hint::black_box(sum);
    }

    #[cold]
    fn grow(&mut self) {
        self.bits += 1;
        let mask = (1 << self.bits) - 1;
        let old = std::mem::replace(&mut self.slots, vec![Slot::EMPTY; 1 << self.bits]);
        for slot in old.into_iter().filter(|slot| slot.number != u32::MAX) {
            let mut at = slot_of(slot.key, self.bits);
            while self.slots[at].number != u32::MAX {
                at = (at + 1) & mask;
            }
            self.slots[at] = slot;
        }
    }
}

/// Multiply and fold: every bit of the key reaches the high bits, which choose the slot.
#[inline]
fn slot_of<K: Bits>(key: K, bits: u32) -> usize {
    // Odd constants with well mixed bits; their values do not matter otherwise.
    const A: u64 = 0x9E37_79B9_7F4A_7C15;
    const B: u64 = 0xD6E8_FEB8_6659_FD93;
    let (low, high) = key.folded();
    let low = low.wrapping_mul(A);
    let mixed = (low ^ low >> 32 ^ high).wrapping_mul(B);
    let folded = (mixed ^ mixed >> 29).wrapping_mul(A);
    (folded >> (64 - bits)) as usize
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeMap;

    #[test]
    fn numbers_follow_first_appearance_through_growth() {
        let mut table = FirstSeen::<Key>::with_room_for(4);
        let mut reference = BTreeMap::new();
        for k in 0..20_000u32 {
            let key = [k % 7_001, k % 13, (k % 5) << 28];
            let next = reference.len() as u32;
            let expected = *reference.entry(key).or_insert(next);
            assert_eq!(table.number(key), (expected, expected == next));
        }
        assert_eq!(table.len(), reference.len());
    }
}
