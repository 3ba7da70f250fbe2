//! Kept runs: `runs.jsonl` beside the scenario, one run a line, with everything that went into it and what came out.
//!
//! Enters: bytes. Leaves: the runs by the number of their line, and every line that is none, with why. A run is called by its line, so
//! a line that was cut off keeps its number and changes no other one's. Figures are decimal texts: nothing is lost in binary floats.

use std::collections::BTreeMap;

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

/// The file's name.
pub const RUNS_FILE: &str = "runs.jsonl";

/// One run.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Run {
    /// The command that kept it.
    pub by: String,
    /// The version of the program.
    pub version: String,
    /// The currency of every amount.
    pub currency: String,
    /// What the command line asked for beside the scenario, such as `samples` and `without`.
    pub options: BTreeMap<String, String>,
    /// The files that were read, without their folders, each with its SHA-256.
    pub files: BTreeMap<String, String>,
    /// Every number, in the order it was read.
    pub inputs: Vec<RunInput>,
    /// Everything else the files say that can matter, by key.
    pub texts: BTreeMap<String, String>,
    /// What came out; absent where no plan was feasible.
    pub verdict: Option<RunVerdict>,
}

/// One number in base units.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct RunInput {
    /// Its address.
    pub key: String,
    /// Where it was stated.
    pub at: String,
    /// The value planning used.
    pub value: String,
    /// The least and the most it may be, where it has a spread.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub range: Option<[String; 2]>,
}

impl RunInput {
    /// Low, likely and high as texts.
    pub fn spread(&self) -> [&str; 3] {
        let value = self.value.as_str();
        self.range.as_ref().map_or([value; 3], |[low, high]| [low, value, high])
    }
}

/// A verdict in figures.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct RunVerdict {
    /// The plan.
    pub plan: String,
    /// The route of each part.
    pub assign: BTreeMap<String, String>,
    /// What could still be avoided, at the planned count with the final.
    pub avoidable: String,
    /// Money leaving.
    pub outlay: String,
    /// Seconds from start to in hand.
    pub seconds: i64,
    /// The day it is in hand; absent without a start.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub in_hand: Option<String>,
}

/// What a file of runs holds.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Runs {
    /// The runs, each with the number of its line from 1.
    pub good: Vec<(usize, Run)>,
    /// Lines that are no run, with why, by their number.
    pub broken: Vec<(usize, String)>,
}

impl Runs {
    /// The run of a line.
    pub fn number(&self, line: usize) -> Option<&Run> {
        self.good.iter().find(|run| run.0 == line).map(|run| &run.1)
    }
}

/// Reads every line; blank ones are passed over.
pub fn read_runs(bytes: &[u8]) -> Runs {
    let mut runs = Runs::default();
    for (index, line) in bytes.split(|&byte| byte == b'\n').enumerate() {
        if line.trim_ascii().is_empty() {
            continue;
        }
        match read_run(line) {
            Ok(run) => runs.good.push((index + 1, run)),
            Err(why) => runs.broken.push((index + 1, why)),
        }
    }
    runs
}

fn read_run(line: &[u8]) -> Result<Run, String> {
    let text = std::str::from_utf8(line).map_err(|_| "is not UTF-8 text".to_owned())?;
    let run: Run = serde_json::from_str(text).map_err(|error| {
        if error.is_eof() {
            "is cut off: what wrote it was stopped".to_owned()
        } else {
            // The parser's own line is always 1.
            let why = error.to_string();
            let why = why.split(" at line ").next().unwrap_or_default();
            format!("is no run: {why} (column {})", error.column())
        }
    })?;
    let number = |text: &str| text.parse::<Decimal>().is_ok();
    let wrong = run.inputs.iter().find(|input| !input.spread().into_iter().all(number));
    if let Some(input) = wrong {
        return Err(format!("is no run: `{}` has a value that is no number", input.key));
    }
    let amounts = run.verdict.as_ref().map(|v| [v.avoidable.as_str(), v.outlay.as_str()]);
    if let Some(amount) = amounts.into_iter().flatten().find(|amount| !number(amount)) {
        return Err(format!("is no run: expected an amount, found `{amount}`"));
    }
    Ok(run)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(value: &str) -> Run {
        Run {
            by: "compare".to_owned(),
            version: "0".to_owned(),
            currency: "USD".to_owned(),
            options: BTreeMap::new(),
            files: BTreeMap::new(),
            inputs: vec![RunInput {
                key: "labour".to_owned(),
                at: "scenario.toml:4 labour".to_owned(),
                value: value.to_owned(),
                range: None,
            }],
            texts: BTreeMap::new(),
            verdict: None,
        }
    }

    fn line(value: &str) -> String {
        serde_json::to_string(&run(value)).unwrap()
    }

    #[test]
    fn a_line_that_is_cut_off_keeps_its_number_and_harms_no_other() {
        let whole = line("1");
        for cut in 1..whole.len() {
            let text = format!("{whole}\n\n{}\n{}\n", &whole[..cut], line("2"));
            let runs = read_runs(text.as_bytes());
            let lines: Vec<usize> = runs.good.iter().map(|r| r.0).collect();
            assert_eq!(lines, [1, 4], "cut at {cut}");
            assert_eq!(runs.broken.len(), 1);
            assert!(runs.broken[0].0 == 3 && runs.broken[0].1.contains("cut off"), "{runs:?}");
            assert_eq!(runs.number(4), Some(&run("2")));
        }
    }

    #[test]
    fn what_is_no_run_is_told_with_its_column() {
        let cases = [
            ("[1, 2]".to_owned(), "is no run: invalid"),
            ("{\"by\": 1}".to_owned(), "expected a string (column 8)"),
            (line("1,5"), "`labour` has a value that is no number"),
            (line("1").replace("\"value\":\"1\"", "\"value\":1"), "expected a string"),
        ];
        for (text, why) in cases {
            let runs = read_runs(text.as_bytes());
            assert!(runs.good.is_empty() && runs.broken[0].1.contains(why), "{text}: {runs:?}");
        }
        assert_eq!(read_runs(b"\xff\n").broken[0].1, "is not UTF-8 text");
        assert_eq!(read_runs(b""), Runs::default());
    }
}
