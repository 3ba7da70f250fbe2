//! Exercises on standard costs: the variances of a record.

use flipcount::model::Money;

use crate::help::{compare, folder};
use crate::record::put_lines;
use crate::rerun::{money, usd};

/// Exercises on standard costs, carried out as a record of one iteration. What is bought and not used is kept at its standard price, as in
/// the exercises.
fn variances_of(case: &StandardCost) -> [Money; 4] {
    let text = format!(
        "title = \"t\"\ncurrency = \"USD\"\nstart = 2026-03-02\nlabour = \"{} per h\"\npricing = \"pricing\"\n[iterations]\nplanned = 1\n\
         [hours]\nopen = [\"00:00-24:00\"]\n[[part]]\nname = \"unit\"\ncopies = {}\n\
         [[route]]\nname = \"bench\"\nkind = \"bench\"\nsteps = [{{ do = \"make\", attended = \"{}\", per = \"piece\", consumes = [\
         {{ item = \"stuff\", amount = \"{} pcs\", per = \"piece\" }}] }}]\n",
        case.rate, case.units, case.hours_each, case.amount_each
    );
    let sheet = format!("item,kind,pack,pack_price,keep\nstuff,supply,1 pcs,{},1\n", case.price);
    let dir = folder(&text, &[("supplies.csv", &sheet)]);
    let lines = format!(
        "2026-03-02,1,unit,bench,started,,,,,\n2026-03-02,1,,,invoice,stuff,{} pcs,{},,\n\
         2026-03-03,1,unit,bench,used,stuff,{} pcs,,,\n2026-03-03,1,unit,bench,attended,,{},,,\n2026-12-31,1,,,accepted,,,,,\n",
        case.bought, case.paid, case.used, case.hours
    );
    put_lines(dir.path(), &lines);
    let answer = compare(dir.path(), &["--as-planned"]);
    let v = &answer["record"]["variances"];
    let item = |name: &str, key: &str| {
        let items = v["items"].as_array().expect("items");
        let found = items.iter().find(|i| i["item"] == name);
        found.map_or(Money::ZERO, |i| money(&i[key]))
    };
    assert_eq!(money(&v["price"]) + money(&v["quantity"]), money(&v["total"]), "{v:#}");
    [
        item("stuff", "price"),
        item("stuff", "quantity"),
        item("own hours", "quantity"),
        money(&v["total"]),
    ]
}

struct StandardCost {
    units: u32,
    amount_each: &'static str,
    price: &'static str,
    bought: &'static str,
    paid: &'static str,
    used: &'static str,
    hours_each: &'static str,
    rate: &'static str,
    hours: &'static str,
}

#[test]
fn variances_of_textbooks() {
    // Hilton, Managerial Accounting, exercise 10-28, a thousandth of it: 50 units of 4 kg at 0.80; 240 kg bought at 0.81, 210 kg used; 0.25 h
    // each at 16.00, 13 h worked. Price 2,400 U on what is bought, quantity 8,000 U, efficiency 8,000 U. (The rate variance has no
    // counterpart: nobody invoices own hours.)
    let hilton = StandardCost {
        units: 50,
        amount_each: "4",
        price: "0.80",
        bought: "240",
        paid: "194.40",
        used: "210",
        hours_each: "15 min",
        rate: "16.00",
        hours: "13",
    };
    let [price, quantity, efficiency, total] = variances_of(&hilton);
    assert_eq!([price, quantity, efficiency], ["2.40", "8.00", "8.00"].map(usd));
    assert_eq!(total, usd("18.40"));
    // qammunity.org/7524534, a tenth of it: 53 units of 20 at 1.38; 1,830 bought at 1.41, 980 used; 4 h each at 9.00, 240 h worked. Price
    // 549 U on what is bought, quantity 1,104 F, efficiency 2,520 U.
    let other = StandardCost {
        units: 53,
        amount_each: "20",
        price: "1.38",
        bought: "1830",
        paid: "2580.30",
        used: "980",
        hours_each: "4 h",
        rate: "9.00",
        hours: "240",
    };
    let [price, quantity, efficiency, _] = variances_of(&other);
    assert_eq!([price, quantity, efficiency], ["54.90", "-110.40", "252.00"].map(usd));
}
