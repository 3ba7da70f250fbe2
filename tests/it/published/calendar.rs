//! Business days against NumPy: `numpy.busday_offset`, `numpy.busday_count` and `numpy.is_busday`.
//!
//! A calendar here counts forward only; examples that go backward or roll back have no counterpart and are left out.

use flipcount::input::read_date;
use flipcount::model::{Calendar, Day, weekday};

fn day(text: &str) -> Day {
    read_date(text).unwrap_or_else(|_| panic!("{text} is a date"))
}

/// A calendar of the given weekdays, Monday first.
fn only(days: [u8; 7], closed: &[&str]) -> Calendar {
    let mut closed: Vec<Day> = closed.iter().map(|d| day(d)).collect();
    closed.sort_unstable();
    Calendar { name: String::new(), days: days.map(|d| d == 1), closed }
}

const WEEK: [u8; 7] = [1, 1, 1, 1, 1, 0, 0];

/// NumPy documentation, numpy.busday_offset, Examples.
#[test]
fn offsets_of_the_documentation() {
    let week = Calendar::weekdays();
    // First business day in October 2011.
    assert_eq!(week.after(day("2011-10-01"), 0), day("2011-10-03"));
    // From a Sunday and from a Tuesday: none on, then one on.
    assert_eq!(week.after(day("2011-03-20"), 0), day("2011-03-21"));
    assert_eq!(week.after(day("2011-03-22"), 0), day("2011-03-22"));
    assert_eq!(week.after(day("2011-03-20"), 1), day("2011-03-21"));
    assert_eq!(week.after(day("2011-03-22"), 1), day("2011-03-23"));
    // Third Wednesday in January 2011: two after the first.
    let wednesdays = only([0, 0, 1, 0, 0, 0, 0], &[]);
    assert_eq!(wednesdays.after(wednesdays.on_or_after(day("2011-01-01")), 2), day("2011-01-19"));
    // Second Sunday in May 2012 (Mother's Day in Canada and the U.S.).
    let sundays = only([0, 0, 0, 0, 0, 0, 1], &[]);
    assert_eq!(sundays.after(sundays.on_or_after(day("2012-05-01")), 1), day("2012-05-13"));
}

/// NumPy documentation, numpy.busday_count, Examples: first day counted, last not.
#[test]
fn counts_of_the_documentation() {
    let count = |calendar: &Calendar, from: &str, to: &str| {
        (day(from)..day(to)).filter(|d| calendar.is_open(*d)).count()
    };
    assert_eq!(count(&Calendar::weekdays(), "2011-01-01", "2011-02-01"), 21);
    assert_eq!(count(&Calendar::weekdays(), "2011-01-01", "2012-01-01"), 260);
    assert_eq!(count(&only([0, 0, 0, 0, 0, 1, 0], &[]), "2011-01-01", "2012-01-01"), 53);
}

/// NumPy test suite, test_datetime_busday_offset.
#[test]
fn offsets_of_the_test_suite() {
    let week = Calendar::weekdays();
    assert_eq!(week.after(day("2006-02-01"), 25), day("2006-03-08"));
    let weekend = only([0, 0, 0, 0, 0, 1, 1], &[]);
    assert_eq!(weekend.after(day("2007-02-25"), 11), day("2007-04-07"));
    assert_eq!(week.on_or_after(day("2010-10-30")), day("2010-11-01"));
    assert_eq!(week.on_or_after(day("2010-10-16")), day("2010-10-18"));
}

/// NumPy documentation, numpy.is_busday, Examples: weekdays are Friday, Saturday and Monday.
#[test]
fn holidays_of_the_documentation() {
    let calendar = only(WEEK, &["2011-07-01", "2011-07-04", "2011-07-17"]);
    let open = ["2011-07-01", "2011-07-02", "2011-07-18"].map(|d| calendar.is_open(day(d)));
    assert_eq!(open, [false, false, true]);
    assert_eq!(["2011-07-01", "2011-07-02", "2011-07-18"].map(|d| weekday(day(d))), [4, 5, 0]);
}
