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
    /// A calendar date that does not exist or is not written as `2026-03-02`.
    BadDate = "bad-date",
    /// A text that is no number.
    BadNumber = "bad-number",
    /// A time of day, span of hours or weekday that cannot be read.
    BadTime = "bad-time",
    /// Two keys that exclude each other, such as a short key and the detail that replaces it.
    ConflictingKeys = "conflicting-keys",
    /// A row of a sheet that is not well-formed: an open quote or a wrong number of cells.
    CsvSyntax = "csv-syntax",
    /// A number with a comma where a point is expected.
    DecimalComma = "decimal-comma",
    /// Two things of one kind with the same name.
    DuplicateName = "duplicate-name",
    /// Two rows of a sheet with the same key.
    DuplicateRow = "duplicate-row",
    /// A file without content.
    EmptyFile = "empty-file",
    /// A file or folder is not there.
    FileMissing = "file-missing",
    /// A file above the size limit.
    FileTooLarge = "file-too-large",
    /// A file that is there but cannot be read.
    FileUnreadable = "file-unreadable",
    /// A horizon below the planned count.
    HorizonTooShort = "horizon-too-short",
    /// A folder where a file is expected.
    IsFolder = "is-folder",
    /// Low, likely and high are not in this order.
    LowLikelyHigh = "low-likely-high",
    /// A mesh whose figures a person should look at: inside out, of an odd size, or far from what is stated.
    MeshDoubtful = "mesh-doubtful",
    /// A mesh that encloses no volume that can be trusted.
    MeshNotSolid = "mesh-not-solid",
    /// A mesh file that is there but cannot be read as one.
    MeshUnreadable = "mesh-unreadable",
    /// A sheet lacks a column that is needed.
    MissingColumn = "missing-column",
    /// A part's volume, area or box is needed and not known.
    MissingGeometry = "missing-geometry",
    /// A key that is needed is absent.
    MissingKey = "missing-key",
    /// A step that is longer than every span of open hours.
    NeverFits = "never-fits",
    /// Two currencies without a rate between them.
    NoExchangeRate = "no-exchange-rate",
    /// A number without an end: infinity or not-a-number.
    NotFinite = "not-finite",
    /// A file that is not UTF-8 text.
    NotUtf8 = "not-utf8",
    /// A number outside the range its key allows.
    OutOfRange = "out-of-range",
    /// Two spans of open hours that share a moment.
    OverlappingSpans = "overlapping-spans",
    /// Two rows with the same key that hold on the same day.
    OverlappingValidity = "overlapping-validity",
    /// A number with a separator between thousands.
    ThousandsSeparator = "thousands-separator",
    /// Text that is not TOML.
    TomlSyntax = "toml-syntax",
    /// Zero iterations.
    TooFewIterations = "too-few-iterations",
    /// A number, list, sheet or nesting above its limit.
    TooLarge = "too-large",
    /// A column whose name means nothing in this sheet.
    UnknownColumn = "unknown-column",
    /// A currency code that ISO 4217 does not list.
    UnknownCurrency = "unknown-currency",
    /// A key whose name means nothing here.
    UnknownKey = "unknown-key",
    /// A name that no part, route, material, service, bath or calendar bears.
    UnknownName = "unknown-name",
    /// A unit that is not known.
    UnknownUnit = "unknown-unit",
    /// A quantity of another kind than the key expects.
    WrongDimension = "wrong-dimension",
    /// A value of another type than the key expects.
    WrongType = "wrong-type",
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
