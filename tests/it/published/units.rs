//! Factors of units through whole scenarios.

use flipcount::analysis::{answer, plan_ledger};
use flipcount::ledger::{Kind, Ledger, Total};
use flipcount::model::{Exact, Scenario};

use crate::help::{folder, in_shop, number, scenario};

fn ledger_of(scenario: &Scenario) -> Ledger {
    in_shop(scenario, |shop| {
        plan_ledger(shop, &answer(shop).expect("an answer").plans[0].plan.assign).expect("a plan")
    })
}

/// What one build draws of a supply, in mL, g or mm, when `amount` of it is stated.
fn drawn(amount: &str, price: &str) -> Exact {
    let text = format!(
        "currency = \"USD\"\nlabour = \"0 per h\"\npricing = \"pricing\"\n[iterations]\nplanned = 1\n\
         [[part]]\nname = \"cup\"\nvolume = \"1 mL\"\n[[route]]\nname = \"cast\"\nkind = \"bench\"\n\
         consumes = [ {{ item = \"stuff\", amount = \"{amount}\" }} ]\nsteps = [ {{ do = \"cast\", attended = \"5 min\" }} ]\n"
    );
    let dir = folder(
        &text,
        &[("supplies.csv", &format!("item,kind,pack,pack_price\nstuff,supply,,{price}\n"))],
    );
    let ledger = ledger_of(&scenario(dir.path()));
    ledger.entries().iter().filter(|e| e.kind == Kind::Consume).map(|e| e.quantity).sum()
}

/// Rounds to so many significant digits of a number at least 1 in its base unit.
fn significant(value: Exact, digits: u32) -> Exact {
    let before = value.to_string().split('.').next().map_or(0, str::len);
    value.half_away(digits - u32::try_from(before).expect("a few digits"))
}

/// NIST SP 811 (2008), Appendix B.8: factors to seven significant digits, here in mL, mm and g.
#[test]
fn factors_of_nist_sp_811() {
    let volume = [
        ("1 gal", "3785.412"),
        ("1 qt", "946.3529"),
        ("1 pt", "473.1765"),
        ("1 fl oz", "29.57353"),
        ("1 in3", "16.38706"),
        ("1 ft3", "28316.85"),
    ];
    let length = [("1 in", "25.4"), ("1 ft", "304.8")];
    let mass = [("1 lb", "453.5924"), ("1 oz", "28.34952")];
    let of = |price: &'static str| {
        move |(amount, factor): (&'static str, &'static str)| (amount, factor, price)
    };
    let all = volume
        .map(of("9 per L"))
        .into_iter()
        .chain(length.map(of("9 per m")))
        .chain(mass.map(of("9 per kg")));
    for (amount, factor, price) in all {
        assert_eq!(significant(drawn(amount, price), 7), number(factor), "{amount}");
    }
    // 1 mil is 0.0254 mm.
    assert_eq!(drawn("1 mil", "90000 per m"), number("0.0254"));
}

/// Exact definitions: 1 in = 25.4 mm, 1 lb = 453.59237 g, 1 gal = 231 in3 (NIST Handbook 44, Appendix C; SP 811). Quantities are kept in
/// whole millionths.
#[test]
fn exact_definitions_rule() {
    for (amount, wanted) in [
        ("1 gal", "3785.411784"),
        ("1 fl oz", "29.573530"),
        ("1 in3", "16.387064"),
        ("1 pt", "473.176473"),
    ] {
        assert_eq!(drawn(amount, "9 per L"), number(wanted), "{amount}");
    }
    assert_eq!(drawn("1 lb", "9 per kg"), number("453.592370"));
    assert_eq!(drawn("1 oz", "9 per kg"), number("28.349523"));
}

/// The same volume in two units costs the same: 1 gal = 231 in3 = 8 pt = 128 fl oz (NIST Handbook 44, Appendix C).
#[test]
fn one_gallon_costs_as_much_as_its_cubic_inches() {
    let cost = |volume: &str| {
        let text = format!(
            "currency = \"USD\"\nlabour = \"0 per h\"\n[iterations]\nplanned = 3\n[[part]]\nname = \"float\"\nvolume = \"{volume}\"\n\
             [[route]]\nname = \"bench\"\nkind = \"bench\"\nresin = \"400 per gal\"\nattended = \"0 h\"\nprint_time = \"9 h\"\n\
             supports = 0\nper_build_loss = \"0 mL\"\nspoil = 0\n"
        );
        let dir = folder(&text, &[]);
        ledger_of(&scenario(dir.path())).total(Total::Outlay, 1).text(2)
    };
    for volume in ["1 gal", "231 in3", "8 pt", "4 qt", "128 fl oz", "3785.411784 mL"] {
        assert_eq!(cost(volume), "400.00", "{volume}");
    }
}

/// 1 lb/gal = 0.1198264 kg/L (NIST SP 811, Appendix B.8): a pack of 1 kg at that density holds 1 / 0.1198264 L.
#[test]
fn a_pack_by_mass_holds_its_volume_at_its_density() {
    let text = "currency = \"USD\"\nlabour = \"0 per h\"\npricing = \"pricing\"\n[iterations]\nplanned = 1\n\
                [[part]]\nname = \"cup\"\nvolume = \"1 mL\"\n[[route]]\nname = \"cast\"\nkind = \"bench\"\n\
                consumes = [ { item = \"foam\", amount = \"1 L\" } ]\nsteps = [ { do = \"cast\", attended = \"5 min\" } ]\n";
    let sheet = "item,kind,pack,pack_price,density\nfoam,solvent,1 kg,1000000,1 lb per gal\n";
    let dir = folder(text, &[("supplies.csv", sheet)]);
    let ledger = ledger_of(&scenario(dir.path()));
    let used: Exact =
        ledger.entries().iter().filter(|e| e.kind == Kind::Consume).map(|e| e.amount.exact()).sum();
    // A million for 1 kg: what one litre costs are its kilograms with six decimals more.
    assert!((used - number("119826.4")).abs() < number("0.05"), "{used}");
}

/// 1 kWh = 3.6 MJ (NIST SP 811, Appendix B.8): 500 W for two hours are 3.6 MJ.
#[test]
fn power_and_time_make_kilowatt_hours() {
    let text = "currency = \"USD\"\nlabour = \"0 per h\"\npricing = \"pricing\"\n[iterations]\nplanned = 1\n\
                [[part]]\nname = \"cup\"\nvolume = \"1 mL\"\n[[route]]\nname = \"bake\"\nkind = \"bench\"\n\
                steps = [ { do = \"bake\", hold = \"2 h\", at = \"oven\" } ]\n";
    let sheets = [
        ("equipment.csv", "equipment,watts\noven,500\n"),
        ("rates.csv", "rate,value,unit\nelectricity,3.60,per kWh\n"),
    ];
    let dir = folder(text, &sheets);
    let ledger = ledger_of(&scenario(dir.path()));
    let entry = ledger.entries().iter().find(|e| e.unit == "kWh").expect("electricity");
    assert_eq!((entry.quantity, entry.amount.text(2)), (Exact::ONE, "3.60".to_owned()));
}
