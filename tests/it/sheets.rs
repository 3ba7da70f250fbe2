//! A workbook read back without the library that wrote it: its cells, and its formulas computed anew.
//!
//! Of formulas it knows what a report has: ROUND of SUM, of SUBTOTAL, of SUMIFS, or of a difference of two cells.

use std::collections::BTreeMap;
use std::io::{Cursor, Read};

use flipcount::model::{Exact, Money};
use rust_decimal::Decimal;

/// A cell.
#[derive(Clone, Debug, PartialEq)]
pub struct Cell {
    /// Its formula, without the equals sign.
    pub formula: Option<String>,
    /// What it shows: text, or a number.
    pub value: Value,
}

/// What a cell holds.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    Text(String),
    Number(Decimal),
}

/// Cells by row and column from 1.
pub type Sheet = BTreeMap<(u32, u32), Cell>;

/// A workbook.
pub struct Book {
    /// The sheets with their names, in order.
    pub sheets: Vec<(String, Sheet)>,
    /// The names of the files in it.
    pub files: Vec<String>,
}

impl Book {
    pub fn of(bytes: &[u8]) -> Book {
        let mut zip = zip::ZipArchive::new(Cursor::new(bytes)).expect("a zip");
        let files: Vec<String> =
            zip.file_names().map(|name| name.expect("a name").into_owned()).collect();
        let mut part = |name: &str| {
            let mut text = String::new();
            let mut file = zip.by_name(name).expect("a part of the workbook");
            file.read_to_string(&mut text).expect("UTF-8");
            text
        };
        let strings: Vec<String> = between(&part("xl/sharedStrings.xml"), "<si>", "</si>")
            .map(|si| plain(&inside(si, "t").unwrap_or_default()))
            .collect();
        let workbook = part("xl/workbook.xml");
        let names: Vec<String> =
            between(&workbook, "<sheet ", "/>").map(|tag| attribute(tag, "name")).collect();
        let sheets = (1..).zip(names).map(|(n, name)| {
            let text = part(&format!("xl/worksheets/sheet{n}.xml"));
            (name, cells(&text, &strings))
        });
        Book { sheets: sheets.collect(), files }
    }

    pub fn sheet(&self, name: &str) -> &Sheet {
        let found = self.sheets.iter().find(|s| s.0 == name);
        &found.unwrap_or_else(|| panic!("no sheet {name}")).1
    }

    /// What a formula of a sheet comes to.
    pub fn computed(&self, sheet: &str, formula: &str) -> Decimal {
        if let Some((first, second)) = formula.split_once('-').filter(|_| !formula.contains('(')) {
            let one = |text: &str| self.numbers(sheet, text).iter().sum::<Decimal>();
            return one(first) - one(second);
        }
        let (name, rest) = formula.split_once('(').unwrap_or_else(|| panic!("what is {formula}"));
        let inner = rest.strip_suffix(')').unwrap_or_else(|| panic!("no end in {formula}"));
        let args = arguments(inner);
        match (name, args.as_slice()) {
            ("ROUND", [inner, digits]) => {
                let digits: u32 = digits.parse().expect("digits");
                let value: Money = Exact::from(self.computed(sheet, inner)).to_money(digits);
                value.exact().decimal()
            }
            ("SUM", [range]) | ("SUBTOTAL", ["109", range]) => {
                self.numbers(sheet, range).iter().sum()
            }
            ("SUMIFS", [amounts, conditions @ ..]) => self.sum_if(sheet, amounts, conditions),
            _ => panic!("a formula that a report does not have: {formula}"),
        }
    }

    fn sum_if(&self, sheet: &str, amounts: &str, conditions: &[&str]) -> Decimal {
        let amounts = self.values(sheet, amounts);
        let mut kept = vec![true; amounts.len()];
        for pair in conditions.chunks(2) {
            let [range, condition] = pair else { panic!("a range without a condition") };
            let tested = self.values(sheet, range);
            assert_eq!(tested.len(), amounts.len(), "ranges of one length");
            let up_to = condition.strip_prefix("\"<=\"&");
            let wanted = &self.values(sheet, up_to.unwrap_or(condition))[0];
            for (keep, value) in kept.iter_mut().zip(&tested) {
                *keep &= match (up_to, wanted, value) {
                    (None, wanted, value) => value == wanted,
                    (Some(_), Value::Number(most), Value::Number(n)) => n <= most,
                    _ => panic!("{condition} compares what is no number"),
                };
            }
        }
        let kept = amounts.iter().zip(kept).filter(|(_, keep)| *keep);
        kept.map(|(value, _)| number(value)).sum()
    }

    fn numbers(&self, sheet: &str, range: &str) -> Vec<Decimal> {
        self.values(sheet, range).iter().map(number).collect()
    }

    /// The cells of `A1`, `A1:B2` or `sheet!$A$1:$A$9`.
    fn values(&self, sheet: &str, range: &str) -> Vec<Value> {
        let (sheet, range) = range.split_once('!').unwrap_or((sheet, range));
        let range = range.replace('$', "");
        let (from, to) = range.split_once(':').unwrap_or((&range, &range));
        let ((top, left), (bottom, right)) = (place(from), place(to));
        let cells = self.sheet(sheet);
        let all = (top..=bottom).flat_map(|row| (left..=right).map(move |column| (row, column)));
        all.map(|at| cells.get(&at).unwrap_or_else(|| panic!("no cell {at:?}")).value.clone())
            .collect()
    }
}

fn number(value: &Value) -> Decimal {
    match value {
        Value::Number(number) => *number,
        Value::Text(text) => panic!("a sum over text: {text}"),
    }
}

/// Arguments between commas that stand in no parentheses.
fn arguments(text: &str) -> Vec<&str> {
    let (mut depth, mut from, mut found) = (0, 0, Vec::new());
    for (at, c) in text.char_indices() {
        match c {
            '(' => depth += 1,
            ')' => depth -= 1,
            ',' if depth == 0 => {
                found.push(&text[from..at]);
                from = at + 1;
            }
            _ => {}
        }
    }
    found.push(&text[from..]);
    found
}

/// `B7` as row and column.
fn place(name: &str) -> (u32, u32) {
    let digits = name.find(|c: char| c.is_ascii_digit()).expect("a row");
    let column = name[..digits].bytes().fold(0, |sum, c| sum * 26 + u32::from(c - b'A') + 1);
    (name[digits..].parse().expect("a row"), column)
}

fn cells(text: &str, strings: &[String]) -> Sheet {
    let mut found = Sheet::new();
    for cell in between(text, "<c ", "</c>") {
        let tag = &cell[..cell.find('>').expect("an end of the tag")];
        let shown = inside(cell, "v").unwrap_or_default();
        let value = match attribute(tag, "t").as_str() {
            "s" => Value::Text(strings[shown.parse::<usize>().expect("an index")].clone()),
            "" => Value::Number(decimal(&shown)),
            other => panic!("a cell of type {other}: {cell}"),
        };
        let formula = inside(cell, "f").map(|f| plain(&f));
        found.insert(place(&attribute(tag, "r")), Cell { formula, value });
    }
    found
}

fn decimal(text: &str) -> Decimal {
    let read = text.parse().or_else(|_| Decimal::from_scientific(text));
    read.unwrap_or_else(|_| panic!("no number: {text}"))
}

/// Everything between two marks. Cells without content have no end of their own and hold nothing to read.
fn between<'t>(text: &'t str, from: &'t str, to: &'t str) -> impl Iterator<Item = &'t str> {
    text.split(from).skip(1).filter_map(move |rest| Some(&rest[..rest.find(to)?]))
}

/// The text of a child.
fn inside(text: &str, tag: &str) -> Option<String> {
    let from = text.find(&format!("<{tag}>")).or_else(|| text.find(&format!("<{tag} ")))?;
    let rest = &text[from..];
    let rest = &rest[rest.find('>')? + 1..];
    Some(rest[..rest.find(&format!("</{tag}>"))?].to_owned())
}

fn attribute(tag: &str, name: &str) -> String {
    let wanted = format!("{name}=\"");
    let from = tag.find(&wanted).map(|at| at + wanted.len());
    from.map_or(String::new(), |from| tag[from..].split('"').next().unwrap_or_default().to_owned())
}

fn plain(text: &str) -> String {
    let text = text.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"");
    text.replace("&amp;", "&")
}
