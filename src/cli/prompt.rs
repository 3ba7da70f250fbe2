//! The conversation of `record`: questions about one turn, answers as lines of the record.
//!
//! Enters: a reader and a writer, the scenario's names, and a check of lines. Leaves: the lines. An answer that cannot be understood is said
//! to be so and asked for again; an empty one leaves the question open.

use std::io::{self, BufRead, Write};

use crate::input::RecordText;
use crate::model::{ItemClass, Route, RouteKind, Scenario};

/// Says whether lines could be added; the text tells why not.
pub(super) type Check<'c> = &'c dyn Fn(&[RecordText]) -> Result<(), String>;

/// A conversation.
pub(super) struct Prompt<'c, R, W> {
    input: R,
    output: W,
    scenario: &'c Scenario,
    check: Check<'c>,
    lines: Vec<RecordText>,
    /// Date, iteration, part and route: what all lines have in common.
    common: RecordText,
}

impl<'c, R: BufRead, W: Write> Prompt<'c, R, W> {
    /// A conversation that has not begun.
    pub(super) fn new(input: R, output: W, scenario: &'c Scenario, check: Check<'c>) -> Self {
        let (lines, common) = (Vec::new(), RecordText::default());
        Prompt { input, output, scenario, check, lines, common }
    }

    /// Asks for everything; what `known` says already is not asked for.
    ///
    /// # Errors
    /// Where the answers end or cannot be read.
    pub(super) fn talk(mut self, known: &RecordText) -> io::Result<Vec<RecordText>> {
        self.say("An empty answer leaves a question open.\n")?;
        self.common = known.clone();
        self.ask_common()?;
        let route = self.route();
        match route.map(|r| &r.kind) {
            Some(RouteKind::Order(_)) => self.ask_order()?,
            Some(RouteKind::Bench(bench)) if bench.print.is_some() => self.ask_builds()?,
            _ => {}
        }
        self.line(
            "attended: hours somebody was busy, such as `2.5` or `40 min`",
            "attended",
            "quantity",
        )?;
        self.ask_used(route)?;
        self.ask_bought()?;
        self.ask_in_hand()?;
        self.ask_outcome()?;
        Ok(self.lines)
    }

    fn ask_common(&mut self) -> io::Result<()> {
        let parts: Vec<&str> = self.scenario.parts.iter().map(|p| p.name.as_str()).collect();
        let routes: Vec<&str> = self.scenario.routes.iter().map(|r| r.name.as_str()).collect();
        let parts = format!("part, or empty for all ({})", parts.join("; "));
        let routes = format!("route ({})", routes.join("; "));
        let asked = [
            ("date", "date, such as `2026-03-02` or `2026-03-02T14:30`"),
            ("iteration", "iteration, from 1"),
            ("part", parts.as_str()),
            ("route", routes.as_str()),
        ];
        for (column, question) in asked {
            let index = crate::input::RECORD_COLUMNS.iter().position(|c| *c == column);
            if index.is_some_and(|index| !self.common.cells[index].is_empty()) {
                continue;
            }
            let needed = matches!(column, "date" | "iteration");
            loop {
                let answer = self.ask(question)?;
                if answer.is_empty() && needed {
                    continue;
                }
                // A line that says no more than that something began can be checked with what is known so far.
                let so_far = self.common.clone().with(column, answer.as_str());
                let mut trial = so_far.clone().with("what", "started");
                if column == "date" {
                    trial = trial.with("iteration", "1");
                }
                if self.holds(&trial)? {
                    self.common = so_far;
                    break;
                }
            }
        }
        Ok(())
    }

    /// The route the lines are about.
    fn route(&self) -> Option<&'c Route> {
        self.scenario.routes.iter().find(|r| r.name == self.common.cells[3])
    }

    fn ask_order(&mut self) -> io::Result<()> {
        loop {
            let amount = self.ask("ordered: what the order costs, such as `148.00`")?;
            if amount.is_empty() {
                break;
            }
            let back = self.ask("what of that a cancellation would return")?;
            let line = self.common.clone().with("what", "ordered").with("amount", amount);
            if self.keep(line.with("quantity", back))? {
                break;
            }
        }
        self.line("invoice of the order: what was paid", "invoice", "amount")
    }

    fn ask_builds(&mut self) -> io::Result<()> {
        for (word, question) in [
            ("failed", "print runs that failed: hours of each, separated by blanks"),
            ("good", "print runs that were good: hours of each, separated by blanks"),
        ] {
            let begun = self.lines.len();
            loop {
                let answer = self.ask(question)?;
                let line = self.common.clone().with("what", "build").with("item", word);
                let mut all =
                    answer.split_whitespace().map(|hours| line.clone().with("quantity", hours));
                if all.try_fold(true, |good, line| Ok::<_, io::Error>(good && self.keep(line)?))? {
                    break;
                }
                self.lines.truncate(begun);
            }
        }
        Ok(())
    }

    /// What the route uses up: its resin and whatever else can be measured; without a route everything there is.
    fn ask_used(&mut self, route: Option<&Route>) -> io::Result<()> {
        let of_order = route.is_some_and(|r| matches!(r.kind, RouteKind::Order(_)));
        for item in &self.scenario.items {
            let counts = match item.class {
                ItemClass::Resin => !of_order,
                ItemClass::Solvent | ItemClass::Dye => !of_order,
                ItemClass::Supply => false,
            };
            if counts {
                let question = format!("used: {}, such as `140 mL`", item.name);
                let line = self.common.clone().with("item", item.name.as_str());
                self.line_of(&question, line.with("what", "used"), "quantity")?;
            }
        }
        Ok(())
    }

    fn ask_bought(&mut self) -> io::Result<()> {
        loop {
            let item = self.ask("bought: a material or supply that was paid for, by its name")?;
            if item.is_empty() {
                return Ok(());
            }
            let quantity = self.ask("how much came, such as `1 L`")?;
            let amount = self.ask("what was paid for it")?;
            let line = self.common.clone().with("what", "invoice").with("item", item);
            self.keep(line.with("quantity", quantity).with("amount", amount))?;
        }
    }

    fn ask_in_hand(&mut self) -> io::Result<()> {
        loop {
            let date = self.ask("in hand: the date, if it is finished")?;
            if date.is_empty() {
                return Ok(());
            }
            if self.keep(self.common.clone().with("what", "in_hand").with("date", date))? {
                return Ok(());
            }
        }
    }

    fn ask_outcome(&mut self) -> io::Result<()> {
        loop {
            let word = self.ask("outcome: accepted, redesign, failed or stopped")?;
            if word.is_empty() {
                return Ok(());
            }
            let date = self.ask("its date, if it is another one")?;
            let note = self.ask("a note: the reason, if there is one")?;
            let mut line = self.common.clone().with("what", word).with("note", note);
            if !date.is_empty() {
                line = line.with("date", date);
            }
            if self.keep(line)? {
                return Ok(());
            }
        }
    }

    /// Asks for the one cell that makes a line.
    fn line(&mut self, question: &str, what: &str, column: &str) -> io::Result<()> {
        self.line_of(question, self.common.clone().with("what", what), column)
    }

    fn line_of(&mut self, question: &str, line: RecordText, column: &str) -> io::Result<()> {
        loop {
            let answer = self.ask(question)?;
            if answer.is_empty() || self.keep(line.clone().with(column, answer))? {
                return Ok(());
            }
        }
    }

    /// Takes a line if it is understood.
    fn keep(&mut self, line: RecordText) -> io::Result<bool> {
        let good = self.holds(&line)?;
        if good {
            self.lines.push(line);
        }
        Ok(good)
    }

    fn holds(&mut self, line: &RecordText) -> io::Result<bool> {
        let all = [&self.lines[..], std::slice::from_ref(line)].concat();
        match (self.check)(&all) {
            Ok(()) => Ok(true),
            Err(why) => {
                self.say(&why)?;
                Ok(false)
            }
        }
    }

    fn ask(&mut self, question: &str) -> io::Result<String> {
        self.say(&format!("{question}: "))?;
        let mut answer = String::new();
        if self.input.read_line(&mut answer)? == 0 {
            return Err(io::Error::from(io::ErrorKind::UnexpectedEof));
        }
        Ok(answer.trim().to_owned())
    }

    fn say(&mut self, text: &str) -> io::Result<()> {
        self.output.write_all(text.as_bytes())?;
        self.output.flush()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{Overrides, load, load_with_record};

    const SCENARIO: &str = "title = \"t\"\ncurrency = \"USD\"\nstart = 2026-03-02\n[iterations]\nplanned = 3\n\
[[part]]\nname = \"collar\"\nvolume = \"92 cm3\"\n[[route]]\nname = \"bench\"\nkind = \"bench\"\nresin = \"130 per L\"\n\
print_time = \"7 h\"\nattended = \"2 h\"\n[[route]]\nname = \"house\"\nkind = \"order\"\npiece = 148\narrives_after = \"8 business days\"\n";

    fn talk(answers: &str, known: &RecordText) -> (io::Result<Vec<String>>, String) {
        let dir = tempfile::tempdir().expect("a folder");
        std::fs::write(dir.path().join("scenario.toml"), SCENARIO).expect("written");
        let scenario = load(dir.path(), &Overrides::default()).scenario.expect("a scenario");
        let check = |lines: &[RecordText]| {
            let text = crate::input::record_with(None, lines).expect("every column");
            let loaded = load_with_record(dir.path(), &Overrides::default(), Some(&text));
            let found = loaded.log.found.iter().map(|d| format!("{}\n", d.message));
            if loaded.log.has_errors() { Err(found.collect()) } else { Ok(()) }
        };
        let mut said = Vec::new();
        let lines = Prompt::new(answers.as_bytes(), &mut said, &scenario, &check).talk(known);
        let lines = lines.map(|lines| lines.into_iter().map(|l| l.cells.join(",")).collect());
        (lines, String::from_utf8(said).expect("text"))
    }

    #[test]
    fn a_turn_at_the_bench_is_asked_for() {
        // Date, iteration, part, route; failed, good; attended; resin, solvent; bought (item, quantity, amount, no more); in hand; outcome.
        let answers = "2 March\n2026-03-02\n1\n\nbench\n4.5\n7 7.2\n2,5\n2.5\n260 mL\n\nresin\n1 L\n140\n\n2026-03-03\nredesign\n2026-03-04\ntore at the rim\n";
        let (lines, said) = talk(answers, &RecordText::default());
        let expected = [
            "2026-03-02,1,,bench,build,failed,4.5,,,",
            "2026-03-02,1,,bench,build,good,7,,,",
            "2026-03-02,1,,bench,build,good,7.2,,,",
            "2026-03-02,1,,bench,attended,,2.5,,,",
            "2026-03-02,1,,bench,used,resin,260 mL,,,",
            "2026-03-02,1,,bench,invoice,resin,1 L,140,,",
            "2026-03-03,1,,bench,in_hand,,,,,",
            "2026-03-04,1,,bench,redesign,,,,,tore at the rim",
        ];
        assert_eq!(lines.expect("it goes through"), expected, "{said}");
        // What is not understood is said and asked for again.
        assert_eq!(said.matches("date, such as").count(), 2, "{said}");
        assert_eq!(said.matches("attended: hours").count(), 2, "{said}");
    }

    #[test]
    fn an_order_is_asked_for_and_what_is_known_is_not() {
        let known = RecordText::default().with("date", "2026-03-02").with("iteration", "2");
        let (lines, said) = talk("collar\nhouse\n172\n150\n\n\n\n\n\n", &known);
        assert_eq!(
            lines.expect("it goes through"),
            ["2026-03-02,2,collar,house,ordered,,150,172,,"]
        );
        assert!(!said.contains("print runs") && !said.contains("used:"), "{said}");
    }

    #[test]
    fn answers_that_end_early_record_nothing() {
        assert!(talk("2026-03-02\n1\n", &RecordText::default()).0.is_err());
    }
}
