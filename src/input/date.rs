//! Dates, times of day, spans of hours and weekdays as text.
//!
//! Enters: ISO 8601 text such as `2026-03-02`, `2026-03-02T09:00`, `14:00`, `09:00-12:30`, or a TOML date. Leaves: days since
//! 1970-01-01 and seconds of the day. All is local time without a zone; a zone is a problem, for it would be ignored.

use chrono::NaiveDate;
use toml::value::Datetime;

use super::NumberProblem;
use super::decimal::short;
use crate::diag::{Code, did_you_mean};

/// Years that are accepted: what lies outside is a slip, and walking a calendar to it would take long.
const YEARS: std::ops::RangeInclusive<i32> = 1970..=2199;
/// Seconds in a day.
const DAY: i64 = 86_400;
/// Weekdays as they are written, Monday first: in short and in full.
pub const WEEKDAYS: [(&str, &str); 7] = [
    ("Mon", "Monday"),
    ("Tue", "Tuesday"),
    ("Wed", "Wednesday"),
    ("Thu", "Thursday"),
    ("Fri", "Friday"),
    ("Sat", "Saturday"),
    ("Sun", "Sunday"),
];

/// Reads `2026-03-02`: days since 1970-01-01.
pub fn read_date(text: &str) -> Result<i64, NumberProblem> {
    let (year, month, day) = date_parts(text.trim()).ok_or_else(|| not_iso(text))?;
    day_number(year, month, day)
}

/// Reads `2026-03-02` or `2026-03-02T09:00`: days since 1970-01-01, and the seconds of the day where a time is given.
pub fn read_moment(text: &str) -> Result<(i64, Option<i64>), NumberProblem> {
    let text = text.trim();
    match text.split_once(['T', 't', ' ']) {
        None => Ok((read_date(text)?, None)),
        Some((date, time)) => Ok((read_date(date)?, Some(read_time_of_day(time)?))),
    }
}

/// Reads ISO dates separated by blanks, as in the column `down`: the days in order and every problem.
pub fn read_dates(text: &str) -> (Vec<i64>, Vec<NumberProblem>) {
    let mut days = Vec::new();
    let mut problems = Vec::new();
    for word in text.split_whitespace() {
        match read_date(word) {
            Ok(day) => days.push(day),
            Err(problem) => problems.push(problem),
        }
    }
    days.sort_unstable();
    days.dedup();
    (days, problems)
}

/// A TOML date or date with time: days since 1970-01-01, and the seconds of the day where a time is given.
pub fn toml_moment(value: &Datetime) -> Result<(i64, Option<i64>), NumberProblem> {
    if value.offset.is_some() {
        return Err(zoned(&value.to_string()));
    }
    let Some(date) = value.date else {
        return Err(not_iso(&value.to_string()));
    };
    let day = day_number(i32::from(date.year), u32::from(date.month), u32::from(date.day))?;
    Ok((day, toml_seconds(value)?))
}

/// A TOML time without a date (`14:00:00`): seconds of the day.
pub fn toml_time_of_day(value: &Datetime) -> Result<i64, NumberProblem> {
    match (value.date, toml_seconds(value)?) {
        (None, Some(seconds)) => Ok(seconds),
        _ => Err(not_time(&value.to_string())),
    }
}

fn toml_seconds(value: &Datetime) -> Result<Option<i64>, NumberProblem> {
    let Some(time) = value.time else {
        return Ok(None);
    };
    let second = time.second.unwrap_or(0);
    if second > 59 || time.nanosecond.unwrap_or(0) != 0 {
        return Err(not_time(&value.to_string()));
    }
    Ok(Some(i64::from(time.hour) * 3_600 + i64::from(time.minute) * 60 + i64::from(second)))
}

/// Reads a time of day, `14:00` or `14:00:30`: seconds since midnight, below 86400.
pub fn read_time_of_day(text: &str) -> Result<i64, NumberProblem> {
    let text = text.trim();
    if text.ends_with(['Z', 'z']) || text.contains('+') {
        return Err(zoned(text));
    }
    match clock(text) {
        Some(seconds) if seconds < DAY => Ok(seconds),
        _ => Err(not_time(text)),
    }
}

/// Reads a span of hours, `09:00-12:30`: start and end in seconds of the day, start before end. The end may be `24:00`.
pub fn read_span(text: &str) -> Result<(i64, i64), NumberProblem> {
    let problem = |message: String, hint: &str| NumberProblem {
        code: Code::BadTime,
        message,
        hint: hint.into(),
    };
    let how = "write start and end of one day, such as `09:00-12:30`";
    let Some((start, end)) = text.split_once(['-', '–']) else {
        return Err(problem(format!("expected a span of hours, found `{}`", short(text)), how));
    };
    let start = read_time_of_day(start)?;
    let end = if end.trim() == "24:00" { DAY } else { read_time_of_day(end)? };
    if start >= end {
        let hint = "a span past midnight is written as two: `22:00-24:00` and `00:00-02:00` on the next day";
        return Err(problem(format!("span does not end after it starts: `{}`", short(text)), hint));
    }
    Ok((start, end))
}

/// Reads `Mon` to `Sun`, or the full English name: 0 is Monday, 6 is Sunday.
pub fn read_weekday(text: &str) -> Result<usize, NumberProblem> {
    let word = text.trim();
    let is = |name: &str| word.eq_ignore_ascii_case(name);
    WEEKDAYS.iter().position(|(brief, full)| is(brief) || is(full)).ok_or_else(|| NumberProblem {
        code: Code::BadTime,
        message: format!("expected a weekday, found `{}`", short(text)),
        hint: did_you_mean(word, WEEKDAYS.iter().map(|day| day.0))
            .unwrap_or_else(|| "write Mon, Tue, Wed, Thu, Fri, Sat or Sun".into()),
    })
}

/// Year, month and day of a text in exactly the form `2026-03-02`.
fn date_parts(text: &str) -> Option<(i32, u32, u32)> {
    let mut parts = text.split('-');
    let year = digits(parts.next()?, 4)?;
    let month = digits(parts.next()?, 2)?;
    let day = digits(parts.next()?, 2)?;
    parts.next().is_none().then_some((i32::try_from(year).ok()?, month, day))
}

fn digits(text: &str, count: usize) -> Option<u32> {
    (text.len() == count && text.bytes().all(|b| b.is_ascii_digit())).then(|| text.parse().ok())?
}

fn day_number(year: i32, month: u32, day: u32) -> Result<i64, NumberProblem> {
    let bad = |message: String, hint: String| NumberProblem { code: Code::BadDate, message, hint };
    let text = format!("{year:04}-{month:02}-{day:02}");
    if !(1..=12).contains(&month) {
        return Err(bad(
            format!("date does not exist: `{text}`"),
            "the month is 01 to 12: write year-month-day".into(),
        ));
    }
    let Some(date) = NaiveDate::from_ymd_opt(year, month, day) else {
        let last =
            (28..=31).rev().find(|last| NaiveDate::from_ymd_opt(year, month, *last).is_some());
        let hint = format!("{year:04}-{month:02} has {} days", last.unwrap_or_default());
        return Err(bad(format!("date does not exist: `{text}`"), hint));
    };
    if !YEARS.contains(&year) {
        let hint = format!("expected a year from {} to {}", YEARS.start(), YEARS.end());
        return Err(bad(format!("date is out of range: `{text}`"), hint));
    }
    // The difference of two dates counts whole days.
    Ok(date.signed_duration_since(NaiveDate::default()).num_days())
}

/// Seconds of `H:MM`, `HH:MM` or `HH:MM:SS`, up to `24:00`.
fn clock(text: &str) -> Option<i64> {
    let mut parts = text.split(':');
    let hour = parts.next()?;
    let hour = digits(hour, 2).or_else(|| digits(hour, 1))?;
    let minute = digits(parts.next()?, 2)?;
    let second = parts.next().map_or(Some(0), |part| digits(part, 2))?;
    if parts.next().is_some() || minute > 59 || second > 59 {
        return None;
    }
    Some(i64::from(hour) * 3_600 + i64::from(minute) * 60 + i64::from(second))
}

fn not_iso(text: &str) -> NumberProblem {
    let shown = short(text);
    if text.contains(':') {
        return NumberProblem {
            code: Code::BadDate,
            message: format!("expected a date, found `{shown}`"),
            hint: "write the day alone, year-month-day: `2026-03-02`".into(),
        };
    }
    NumberProblem {
        code: Code::BadDate,
        message: format!("expected a date as year-month-day, found `{shown}`"),
        hint: "write four, two and two digits: `2026-03-02` is the second of March".into(),
    }
}

fn not_time(text: &str) -> NumberProblem {
    NumberProblem {
        code: Code::BadTime,
        message: format!("expected a time of day, found `{}`", short(text)),
        hint: "write hours and minutes from `00:00` to `23:59`, such as `14:00`".into(),
    }
}

fn zoned(text: &str) -> NumberProblem {
    NumberProblem {
        code: Code::BadTime,
        message: format!("time with a zone: `{}`, expected local time", short(text)),
        hint: "leave the zone out: all times are those of the place where the work is done".into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_count_from_the_first_of_january_1970() {
        assert_eq!(read_date("1970-01-01"), Ok(0));
        assert_eq!(read_date("1970-01-02"), Ok(1));
        // The Unix time 1,000,000,000 fell on 2001-09-09 (01:46:40 UTC): 11574 whole days.
        assert_eq!(read_date("2001-09-09"), Ok(1_000_000_000 / 86_400));
        // 2000 was a leap year (divisible by 400): 30 years with 7 leap days before it, then 31 + 29 days.
        assert_eq!(read_date("2000-03-01"), Ok(30 * 365 + 7 + 31 + 29));
        // 2100 is none.
        assert_eq!(read_date("2100-02-29").unwrap_err().code, Code::BadDate);
    }

    #[test]
    fn dates_that_do_not_exist_say_so() {
        let problem = read_date("2026-02-30").unwrap_err();
        assert_eq!(problem.message, "date does not exist: `2026-02-30`");
        assert_eq!(problem.hint, "2026-02 has 28 days");
        for text in
            ["2026-13-01", "2026-00-10", "2026-04-31", "2026-04-00", "1969-12-31", "9999-01-01"]
        {
            assert_eq!(read_date(text).unwrap_err().code, Code::BadDate, "{text}");
        }
        for text in [
            "02.03.2026",
            "03/02/2026",
            "2026-3-2",
            "26-03-02",
            "",
            "20260302",
            "２０２６-03-02",
            "2026-03-02-01",
        ] {
            assert!(read_date(text).unwrap_err().message.contains("year-month-day"), "{text}");
        }
    }

    #[test]
    fn moments() {
        assert_eq!(read_moment("1970-01-02T09:30"), Ok((1, Some(34_200))));
        assert_eq!(read_moment("1970-01-02 09:30:05"), Ok((1, Some(34_205))));
        assert_eq!(read_moment("1970-01-02"), Ok((1, None)));
        assert_eq!(read_moment("1970-01-02T09:30Z").unwrap_err().code, Code::BadTime);
        assert_eq!(read_moment("1970-01-02T09:30+01:00").unwrap_err().code, Code::BadTime);
    }

    #[test]
    fn toml_dates_give_the_same() {
        let of = |text: &str| toml_moment(&text.parse::<Datetime>().unwrap());
        assert_eq!(of("2026-03-02T09:00:00"), read_moment("2026-03-02T09:00"));
        assert_eq!(of("2026-03-02"), read_moment("2026-03-02"));
        assert_eq!(of("2026-03-02T09:00:00Z").unwrap_err().code, Code::BadTime);
        assert_eq!(of("09:00:00").unwrap_err().code, Code::BadDate);
        assert_eq!(toml_time_of_day(&"14:00:00".parse::<Datetime>().unwrap()), Ok(50_400));
    }

    #[test]
    fn times_and_spans() {
        assert_eq!(read_time_of_day("14:00"), Ok(50_400));
        assert_eq!(read_time_of_day("9:05"), Ok(32_700));
        for text in
            ["24:00", "12:60", "1400", "14", "14:0", "14:00:60", "-1:00", "", "14:00:00:00", "2 pm"]
        {
            assert_eq!(read_time_of_day(text).unwrap_err().code, Code::BadTime, "{text}");
        }
        assert_eq!(read_span("09:00-12:30"), Ok((32_400, 45_000)));
        assert_eq!(read_span("18:00 – 24:00"), Ok((64_800, 86_400)));
        for text in ["12:30-09:00", "09:00-09:00", "09:00", "09:00-", "09:00-25:00", "24:00-24:00"]
        {
            assert_eq!(read_span(text).unwrap_err().code, Code::BadTime, "{text}");
        }
    }

    #[test]
    fn weekdays() {
        assert_eq!(read_weekday("Mon"), Ok(0));
        assert_eq!(read_weekday("sunday"), Ok(6));
        assert_eq!(read_weekday("Thr").unwrap_err().hint, "did you mean `Thu`?");
        assert_eq!(read_weekday("Funday").unwrap_err().code, Code::BadTime);
    }

    #[test]
    fn lists_of_dates_are_sorted_and_report_every_problem() {
        let (days, problems) = read_dates(" 1970-01-03  1970-01-02 1970-01-03 ");
        assert_eq!((days, problems.len()), (vec![1, 2], 0));
        let (days, problems) = read_dates("1970-01-02 1970-02-30 tomorrow");
        assert_eq!((days, problems.len()), (vec![1], 2));
        assert_eq!(read_dates(""), (vec![], vec![]));
    }
}
