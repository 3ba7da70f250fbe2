//! Days, opening hours and business-day calendars. Local time, no time zones.

/// Seconds in a day.
pub const DAY: i64 = 86_400;
/// Seconds in an hour.
pub const HOUR: i64 = 3_600;

/// A moment: seconds since 1970-01-01T00:00 local time.
pub type Moment = i64;
/// A day: days since 1970-01-01.
pub type Day = i64;

/// The day a moment lies in.
pub fn day_of(moment: Moment) -> Day {
    moment.div_euclid(DAY)
}

/// The seconds since midnight of a moment.
pub fn second_of_day(moment: Moment) -> i64 {
    moment.rem_euclid(DAY)
}

/// The weekday of a day: 0 is Monday, 6 is Sunday. (1970-01-01 was a Thursday.)
pub fn weekday(day: Day) -> usize {
    usize::try_from((day + 3).rem_euclid(7)).unwrap_or(0)
}

/// The Monday that stands for day 1 where a scenario has no start: 1970-01-05.
pub const FIRST_MONDAY: Day = 4;

/// A business-day calendar.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Calendar {
    /// Its name in `[calendar.NAME]`; empty for Monday to Friday.
    pub name: String,
    /// Which weekdays count, Monday first.
    pub days: [bool; 7],
    /// Days that do not count, ascending.
    pub closed: Vec<Day>,
}

impl Calendar {
    /// Monday to Friday without holidays: what holds where no calendar is named.
    pub fn weekdays() -> Calendar {
        Calendar {
            name: String::new(),
            days: [true, true, true, true, true, false, false],
            closed: Vec::new(),
        }
    }

    /// True if the day is a business day.
    pub fn is_open(&self, day: Day) -> bool {
        self.days[weekday(day)] && self.closed.binary_search(&day).is_err()
    }

    /// The day itself if it is a business day, else the next one.
    pub fn on_or_after(&self, mut day: Day) -> Day {
        while !self.is_open(day) {
            day += 1;
        }
        day
    }

    /// The `count`-th business day after `day`; `day` itself for 0, rolled forward to a business day.
    pub fn after(&self, day: Day, count: i64) -> Day {
        if count <= 0 {
            return self.on_or_after(day);
        }
        let mut day = day;
        for _ in 0..count {
            day = self.on_or_after(day + 1);
        }
        day
    }
}

/// When the bench is open.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hours {
    /// Which days, Monday first, less closed days.
    pub calendar: Calendar,
    /// Half-open spans in seconds of the day, ascending, not overlapping; never empty.
    pub spans: Vec<(i64, i64)>,
}

impl Hours {
    /// The longest span in seconds: no attended step may be longer.
    pub fn longest_span(&self) -> i64 {
        self.spans.iter().map(|s| s.1 - s.0).max().unwrap_or(0)
    }

    /// The first opening of an open day.
    pub fn first_opening(&self) -> i64 {
        self.spans.first().map_or(0, |s| s.0)
    }
}
