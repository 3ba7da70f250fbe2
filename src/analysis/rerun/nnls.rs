//! Least squares with coefficients that are not negative, for a few columns: what print times are fitted by.

/// What is not above this share of the largest figure is nothing.
const NOTHING: f64 = 1e-10;

/// A fit.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// The coefficients, one for each column, none below 0.
    pub coefficients: Vec<f64>,
    /// The length of what the fit leaves over: the root of the sum of squares.
    pub rest: f64,
}

/// The coefficients from 0 on that come nearest to `wanted`, by the sum of squares. `rows` has a row for each figure wanted; `None` where its
/// columns cannot be told apart.
///
/// Of a few columns every choice of those that are above 0 is solved: the best whose coefficients all are is the answer, since the
/// problem has one minimum.
pub fn fit(rows: &[Vec<f64>], wanted: &[f64]) -> Option<Fit> {
    let columns = rows.first().map_or(0, Vec::len);
    if columns == 0 || columns > 8 || rows.len() < columns {
        return None;
    }
    let all: Vec<usize> = (0..columns).collect();
    // With all columns in it the system must have one solution, or the record does not tell the coefficients apart.
    solve(rows, wanted, &all)?;
    let mut best: Option<Fit> = None;
    for choice in 0u32..1 << columns {
        let used: Vec<usize> = all.iter().copied().filter(|c| choice >> c & 1 == 1).collect();
        let Some(found) = solve(rows, wanted, &used) else { continue };
        if found.iter().any(|c| *c < 0.0) {
            continue;
        }
        let mut coefficients = vec![0.0; columns];
        for (column, value) in used.iter().zip(found) {
            coefficients[*column] = value;
        }
        let rest = left_over(rows, wanted, &coefficients);
        if best.as_ref().is_none_or(|b| rest < b.rest) {
            best = Some(Fit { coefficients, rest });
        }
    }
    best
}

fn left_over(rows: &[Vec<f64>], wanted: &[f64], coefficients: &[f64]) -> f64 {
    let fitted = |row: &Vec<f64>| row.iter().zip(coefficients).map(|(a, x)| a * x).sum::<f64>();
    rows.iter().zip(wanted).map(|(row, b)| (b - fitted(row)).powi(2)).sum::<f64>().sqrt()
}

/// Least squares over some columns, by orthogonal columns (modified Gram-Schmidt, twice over); `None` where one depends on the others.
fn solve(rows: &[Vec<f64>], wanted: &[f64], used: &[usize]) -> Option<Vec<f64>> {
    let count = used.len();
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>();
    let mut basis: Vec<Vec<f64>> = Vec::new();
    let mut upper = vec![vec![0.0; count]; count];
    for (at, &column) in used.iter().enumerate() {
        let mut own: Vec<f64> = rows.iter().map(|row| row[column]).collect();
        let size = dot(&own, &own).sqrt();
        for _ in 0..2 {
            for (before, known) in basis.iter().enumerate() {
                let share = dot(known, &own);
                upper[before][at] += share;
                own.iter_mut().zip(known).for_each(|(x, y)| *x -= share * y);
            }
        }
        let left = dot(&own, &own).sqrt();
        if left <= NOTHING * size || left == 0.0 {
            return None;
        }
        upper[at][at] = left;
        own.iter_mut().for_each(|x| *x /= left);
        basis.push(own);
    }
    let mut result: Vec<f64> = basis.iter().map(|known| dot(known, wanted)).collect();
    for at in (0..count).rev() {
        let later: f64 = (at + 1..count).map(|c| upper[at][c] * result[c]).sum();
        result[at] = (result[at] - later) / upper[at][at];
    }
    Some(result)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_straight_line_is_found() {
        let rows: Vec<Vec<f64>> = (1..6).map(|n| vec![1.0, f64::from(n)]).collect();
        let wanted: Vec<f64> = (1..6).map(|n| 480.0 + 9.0 * f64::from(n)).collect();
        let found = fit(&rows, &wanted).unwrap();
        assert!((found.coefficients[0] - 480.0).abs() < 1e-9 && found.rest < 1e-9, "{found:?}");
        assert!((found.coefficients[1] - 9.0).abs() < 1e-9);
    }

    #[test]
    fn nothing_is_below_zero() {
        // Falling figures: the slope would be negative, so the mean is the best.
        let rows: Vec<Vec<f64>> = (0..4).map(|n| vec![1.0, f64::from(n)]).collect();
        let found = fit(&rows, &[8.0, 6.0, 4.0, 2.0]).unwrap();
        assert!(found.coefficients[1].abs() < f64::MIN_POSITIVE);
        assert!((found.coefficients[0] - 5.0).abs() < 1e-12);
    }

    #[test]
    fn columns_that_depend_on_each_other_are_refused() {
        assert_eq!(fit(&[vec![1.0, 2.0], vec![1.0, 2.0]], &[3.0, 4.0]), None);
        assert_eq!(fit(&[vec![1.0, 2.0]], &[3.0]), None);
        assert_eq!(fit(&[], &[]), None);
    }
}
