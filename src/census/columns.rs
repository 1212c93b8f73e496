//! What a row says, column by column.

use smallvec::SmallVec;

use crate::rules::RuleSet;

/// What the values of a column are.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum ColumnType {
    /// Whole numbers, 0 or more, up to 2⁶³.
    Count,
    /// Small whole numbers, 0 or more, up to 2³¹.
    Number,
    /// Whole numbers or fractions.
    Measure,
    /// Yes or no.
    Truth,
    /// Texts.
    Text,
    /// Texts, where there is one.
    MaybeText,
    /// Lists of MIDI numbers.
    Keys,
    /// Lists of texts.
    Texts,
}

/// A value of a row.
#[derive(Clone, Debug, PartialEq)]
pub enum Value<'a> {
    /// Of a [`ColumnType::Count`].
    Count(u64),
    /// Of a [`ColumnType::Number`].
    Number(u32),
    /// Of a [`ColumnType::Measure`].
    Measure(f64),
    /// Of a [`ColumnType::Truth`].
    Truth(bool),
    /// Of a [`ColumnType::Text`].
    Text(&'a str),
    /// Of a [`ColumnType::MaybeText`].
    MaybeText(Option<&'a str>),
    /// Of [`ColumnType::Keys`]: those of the left hand and those of the right, where they are keys.
    Keys([&'a [u8]; 2]),
    /// Of [`ColumnType::Texts`].
    Texts(TextList<'a>),
}

/// A list of texts in a row.
#[derive(Clone, Debug, PartialEq)]
pub struct TextList<'a>(pub(super) Texts<'a>);

/// Where the texts are.
#[derive(Clone, Debug)]
pub(super) enum Texts<'a> {
    /// Of the left hand and of the right.
    OfHands([&'a [&'static str]; 2]),
    /// Of rules by their places in a set.
    OfRules(SmallVec<[u16; 16]>, &'a RuleSet),
}

impl PartialEq for Texts<'_> {
    fn eq(&self, other: &Self) -> bool {
        self.iter().eq(other.iter())
    }
}

impl Texts<'_> {
    fn len(&self) -> usize {
        match self {
            Self::OfHands([left, right]) => left.len() + right.len(),
            Self::OfRules(places, _) => places.len(),
        }
    }

    fn at(&self, place: usize) -> Option<&str> {
        match self {
            Self::OfHands([left, right]) => {
                left.get(place).or_else(|| right.get(place.checked_sub(left.len())?)).copied()
            }
            Self::OfRules(places, rules) => rules.id_at(*places.get(place)?),
        }
    }

    fn iter(&self) -> impl Iterator<Item = &str> {
        (0..self.len()).filter_map(|place| self.at(place))
    }
}

#[cfg(feature = "parquet")]
impl<'a> Texts<'a> {
    /// Those of a hand, the left (0) or the right (1).
    pub(super) fn of_hand(&self, hand: usize) -> &'a [&'static str] {
        match self {
            Self::OfHands(hands) => hands.get(hand).copied().unwrap_or_default(),
            Self::OfRules(..) => &[],
        }
    }
}

impl TextList<'_> {
    /// The texts in order.
    pub fn iter(&self) -> impl Iterator<Item = &str> {
        self.0.iter()
    }
}

/// As one cell of a table: lists with spaces between, nothing for a text that is not there.
impl std::fmt::Display for Value<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Count(number) => write!(f, "{number}"),
            Self::Number(number) => write!(f, "{number}"),
            Self::Measure(measure) => write!(f, "{measure}"),
            Self::Truth(truth) => write!(f, "{truth}"),
            Self::Text(text) | Self::MaybeText(Some(text)) => f.write_str(text),
            Self::MaybeText(None) => Ok(()),
            Self::Keys([left, right]) => listed(left.iter().chain(*right), f),
            Self::Texts(texts) => listed(texts.iter(), f),
        }
    }
}

fn listed<T: std::fmt::Display>(
    list: impl Iterator<Item = T>,
    f: &mut std::fmt::Formatter<'_>,
) -> std::fmt::Result {
    for (place, item) in list.enumerate() {
        let space = if place == 0 { "" } else { " " };
        write!(f, "{space}{item}")?;
    }
    Ok(())
}

/// As JSON has it.
impl serde::Serialize for Value<'_> {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Self::Count(number) => serializer.serialize_u64(*number),
            Self::Number(number) => serializer.serialize_u32(*number),
            Self::Measure(measure) => serializer.serialize_f64(*measure),
            Self::Truth(truth) => serializer.serialize_bool(*truth),
            Self::Text(text) => serializer.serialize_str(text),
            Self::MaybeText(text) => text.serialize(serializer),
            Self::Keys([left, right]) => serializer.collect_seq(left.iter().chain(*right)),
            Self::Texts(texts) => serializer.collect_seq(texts.iter()),
        }
    }
}

/// Declares the columns, in the order in which they are written.
macro_rules! columns {
    ($($(#[$doc:meta])* $name:ident = $text:literal $type:ident $unit:literal, $meaning:literal;)+) => {
        /// What a row says. The table of all columns with their units is in the documentation of the [module](crate::census).
        #[derive(Clone, Copy, Debug, Eq, PartialEq, Ord, PartialOrd, Hash)]
        pub enum Column { $(
            #[doc = $meaning]
            $name
        ),+ }

        impl Column {
            /// All, in the order in which they are written.
            pub const ALL: &'static [Self] = &[$(Self::$name),+];

            /// Its name in every output.
            pub const fn name(self) -> &'static str {
                match self { $(Self::$name => $text),+ }
            }

            /// What its values are.
            pub const fn column_type(self) -> ColumnType {
                match self { $(Self::$name => ColumnType::$type),+ }
            }

            /// The unit of its values, empty where they have none.
            pub const fn unit(self) -> &'static str {
                match self { $(Self::$name => $unit),+ }
            }

            /// What it says.
            pub const fn meaning(self) -> &'static str {
                match self { $(Self::$name => $meaning),+ }
            }
        }
    };
}

columns! {
    Index = "index" Count "", "the number of the combination";
    Root = "root" Text "", "the root of the chord";
    Quality = "quality" Text "", "the chord as it is on C";
    Family = "family" Text "", "the family of the chord, as rule files name it";
    Chord = "chord" Text "", "the chord";
    Shell = "shell" Text "", "what the left hand plays, by roles";
    Triad = "triad" Text "", "what the right hand plays";
    Label = "label" Text "", "the degree of the chord on which the triad stands";
    Inversion = "inversion" Text "", "`root`, `first` or `second`, in close position";
    Spacing = "spacing" Text "", "`close` or `open`";
    LeftLowest = "left_lowest" Number "MIDI number", "the lowest note of the left hand";
    RightLowest = "right_lowest" Number "MIDI number", "the lowest note of the right hand";
    Midi = "midi" Keys "MIDI numbers", "all notes from the lowest";
    Left = "left" Text "", "the notes of the left hand, spelled, from the lowest";
    Right = "right" Text "", "the notes of the right hand, spelled, from the lowest";
    Degrees = "degrees" Texts "", "what the notes mean over the chord, from the lowest";
    Verdict = "verdict" Text "", "`clash`, `plain` or `colour`";
    Colour = "colour" Number "points", "what the rules credit";
    Cost = "cost" Number "points", "what the rules charge";
    Rules = "rules" Texts "", "the rules that fired, in the order of the set";
    Sounding = "sounding" MaybeText "", "the chord that sounds, where a symbol can say it";
    Forte = "forte" Text "", "Forte's name of the set class, with `A` or `B` where it is not symmetric";
    PrimeForm = "prime_form" Keys "semitones", "Forte's prime form of the set class";
    IntervalVector = "interval_vector" Keys "pairs", "how many pairs of pitch classes lie each interval class apart, from 1 to 6";
    RoughnessHutchinsonKnopoff = "roughness_hutchinson_knopoff" Measure "of the model", "after Hutchinson and Knopoff, eleven harmonics, by table";
    RoughnessSethares = "roughness_sethares" Measure "of the model", "after Sethares, eleven harmonics";
    LeftSpan = "left_span_mm" Measure "millimetres", "from the middle of the lowest key to that of the highest, left hand";
    RightSpan = "right_span_mm" Measure "millimetres", "the same, right hand";
    Reachable = "reachable" Truth "", "whether no rule sees either hand beyond its largest stretch";
}

#[cfg(feature = "arrow")]
impl Column {
    /// Refuses lists of columns that are no table.
    pub(super) fn check_list(columns: &[Self]) -> crate::error::Result<()> {
        if columns.is_empty() {
            return Err(super::numbering::wrong("no column is asked for".to_owned())
                .with_help("ask for at least one column"));
        }
        match itertools::Itertools::duplicates(columns.iter()).next() {
            Some(twice) => Err(super::numbering::wrong(format!("the column `{twice}` is asked for twice"))
                .with_help("leave one of the two out")),
            None => Ok(()),
        }
    }
}

impl std::fmt::Display for Column {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(self.name())
    }
}

impl std::str::FromStr for Column {
    type Err = crate::error::Error;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        Self::ALL.iter().copied().find(|column| column.name() == text).ok_or_else(|| {
            let names = Self::ALL.iter().map(|column| format!("`{column}`"));
            super::numbering::wrong(format!("`{}` is not a column of a census", crate::pitch::shown(text)))
                .with_help(format!("the columns are {}", itertools::join(names, ", ")))
        })
    }
}
