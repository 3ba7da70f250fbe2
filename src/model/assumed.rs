//! Values that are assumed where the user states none, each with its range. Money is never among them.

use super::Exact;

/// An assumed value.
#[derive(Clone, Copy, Debug)]
pub struct Assumed {
    /// The key it stands for.
    pub key: &'static str,
    /// Low end of the range.
    pub low: Exact,
    /// What planning uses.
    pub likely: Exact,
    /// High end of the range.
    pub high: Exact,
    /// The unit of the three numbers, empty for a share.
    pub unit: &'static str,
}

const fn assumed(
    key: &'static str,
    likely: &'static str,
    range: (&'static str, &'static str),
    unit: &'static str,
) -> Assumed {
    Assumed { key, low: number(range.0), likely: number(likely), high: number(range.1), unit }
}

/// A number of this table; what is none fails the build, since all of them are constants.
const fn number(text: &'static str) -> Exact {
    Exact::constant(text).expect("a plain number")
}

/// Supports as a share of the part volume.
pub const SUPPORTS: Assumed = assumed("supports", "0.25", ("0.15", "0.45"), "");
/// Resin lost per build.
pub const PER_BUILD_LOSS: Assumed = assumed("per_build_loss", "10", ("5", "20"), "mL");
/// Chance that a print is spoilt, short form only.
pub const SPOIL: Assumed = assumed("spoil", "0.12", ("0.05", "0.25"), "");
/// Solvent used to wash one print, short form only.
pub const WASH_SOLVENT: Assumed = assumed("wash_solvent", "80", ("50", "150"), "mL");
/// Unattended time after the print, short form only.
pub const OTHER_TIME: Assumed = assumed("other_time", "3", ("2", "20"), "h");
/// Film on supports as a share of the part's area.
pub const SUPPORT_AREA: Assumed = assumed("support_area", "0.5", ("0.2", "1"), "");
/// Resin that a piece carries into its first wash.
pub const RESIN_FILM: Assumed = assumed("resin_film", "0.06", ("0.03", "0.12"), "mm");
/// Solvent that leaves a bath on a piece.
pub const SOLVENT_FILM: Assumed = assumed("solvent_film", "0.03", ("0.015", "0.06"), "mm");
/// Resin that the platform carries into the first wash.
pub const PLATFORM_CARRY: Assumed = assumed("platform_carry", "5", ("2", "10"), "mL");
/// Share carried on into a second wash.
pub const CARRY_OVER: Assumed = assumed("carry_over", "0.1", ("0.03", "0.3"), "");
/// Share of resin at which a wash bath is retired.
pub const RETIRE_SHARE: Assumed = assumed("retire_share", "0.10", ("0.05", "0.15"), "");
/// Uses after which a wash bath is retired.
pub const REUSE_LIMIT: Assumed = assumed("reuse_limit", "20", ("12", "30"), "");
/// What evaporates from an open bath.
pub const EVAPORATES: Assumed = assumed("evaporates", "10", ("5", "20"), "mL per h");
/// Area of a part of which only the box is known, as a multiple of the box's surface. No range: a rule, tagged where it is used.
pub const AREA_OF_BOX: Exact = number("1.5");
/// Shares of the box that a word stands for where no volume is known. No ranges: rules, too.
pub const FILLS: [(&str, Exact); 3] =
    [("solid", number("0.5")), ("shell", number("0.2")), ("open lattice", number("0.15"))];
/// Looking at the pieces.
pub const EVALUATE: Assumed = assumed("evaluate", "1", ("0.5", "3"), "h");
/// Making the next version.
pub const REDESIGN: Assumed = assumed("redesign", "4", ("2", "12"), "h");
/// Placing an order.
pub const ORDER_TIME: Assumed = assumed("order_time", "20", ("10", "60"), "min");
/// Time of day at which deliveries arrive, in seconds.
pub const ARRIVES: i64 = 12 * 3600;
/// Share within which two costs are about equal.
pub const CLOSE: Exact = number("0.05");
/// Wanted chance of being done by the due date.
pub const SURE: Exact = number("0.80");
