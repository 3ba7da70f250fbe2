//! Addresses of inputs in words: `route[bench].steps[print].spoil` is the chance of spoiling of step `print` of route `bench`.

/// Keys that say more in other words.
const KEYS: [(&str, &str); 38] = [
    ("amount", "amount used"),
    ("arrives_after", "time to arrival"),
    ("attended", "attended time"),
    ("base", "base price"),
    ("brief", "time to explain"),
    ("buy_first", "first purchase"),
    ("delay_cost_per_day", "cost of a day of delay"),
    ("delivery_cost", "price of a delivery"),
    ("evaluate", "time to evaluate"),
    ("finish_per_piece", "finish of a piece"),
    ("first_time", "extra time of the first build"),
    ("hold", "waiting time"),
    ("keep", "share of value kept"),
    ("labour", "worth of an hour"),
    ("misread", "chance of a misread lot"),
    ("order_min", "least order"),
    ("order_time", "time to order"),
    ("other_time", "unattended time"),
    ("overlap", "overlap of the redesign"),
    ("pack", "size of a pack"),
    ("pack_price", "price of a pack"),
    ("per_build_loss", "resin lost in a build"),
    ("piece", "price of a piece"),
    ("piece_min", "least price of a piece"),
    ("planned", "number of iterations"),
    ("redesign", "time to redesign"),
    ("reject", "chance of a rejected lot"),
    ("resin", "price of the resin"),
    ("setup_per_order", "set-up of an order"),
    ("setup_per_part", "set-up of a part"),
    ("spent_share", "share done when it spoils"),
    ("spoil", "chance of spoiling"),
    ("supports", "share of supports"),
    ("tells", "chance that the trial is right"),
    ("unit_price", "price of a piece"),
    ("variant_worth", "worth of a further variant"),
    ("variants", "number of variants"),
    ("works", "chance of working"),
];

/// Kinds of named things, in the singular.
const KINDS: [(&str, &str); 10] = [
    ("consumes", "supply"),
    ("delivery", "delivery"),
    ("equipment", "machine"),
    ("materials", "material"),
    ("print_time", "print time"),
    ("quotes", "quotation"),
    ("rates", "rate"),
    ("services", "service row"),
    ("steps", "step"),
    ("supplies", "supply"),
];

/// What an input is, and of which part, route or row: the inmost first.
pub fn input_words(address: &str) -> String {
    let mut names = Vec::new();
    let mut keys = Vec::new();
    let mut rest = address;
    while !rest.is_empty() {
        let end = rest.find(['.', '[']).unwrap_or(rest.len());
        let (word, after) = rest.split_at(end);
        rest = match after.strip_prefix('[') {
            Some(inside) => {
                let whole = inside.strip_suffix(']').unwrap_or(inside);
                let (name, after) = inside.split_once("].").unwrap_or((whole, ""));
                names.push(named(word, name));
                after
            }
            None => {
                keys.extend((!word.is_empty()).then_some(word));
                after.strip_prefix('.').unwrap_or_default()
            }
        };
    }
    let key = match keys.as_slice() {
        // Tables without a name: `iterations.redesign`, `final.copies`.
        ["iterations", key] => said(&KEYS, key),
        ["final", key] => format!("{} of the final", said(&KEYS, key)),
        [key, ..] => said(&KEYS, key),
        [] => "value".to_owned(),
    };
    let owners = names.iter().rev().map(|name| format!(" of {name}"));
    std::iter::once(key).chain(owners).collect()
}

/// A kind with a name; the columns of a row's key that are empty are left out.
fn named(kind: &str, name: &str) -> String {
    let parts: Vec<&str> = name.split('|').filter(|p| !p.is_empty()).collect();
    format!("{} `{}`", said(&KINDS, kind), parts.join(", "))
}

fn said(words: &[(&str, &str)], key: &str) -> String {
    let found = words.iter().find(|w| w.0 == key);
    found.map_or_else(|| key.replace('_', " "), |w| w.1.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addresses_are_said_in_words() {
        let cases = [
            ("labour", "worth of an hour"),
            ("iterations.planned", "number of iterations"),
            ("part[sensor collar].volume", "volume of part `sensor collar`"),
            ("part[a.b].box.x", "box of part `a.b`"),
            (
                "route[bench, dyed].steps[print].spoil",
                "chance of spoiling of step `print` of route `bench, dyed`",
            ),
            (
                "services[Print house A|black||standard|5].rate",
                "rate of service row `Print house A, black, standard, 5`",
            ),
            (
                "materials[soft resin 70A].pack_price",
                "price of a pack of material `soft resin 70A`",
            ),
            ("final.copies", "copies of the final"),
        ];
        for (address, words) in cases {
            assert_eq!(input_words(address), words);
        }
    }

    #[test]
    fn no_text_is_too_odd() {
        for odd in ["", "[", "a[", "a[b", "a[]", ".", "a[b]c", "ä[ö", "[ö"] {
            assert!(!input_words(odd).is_empty(), "{odd}");
        }
    }
}
