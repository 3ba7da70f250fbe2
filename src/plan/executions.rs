//! How often a step runs for each good build when steps can spoil it.

use crate::model::Exact;

/// Expected starts and executions of one step per good build.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Executions {
    /// S: how often the step is started.
    pub starts: Exact,
    /// E: how often it runs, a start that fails counting with the share already spent.
    pub runs: Exact,
}

impl Executions {
    /// A step that cannot fail and is not followed by one that can.
    pub const ONCE: Executions = Executions { starts: Exact::ONE, runs: Exact::ONE };
}

/// Executions of steps in order, from each step's chance to spoil the build (below 1) and the share spent when that is noticed.
///
/// A spoilt build restarts from the first step, so step i is started S_i = prod over j >= i of 1/(1 - s_j) times per good build:
/// each good build passes step i once, and is preceded by a geometric number of failures. Of the starts s_i S_i stop at w_i:
/// E_i = S_i (1 - s_i + s_i w_i).
pub fn executions(steps: &[(Exact, Exact)]) -> Vec<Executions> {
    let mut result = vec![Executions::ONCE; steps.len()];
    let mut passing = Exact::ONE;
    for (index, &(spoil, spent)) in steps.iter().enumerate().rev() {
        passing = passing * (Exact::ONE - spoil);
        let ran = Exact::ONE - spoil + spoil * spent;
        result[index] = Executions { starts: Exact::ONE / passing, runs: ran / passing };
    }
    result
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::e;

    #[test]
    fn one_step_is_the_geometric_mean_of_attempts() {
        // Mean attempts 1/p = 2.5 for p = 0.4: grolearning.com A-level, "The Geometric Distribution".
        let steps = executions(&[(e("0.6"), Exact::ONE)]);
        assert_eq!(steps[0].starts, e("2.5"));
        assert_eq!(steps[0].runs, e("2.5"));
    }

    #[test]
    fn two_steps_by_hand() {
        // s = (0.2, 0.5), w = (0.5, 1): S_2 = 1/0.5 = 2, S_1 = 1/(0.8 x 0.5) = 2.5, E_1 = 2.5 (0.8 + 0.1) = 2.25, E_2 = 2.
        let steps = executions(&[(e("0.2"), e("0.5")), (e("0.5"), Exact::ONE)]);
        assert_eq!(steps[0], Executions { starts: e("2.5"), runs: e("2.25") });
        assert_eq!(steps[1], Executions { starts: e("2"), runs: e("2") });
    }
}
