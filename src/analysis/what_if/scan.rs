//! Looking along one number for the nearest place where a difference changes its sign.

/// Steps to each side of a size, the outermost at a sixteenth and sixteen times.
const STEPS: i32 = 48;
/// How far a size is followed, as a factor.
const REACH: f64 = 16.0;
/// Even steps of a share between 0 and 1.
const SHARE_STEPS: i32 = 50;
/// Width, as a share of the value, at which a change is found.
const FOUND: f64 = 1e-4;
/// Most halvings.
const HALVINGS: usize = 64;
/// So many steps each way are looked at together: past the nearest, only the outermost of them where the difference is calm.
const STRETCH: usize = 6;
/// A stretch is calm where the difference is more than this times what moves it: from end to end, and at most from step to step so far.
const CALM: f64 = 2.0;
/// A move of less than this share of the difference is none.
const STILL: f64 = 1e-9;
/// A difference that falls by more than this times what its fall over a whole step lets expect has jumped.
const JUMP: f64 = 5.0;
/// And by more than this share of that fall: prices of pieces and times move in small steps of their own.
const VISIBLE: f64 = 0.02;

/// Where the answer changes along one number.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Change {
    /// Nowhere within reach.
    Never,
    /// Here: the two plans cost the same, or of a whole number this is the first at which the other is not dearer.
    At(f64),
    /// Here, without ever costing the same.
    Jumps(f64),
}

impl Change {
    /// The value, if there is one.
    pub fn place(self) -> Option<f64> {
        match self {
            Change::Never => None,
            Change::At(place) | Change::Jumps(place) => Some(place),
        }
    }

    /// The same with values so many times as large.
    pub(super) fn scaled(self, times: f64) -> Change {
        match self {
            Change::Never => Change::Never,
            Change::At(place) => Change::At(place * times),
            Change::Jumps(place) => Change::Jumps(place * times),
        }
    }
}

/// What values a number may take.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) enum NumberKind {
    /// Whole numbers in these bounds.
    Whole(i64, i64),
    /// From 0 to this.
    Share(f64),
    /// Any from 0 on, with the step in which it counts (0: none) and a unit to begin with where it is 0; whether what it decides comes in
    /// jumps, such as pieces that go on a plate.
    Size { step: f64, unit: f64, jumps: bool },
}

impl NumberKind {
    /// True where nothing foretells what a value between two others does.
    fn jumps(self) -> bool {
        matches!(self, NumberKind::Size { jumps: true, .. })
    }

    /// The values to look at, the nearest first; those at the same distance stand side by side.
    pub fn values(self, today: f64) -> Vec<f64> {
        let mut values: Vec<f64> = match self {
            NumberKind::Whole(least, most) => whole(today, least, most),
            NumberKind::Share(most) => (0..=SHARE_STEPS)
                .map(|i| (f64::from(i) / f64::from(SHARE_STEPS)).min(most))
                .filter(|v| (v - today).abs() > 1e-12)
                .collect(),
            NumberKind::Size { unit, .. } if today == 0.0 => return units(unit).to_vec(),
            NumberKind::Size { .. } => return sizes(today),
        };
        values.sort_by(|a, b| (a - today).abs().total_cmp(&(b - today).abs()));
        values.dedup();
        values
    }
}

/// Every so many-th pair of values, with the nearest and the outermost: where one simulation takes long.
pub(super) fn thinned(values: Vec<f64>, every: usize) -> Vec<f64> {
    let last = values.len().saturating_sub(1) / 2;
    let kept = |pair: usize| pair == 0 || pair == last || (pair + 1).is_multiple_of(every);
    values.into_iter().enumerate().filter(|(at, _)| kept(at / 2)).map(|(_, v)| v).collect()
}

/// What a size of 0 is tried with.
fn units(unit: f64) -> [f64; 4] {
    [1.0, 10.0, 100.0, 1000.0].map(|times| times * unit)
}

fn sizes(today: f64) -> Vec<f64> {
    let factor = |k: i32| REACH.powf(f64::from(k) / f64::from(STEPS));
    (1..=STEPS).flat_map(|k| [today * factor(k), today / factor(k)]).collect()
}

fn whole(today: f64, least: i64, most: i64) -> Vec<f64> {
    let (least, most) = (least as f64, most as f64);
    let low = (today / REACH).ceil().max(least);
    let high = (today.max(1.0) * REACH).floor().min(most);
    let all: Vec<f64> = if high - low <= f64::from(2 * STEPS) {
        std::iter::successors(Some(low), |v| Some(v + 1.0)).take_while(|&v| v <= high).collect()
    } else {
        let some = sizes(today).into_iter().map(f64::round);
        some.filter(|v| (low..=high).contains(v)).collect()
    };
    all.into_iter().filter(|v| (v - today).abs() > 0.5).collect()
}

/// A place and the difference there.
type Point = (f64, f64);

/// The change nearest to today's value among the values given, nearest first. `at` is the difference under a value, `None` where that
/// is not valid: such values are passed over.
pub(super) fn nearest_change(
    kind: NumberKind,
    values: &[f64],
    (today, now): Point,
    at: &impl Fn(f64) -> Option<f64>,
) -> Change {
    if now == 0.0 {
        return Change::At(today);
    }
    match kind {
        NumberKind::Size { unit, .. } if today == 0.0 => from_zero((kind, unit), now, at),
        _ => along(kind, values, (today, now), at),
    }
}

fn along(
    kind: NumberKind,
    values: &[f64],
    (today, now): Point,
    at: &impl Fn(f64) -> Option<f64>,
) -> Change {
    let mut walk = Walk { last: [(today, now); 2], largest: 0.0 };
    // How far the value was that showed the change, how far the change itself is, and the change.
    let mut found: Option<(f64, f64, Change)> = None;
    let far = |value: f64| ratio(kind, today, value);
    // Only a value as far on the other side may show a change that is nearer.
    let is_beyond = |found: Option<(f64, f64, Change)>, value: f64| {
        found.is_some_and(|(shown, ..)| far(value) > shown * (1.0 + 1e-9))
    };
    for (number, stretch) in values.chunks(2 * STRETCH).enumerate() {
        if is_beyond(found, stretch[0]) {
            break;
        }
        let calm = [false, true]
            .map(|above| number > 0 && !kind.jumps() && walk.is_calm(stretch, (above, today), at));
        for &value in stretch {
            if is_beyond(found, value) {
                break;
            }
            let side = usize::from(value > today);
            if calm[side] {
                continue;
            }
            let Some(difference) = at(value) else {
                continue;
            };
            if difference * now > 0.0 {
                walk.step(side, (value, difference));
                continue;
            }
            let change = narrowed(kind, walk.last[side], (value, difference), at);
            let place = change.place().unwrap_or(value);
            if found.is_none_or(|(_, nearest, _)| far(place) < nearest) {
                found = Some((far(value), far(place), change));
            }
        }
    }
    found.map_or(Change::Never, |(.., change)| change)
}

/// How far a number has been followed to each side, without a change of sign.
struct Walk {
    /// The last place below today's value and the last above it.
    last: [Point; 2],
    /// The largest move of the difference from one value to the next.
    largest: f64,
}

impl Walk {
    fn step(&mut self, side: usize, to: Point) {
        self.largest = self.largest.max((to.1 - self.last[side].1).abs());
        self.last[side] = to;
    }

    /// True where the outermost value of a stretch shows that the difference goes nowhere near zero on its way there: then it is there.
    fn is_calm(
        &mut self,
        stretch: &[f64],
        (above, today): (bool, f64),
        at: &impl Fn(f64) -> Option<f64>,
    ) -> bool {
        let side = usize::from(above);
        let (_, here) = self.last[side];
        let Some(&end) = stretch.iter().rfind(|&&value| (value > today) == above) else {
            return true;
        };
        let Some(there) = at(end).filter(|there| there * here > 0.0) else {
            return false;
        };
        let moved = (there - here).abs().max(self.largest);
        // What does not move at all so far moves in jumps, which nothing foretells.
        let nearest = here.abs().min(there.abs());
        let calm = moved > STILL * nearest && nearest > CALM * moved;
        if calm {
            self.last[side] = (end, there);
        }
        calm
    }
}

/// How far two values are apart: as a factor for sizes.
fn ratio(kind: NumberKind, today: f64, place: f64) -> f64 {
    match kind {
        NumberKind::Size { .. } if today > 0.0 && place > 0.0 => (place / today).ln().abs(),
        _ => (place - today).abs(),
    }
}

/// Halves the stretch between a value on today's side and one beyond the change.
fn narrowed(
    kind: NumberKind,
    mut near: Point,
    mut far: Point,
    at: &impl Fn(f64) -> Option<f64>,
) -> Change {
    let (width, fall) = ((far.0 - near.0).abs(), (far.1 - near.1).abs());
    let is_whole = matches!(kind, NumberKind::Whole(..));
    for _ in 0..HALVINGS {
        let wide = (far.0 - near.0).abs();
        let done = if is_whole { 1.0 } else { FOUND * near.0.abs().max(far.0.abs()) };
        if wide <= done {
            break;
        }
        let middle = near.0 + (far.0 - near.0) / 2.0;
        let middle = if is_whole { middle.floor() } else { middle };
        match at(middle) {
            Some(difference) if difference * near.1 > 0.0 => near = (middle, difference),
            Some(difference) => far = (middle, difference),
            // Not valid in between: the change is where it is valid again.
            None => break,
        }
    }
    if is_whole {
        return Change::At(far.0);
    }
    let step = if let NumberKind::Size { step, .. } = kind { step } else { 0.0 };
    let (left, last) = ((far.0 - near.0).abs().max(step), (far.1 - near.1).abs());
    if last > JUMP * fall * left / width && last > VISIBLE * fall {
        return Change::Jumps(far.0);
    }
    // Between two values so near the difference is a straight line.
    Change::At(near.0 + (far.0 - near.0) * (near.1 / (near.1 - far.1)))
}

/// From 0 there is no factor: the difference under one unit tells how many units would equal today's difference. If that is it, it is
/// the answer; else values up to sixteen times as many are looked at.
fn from_zero(
    (kind, unit): (NumberKind, f64),
    now: f64,
    at: &impl Fn(f64) -> Option<f64>,
) -> Change {
    let slope = units(unit).into_iter().find_map(|value| {
        let moved = at(value)? - now;
        (moved.abs() > 1e-9 * now.abs()).then_some(moved / value)
    });
    let Some(slope) = slope else {
        return Change::Never;
    };
    let equal = (now / slope).abs();
    if slope * now < 0.0 && at(equal).is_some_and(|d| d.abs() <= 1e-7 * now.abs()) {
        return Change::At(equal);
    }
    let values: Vec<f64> =
        (1..=STEPS).map(|k| equal * REACH * f64::from(k) / f64::from(STEPS)).collect();
    // All on one side: each is followed by itself, so that none is skipped.
    let mut near = (0.0, now);
    for value in values {
        match at(value) {
            Some(difference) if difference * now <= 0.0 => {
                return narrowed(kind, near, (value, difference), at);
            }
            Some(difference) => near = (value, difference),
            None => {}
        }
    }
    Change::Never
}

#[cfg(test)]
mod tests {
    use super::*;

    const SIZE: NumberKind = NumberKind::Size { step: 0.0, unit: 1.0, jumps: false };

    fn change(kind: NumberKind, today: f64, at: impl Fn(f64) -> Option<f64>) -> Change {
        nearest_change(kind, &kind.values(today), (today, at(today).expect("valid today")), &at)
    }

    fn near(change: Change, place: f64) -> bool {
        matches!(change, Change::At(at) if (at - place).abs() <= 1e-4 * place.abs())
    }

    #[test]
    fn a_straight_line_changes_at_its_zero() {
        // 100 - 4 x is 0 at 25, whatever side today is on.
        let line = |x: f64| Some(100.0 - 4.0 * x);
        for today in [2.0, 24.0, 26.0, 300.0] {
            assert!(near(change(SIZE, today, line), 25.0), "{today}");
        }
        assert_eq!(change(SIZE, 1.0, line), Change::Never, "25 is more than 16 times 1");
        assert_eq!(change(SIZE, 500.0, line), Change::Never, "25 is less than a sixteenth of 500");
        assert_eq!(change(SIZE, 25.0, line), Change::At(25.0));
    }

    #[test]
    fn of_two_changes_the_nearer_factor_counts() {
        // Zeros at 5 and 30; from 10 the first is 2 times away, the second 3 times; from 20 it is 4 and 1.5.
        let curve = |x: f64| Some((x - 5.0) * (30.0 - x));
        assert!(near(change(SIZE, 10.0, curve), 5.0));
        assert!(near(change(SIZE, 20.0, curve), 30.0));
        // Both within one step of today's: the nearer of the two.
        let close = |x: f64| Some((x - 9.8) * (10.4 - x));
        assert!(near(change(SIZE, 10.0, close), 9.8));
    }

    #[test]
    fn a_jump_is_told_from_a_zero() {
        let jump = |x: f64| Some(if x < 13.0 { 5.0 + x } else { x - 40.0 });
        let found = change(SIZE, 10.0, jump);
        assert!(matches!(found, Change::Jumps(at) if (at - 13.0).abs() <= 2e-3), "{found:?}");
        // Steps of a second, or of a cent, are no jumps.
        let steps = |x: f64| Some(100.0 - x.round());
        let found = change(NumberKind::Size { step: 1.0, unit: 60.0, jumps: false }, 70.0, steps);
        assert!(matches!(found, Change::At(at) if (at - 100.0).abs() <= 1.0), "{found:?}");
    }

    #[test]
    fn whole_numbers_are_exact_and_bounded() {
        let line = |x: f64| Some(20.5 - x);
        assert_eq!(change(NumberKind::Whole(1, 100), 6.0, line), Change::At(21.0));
        assert_eq!(change(NumberKind::Whole(1, 20), 6.0, line), Change::Never);
        assert_eq!(
            change(NumberKind::Whole(1, 10_000), 500.0, |x| Some(600.5 - x)),
            Change::At(601.0)
        );
        assert_eq!(change(NumberKind::Whole(0, 100), 6.0, |x| Some(x - 2.5)), Change::At(2.0));
        assert_eq!(
            change(NumberKind::Whole(0, 100), 0.0, line),
            Change::Never,
            "16 is as far as 0 goes"
        );
    }

    #[test]
    fn shares_stay_between_none_and_all() {
        assert!(near(change(NumberKind::Share(1.0), 0.25, |x| Some(0.9 - x)), 0.9));
        assert!(near(change(NumberKind::Share(0.99), 0.0, |x| Some(0.3 - x)), 0.3));
        assert_eq!(change(NumberKind::Share(0.99), 0.25, |x| Some(0.995 - x)), Change::Never);
    }

    #[test]
    fn fewer_values_keep_the_nearest_and_the_outermost() {
        let all = SIZE.values(10.0);
        assert_eq!(thinned(all.clone(), 1), all);
        let some = thinned(all.clone(), 12);
        assert_eq!(some.len(), 10, "steps 1, 12, 24, 36 and 48 each way");
        assert_eq!((some[0], some[9]), (all[0], all[95]));
        let line = |x: f64| Some(100.0 - 4.0 * x);
        assert!(near(nearest_change(SIZE, &some, (10.0, 60.0), &line), 25.0));
    }

    #[test]
    fn calm_stretches_are_stepped_over_and_others_are_not() {
        let looks = std::cell::Cell::new(0);
        let level = |x: f64| {
            looks.set(looks.get() + 1);
            Some(1000.0 + x)
        };
        assert_eq!(change(SIZE, 10.0, level), Change::Never);
        assert!(looks.get() <= 12 + 2 * 7 + 1, "{} looks", looks.get());
        // Packs: up by 40 at every 10, down between; it comes to 0 only at the end of the sixth.
        let packs = |x: f64| Some(80.0 + 40.0 * (x / 10.0).floor() - 4.75 * x);
        let found = change(SIZE, 21.0, packs).place().expect("it comes to 0");
        assert!((58.0..60.0).contains(&found), "{found}");
    }

    #[test]
    fn what_moves_in_jumps_alone_is_looked_at_everywhere() {
        // As a box that needs a second plate from 14.3 on, and none at all from 16.5 on.
        let plates = |x: f64| Some(if (14.3..16.5).contains(&x) { -50.0 } else { 100.0 });
        let found = change(SIZE, 10.0, plates);
        assert!(matches!(found, Change::Jumps(at) if (at - 14.3).abs() <= 2e-3), "{found:?}");
    }

    #[test]
    fn a_value_that_is_not_valid_is_passed_over() {
        let holes = |x: f64| (!(11.0..12.0).contains(&x)).then_some(20.0 - x);
        assert!(near(change(SIZE, 10.0, holes), 20.0));
    }

    #[test]
    fn from_nothing_the_totals_tell() {
        assert!(near(change(SIZE, 0.0, |x| Some(-50.0 + 0.4 * x)), 125.0));
        assert_eq!(change(SIZE, 0.0, |x| Some(-50.0 - 0.4 * x)), Change::Never);
        assert_eq!(change(SIZE, 0.0, |_| Some(-50.0)), Change::Never);
        // Not straight: the first unit promises 50, the zero is at 100.
        let bent = |x: f64| Some(-50.0 + if x < 10.0 { x } else { 10.0 + (x - 10.0) * 4.0 / 9.0 });
        assert!(near(change(SIZE, 0.0, bent), 100.0));
    }
}
