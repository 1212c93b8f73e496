//! The keys of rule files as data: what each is called, what it holds and what it means. The reader asks for these, and
//! the reference and the JSON Schema are made of them, so that the three cannot drift apart.

/// A key of a table in a rule file.
#[derive(Clone, Copy, Debug)]
pub(in crate::rules) struct Key {
    pub(in crate::rules) name: &'static str,
    pub(in crate::rules) holds: Holds,
    /// Meaning and unit, in one phrase.
    pub(in crate::rules) doc: &'static str,
}

/// What a key holds.
#[derive(Clone, Copy, Debug)]
pub(in crate::rules) enum Holds {
    /// A text that says something.
    Text,
    /// `true` or `false`.
    Flag,
    /// A whole number in a range, both ends included.
    Number(i32, i32),
    /// A list of such numbers.
    Numbers(i32, i32),
    /// One of these words.
    Word(&'static [&'static str]),
    /// A list of some of these words.
    Words(&'static [&'static str]),
    /// A list of texts.
    Texts,
    Degree,
    Degrees,
    /// A list of pairs of degrees, such as `1 b9`.
    DegreePairs,
    Families,
    Function,
    Functions,
    Pitch,
    Labels,
    Shells,
    Scale,
    Chord,
    HandSize,
    /// Some pitches of one hand, such as `C3 E3 Bb3`.
    Hand,
    /// A named table of limits, or a table of interval and pitch.
    Limits,
    /// A table of conditions.
    When,
    /// A list of tables; the format says which keys they have.
    Tables,
}

impl Key {
    pub(in crate::rules) const fn new(name: &'static str, holds: Holds, doc: &'static str) -> Self {
        Self { name, holds, doc }
    }
}

/// One way to write a rule of a kind: the keys it needs and those it may have.
#[derive(Clone, Copy, Debug)]
pub(in crate::rules) struct Way {
    pub(in crate::rules) needs: &'static [Key],
    pub(in crate::rules) may: &'static [Key],
    /// When such a rule fires, and how often.
    pub(in crate::rules) fires: &'static str,
    /// The lines of an example, without those that every rule has.
    pub(in crate::rules) example: &'static str,
}

impl Way {
    pub(in crate::rules) fn keys(&self) -> impl Iterator<Item = &'static Key> + use<> {
        self.needs.iter().chain(self.may)
    }

    pub(in crate::rules) fn knows(&self, name: &str) -> bool {
        self.keys().any(|key| key.name == name)
    }
}

/// The words of a table of words and what they mean.
#[expect(clippy::indexing_slicing, reason = "evaluated at compile time over two arrays of one length")]
pub(in crate::rules) const fn names<T: Copy, const N: usize>(
    words: &[(&'static str, T); N],
) -> [&'static str; N] {
    let mut names = [""; N];
    let mut at = 0;
    while at < N {
        names[at] = words[at].0;
        at += 1;
    }
    names
}
