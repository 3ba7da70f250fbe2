//! Rows of services and stocks, overrides on a route, and the order in files.

use super::*;
use crate::diag::Severity;
use crate::model::{Basis, Dim, ItemPrice, RateRows};

const SHEETS: [(&str, &str); 6] = [
    (
        "p/services.csv",
        "service,basis,rate,from_qty,piece_min,order_min,lead,density,valid_from,valid_to,currency\nA,part_volume,1.5,1,9,50,5,1.1 g/mL,2026-01-01,2026-06-30,EUR\nA,part_volume,1.4,1,9,50,5,1.1 g/mL,2026-07-01,,EUR\nA,area,0.002 per mm2,10,,50,7,1.1 g/mL,,,\n",
    ),
    (
        "p/delivery.csv",
        "service,delivery,base,per_kg,divisor,mass_step,transit\nA,parcel,8,3.20,5000,0.5,2\n",
    ),
    (
        "p/quotes.csv",
        "service,part,qty,unit_price,lead\nA,sensor collar,2,120,4\nA,another part,1,9,4\n",
    ),
    (
        "p/rates.csv",
        "rate,value,unit,service\nexchange EUR->USD,1.10,,\nexchange EUR->USD,1.20,,A\ntax,0.07,,\ntax,0.19,,A\nduty,0.05,,A\nduty_on,goods and delivery,,A\nelectricity,0.24,per kWh,\n",
    ),
    ("p/materials.csv", "material,pack,pack_price,density,stock\nsoft,500 g,70,1.1 g/mL,200 mL\n"),
    (
        "p/supplies.csv",
        "item,kind,pack,pack_price\nwash solvent,solvent,5 L,46\ntowels,supply,,0.06 per pcs\n",
    ),
];

fn with_service(more: &str) -> Loaded {
    let order = format!("kind = \"order\"\nservice = \"A\"\n{more}\n");
    let text = changed(
        TEN,
        &[
            ("kind          = \"order\"", ""),
            (
                "currency = \"USD\"",
                "currency = \"USD\"\npricing = \"p\"\nstart = 2026-03-02T09:00:00",
            ),
            ("volume   =", "area = \"100 cm2\"\nbox = \"60 x 60 x 60 mm\"\nvolume   ="),
        ],
    );
    let cut = text.find("piece ").unwrap();
    let text = format!("{}{order}", &text[..cut]);
    let mut files: Vec<(&str, &str)> = SHEETS.to_vec();
    files.push(("scenario.toml", &text));
    loaded(&files)
}

#[test]
fn rows_of_a_service_are_selected_and_rates_of_a_service_win() {
    let s = good(with_service(""));
    let t = terms(&s, "print house");
    let quantities: Vec<(i64, Basis)> = t.rows.iter().map(|r| (r.from_qty, r.basis)).collect();
    assert_eq!(quantities, [(1, Basis::PartVolume), (1, Basis::PartVolume), (10, Basis::Area)]);
    assert_eq!((t.delivery.as_str(), t.deliveries.len(), t.quotes.len()), ("parcel", 1, 1));
    assert_eq!((t.duty_on_delivery, t.tax_recoverable), (true, false));
    let value = |rows: &RateRows| s.slots.likely(rows.0[0].value).to_string();
    assert_eq!((value(&t.tax), value(&t.duty)), ("0.19".into(), "0.05".into()));
    let euro = usize::from(t.rows[0].currency.0);
    assert_eq!((s.currencies[euro].code.as_str(), value(&t.exchange[euro])), ("EUR", "1.2".into()));
    assert_eq!(value(&s.exchange[euro]), "1.1");
    assert_eq!(at(&s, "services[A||||1].rate"), is("1.5", "1.5", "1.5"));
    assert_eq!(at(&s, "services[A||||1|2026-07-01].rate"), is("1.4", "1.4", "1.4"));
    // 0.002 per mm2 is 0.2 per cm2.
    assert_eq!(at(&s, "services[A||||10].rate"), is("0.2", "0.2", "0.2"));
    assert_eq!(at(&s, "delivery[A|parcel].mass_step"), is("500", "500", "500"));
}

#[test]
fn a_quotation_for_a_part_elsewhere_is_a_warning() {
    let loaded = with_service("");
    let said: Vec<(Severity, Code)> =
        loaded.log.found.iter().map(|d| (d.severity, d.code)).collect();
    assert_eq!(said, [(Severity::Warning, Code::UnknownPart)]);
}

#[test]
fn a_route_overrides_columns_of_its_rows() {
    let s = good(with_service("piece = 99\ndelivery_cost = 5\nlead = 3\norder_min = 0"));
    let t = terms(&s, "print house");
    for row in &t.rows {
        assert!(row.stated_piece && row.piece_min.is_none());
        assert_eq!(
            (row.basis, s.slots.likely(row.rate.unwrap()).to_string()),
            (Basis::Piece, "99".into())
        );
        assert_eq!(s.slots.likely(row.lead).to_string(), "3");
        assert!(row.density.is_some());
    }
    assert!(t.deliveries[0].per_kg.is_none() && t.quotes.is_empty());
    assert_eq!(s.slots.likely(t.deliveries[0].base.unwrap()).to_string(), "5");
    assert_eq!(s.slots.likely(t.deliveries[0].transit.unwrap()).to_string(), "2");
}

#[test]
fn a_supply_named_wash_solvent_prices_the_short_form() {
    let s = good(with_service(""));
    let solvent = s.items.iter().find(|i| i.name == "wash solvent").unwrap();
    assert!(matches!(solvent.price, ItemPrice::Pack { .. }));
    let names: Vec<&str> = s.items.iter().map(|i| i.name.as_str()).collect();
    assert_eq!(names, ["resin", "soft", "towels", "wash solvent"]);
    assert_eq!(s.items[2].dim, Dim::Pieces);
}

#[test]
fn the_order_of_parts_routes_and_rows_does_not_matter() {
    let text = fs::read_to_string(root().join("scenarios/river-sonde/scenario.toml")).unwrap();
    let sheet =
        |name: &str| fs::read_to_string(root().join("pricing/river-sonde").join(name)).unwrap();
    let names = [
        "materials",
        "supplies",
        "equipment",
        "print_time",
        "services",
        "delivery",
        "quotes",
        "rates",
    ];
    let build = |text: &str, turned: bool| {
        let mut files =
            vec![("s/scenario.toml".to_owned(), text.replace("../../pricing/river-sonde", "../p"))];
        for name in names {
            let whole = sheet(&format!("{name}.csv"));
            let mut lines: Vec<&str> = whole.lines().filter(|l| !l.starts_with('#')).collect();
            if turned {
                lines[1..].reverse();
            }
            files.push((format!("p/{name}.csv"), lines.join("\n") + "\n"));
        }
        let folder = tempfile::tempdir().unwrap();
        for (name, text) in &files {
            let path = folder.path().join(name);
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            fs::write(path, text).unwrap();
        }
        fs::create_dir(folder.path().join("s/parts")).unwrap();
        for mesh in ["sensor-collar.stl", "cable-boot.stl"] {
            let from = root().join("scenarios/river-sonde/parts").join(mesh);
            fs::copy(from, folder.path().join("s/parts").join(mesh)).unwrap();
        }
        good(load(&folder.path().join("s"), &Overrides::default()))
    };
    // The last [[route]] first.
    let first = text.find("[[route]]").unwrap();
    let last = text.rfind("[[route]]").unwrap();
    let turned = format!("{}{}\n{}", &text[..first], &text[last..], &text[first..last]);
    let (a, b) = (build(&text, false), build(&turned, true));
    let numbers = |s: &Scenario| -> Vec<(String, String, String)> {
        s.slots
            .iter()
            .map(|(_, i)| (i.address.clone(), i.likely.to_string(), i.high.to_string()))
            .collect()
    };
    assert_eq!(numbers(&a), numbers(&b));
    let routes = |s: &Scenario| s.routes.iter().map(|r| r.name.clone()).collect::<Vec<_>>();
    assert_eq!(routes(&a), routes(&b));
}

#[test]
fn a_mass_priced_resin_is_kept_per_millilitre() {
    // 100 per kg at 1.1 g/mL is 0.11 per mL.
    let s = good(ten(&[("\"130 per L\"", "\"100 per kg\"\ndensity = \"1.1 g/mL\"")]));
    assert_eq!(at(&s, "route[my bench].resin"), is("0.11", "0.11", "0.11"));
    assert_eq!(codes(&ten(&[("\"130 per L\"", "\"100 per kg\"")])), [Code::MissingDensity]);
}

#[test]
fn a_route_of_other_parts_needs_no_geometry() {
    let boot = "\n[[part]]\nname = \"boot\"\n\n[[route]]\nname = \"friend\"\nkind = \"order\"\npiece = 5\narrives_after = 3\nfor = [\"boot\"]\n";
    let text = format!("{TEN}{boot}");
    let loaded_all = loaded(&[("scenario.toml", &text)]);
    assert_eq!(codes(&loaded_all), [Code::MissingVolume]);
    let only = changed(
        &text,
        &[("kind       = \"bench\"", "kind = \"bench\"\nfor = [\"sensor collar\"]")],
    );
    good(loaded(&[("scenario.toml", &only)]));
    let planned = format!(
        "{text}\n[[plan]]\nassign = {{ \"boot\" = \"friend\", \"sensor collar\" = \"my bench\" }}\n"
    );
    let s = good(loaded(&[("scenario.toml", &planned)]));
    assert_eq!(s.plans[0].name, "boot = friend; sensor collar = my bench");
}

#[test]
fn a_start_without_a_time_is_the_first_opening() {
    let s = good(ten(&[("labour   =", "start = 2026-03-02\nlabour   =")]));
    // 2026-03-02 is day 20514 after 1970-01-01.
    assert_eq!(s.start, Some(20_514 * 86_400 + 9 * 3_600));
}

/// Towels are priced per piece; the solvent has a charge for handing it in.
#[test]
fn what_has_no_effect_is_told() {
    let supplies = "item,kind,pack,pack_price,stock,keep,waste_charge_per_l,valid_to\n\
        wash solvent,solvent,5 L,46,,,1.80,2026-05-31\nunused,solvent,5 L,46,,,1.80,\n\
        towels,supply,,0.06 per pcs,40 pcs,0.5,,\nfilter,supply,25 pcs,8.50,10 pcs,0.5,,\n";
    let text = changed(TEN, &[("currency = \"USD\"", "currency = \"USD\"\npricing = \"p\"")]);
    let loaded = loaded(&[("scenario.toml", &text), ("p/supplies.csv", supplies)]);
    let found = findings(&loaded);
    assert_eq!(found.len(), 2, "{found:#?}");
    for (finding, column) in found.iter().zip(["stock", "keep"]) {
        let said =
            format!("supplies.csv:4 Warning key-unused: `{column}` of `towels` has no effect");
        assert!(finding.starts_with(&said), "{finding}");
    }
    let s = good(loaded);
    assert_eq!(
        s.not_counted,
        ["disposal of `wash solvent` (it is charged where a bath is emptied)"]
    );
}

#[test]
fn dates_on_a_bench_route_are_those_of_the_price_it_states() {
    let s = good(ten(&[
        ("currency = \"USD\"", "currency = \"USD\"\nstart = 2026-03-02T09:00:00"),
        ("resin      = \"130 per L\"", "resin = \"130 per L\"\nvalid_to = 2026-03-05"),
    ]));
    let days: Vec<_> = s.items.iter().filter_map(|i| i.valid.to).collect();
    assert_eq!(days, [20_517]);
}
