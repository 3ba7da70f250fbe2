//! The greatest sizes that are read: each is stated in DEVELOPERS.md, taken as far as it goes, and refused one beyond with its code.

use std::fs;

use flipcount::analysis::{UNPROVEN_LIMIT, date_text};
use flipcount::diag::{Code, Severity};
use flipcount::input::{CELL_LIMIT, COLUMN_LIMIT, DEPTH_LIMIT, DOCUMENT_LIMIT, FILE_LIMIT};
use flipcount::mesh::{MAX_FILE_BYTES, MAX_INFLATED_BYTES, MAX_PLACED};
use flipcount::model::{Loaded, Overrides, limits, load};
use flipcount::plan::{ITERATION_LIMIT, PLAN_LIMIT};

use crate::help::{folder, project};

/// A scenario in which something is there so many times, or so large; and its sheets.
type Make = fn(i64) -> (String, Vec<(&'static str, String)>);

/// What is limited, as DEVELOPERS.md says it, the most there can be, the code of what is beyond, and how to come there.
type Limit = (&'static str, i64, Code, Make);

/// An order route and a part, with texts at the top, after the iterations, and at the end.
fn scenario(top: &str, iterations: &str, part: &str, end: &str) -> String {
    format!(
        "currency = \"USD\"\n{top}\n[iterations]\nplanned = 3\n{iterations}\n[[part]]\nname = \"vane\"\nvolume = \"9 mL\"\narea = \"30 cm2\"\n\
         box = \"40 x 30 x 20 mm\"\n{part}\n[[route]]\nname = \"print house\"\nkind = \"order\"\npiece = 95.00\n\
         arrives_after = \"8 business days\"\n{end}\n"
    )
}

fn plain(end: &str) -> (String, Vec<(&'static str, String)>) {
    (scenario("", "", "", end), Vec::new())
}

/// The same, `one` so many times at the end, which numbers it.
fn times(n: i64, one: impl Fn(i64) -> String) -> (String, Vec<(&'static str, String)>) {
    plain(&(0..n).map(one).collect::<String>())
}

/// A list of so many elements.
fn list(n: i64, one: impl Fn(i64) -> String) -> String {
    format!("[{}]", (0..n).map(one).collect::<Vec<_>>().join(", "))
}

fn wash(keys: &str) -> String {
    format!(
        "[[bath]]\nname = \"wash\"\nkind = \"wash\"\nsolvent = \"isopropanol\"\nfill = \"1 L\"\n{keys}\n[[route]]\nname = \"bench\"\n\
         kind = \"bench\"\nsteps = [ {{ do = \"wash\", bath = \"wash\", attended = \"5 min\" }} ]\n"
    )
}

fn dye(depth: i64) -> String {
    format!(
        "[[bath]]\nname = \"dye\"\nkind = \"dye\"\nsolvent = \"isopropanol\"\ndye = \"blue\"\ndye_share = 0.1\n\
         tub = {{ shape = \"box\", bottom = \"100 x 90 mm\", top = \"110 x 100 mm\", depth = \"{depth} mm\" }}\n"
    )
}

fn sheet(name: &'static str, text: String) -> (String, Vec<(&'static str, String)>) {
    (scenario("pricing = \"pricing\"", "", "", ""), vec![(name, text)])
}

/// A step that consumes supplies, and a sheet with so many of them, in such packs.
fn packing(supplies: &str, pack: &str, n: i64) -> (String, Vec<(&'static str, String)>) {
    let step =
        format!("steps = [ {{ do = \"pack\", attended = \"1 min\", consumes = {supplies} }} ]\n");
    let rows: String = (0..n).map(|i| format!("i{i},supply,{pack},1\n")).collect();
    let sheet = format!("item,kind,pack,pack_price\n{rows}");
    (scenario("pricing = \"pricing\"", "", "", &step), vec![("supplies.csv", sheet)])
}

const NUMBERS: [Limit; 9] = [
    ("last iteration asked for", limits::HORIZON, Code::TooLarge, |n| {
        (scenario("", &format!("horizon = {n}"), "", ""), Vec::new())
    }),
    ("copies of a part", limits::COPIES, Code::TooLarge, |n| {
        (scenario("", "", &format!("copies = {n}"), ""), Vec::new())
    }),
    ("business days of a lead or transit", limits::LEAD_DAYS, Code::TooLarge, |n| {
        plain(&format!(
            "[[route]]\nname = \"late\"\nkind = \"order\"\npiece = 1\narrives_after = \"{n} business days\"\n"
        ))
    }),
    ("seconds of a time, ten years", limits::TIME, Code::TooLarge, |n| {
        plain(&format!("steps = [ {{ do = \"rest\", attended = \"1 min\", hold = \"{n} s\" }} ]\n"))
    }),
    ("money, and money per unit", limits::MONEY, Code::TooLarge, |n| {
        plain(&format!("delivery_cost = {n}\n"))
    }),
    ("mL, g, cm2, mm or pieces of a quantity", limits::QUANTITY, Code::TooLarge, |n| {
        packing(&format!("[ {{ item = \"i0\", amount = \"{n} mL\" }} ]"), "1 L", 1)
    }),
    ("mm of a tub's side", limits::TUB, Code::TooLarge, |n| plain(&dye(n))),
    ("mm of a film", limits::FILM, Code::TooLarge, |n| {
        plain(&wash(&format!("resin_film = \"{n} mm\"")))
    }),
    ("mL that evaporate in an hour", limits::EVAPORATION, Code::TooLarge, |n| {
        plain(&wash(&format!("evaporates = \"{n} mL per h\"")))
    }),
];

const COUNTS: [Limit; 15] = [
    ("variants of a plan", limits::VARIANTS, Code::TooMany, |n| {
        plain(&format!(
            "[[plan]]\nname = \"v\"\nassign = {{ vane = \"print house\" }}\nvariants = {n}\nvariant_worth = 0.5\n"
        ))
    }),
    ("characters of a name", limits::NAME as i64, Code::TooLong, |n| {
        (scenario("", "", "", "").replace("vane", &"v".repeat(n as usize)), Vec::new())
    }),
    ("characters of any other text", limits::TEXT as i64, Code::TooLong, |n| {
        (scenario(&format!("title = \"{}\"", "t".repeat(n as usize)), "", "", ""), Vec::new())
    }),
    ("parts", limits::PARTS as i64, Code::TooMany, |n| {
        times(n - 1, |i| format!("[[part]]\nname = \"part {i}\"\nvolume = \"1 mL\"\n"))
    }),
    ("routes", limits::ROUTES as i64, Code::TooMany, |n| {
        times(n - 1, |i| {
            format!(
                "[[route]]\nname = \"r{i}\"\nkind = \"order\"\npiece = 1\narrives_after = \"2 business days\"\n"
            )
        })
    }),
    ("baths", limits::BATHS as i64, Code::TooMany, |n| {
        times(n, |i| {
            format!(
                "[[bath]]\nname = \"b{i}\"\nkind = \"wash\"\nsolvent = \"isopropanol\"\nfill = \"1 L\"\n"
            )
        })
    }),
    ("named plans", limits::PLANS as i64, Code::TooMany, |n| {
        times(n, |i| format!("[[plan]]\nname = \"p{i}\"\nassign = {{ vane = \"print house\" }}\n"))
    }),
    ("steps of a route", limits::STEPS as i64, Code::TooMany, |n| {
        plain(&format!(
            "steps = {}\n",
            list(n, |i| format!("{{ do = \"s{i}\", attended = \"1 min\" }}"))
        ))
    }),
    ("supplies of a step or route", limits::CONSUMES as i64, Code::TooMany, |n| {
        let supplies = list(n, |i| format!("{{ item = \"i{i}\", amount = \"1 pcs\" }}"));
        packing(&supplies, "1 pcs", n)
    }),
    ("spans of open hours in a day", limits::SPANS as i64, Code::TooMany, |n| {
        let span = |i: i64| {
            format!(
                "\"{:02}:{:02}-{:02}:{:02}\"",
                i / 2 % 24,
                i % 2 * 30,
                i / 2 % 24,
                i % 2 * 30 + 29
            )
        };
        plain(&format!("[hours]\nopen = {}\n", list(n, span)))
    }),
    ("closed or down days of one calendar or machine", limits::DAYS as i64, Code::TooMany, |n| {
        let end = format!("[hours]\nclosed = {}\n", list(n, |i| date_text(20_000 + i)));
        (scenario("start = 2026-03-02T09:00:00", "", "", &end), Vec::new())
    }),
    ("calendars", limits::CALENDARS as i64, Code::TooMany, |n| {
        times(n, |i| format!("[calendar.c{i}]\ndays = [\"Mon\"]\n"))
    }),
    ("materials and supplies together, and machines", limits::ITEMS as i64, Code::TooMany, |n| {
        let rows: String = (0..n).map(|i| format!("i{i},supply,1 pcs,1\n")).collect();
        sheet("supplies.csv", format!("item,kind,pack,pack_price\n{rows}"))
    }),
    ("machines that equipment.csv does not have", limits::UNLISTED as i64, Code::TooMany, |n| {
        let step = |i: i64| format!("{{ do = \"s\", attended = \"1 min\", at = \"m{i}\" }}");
        times((n + 99) / 100, |r| {
            let steps: Vec<String> = (r * 100..n.min(r * 100 + 100)).map(step).collect();
            format!(
                "[[route]]\nname = \"r{r}\"\nkind = \"bench\"\nsteps = [{}]\n",
                steps.join(", ")
            )
        })
    }),
    ("rows of a sheet", limits::ROWS as i64, Code::TooMany, |n| {
        let rows: String = (0..n).map(|i| format!("a,b,c,d,{i}\n")).collect();
        sheet("quotes.csv", format!("service,material,finish,speed,qty\n{rows}"))
    }),
];

fn loaded((text, sheets): &(String, Vec<(&'static str, String)>)) -> Loaded {
    let sheets: Vec<(&str, &str)> =
        sheets.iter().map(|(name, text)| (*name, text.as_str())).collect();
    load(folder(text, &sheets).path(), &Overrides::default())
}

fn held(all: &[Limit]) {
    for (what, most, code, make) in all {
        let at = loaded(&make(*most));
        let of_sheet = *what == "rows of a sheet";
        let said = |loaded: &Loaded| {
            flipcount::diag::render_lines(&loaded.log.found).chars().take(2_000).collect::<String>()
        };
        assert!(!at.log.has(*code), "{most} {what}: {}", said(&at));
        assert!(of_sheet || !at.log.has_errors(), "{most} {what}: {}", said(&at));
        let beyond = loaded(&make(most + 1));
        assert!(beyond.scenario.is_none(), "{most} {what}");
        let found =
            beyond.log.found.iter().find(|f| f.code == *code && f.severity == Severity::Error);
        let finding = found.unwrap_or_else(|| panic!("{most} {what}: {}", said(&beyond)));
        assert!(finding.hint.is_some() && finding.place.is_some(), "{finding:?}");
    }
}

#[test]
fn numbers_are_taken_to_their_limit_and_no_further() {
    held(&NUMBERS);
}

#[test]
fn counts_are_taken_to_their_limit_and_no_further() {
    held(&COUNTS);
}

/// What else is limited, where its test is in the module that holds it.
const ELSEWHERE: [(&str, u64); 11] = [
    ("bytes of a scenario or sheet file", FILE_LIMIT),
    ("bytes of scenario.toml", DOCUMENT_LIMIT as u64),
    ("tables and arrays in each other", DEPTH_LIMIT as u64),
    ("cells of a sheet", CELL_LIMIT as u64),
    ("columns of a sheet", COLUMN_LIMIT as u64),
    ("bytes of a mesh file", MAX_FILE_BYTES),
    ("bytes that a 3MF inflates to", MAX_INFLATED_BYTES),
    ("objects that a 3MF places", MAX_PLACED),
    ("plans that are tried where none is named", PLAN_LIMIT as u64),
    ("plans times iterations", ITERATION_LIMIT as u64),
    ("unproven routes of one plan", UNPROVEN_LIMIT as u64),
];

/// A number with a comma between thousands.
fn grouped(number: u64) -> String {
    let digits = number.to_string();
    let group = |(at, digit): (usize, char)| {
        let comma = at > 0 && (digits.len() - at).is_multiple_of(3);
        [comma.then_some(','), Some(digit)]
    };
    digits.chars().enumerate().flat_map(group).flatten().collect()
}

#[test]
fn limits_are_stated_as_they_are() {
    let text = fs::read_to_string(project("DEVELOPERS.md")).expect("DEVELOPERS.md");
    let own = NUMBERS
        .iter()
        .chain(&COUNTS)
        .map(|l| (l.0, u64::try_from(l.1).expect("above 0"), l.2.as_str()));
    let rows: Vec<String> = own
        .map(|(what, most, code)| format!("| {what} | {} | `{code}` |", grouped(most)))
        .chain(ELSEWHERE.iter().map(|(what, most)| format!("| {what} | {} | ", grouped(*most))))
        .collect();
    let lacking: Vec<&String> = rows.iter().filter(|row| !text.contains(row.as_str())).collect();
    assert!(lacking.is_empty(), "DEVELOPERS.md lacks {lacking:#?}");
}
