//! Units of length that mesh files are drawn in.

use self::MeshUnit::{Cm, Ft, In, M, Mm, Um};

/// A unit that mesh files are drawn in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MeshUnit {
    /// Micrometres.
    Um,
    /// Millimetres.
    Mm,
    /// Centimetres.
    Cm,
    /// Inches.
    In,
    /// Feet; only a 3MF states them.
    Ft,
    /// Metres.
    M,
}

impl MeshUnit {
    /// All of them, by length.
    pub const ALL: [MeshUnit; 6] = [Um, Mm, Cm, In, Ft, M];

    /// Its name: what a person states, and what is shown.
    pub const fn name(self) -> &'static str {
        match self {
            Um => "um",
            Mm => "mm",
            Cm => "cm",
            In => "in",
            Ft => "ft",
            M => "m",
        }
    }

    /// Its name in a 3MF.
    pub const fn name_in_3mf(self) -> &'static str {
        match self {
            Um => "micron",
            Mm => "millimeter",
            Cm => "centimeter",
            In => "inch",
            Ft => "foot",
            M => "meter",
        }
    }

    /// Its length in mm.
    pub const fn mm(self) -> f64 {
        match self {
            Um => 0.001,
            Mm => 1.0,
            Cm => 10.0,
            In => 25.4,
            Ft => 304.8,
            M => 1_000.0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::input::read_unit;

    #[test]
    fn units_are_as_long_as_in_texts() {
        for unit in MeshUnit::ALL {
            for name in [unit.name(), unit.name_in_3mf()] {
                let factor = read_unit(name).expect("a unit").factor.to_string();
                assert_eq!(factor.parse(), Ok(unit.mm()), "{name}");
            }
        }
        assert!(MeshUnit::ALL.is_sorted_by(|a, b| a.mm() < b.mm()));
    }
}
