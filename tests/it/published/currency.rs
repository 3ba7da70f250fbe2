//! Minor units of currencies through the loader and the ledger.

use flipcount::analysis::{answer, plan_ledger};
use flipcount::ledger::Total;

use crate::help::{folder, in_shop, scenario};

/// ISO 4217 List One, published 2026-01-01 by the maintenance agency, as shipped in the Python package iso4217 1.16.20260101.
const MINOR_UNITS: [(&str, u32); 19] = [
    ("USD", 2),
    ("EUR", 2),
    ("GBP", 2),
    ("CHF", 2),
    ("JPY", 0),
    ("KRW", 0),
    ("ISK", 0),
    ("CLP", 0),
    ("VND", 0),
    ("KWD", 3),
    ("BHD", 3),
    ("OMR", 3),
    ("JOD", 3),
    ("TND", 3),
    ("LYD", 3),
    ("IQD", 3),
    ("CLF", 4),
    ("UYW", 4),
    ("HUF", 2),
];

/// Three pieces at 12.34565 each: the price of a piece is rounded as an invoice does, half away from zero, then multiplied.
#[test]
fn amounts_have_the_decimals_of_iso_4217() {
    for (code, minor) in MINOR_UNITS {
        let text = format!(
            "currency = \"{code}\"\nlabour = \"0 per h\"\n[iterations]\nplanned = 1\n[[part]]\nname = \"cup\"\nvolume = \"1 mL\"\n\
             copies = 3\n[[route]]\nname = \"shop\"\nkind = \"order\"\npiece = 12.34565\ndelivery_cost = 0\n\
             order_time = \"0 min\"\narrives_after = \"2 business days\"\n"
        );
        let dir = folder(&text, &[]);
        let scenario = scenario(dir.path());
        assert_eq!(scenario.minor(), minor, "{code}");
        let wanted = ["36", "", "37.05", "37.038", "37.0371"][minor as usize];
        in_shop(&scenario, |shop| {
            let ledger = plan_ledger(shop, &answer(shop).expect("an answer").plans[0].plan.assign)
                .expect("a plan");
            assert_eq!(ledger.total(Total::Outlay, 1).text(minor), wanted, "{code}");
        });
    }
}

/// A price in yen in a scenario in dinar: rounded to whole yen, converted at its rate, rounded to thousandths of a dinar.
#[test]
fn each_currency_rounds_in_its_own_units() {
    let text = "currency = \"KWD\"\nlabour = \"0 per h\"\npricing = \"pricing\"\n[iterations]\nplanned = 1\n\
                [[part]]\nname = \"cup\"\nvolume = \"1 mL\"\ncopies = 2\n\
                [[route]]\nname = \"shop\"\nkind = \"order\"\nservice = \"Shop\"\norder_time = \"0 min\"\n";
    let services = "service,material,basis,rate,lead,currency\nShop,rubber,piece,100.5,2,JPY\n";
    let rates = "rate,value\nexchange JPY->KWD,0.00203\n";
    let dir = folder(text, &[("services.csv", services), ("rates.csv", rates)]);
    let scenario = scenario(dir.path());
    in_shop(&scenario, |shop| {
        let ledger = plan_ledger(shop, &answer(shop).expect("an answer").plans[0].plan.assign)
            .expect("a plan");
        // 101 yen x 2 x 0.00203 = 0.41006 dinar.
        assert_eq!(ledger.total(Total::Outlay, 1).text(3), "0.410");
    });
}
