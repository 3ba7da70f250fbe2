//! The grid of a sweep: which point is which combination of values.

use super::POINTS_LIMIT;
use crate::input::Series;

/// One input and its values.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Vary {
    /// The address of the input.
    pub key: String,
    /// Its values, as they would be written in a file.
    pub series: Series,
}

/// Every combination of the values of some inputs. Points are numbered from 0, the last input turning fastest; but inputs on which the reading
/// of the files rests turn slowest of all, and prices fastest, so that points at which the same happens stand together.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Grid {
    varied: Vec<Vary>,
    /// Inputs by index, the slowest first; the first ones are the outer ones.
    turning: Vec<usize>,
    outer: usize,
    points: u64,
    inner_points: u64,
}

impl Grid {
    /// The grid of some inputs, of which those with the given indices are outer ones, and those prices.
    pub(super) fn new(varied: &[Vary], outer: &[usize], prices: &[usize]) -> Result<Grid, String> {
        let inner = (0..varied.len()).filter(|index| !outer.contains(index));
        let (prices, moving): (Vec<usize>, Vec<usize>) =
            inner.partition(|index| prices.contains(index));
        let turning: Vec<usize> = outer.iter().copied().chain(moving).chain(prices).collect();
        let count = |of: &[usize]| {
            let mut sizes = of.iter().map(|&index| varied[index].series.numbers.len() as u64);
            sizes.try_fold(1u64, u64::checked_mul)
        };
        let points = count(&turning).filter(|&points| points <= POINTS_LIMIT);
        let (Some(points), Some(inner_points)) = (points, count(&turning[outer.len()..])) else {
            return Err(format!("more than {POINTS_LIMIT} points: take larger steps"));
        };
        Ok(Grid { varied: varied.to_vec(), turning, outer: outer.len(), points, inner_points })
    }

    /// The inputs as they were given.
    pub fn varied(&self) -> &[Vary] {
        &self.varied
    }

    /// How many points there are.
    pub fn points(&self) -> u64 {
        self.points
    }

    /// Points for each combination of the outer inputs.
    pub(super) fn inner_points(&self) -> u64 {
        self.inner_points
    }

    /// Inputs, by index, for each combination of whose values the files are read anew.
    pub fn outer(&self) -> &[usize] {
        &self.turning[..self.outer]
    }

    /// All other inputs, by index.
    pub(super) fn inner(&self) -> &[usize] {
        &self.turning[self.outer..]
    }

    /// Which value each input has at a point, by index of the inputs as given.
    pub fn values_at(&self, point: u64) -> Vec<usize> {
        let mut values = vec![0; self.varied.len()];
        self.turn(point, &self.turning, |index, value| values[index] = value);
        values
    }

    /// How many values an input has.
    pub(super) fn size(&self, index: usize) -> usize {
        self.varied[index].series.numbers.len()
    }

    /// Puts which value each inner input has at a point of those inside one combination of the outer ones in its place.
    pub(super) fn inner_values(&self, point: u64, values: &mut [usize]) {
        self.turn(point, self.inner(), |index, value| values[index] = value);
    }

    /// Tells which value each of some inputs has at a point of the grid they make, the fastest first.
    pub(super) fn turn(&self, point: u64, of: &[usize], mut told: impl FnMut(usize, usize)) {
        let mut rest = point;
        for &index in of.iter().rev() {
            let size = self.varied[index].series.numbers.len() as u64;
            told(index, usize::try_from(rest % size).unwrap_or(0));
            rest /= size;
        }
    }
}

/// Inputs, by index, that are judged together when the files are read: a value of one may be valid only with some of the other.
pub(super) fn coupled(varied: &[Vary]) -> Vec<usize> {
    let together =
        |a: usize| (0..varied.len()).any(|b| a != b && pair(&varied[a].key, &varied[b].key));
    (0..varied.len()).filter(|&a| together(a)).collect()
}

/// Keys of one record that are held against each other.
const HELD: [[&str; 2]; 5] = [
    ["price", "resale"],
    ["attended", "first_time"],
    ["volume", "box.x"],
    ["volume", "box.y"],
    ["volume", "box.z"],
];

fn pair(a: &str, b: &str) -> bool {
    const PLANNED: &str = "iterations.planned";
    let counts =
        |x: &str, y: &str| x == PLANNED && y.starts_with("part[") && y.ends_with("].iterations");
    let (Some((x, key)), Some((y, other))) = (record(a), record(b)) else {
        return counts(a, b) || counts(b, a);
    };
    // Routes that share an order or a material must agree on what they state of it; a box is judged as a whole.
    let of_routes = |x: &str| x.starts_with("route[") && !x.contains("].steps[");
    let agree = key == other && of_routes(x) && of_routes(y);
    let sides = x == y && key.starts_with("box.") && other.starts_with("box.");
    let held = x == y && HELD.iter().any(|h| *h == [key, other] || *h == [other, key]);
    agree || sides || held
}

/// A key's record and the rest: `route[a, b].steps[dye]` and `attended`. Names may hold points and brackets, so the last bracket counts.
fn record(key: &str) -> Option<(&str, &str)> {
    let end = key.rfind("].")?;
    Some((&key[..=end], &key[end + 2..]))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::input::read_series;

    fn vary(key: &str, values: &str) -> Vary {
        Vary { key: key.to_owned(), series: read_series(values).expect("a series") }
    }

    #[test]
    fn the_last_input_turns_fastest_and_outer_ones_slowest() {
        let varied = [vary("a", "1..2"), vary("b", "1..3"), vary("c", "1..2")];
        let grid = Grid::new(&varied, &[], &[]).expect("a grid");
        assert_eq!(grid.points(), 12);
        assert_eq!(grid.values_at(0), [0, 0, 0]);
        assert_eq!(grid.values_at(1), [0, 0, 1]);
        assert_eq!(grid.values_at(7), [1, 0, 1]);
        let grid = Grid::new(&varied, &[2], &[0]).expect("a grid");
        assert_eq!((grid.points(), grid.inner_points()), (12, 6));
        assert_eq!(grid.values_at(1), [1, 0, 0]);
        assert_eq!(grid.values_at(2), [0, 1, 0]);
        assert_eq!(grid.values_at(6), [0, 0, 1]);
    }

    #[test]
    fn what_is_judged_together_is_outer() {
        let keys = |keys: &[&str]| {
            let varied: Vec<Vary> = keys.iter().map(|key| vary(key, "1..2")).collect();
            coupled(&varied)
        };
        assert_eq!(keys(&["iterations.planned", "labour", "part[a].iterations"]), [0, 2]);
        assert_eq!(keys(&["equipment[x].price", "equipment[x].resale"]), [0, 1]);
        assert_eq!(keys(&["equipment[x].price", "equipment[y].resale"]), [0usize; 0]);
        assert_eq!(keys(&["route[a].order_min", "route[b].order_min"]), [0, 1]);
        assert_eq!(keys(&["part[a].box.x", "part[a].box.y"]), [0, 1]);
        assert_eq!(
            keys(&["route[a].steps[dye].attended", "route[a].steps[dye].hold"]),
            [0usize; 0]
        );
    }
}
