//! Numbers of few bits, as Apache Parquet has levels and keys: runs of the same, and packs of eight.

/// So many numbers share bytes.
const PACK: usize = 8;
/// From so many equal packs on they are a run.
const RUN: usize = 2;

/// How many bits it takes to tell so many things apart.
pub(super) fn bits_for(things: usize) -> u8 {
    (usize::BITS - things.saturating_sub(1).leading_zeros()) as u8
}

/// Writes numbers of so many bits each, at most 32, as runs of the same and packs.
pub(super) fn put(numbers: &[u32], bits: u8, into: &mut Vec<u8>) {
    let (packs, rest) = numbers.as_chunks::<PACK>();
    let same = |pack: &[u32; PACK]| pack.iter().all(|number| *number == pack[0]);
    // What comes before has been written.
    let (mut packed, mut at) = (0, 0);
    while let Some(pack) = packs.get(at) {
        let run =
            if same(pack) { packs.iter().skip(at).take_while(|other| *other == pack).count() } else { 0 };
        if run < RUN {
            at += run.max(1);
            continue;
        }
        put_packs(packs.get(packed..at).unwrap_or_default(), &[], bits, into);
        put_run(run * PACK, pack[0], bits, into);
        at += run;
        packed = at;
    }
    put_packs(packs.get(packed..).unwrap_or_default(), rest, bits, into);
}

/// Packs with what tells how many they are; the last may be short.
fn put_packs(packs: &[[u32; PACK]], rest: &[u32], bits: u8, into: &mut Vec<u8>) {
    let count = packs.len() + usize::from(!rest.is_empty());
    if count > 0 {
        put_length(count << 1 | 1, into);
        pack(packs, rest, bits, into);
    }
}

/// Writes numbers of so many bits each, at most 32, without any gap, the lowest bits first; a short last pack ends in zeros.
pub(super) fn pack(packs: &[[u32; PACK]], rest: &[u32], bits: u8, into: &mut Vec<u8>) {
    let mut last = [0; PACK];
    last.iter_mut().zip(rest).for_each(|(last, number)| *last = *number);
    let packs = packs.iter().chain((!rest.is_empty()).then_some(&last));
    if bits <= 16 {
        return pack_narrow(packs, bits, into);
    }
    let (mut waiting, mut count) = (0u64, 0);
    for number in packs.flatten() {
        waiting |= u64::from(*number) << count;
        count += bits;
        while count >= 8 {
            into.push(waiting as u8);
            (waiting, count) = (waiting >> 8, count - 8);
        }
    }
}

/// The same for at most 16 bits.
fn pack_narrow<'p>(packs: impl Iterator<Item = &'p [u32; PACK]> + Clone, bits: u8, into: &mut Vec<u8>) {
    let (wide, start) = (usize::from(bits), into.len());
    let end = start + packs.clone().count() * wide;
    // What is written at a time may reach beyond its pack.
    into.resize(end + size_of::<u128>(), 0);
    let mut to = into.get_mut(start..).unwrap_or_default();
    for pack in packs {
        let [a, b, c, d, e, f, g, h] = pack.map(u64::from);
        let side_by_side =
            |[a, b, c, d]: [u64; 4]| u128::from(a | b << bits | c << (2 * bits) | d << (3 * bits));
        let both = side_by_side([a, b, c, d]) | side_by_side([e, f, g, h]) << (4 * bits);
        if let Some(bytes) = to.first_chunk_mut() {
            *bytes = both.to_le_bytes();
        }
        to = to.get_mut(wide..).unwrap_or_default();
    }
    into.truncate(end);
}

/// For lists with so many items: 0 where a list begins, 1 where it goes on.
pub(super) fn put_repeats(counts: &[u32], into: &mut Vec<u8>) {
    let total: usize = counts.iter().map(|count| (*count).max(1) as usize).sum();
    put_length(total.div_ceil(PACK) << 1 | 1, into);
    let (mut waiting, mut bits) = (0u64, 0);
    for count in counts {
        let (mut left, mut begins) = ((*count).max(1), 1);
        while left > 0 {
            // No more than have room beside what waits.
            let now = left.min(32);
            waiting |= (((1u64 << now) - 1) & !begins) << bits;
            (left, begins, bits) = (left - now, 0, bits + now);
            if bits >= 32 {
                into.extend_from_slice(&(waiting as u32).to_le_bytes());
                (waiting, bits) = (waiting >> 32, bits - 32);
            }
        }
    }
    into.extend(waiting.to_le_bytes().iter().take(bits.div_ceil(8) as usize));
}

/// For lists with so many items: 1 for each item, 0 for a list without any.
pub(super) fn put_defined(counts: &[u32], into: &mut Vec<u8>) {
    if counts.contains(&0) {
        let of_list = |count: &u32| std::iter::repeat_n(u32::from(*count > 0), (*count).max(1) as usize);
        let defined: Vec<u32> = counts.iter().flat_map(of_list).collect();
        return put(&defined, 1, into);
    }
    let total: u32 = counts.iter().sum();
    put_run(total as usize, 1, 1, into);
}

/// So many times the same number.
fn put_run(count: usize, number: u32, bits: u8, into: &mut Vec<u8>) {
    put_length(count << 1, into);
    into.extend(number.to_le_bytes().iter().take(usize::from(bits).div_ceil(8)));
}

/// As few bytes as hold it, seven bits in each.
fn put_length(mut number: usize, into: &mut Vec<u8>) {
    while number >= 0x80 {
        into.push((number & 0x7f) as u8 | 0x80);
        number >>= 7;
    }
    into.push(number as u8);
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// The slow twin: bit by bit.
    fn bit_by_bit(numbers: &[u32], bits: u8) -> Vec<u8> {
        let mut bytes = vec![0; numbers.len().div_ceil(PACK) * usize::from(bits)];
        for (number, bit) in itertools::iproduct!(0..numbers.len(), 0..usize::from(bits)) {
            let at = number * usize::from(bits) + bit;
            bytes[at / 8] |= ((numbers[number] >> bit & 1) as u8) << (at % 8);
        }
        bytes
    }

    /// Reads what [`put`] has written, after the description of the format (Apache Parquet, "Encodings", RLE/bit-packing hybrid).
    fn read(mut bytes: &[u8], bits: u8) -> Vec<u32> {
        let mut numbers = Vec::new();
        while !bytes.is_empty() {
            let (mut head, mut shift) = (0usize, 0);
            loop {
                let byte = bytes[0];
                bytes = &bytes[1..];
                head |= usize::from(byte & 0x7f) << shift;
                shift += 7;
                if byte < 0x80 {
                    break;
                }
            }
            if head & 1 == 0 {
                let wide = usize::from(bits).div_ceil(8);
                let number = bytes[..wide].iter().rev().fold(0, |all, byte| all << 8 | u32::from(*byte));
                numbers.extend(std::iter::repeat_n(number, head >> 1));
                bytes = &bytes[wide..];
            } else {
                let (own, others) = bytes.split_at((head >> 1) * usize::from(bits));
                for number in 0..(head >> 1) * PACK {
                    let bit = |bit: usize| (number * usize::from(bits) + bit, bit);
                    let set = (0..usize::from(bits)).map(bit);
                    numbers.push(
                        set.fold(0, |all, (at, bit)| all | u32::from(own[at / 8] >> (at % 8) & 1) << bit),
                    );
                }
                bytes = others;
            }
        }
        numbers
    }

    proptest! {
        /// As the levels of all items one by one.
        #[test]
        fn prop_levels_of_lists(counts in prop::collection::vec(prop_oneof![4 => 1u32..9, 1 => 0u32..3, 1 => 30u32..100], 0..60), full in any::<bool>()) {
            let counts: Vec<u32> = counts.into_iter().map(|count| count.max(full.into())).collect();
            let of_list = |count: u32| (0..count.max(1)).map(move |item| (u32::from(item > 0), u32::from(item < count)));
            let (repeats, defined): (Vec<u32>, Vec<u32>) = counts.iter().copied().flat_map(of_list).unzip();
            let [mut first, mut second] = [const { Vec::new() }; 2];
            put_repeats(&counts, &mut first);
            put_defined(&counts, &mut second);
            for (bytes, asked) in [(first, repeats), (second, defined)] {
                let mut found = read(&bytes, 1);
                prop_assert!(found.len() < asked.len() + PACK);
                found.truncate(asked.len());
                prop_assert_eq!(found, asked);
            }
        }

        #[test]
        fn prop_packs_are_bit_by_bit(bits in 0u8..=32, numbers in prop::collection::vec(any::<u32>(), 0..70)) {
            let mask = (u64::from(u32::MAX) >> (32 - bits)) as u32;
            let numbers: Vec<u32> = numbers.into_iter().map(|number| number & mask).collect();
            let mut bytes = Vec::new();
            let (packs, rest) = numbers.as_chunks();
            pack(packs, rest, bits, &mut bytes);
            prop_assert_eq!(bytes, bit_by_bit(&numbers, bits));
        }

        #[test]
        fn prop_what_is_put_can_be_read(
            bits in 1u8..=32,
            runs in prop::collection::vec((any::<u32>(), prop_oneof![1usize..4, 1usize..40, 900usize..1_100]), 0..30),
        ) {
            let mask = u32::MAX >> (32 - bits);
            let numbers: Vec<u32> =
                runs.iter().flat_map(|(number, times)| std::iter::repeat_n(number & mask, *times)).collect();
            let mut bytes = Vec::new();
            put(&numbers, bits, &mut bytes);
            let mut found = read(&bytes, bits);
            // The last pack may end in zeros that nobody counts.
            prop_assert!(found.len() < numbers.len() + PACK);
            prop_assert!(found.split_off(numbers.len()).iter().all(|number| *number == 0));
            prop_assert_eq!(found, numbers);
        }
    }

    #[test]
    fn ok_runs_are_short_and_bits_are_few() {
        let mut bytes = Vec::new();
        put(&[5; 4_096], 3, &mut bytes);
        assert_eq!(bytes, [0x80, 0x40, 5]);
        bytes.clear();
        put(&[0; 64], 0, &mut bytes);
        assert_eq!(bytes, [0x80, 0x01]);
        assert_eq!([0, 1, 2, 3, 4, 5, 256, 257].map(bits_for), [0, 0, 1, 2, 2, 3, 8, 9]);
    }
}
