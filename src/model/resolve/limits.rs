//! The greatest sizes a scenario may have; beyond them loading says `too-large`.
//!
//! The size of a file is limited where it is read ([`FILE_LIMIT`](crate::input::FILE_LIMIT)).
//!
//! They keep every product of a scenario inside the range of exact decimals (28 digits) and every loop finite. All are far above
//! what a workshop needs.

/// Last iteration that can be asked for.
pub const HORIZON: i64 = 10_000;
/// Copies of one part in one iteration.
pub const COPIES: i64 = 100_000;
/// Variants of a part in one iteration.
pub const VARIANTS: i64 = 100;
/// Business days of one lead or transit.
pub const LEAD_DAYS: i64 = 3_650;
/// Ten years in seconds: the longest time.
pub const TIME: i64 = 10 * 365 * 86_400;
/// The largest amount of money, and of money per unit.
pub const MONEY: i64 = 1_000_000_000;
/// The largest quantity in base units (mL, g, cm2, mm, pieces).
pub const QUANTITY: i64 = 1_000_000_000;
/// The longest side of a tub, and the greatest height in one, in mm: ten metres.
pub const TUB: i64 = 10_000;
/// The thickest film in mm.
pub const FILM: i64 = 10;
/// The fastest evaporation in mL per hour.
pub const EVAPORATION: i64 = 1_000_000;
/// Characters of a name.
pub const NAME: usize = 200;
/// Characters of a free text such as the title or a reason.
pub const TEXT: usize = 2_000;
/// Parts of a scenario.
pub const PARTS: usize = 1_000;
/// Routes of a scenario.
pub const ROUTES: usize = 1_000;
/// Baths of a scenario.
pub const BATHS: usize = 1_000;
/// Named plans of a scenario.
pub const PLANS: usize = 2_000;
/// Steps of one route.
pub const STEPS: usize = 100;
/// Supplies that one step or route consumes.
pub const CONSUMES: usize = 100;
/// Spans of open hours in a day.
pub const SPANS: usize = 48;
/// Closed or down days of one calendar or machine.
pub const DAYS: usize = 10_000;
/// Calendars of a scenario.
pub const CALENDARS: usize = 1_000;
/// Rows of one sheet.
pub const ROWS: usize = 200_000;
/// Materials and supplies together, and machines: they are counted in 16 bits.
pub const ITEMS: usize = 50_000;
/// Machines that steps name and equipment.csv does not have.
pub const UNLISTED: usize = 10_000;
