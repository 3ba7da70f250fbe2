//! Working time: openings, work that fits a span, work that goes on after each closing.

use std::cell::Cell;

use crate::model::{DAY, Hours, Moment, day_of, second_of_day};

/// Past this moment (the year 12,000) spans are no longer walked one by one: no answer comes from there.
const FAR: Moment = 316_000_000_000;

/// The bench's hours as questions a schedule asks.
#[derive(Clone, Debug)]
pub struct Clock<'a> {
    hours: &'a Hours,
    /// The last span found, and from which moment on it is the one: moments asked for lie close together.
    last: Cell<(Moment, Span)>,
}

/// A stretch in which the bench is open: its opening and closing.
type Span = (Moment, Moment);

impl<'a> Clock<'a> {
    /// A clock over opening hours.
    pub fn new(hours: &'a Hours) -> Clock<'a> {
        Clock { hours, last: Cell::new((Moment::MAX, (Moment::MAX, Moment::MIN))) }
    }

    /// The span that contains a moment, or the next one.
    #[inline]
    fn span_from(&self, moment: Moment) -> Span {
        let (from, span) = self.last.get();
        if from <= moment && moment < span.1 {
            return span;
        }
        let span = self.find_span(moment);
        self.last.set((moment.min(span.0), span));
        span
    }

    fn find_span(&self, moment: Moment) -> Span {
        let mut day = day_of(moment);
        let second = second_of_day(moment);
        if self.hours.calendar.is_open(day)
            && let Some(&(open, close)) = self.hours.spans.iter().find(|s| s.1 > second)
        {
            return (day * DAY + open, day * DAY + close);
        }
        day = self.hours.calendar.on_or_after(day + 1);
        let (open, close) = self.hours.spans[0];
        (day * DAY + open, day * DAY + close)
    }

    /// The first moment from `moment` on at which the bench is open. Spans are half-open: the closing moment is closed.
    pub fn next_open(&self, moment: Moment) -> Moment {
        moment.max(self.span_from(moment).0)
    }

    /// The first opening of an open day after `moment`: where an overnight hold that begins at `moment` ends.
    pub fn morning_after(&self, moment: Moment) -> Moment {
        let opening = self.hours.first_opening();
        let day = self.hours.calendar.on_or_after(day_of(moment));
        let this = day * DAY + opening;
        if this > moment { this } else { self.hours.calendar.on_or_after(day + 1) * DAY + opening }
    }

    /// The first opening on or after a day.
    pub fn opening_of(&self, day: crate::model::Day) -> Moment {
        self.hours.calendar.on_or_after(day) * DAY + self.hours.first_opening()
    }

    /// The earliest start from `moment` on at which `seconds` of work fit one span. Loading has made sure that some span is long enough.
    pub fn fit(&self, moment: Moment, seconds: i64) -> Moment {
        self.fit_before(moment, seconds).0
    }

    /// The same, and when the span closes.
    fn fit_before(&self, moment: Moment, seconds: i64) -> (Moment, Moment) {
        let mut at = moment;
        loop {
            let (open, close) = self.span_from(at);
            let start = at.max(open);
            if start + seconds <= close || seconds > self.hours.longest_span() {
                return (start, close);
            }
            at = close;
        }
    }

    /// The end of work that starts at the next open moment and goes on after each closing.
    pub fn work(&self, moment: Moment, seconds: i64) -> (Moment, Moment) {
        let start = self.next_open(moment);
        let (mut at, mut left) = (start, seconds);
        loop {
            let (open, close) = self.span_from(at);
            let from = at.max(open);
            if left <= close - from || at > FAR {
                return (start, from + left);
            }
            left -= close - from;
            at = close;
        }
    }

    /// Start and end of work on pieces one after the other, each within a span; `first` is the time of the first, `each` of the others.
    pub fn pieces(&self, moment: Moment, first: i64, each: i64, pieces: i64) -> (Moment, Moment) {
        let start = self.fit(moment, first);
        let (mut at, mut left) = (start + first, pieces - 1);
        while left > 0 && each > 0 {
            let (from, close) = self.fit_before(at, each);
            let now = ((close - from) / each).clamp(1, left);
            at = from + now * each;
            left -= now;
        }
        (start, at)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{Calendar, HOUR};

    const MIN: i64 = 60;

    /// Monday 1970-01-05 is day 4; spans 09:00-12:30 and 13:30-18:00.
    fn hours() -> Hours {
        Hours {
            calendar: Calendar { closed: vec![7], ..Calendar::weekdays() },
            spans: vec![(9 * HOUR, 12 * HOUR + 30 * MIN), (13 * HOUR + 30 * MIN, 18 * HOUR)],
        }
    }

    fn at(day: i64, hour: i64, minute: i64) -> Moment {
        day * DAY + hour * HOUR + minute * MIN
    }

    #[test]
    fn the_closing_moment_is_closed() {
        let hours = hours();
        let clock = Clock::new(&hours);
        assert_eq!(clock.next_open(at(4, 9, 0)), at(4, 9, 0));
        assert_eq!(clock.next_open(at(4, 12, 30)), at(4, 13, 30));
        assert_eq!(clock.next_open(at(4, 18, 0)), at(5, 9, 0));
        // Day 7 is a closed Thursday, days 9 and 10 the weekend.
        assert_eq!(clock.next_open(at(6, 20, 0)), at(8, 9, 0));
        assert_eq!(clock.next_open(at(8, 18, 0)), at(11, 9, 0));
    }

    #[test]
    fn overnight_ends_at_the_next_morning_of_a_bench_day() {
        let hours = hours();
        let clock = Clock::new(&hours);
        // From 02:00 Tuesday: Tuesday's; from 10:00 Tuesday or exactly at Tuesday's opening: Wednesday's.
        assert_eq!(clock.morning_after(at(5, 2, 0)), at(5, 9, 0));
        assert_eq!(clock.morning_after(at(5, 10, 0)), at(6, 9, 0));
        assert_eq!(clock.morning_after(at(5, 9, 0)), at(6, 9, 0));
        // Across the closed Thursday.
        assert_eq!(clock.morning_after(at(6, 10, 0)), at(8, 9, 0));
    }

    #[test]
    fn work_fits_a_span_or_goes_on_after_closing() {
        let hours = hours();
        let clock = Clock::new(&hours);
        assert_eq!(clock.fit(at(4, 12, 0), 30 * MIN), at(4, 12, 0));
        assert_eq!(clock.fit(at(4, 12, 0), 31 * MIN), at(4, 13, 30));
        assert_eq!(clock.work(at(4, 12, 0), 60 * MIN), (at(4, 12, 0), at(4, 14, 0)));
        assert_eq!(clock.work(at(4, 17, 0), 60 * MIN), (at(4, 17, 0), at(4, 18, 0)));
        assert_eq!(clock.work(at(4, 19, 0), 0), (at(5, 9, 0), at(5, 9, 0)));
    }

    #[test]
    fn pieces_pause_only_where_the_next_does_not_fit() {
        let hours = hours();
        let clock = Clock::new(&hours);
        // From 11:30, 40 min each: 11:30-12:10, then 12:10-12:50 does not fit: 13:30, 14:10.
        assert_eq!(
            clock.pieces(at(4, 11, 30), 40 * MIN, 40 * MIN, 3),
            (at(4, 11, 30), at(4, 14, 50))
        );
        assert_eq!(clock.pieces(at(4, 9, 0), 10 * MIN, 10 * MIN, 1), (at(4, 9, 0), at(4, 9, 10)));
    }
}
