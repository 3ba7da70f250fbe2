//! What all charts have in common: the element itself, texts, coordinates, the shapes that stand for plans.

use maud::{Markup, html};

use super::super::terminal::clean;

/// Width of every chart in its own units: small enough to be read on a phone, where it is drawn at about four fifths.
pub(super) const WIDTH: f64 = 460.0;
/// Different styles of plans; with more plans they begin again.
pub(super) const STYLES: usize = 6;

/// What a chart is called.
#[derive(Clone, Debug)]
pub(in crate::report) struct Head {
    /// Sets its names apart from those of other charts on the page.
    pub id: String,
    /// Its name.
    pub title: String,
    /// What it shows, in a sentence or two.
    pub desc: String,
}

impl Head {
    /// A chart's head.
    pub fn new(id: &str, title: &str, desc: &str) -> Head {
        Head { id: id.to_owned(), title: title.to_owned(), desc: desc.to_owned() }
    }

    /// The element with its names and what is drawn in it.
    pub(super) fn svg(&self, height: f64, drawn: &Markup) -> Markup {
        let (title, desc) = (format!("{}-t", self.id), format!("{}-d", self.id));
        html! {
            svg #(self.id) viewBox=(format!("0 0 {} {}", at(WIDTH), at(height))) role="img"
                aria-labelledby=(format!("{title} {desc}")) {
                title #(title) { (self.title) }
                desc #(desc) { (self.desc) }
                (drawn)
            }
        }
    }
}

/// A coordinate with one decimal at most.
pub(super) fn at(value: f64) -> String {
    let text = format!("{value:.1}");
    let text = text.strip_suffix(".0").unwrap_or(&text);
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// A text at a place, `start`, `middle` or `end`.
pub(super) fn text(class: &str, (x, y): (f64, f64), anchor: &str, said: &str) -> Markup {
    html! { text.(class) x=(at(x)) y=(at(y)) text-anchor=[(anchor != "start").then_some(anchor)] { (said) } }
}

/// A straight line.
pub(super) fn rule(class: &str, (x1, y1): (f64, f64), (x2, y2): (f64, f64)) -> Markup {
    html! { path.(class) d=(format!("M{} {}L{} {}", at(x1), at(y1), at(x2), at(y2))) {} }
}

/// A rectangle from a corner on; at least half a unit wide, so that it is seen.
pub(super) fn bar(class: &str, (x, y): (f64, f64), (width, height): (f64, f64)) -> Markup {
    html! { rect.(class) x=(at(x)) y=(at(y)) width=(at(width.max(0.5))) height=(at(height)) {} }
}

/// Cuts a text that is longer than so many characters; control characters are shown, not passed on.
pub(super) fn cut(text: &str, most: usize) -> String {
    let text = clean(text);
    if text.chars().count() <= most {
        return text;
    }
    let mut cut: String = text.chars().take(most.saturating_sub(1)).collect();
    cut.push('\u{2026}');
    cut
}

/// The shape of a plan's marker round the origin, as path data.
fn shape(style: usize) -> &'static str {
    match style % STYLES {
        0 => "M-4.5 0a4.5 4.5 0 1 0 9 0a4.5 4.5 0 1 0-9 0z",
        1 => "M-4-4h8v8h-8z",
        2 => "M0-5.2L5 3.8H-5z",
        3 => "M0-5.6L5.6 0L0 5.6L-5.6 0z",
        4 => "M0 5.2L5-3.8H-5z",
        _ => "M-1.7-5h3.4v3.3h3.3v3.4h-3.3v3.3h-3.4v-3.3h-3.3v-3.4h3.3z",
    }
}

/// A plan's marker as a small picture beside its letter.
pub(in crate::report) fn marker(style: usize) -> Markup {
    html! {
        svg.key viewBox="-14 -7 28 14" width="28" height="14" aria-hidden="true" focusable="false" {
            path.(format!("ln s{}", style % STYLES)) d="M-14 0H14" {}
            (shape_at(style, (0.0, 0.0), None))
        }
    }
}

/// A plan's marker at a place; `key` names the figure that moves it.
pub(super) fn shape_at(style: usize, (x, y): (f64, f64), key: Option<&str>) -> Markup {
    let place = format!("translate({} {})", at(x), at(y));
    html! {
        path.(format!("dot f{}", style % STYLES)) d=(shape(style)) data-f=[key]
            transform=[(key.is_some() || x != 0.0 || y != 0.0).then_some(place)] {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn coordinates_are_short() {
        assert_eq!(at(3.0), "3");
        assert_eq!(at(3.06), "3.1");
        assert_eq!(at(-0.01), "0");
        assert_eq!(at(1e3), "1000");
    }

    #[test]
    fn long_texts_are_cut_and_all_are_escaped() {
        assert_eq!(cut("abcdef", 4), "abc\u{2026}");
        assert_eq!(cut("abcd", 4), "abcd");
        let drawn = text("t", (1.0, 2.0), "end", "<script>\"&").into_string();
        assert_eq!(
            drawn,
            "<text class=\"t\" x=\"1\" y=\"2\" text-anchor=\"end\">&lt;script&gt;&quot;&amp;</text>"
        );
    }

    #[test]
    fn a_chart_is_named_for_those_who_do_not_see_it() {
        let svg = Head::new("c", "Cost", "Rises.").svg(10.0, &html! {}).into_string();
        assert!(svg.contains("role=\"img\" aria-labelledby=\"c-t c-d\""), "{svg}");
        assert!(svg.contains("<title id=\"c-t\">Cost</title><desc id=\"c-d\">Rises.</desc>"));
    }
}
