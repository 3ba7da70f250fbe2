//! The codes of all diagnostics; each has a case in `tests/bad/`.
//!
//! Enters: nothing. Leaves: a name that never changes its meaning, so that an editor or a script may rely on it. The list is
//! alphabetical; a new code is one line in it.

use std::fmt;

macro_rules! codes {
    ($($(#[doc = $doc:literal])+ $name:ident = $text:literal,)+) => {
        /// What kind of finding a diagnostic is.
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
        #[non_exhaustive]
        pub enum Code {
            $($(#[doc = $doc])+ $name,)+
        }

        impl Code {
            /// Every code, in alphabetical order.
            pub const ALL: &'static [Code] = &[$(Code::$name,)+];

            /// The name as shown: lower-case words joined by hyphens.
            pub const fn as_str(self) -> &'static str {
                match self {
                    $(Code::$name => $text,)+
                }
            }
        }
    };
}

codes! {
    /// A route that leaves open which of several offers or delivery levels it takes.
    AmbiguousOffer = "ambiguous-offer",
    /// A date before the one it must come after.
    BackwardsDates = "backwards-dates",
    /// A calendar date that does not exist or is not written as `2026-03-02`.
    BadDate = "bad-date",
    /// A text that is no hardness with its scale.
    BadHardness = "bad-hardness",
    /// Another number of lengths than is needed.
    BadLengths = "bad-lengths",
    /// A text that is no number.
    BadNumber = "bad-number",
    /// A time of day, span of hours or weekday that cannot be read.
    BadTime = "bad-time",
    /// A number below zero.
    BelowZero = "below-zero",
    /// Two ways to state the size of a part that exclude each other.
    ConflictingGeometry = "conflicting-geometry",
    /// Two keys that exclude each other, such as a short key and the detail that replaces it.
    ConflictingKeys = "conflicting-keys",
    /// Numbers that cannot be true together, such as a volume above that of its box.
    ConflictingNumbers = "conflicting-numbers",
    /// A row of a sheet that is not well-formed: an open quote or a wrong number of cells.
    CsvSyntax = "csv-syntax",
    /// A number with a comma where a point is expected.
    DecimalComma = "decimal-comma",
    /// Two columns of a sheet with the same name.
    DuplicateColumn = "duplicate-column",
    /// A key that is given twice in one table.
    DuplicateKey = "duplicate-key",
    /// Two things of one kind with the same name.
    DuplicateName = "duplicate-name",
    /// Two rows of a sheet with the same key.
    DuplicateRow = "duplicate-row",
    /// A file without content.
    EmptyFile = "empty-file",
    /// A list without an element, where at least one is needed.
    EmptyList = "empty-list",
    /// An exchange rate of a currency into itself.
    ExchangeIntoItself = "exchange-into-itself",
    /// A fallback that cannot take the place of its route.
    FallbackUnfit = "fallback-unfit",
    /// A scenario, folder or mesh is not there.
    FileMissing = "file-missing",
    /// A file above the size limit.
    FileTooLarge = "file-too-large",
    /// A file that is there but cannot be read.
    FileUnreadable = "file-unreadable",
    /// A horizon below the planned count.
    HorizonTooShort = "horizon-too-short",
    /// A bath without a key that its kind needs.
    IncompleteBath = "incomplete-bath",
    /// A plan that leaves a part out.
    IncompletePlan = "incomplete-plan",
    /// A folder where a file is expected.
    IsFolder = "is-folder",
    /// A key that means something only beside another, which is absent.
    KeyAlone = "key-alone",
    /// A key that is known and has no use where it stands.
    KeyUnused = "key-unused",
    /// Low, likely and high are not in this order, or the middle one is absent.
    LowLikelyHigh = "low-likely-high",
    /// A mesh whose figures a person should look at: inside out, of an odd size, or far from what is stated.
    MeshDoubtful = "mesh-doubtful",
    /// A mesh that encloses no volume that can be trusted.
    MeshNotSolid = "mesh-not-solid",
    /// A mesh file that is there but cannot be read as one.
    MeshUnreadable = "mesh-unreadable",
    /// A supply that is counted by what never happens where it is drawn.
    MisplacedSupply = "misplaced-supply",
    /// A part's surface is needed and not known.
    MissingArea = "missing-area",
    /// A part's box is needed and not known.
    MissingBox = "missing-box",
    /// A sheet lacks a column that is needed.
    MissingColumn = "missing-column",
    /// Mass and volume of one thing are needed, and its density is not known.
    MissingDensity = "missing-density",
    /// A key that is needed is absent.
    MissingKey = "missing-key",
    /// A table that is needed is absent as a whole.
    MissingTable = "missing-table",
    /// A bare number where a unit is needed.
    MissingUnit = "missing-unit",
    /// A part's volume is needed and not known.
    MissingVolume = "missing-volume",
    /// Quantities of different kinds that are to be compared or added.
    MixedUnits = "mixed-units",
    /// Two routes or rows that share something and differ in it.
    MustAgree = "must-agree",
    /// A unit where a bare number is expected.
    NeedlessUnit = "needless-unit",
    /// A step that is longer than every span of open hours.
    NeverFits = "never-fits",
    /// Two currencies without a rate between them.
    NoExchangeRate = "no-exchange-rate",
    /// A print whose time is neither stated nor can be worked out.
    NoPrintTime = "no-print-time",
    /// A date in a scenario whose days are only counted.
    NoStart = "no-start",
    /// A share above 1, most often written in percent.
    NotAShare = "not-a-share",
    /// Zero where only more makes sense.
    NotAboveZero = "not-above-zero",
    /// A number without an end: infinity or not-a-number.
    NotFinite = "not-finite",
    /// A route for a part that it does not make.
    NotForPart = "not-for-part",
    /// A file that is not UTF-8 text.
    NotUtf8 = "not-utf8",
    /// A fraction where a whole number is needed.
    NotWhole = "not-whole",
    /// A number outside what its key allows in another way than by being negative, zero or no share.
    OutOfRange = "out-of-range",
    /// Two spans of open hours that share a moment.
    OverlappingSpans = "overlapping-spans",
    /// Two rows with the same key that hold on the same day.
    OverlappingValidity = "overlapping-validity",
    /// A print where none can be, or none where one must be.
    PrintStep = "print-step",
    /// A price sheet that is needed is not there.
    SheetMissing = "sheet-missing",
    /// A number with a separator between thousands.
    ThousandsSeparator = "thousands-separator",
    /// Text that is not TOML.
    TomlSyntax = "toml-syntax",
    /// Zero iterations.
    TooFewIterations = "too-few-iterations",
    /// A number, a file or a nesting above its limit.
    TooLarge = "too-large",
    /// A text, or a number, of more characters than are read.
    TooLong = "too-long",
    /// More of something than can be.
    TooMany = "too-many",
    /// A part made by several routes in a way that cannot be carried out.
    TwoRoutes = "two-routes",
    /// A price that says neither its pack nor a unit, or both.
    UnclearPrice = "unclear-price",
    /// A column whose name means nothing in this sheet.
    UnknownColumn = "unknown-column",
    /// A currency code that ISO 4217 does not list.
    UnknownCurrency = "unknown-currency",
    /// A material or supply that no sheet has.
    UnknownItem = "unknown-item",
    /// A key whose name means nothing here.
    UnknownKey = "unknown-key",
    /// A name that no bath, calendar, machine or sheet bears.
    UnknownName = "unknown-name",
    /// A name that no part bears.
    UnknownPart = "unknown-part",
    /// A rate whose name means nothing.
    UnknownRate = "unknown-rate",
    /// A name that no route bears.
    UnknownRoute = "unknown-route",
    /// A service, or one of its offers or delivery levels, that no sheet has.
    UnknownService = "unknown-service",
    /// A unit that is not known.
    UnknownUnit = "unknown-unit",
    /// A word that is none of those a key takes.
    UnknownWord = "unknown-word",
    /// An unproven route where only a proven one can be.
    UnprovenHere = "unproven-here",
    /// A quantity of another kind than the key expects.
    WrongDimension = "wrong-dimension",
    /// A material or supply of another kind than is needed.
    WrongItem = "wrong-item",
    /// A value of another type than the key expects.
    WrongType = "wrong-type",
}

impl Code {
    /// True where something is absent: a line that could not be read may hold it.
    pub(crate) const fn is_a_lack(self) -> bool {
        matches!(
            self,
            Code::AmbiguousOffer
                | Code::IncompleteBath
                | Code::IncompletePlan
                | Code::KeyAlone
                | Code::MissingArea
                | Code::MissingBox
                | Code::MissingDensity
                | Code::MissingKey
                | Code::MissingTable
                | Code::MissingVolume
                | Code::NoPrintTime
                | Code::NoStart
                | Code::UnclearPrice
        )
    }
}

impl Code {
    /// True where a part, route, item or anything else of that name is not known.
    pub(crate) const fn is_unknown_name(self) -> bool {
        matches!(
            self,
            Code::UnknownItem | Code::UnknownName | Code::UnknownPart | Code::UnknownRoute
        )
    }
}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

#[cfg(test)]
mod tests {
    use super::Code;

    #[test]
    fn names_are_kebab_case_unique_and_in_alphabetical_order() {
        let names: Vec<&str> = Code::ALL.iter().map(|c| c.as_str()).collect();
        assert!(names.windows(2).all(|pair| pair[0] < pair[1]), "{names:?}");
        for name in names {
            assert!(
                name.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-'),
                "{name}"
            );
        }
    }

    #[test]
    fn name_follows_the_variant() {
        for code in Code::ALL {
            let joined: String = code.as_str().split('-').flat_map(capitalised).collect();
            assert_eq!(joined, format!("{code:?}"));
        }
    }

    fn capitalised(word: &str) -> Vec<char> {
        let mut chars = word.chars();
        chars.next().map(|c| c.to_ascii_uppercase()).into_iter().chain(chars).collect()
    }
}
