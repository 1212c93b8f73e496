//! What is known of each class and of each of the 4,096 sets, worked out by the compiler.

use super::{Form, PitchSet};

/// Forte's prime forms as bits, by cardinality and in Forte's order; the empty set first.
///
/// Forte, *The Structure of Atonal Music*, Yale 1973, as tabled in music21 10.5.1.
#[rustfmt::skip]
pub(super) static PRIME_FORMS: [u16; 224] = [
    0x000,
    // 1
    0x001,
    // 2
    0x003, 0x005, 0x009, 0x011, 0x021, 0x041,
    // 3
    0x007, 0x00b, 0x013, 0x023, 0x043, 0x015, 0x025, 0x045, 0x085, 0x049, 0x089, 0x111,
    // 4
    0x00f, 0x017, 0x01b, 0x027, 0x047, 0x087, 0x033, 0x063, 0x0c3, 0x02d, 0x02b, 0x04d,
    0x04b, 0x08d, 0x053, 0x0a3, 0x099, 0x093, 0x113, 0x123, 0x055, 0x095, 0x0a5, 0x115,
    0x145, 0x129, 0x125, 0x249, 0x08b,
    // 5
    0x01f, 0x02f, 0x037, 0x04f, 0x08f, 0x067, 0x0c7, 0x05d, 0x057, 0x05b, 0x09d, 0x06b,
    0x117, 0x0a7, 0x147, 0x09b, 0x11b, 0x0b3, 0x0cb, 0x18b, 0x133, 0x193, 0x0ad, 0x0ab,
    0x12d, 0x135, 0x12b, 0x14d, 0x14b, 0x153, 0x24b, 0x253, 0x155, 0x255, 0x295, 0x097,
    0x139, 0x127,
    // 6
    0x03f, 0x05f, 0x06f, 0x077, 0x0cf, 0x0e7, 0x1c7, 0x0bd, 0x0af, 0x0bb, 0x0b7, 0x0d7,
    0x0db, 0x13b, 0x137, 0x173, 0x197, 0x1a7, 0x19b, 0x333, 0x15d, 0x157, 0x16d, 0x15b,
    0x16b, 0x1ab, 0x25b, 0x26b, 0x34b, 0x2cb, 0x32b, 0x2b5, 0x2ad, 0x2ab, 0x555, 0x09f,
    0x11f, 0x18f, 0x13d, 0x12f, 0x14f, 0x24f, 0x167, 0x267, 0x25d, 0x257, 0x297, 0x2a7,
    0x29b, 0x2d3,
    // 7
    0x07f, 0x0bf, 0x13f, 0x0df, 0x0ef, 0x19f, 0x1cf, 0x17d, 0x15f, 0x25f, 0x17b, 0x29f,
    0x177, 0x1af, 0x1d7, 0x26f, 0x277, 0x32f, 0x2cf, 0x397, 0x337, 0x367, 0x2bd, 0x2af,
    0x2dd, 0x2bb, 0x2b7, 0x2eb, 0x2d7, 0x357, 0x2db, 0x35b, 0x557, 0x55b, 0x56b, 0x16f,
    0x1bb, 0x1b7,
    // 8
    0x0ff, 0x17f, 0x27f, 0x1bf, 0x1df, 0x1ef, 0x33f, 0x39f, 0x3cf, 0x2fd, 0x2bf, 0x2fb,
    0x2df, 0x2f7, 0x35f, 0x3af, 0x37b, 0x36f, 0x377, 0x3b7, 0x55f, 0x56f, 0x5af, 0x577,
    0x5d7, 0x6b7, 0x5b7, 0x6db, 0x2ef,
    // 9
    0x1ff, 0x2ff, 0x37f, 0x3bf, 0x3df, 0x57f, 0x5bf, 0x5df, 0x5ef, 0x6df, 0x6ef, 0x777,
    // 10
    0x3ff, 0x5ff, 0x6ff, 0x77f, 0x7bf, 0x7df,
    // 11
    0x7ff,
    // 12
    0xfff,
];

/// Place in [`PRIME_FORMS`] of the first class of each cardinality, and behind the last.
pub(super) static FIRST: [u8; 14] = {
    let mut first = [0; 14];
    let mut index = 0;
    while index < PRIME_FORMS.len() {
        #[expect(clippy::indexing_slicing, reason = "const: an index out of bounds is a compile error")]
        {
            first[PRIME_FORMS[index].count_ones() as usize + 1] = index as u8 + 1;
        }
        index += 1;
    }
    first
};

/// What is known of a class.
#[derive(Clone, Copy)]
pub(super) struct ClassRow {
    /// Rahn's prime form as bits.
    pub(super) rahn: u16,
    pub(super) vector: [u8; 6],
    /// The other class of the same interval vector, or the class itself.
    pub(super) z_mate: u8,
}

/// By class, in the order of [`PRIME_FORMS`].
#[expect(clippy::indexing_slicing, reason = "const: an index out of bounds is a compile error")]
pub(super) static CLASSES: [ClassRow; 224] = {
    let mut rows = [ClassRow { rahn: 0, vector: [0; 6], z_mate: 0 }; 224];
    let mut class = 0;
    while class < rows.len() {
        let set = PitchSet::of_bits(PRIME_FORMS[class]);
        rows[class] = ClassRow {
            rahn: least_turn(set, Packing::Rahn),
            vector: set.interval_vector(),
            z_mate: class as u8,
        };
        let inverted = least_turn(set.invert(), Packing::Rahn);
        if inverted < rows[class].rahn {
            rows[class].rahn = inverted;
        }
        let mut other = FIRST[set.len() as usize] as usize;
        while other < class {
            if same(rows[other].vector, rows[class].vector) {
                rows[class].z_mate = other as u8;
                rows[other].z_mate = class as u8;
            }
            other += 1;
        }
        class += 1;
    }
    rows
};

#[expect(clippy::indexing_slicing, reason = "six entries each")]
const fn same(a: [u8; 6], b: [u8; 6]) -> bool {
    let mut at = 0;
    while at < 6 && a[at] == b[at] {
        at += 1;
    }
    at == 6
}

/// What is known of a set.
#[derive(Clone, Copy)]
pub(super) struct SetRow {
    pub(super) class: u8,
    /// How the set lies to Forte's prime form of its class.
    pub(super) form: Form,
    /// The pitch class that Forte's normal order starts from, and Rahn's.
    pub(super) forte_first: u8,
    pub(super) rahn_first: u8,
}

/// By set, in the order of their bits.
#[expect(clippy::indexing_slicing, reason = "const: an index out of bounds is a compile error")]
pub(super) static SETS: [SetRow; 4096] = {
    let mut rows = [SetRow { class: 0, form: Form::Symmetric, forte_first: 0, rahn_first: 0 }; 4096];
    let mut class = 0;
    while class < PRIME_FORMS.len() {
        let prime = PitchSet::of_bits(PRIME_FORMS[class]);
        // Inverted ones first, so that a set that is both counts as what it is: symmetric.
        let mut by = 0;
        while by < 12 {
            let set = prime.invert().transpose(by);
            rows[set.bits() as usize] = row_of(set, class as u8, Form::Inverted);
            by += 1;
        }
        by = 0;
        while by < 12 {
            let set = prime.transpose(by);
            let found = rows[set.bits() as usize];
            let form = match found.form {
                Form::Inverted | Form::Symmetric if found.class == class as u8 => Form::Symmetric,
                _ => Form::Prime,
            };
            rows[set.bits() as usize] = row_of(set, class as u8, form);
            by += 1;
        }
        class += 1;
    }
    rows
};

const fn row_of(set: PitchSet, class: u8, form: Form) -> SetRow {
    SetRow {
        class,
        form,
        forte_first: first_of(set, Packing::Forte),
        rahn_first: first_of(set, Packing::Rahn),
    }
}

/// How two arrangements of a set that span the same are compared.
#[derive(Clone, Copy)]
enum Packing {
    /// From the first member onwards: the second as low as possible, then the third.
    Forte,
    /// From the last member backwards: the last but one as low as possible, then the one before it.
    Rahn,
}

/// A number that is lowest for the best packed of the turns of a set that hold 0; its order is that of bits for Rahn.
const fn looseness(turn: PitchSet, packing: Packing) -> u16 {
    let bits = turn.bits();
    match packing {
        Packing::Rahn => bits,
        Packing::Forte => {
            // The span, then the members with the lowest counting most, and counting for it.
            let span = (bits | 1).ilog2() as u16;
            (span << 12) | (!(bits.reverse_bits() >> 4) & 0xFFF)
        }
    }
}

/// The pitch class from which upwards the set is packed best; the lowest of several, 0 for the empty set.
const fn first_of(set: PitchSet, packing: Packing) -> u8 {
    let mut best = (u16::MAX, 0);
    let mut first = 0;
    while first < 12 {
        if set.bits() >> first & 1 == 1 {
            let loose = looseness(set.transpose(-first), packing);
            if loose < best.0 {
                best = (loose, first as u8);
            }
        }
        first += 1;
    }
    best.1
}

/// The best packed turn of a set that holds 0, as bits.
const fn least_turn(set: PitchSet, packing: Packing) -> u16 {
    set.transpose(-(first_of(set, packing) as i32)).bits()
}
