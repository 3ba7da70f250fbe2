//! Fits with coefficients from 0 on against those of a general library.

use std::fs;

use flipcount::analysis::fit;
use serde_json::Value;

use crate::help::project;

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().expect("numbers").iter().map(|v| v.as_f64().expect("a number")).collect()
}

/// `scipy.optimize.nnls`; versions and problems in `tests/published/nnls_scipy.json`, made by the script beside it.
#[test]
fn fits_agree_with_scipy() {
    let text = fs::read_to_string(project("tests/published/nnls_scipy.json")).expect("the figures");
    let stored: Value = serde_json::from_str(&text).expect("JSON");
    let cases = stored["cases"].as_array().expect("cases");
    assert!(cases.len() >= 40);
    let mut zeros = 0;
    for case in cases {
        let rows: Vec<Vec<f64>> =
            case["rows"].as_array().expect("rows").iter().map(numbers).collect();
        let expected = numbers(&case["coefficients"]);
        let found = fit(&rows, &numbers(&case["wanted"])).expect("columns that can be told apart");
        for (found, expected) in found.coefficients.iter().zip(&expected) {
            let size = expected.abs().max(1.0);
            assert!((found - expected).abs() <= 1e-8 * size, "{found}, not {expected}: {case}");
        }
        let rest = case["rest"].as_f64().expect("a number");
        assert!((found.rest - rest).abs() <= 1e-8 * rest.max(1.0), "{} not {rest}", found.rest);
        zeros += usize::from(expected.contains(&0.0));
    }
    assert!(zeros >= 5, "some have a coefficient at its bound: {zeros}");
}
