//! The nearest known name to one that is not known.
//!
//! Enters: a name as written and the names that are known there. Leaves: the one most likely meant, if any is near enough.

/// Longest name that is compared, in characters; the distance takes time that grows with the product of the lengths.
const LONGEST: usize = 64;

/// The known name nearest to `name`, upper and lower case alike; `None` where none is near: more than a third of the letters differ.
/// Of two equally near ones the first wins.
pub fn nearest<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let wanted = folded(name);
    let length = wanted.chars().count();
    if length == 0 || length > LONGEST {
        return None;
    }
    let mut best: Option<(usize, &str)> = None;
    for candidate in known {
        let other = folded(candidate);
        let other_length = other.chars().count();
        if other_length > LONGEST {
            continue;
        }
        let distance = strsim::osa_distance(&wanted, &other);
        let allowed = length.max(other_length).div_ceil(3).min(length.min(other_length));
        // A distance of the whole length means that not one letter is shared.
        let near = distance == 0 || (distance <= allowed && distance < length.max(other_length));
        if near && best.is_none_or(|(least, _)| distance < least) {
            best = Some((distance, candidate));
        }
    }
    best.map(|(_, candidate)| candidate)
}

/// The known name of which `name` is a slip of the pen: a letter or two differ, but not only a label of one letter or digit, as in
/// `Print house A` and `Print house B`. Upper and lower case alike; the name itself is no slip.
pub fn slip<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let wanted = folded(name);
    let length = wanted.chars().count();
    if length > LONGEST {
        return None;
    }
    let is_slip = |candidate: &&str| {
        let other = folded(candidate);
        let most = (length / 4).min(2);
        let near = *candidate != name
            && other.chars().count() <= LONGEST
            && strsim::osa_distance(&wanted, &other) <= most;
        near && !labels_differ(&wanted, &other)
    };
    known.into_iter().find(is_slip)
}

/// True where two names have the same words but for words of one character.
fn labels_differ(a: &str, b: &str) -> bool {
    let (a, b): (Vec<&str>, Vec<&str>) = (a.split('_').collect(), b.split('_').collect());
    let single = |word: &str| word.chars().count() == 1;
    a != b
        && a.len() == b.len()
        && a.iter().zip(&b).all(|(x, y)| x == y || (single(x) && single(y)))
}

/// What is wrong with a name that holds characters nobody sees, such as a zero-width blank; `None` where it holds none.
pub fn unseen(name: &str) -> Option<String> {
    let hidden = name.chars().find(|c| is_unseen(*c))?;
    Some(format!(
        "`{}` holds an invisible character, U+{:04X}: retype it",
        name.chars()
            .flat_map(|c| if is_unseen(c) { c.escape_unicode().collect() } else { vec![c] })
            .collect::<String>(),
        u32::from(hidden)
    ))
}

fn is_unseen(c: char) -> bool {
    c.is_control()
        || matches!(
            c,
            '\u{ad}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{2069}' | '\u{feff}'
        )
}

/// A hint with the nearest known name: "did you mean `volume`?"
pub fn did_you_mean<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> Option<String> {
    nearest(name, known).map(|candidate| format!("did you mean `{candidate}`?"))
}

/// A hint that always says something: the nearest known name, else all that are known, at most twelve.
pub fn did_you_mean_or_list(name: &str, known: &[&str]) -> String {
    const MOST: usize = 12;
    if let Some(hint) = did_you_mean(name, known.iter().copied()) {
        return hint;
    }
    if known.is_empty() {
        return "none is known here".to_string();
    }
    let shown: Vec<String> = known.iter().take(MOST).map(|k| format!("`{k}`")).collect();
    let rest = known.len().saturating_sub(MOST);
    let more = if rest > 0 { format!(" and {rest} more") } else { String::new() };
    format!("known here: {}{more}", shown.join(", "))
}

/// Case, blanks, hyphens and underscores do not count: `Print-Time` is `print_time`.
fn folded(name: &str) -> String {
    let lower = name.trim().to_lowercase();
    lower.chars().map(|c| if matches!(c, ' ' | '-') { '_' } else { c }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const KEYS: [&str; 6] = ["volume", "area", "box", "print_time", "spoil", "delivery_cost"];

    #[test]
    fn slips_find_the_name() {
        for (slip, meant) in [
            ("volum", "volume"),
            ("Volume", "volume"),
            ("vloume", "volume"),
            ("print time", "print_time"),
            ("printtime", "print_time"),
            ("deliverycosts", "delivery_cost"),
            ("bx", "box"),
        ] {
            assert_eq!(nearest(slip, KEYS), Some(meant), "{slip}");
        }
    }

    #[test]
    fn far_names_find_nothing() {
        for name in ["", "x", "temperature", "zzz", &"v".repeat(1_000)] {
            assert_eq!(nearest(name, KEYS), None, "{name}");
        }
    }

    #[test]
    fn equal_distance_takes_the_first() {
        assert_eq!(nearest("bat", ["bad", "bar"]), Some("bad"));
    }

    #[test]
    fn slips_of_the_pen_are_told_from_other_names() {
        let known = ["Print house A"];
        assert_eq!(slip("Print hose A", known), Some("Print house A"));
        assert_eq!(slip("print house a", known), Some("Print house A"));
        for other in ["Print house A", "Print house B", "Print works A", "Foundry", ""] {
            assert_eq!(slip(other, known), None, "{other}");
        }
    }

    #[test]
    fn what_nobody_sees_is_named() {
        let said = unseen("electri\u{200b}city").unwrap();
        assert!(said.contains("U+200B") && said.contains("electri\\u{200b}city"), "{said}");
        assert_eq!(unseen("Größe µm"), None);
    }

    #[test]
    fn list_is_cut() {
        let many: Vec<String> = (0..20).map(|n| format!("thing number {n}")).collect();
        let known: Vec<&str> = many.iter().map(String::as_str).collect();
        let hint = did_you_mean_or_list("q", &known);
        assert!(hint.ends_with("and 8 more"), "{hint}");
        assert_eq!(did_you_mean_or_list("q", &[]), "none is known here");
    }
}
