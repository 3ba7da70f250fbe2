//! A dip as a drawing: the tub in section to scale, with its level, pieces and displacers, and what to pour below it.
//!
//! One SVG document of its own, without anything to be loaded; its colours follow a light or dark surrounding.

use std::fmt::Write;

use super::dip::{DIP_CAUTIONS, DipWords, pieces};
use super::dip_section::DipSection;
use super::fixed;
use super::terminal::{clean, wrapped};
use crate::analysis::{DipLoad, DipPlan, Pour};
use crate::model::Exact;
use crate::plan::Shop;

/// Width of the document; this and all that follow are in its own units.
const WIDTH: i64 = 720;
/// Free on every side.
const MARGIN: i64 = 28;
/// Where labels begin.
const LABELS: i64 = 470;
/// Room for the section: width and height.
const ROOM: [i64; 2] = [390, 270];
/// Height of a line of text.
const LINE: i64 = 20;
/// Height of a line of the title.
const TITLE_LINE: i64 = 24;
/// How far a line that goes on with a sentence is indented.
const INDENT: i64 = 14;
/// Least distance of two labels.
const LABEL: i64 = 19;
/// Columns of a line of text.
const TEXT_COLUMNS: usize = 84;
/// Columns of a line of the title.
const TITLE_COLUMNS: usize = 64;

const STYLE: &str = "\
.dip-paper{fill:#fdfcf8}.dip-text{fill:#25323a;font:14px system-ui,sans-serif}.dip-head{font-size:18px;font-weight:600}\
.dip-soft{fill:#55626a}.dip-wall{fill:none;stroke:#5d6a72;stroke-width:3;stroke-linejoin:round}\
.dip-liquid{fill:#b4dccb}.dip-level{stroke:#0d6b56;stroke-width:2}.dip-before{stroke:#0d6b56;stroke-width:1.5;stroke-dasharray:7 5}\
.dip-piece{fill:#f1cd8f;stroke:#7d520f;stroke-width:1.5;fill-opacity:.85}.dip-block{fill:#cdc5da;stroke:#5f5379;stroke-width:1}\
.dip-lead{fill:none;stroke:#8a959b;stroke-width:1}.dip-free{stroke:#a8442a;stroke-width:1;stroke-dasharray:2 4}\
@media (prefers-color-scheme:dark){.dip-paper{fill:#171d21}.dip-text{fill:#e8ecea}.dip-soft{fill:#aab6ba}.dip-wall{stroke:#9aa7ad}\
.dip-liquid{fill:#1f5849}.dip-level,.dip-before{stroke:#63d6b6}.dip-piece{fill:#80602a;stroke:#efc682}\
.dip-block{fill:#4c4462;stroke:#b6a9d4}.dip-lead{stroke:#77848a}.dip-free{stroke:#f0967c}}";

/// The drawing of a plan as a document; `None` where nothing of it can be dipped. `id` sets its names apart from those of other drawings on
/// one page.
pub fn dip_svg(shop: &Shop, plan: &DipPlan, id: &str) -> Option<String> {
    let words = DipWords::new(shop, plan)?;
    let section = words.section()?;
    let title = wrapped(&clean(&words.name()), TITLE_COLUMNS, 0);
    let pose = wrapped(&clean(&words.pose()), TEXT_COLUMNS, 0);
    let text = text(&words, &section);
    let posed = MARGIN + count(&title) * TITLE_LINE + LINE;
    let sketch = Sketch::new(&section, posed + count(&pose) * LINE + LINE / 2);
    let below = sketch.bottom() + 2 * LINE;
    let mut svg = opening(&words, id, below + count(&text) * LINE + MARGIN);
    lines(&mut svg, "dip-text dip-head", (MARGIN + 16, TITLE_LINE), &title);
    lines(&mut svg, "dip-text dip-soft", (posed, LINE), &pose);
    sketch.draw(&mut svg, &words);
    lines(&mut svg, "dip-text", (below, LINE), &text);
    svg.push_str("</svg>\n");
    Some(svg)
}

/// The head of the document: its names, its style, its paper.
fn opening(words: &DipWords, id: &str, height: i64) -> String {
    let (id, name) = (escaped(id), escaped(&words.name()));
    let desc = escaped(&pouring(words).join(" "));
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {height}\" width=\"{WIDTH}\" height=\"{height}\" role=\"img\" \
         aria-labelledby=\"{id}-title {id}-desc\">\n<title id=\"{id}-title\">{name}</title>\n<desc id=\"{id}-desc\">{desc}</desc>\n\
         <style>{STYLE}</style>\n<rect class=\"dip-paper\" width=\"{WIDTH}\" height=\"{height}\"/>\n"
    )
}

fn lines(svg: &mut String, class: &str, (from, apart): (i64, i64), lines: &[String]) {
    for (n, text) in (0..).zip(lines) {
        // A line that goes on with a sentence is indented; blanks in front would not be seen.
        let indent = if text.starts_with(' ') { INDENT } else { 0 };
        put_text(svg, class, [MARGIN + indent, from + n * apart], text.trim_start());
    }
}

fn count(lines: &[String]) -> i64 {
    i64::try_from(lines.len()).unwrap_or(i64::MAX)
}

/// What to pour for each load that can be dipped.
fn pouring(words: &DipWords) -> Vec<String> {
    let one = |(load, pour): (&DipLoad, &Pour)| {
        format!(
            "{}: pour {} of {} and {} of {}; level {} mm above the floor before, {} mm with {} in, {} mm free under the rim.",
            pieces(load.copies),
            words.amount(pour, 0),
            words.item(0),
            words.amount(pour, 1),
            words.item(1),
            fixed(pour.before, 1),
            fixed(pour.level, 1),
            if load.copies == 1 { "it" } else { "them" },
            fixed(pour.free, 1),
        )
    };
    words.pours().into_iter().map(one).collect()
}

/// The lines below the section.
fn text(words: &DipWords, section: &DipSection) -> Vec<String> {
    let mut said = pouring(words);
    said.extend(words.notes());
    let copies = words.pours().first().map_or(1, |(load, _)| load.copies);
    let drawn = if count_pieces(section) < copies {
        format!("One of {} is drawn, as its box. ", pieces(copies))
    } else {
        "Pieces are drawn as their boxes. ".to_owned()
    };
    said.push(format!("{drawn}To scale, cut lengthwise."));
    if section.displacers.is_some() {
        said.push("Displacers are drawn as one block at the left, wherever they stand.".to_owned());
    }
    said.extend(DIP_CAUTIONS.map(str::to_owned));
    said.iter().flat_map(|sentence| wrapped(&clean(sentence), TEXT_COLUMNS, 2)).collect()
}

fn count_pieces(section: &DipSection) -> i64 {
    i64::try_from(section.pieces.len()).unwrap_or(i64::MAX)
}

/// A section on paper: its scale and where it lies.
struct Sketch<'s> {
    section: &'s DipSection,
    scale: Exact,
    middle: Exact,
    floor: i64,
}

impl Sketch<'_> {
    fn new(section: &DipSection, top: i64) -> Sketch<'_> {
        let [width, height] = ROOM.map(Exact::from);
        let scale = (width / section.widest()).min(height / section.highest());
        let tall = (section.highest() * scale).to_whole().max(8 * LABEL);
        let middle = Exact::from(MARGIN) + width / Exact::from(2i64);
        Sketch { section, scale, middle, floor: top + tall }
    }

    /// The lowest line of the sketch.
    fn bottom(&self) -> i64 {
        self.floor + LINE
    }

    fn x(&self, x: Exact) -> Exact {
        self.middle + x * self.scale
    }

    fn y(&self, z: Exact) -> Exact {
        Exact::from(self.floor) - z * self.scale
    }

    /// A point as an attribute takes it.
    fn point(&self, x: Exact, z: Exact) -> String {
        format!("{},{}", fixed(self.x(x), 1), fixed(self.y(z), 1))
    }

    fn draw(&self, svg: &mut String, words: &DipWords) {
        let section = self.section;
        self.polygon(svg, "dip-liquid", &self.trapezium(section.level));
        if let Some([width, height]) = section.displacers {
            let [left, at_top] = [Exact::ZERO, height].map(|z| -section.half(z));
            let right = left + width;
            let corners =
                [(left, Exact::ZERO), (right, Exact::ZERO), (right, height), (at_top, height)];
            self.polygon(svg, "dip-block", &corners);
        }
        for &[left, right] in &section.pieces {
            let (low, high) = (section.underside, section.top);
            let corners = [(left, low), (right, low), (right, high), (left, high)];
            self.polygon(svg, "dip-piece", &corners);
        }
        self.line(svg, "dip-before", section.before);
        self.line(svg, "dip-level", section.level);
        let freeboard = words.table.freeboard;
        if freeboard > Exact::ZERO {
            self.line(svg, "dip-free", section.rim() - freeboard);
        }
        self.wall(svg);
        self.labels(svg, words);
    }

    /// The tub's wall and floor, and how wide it is.
    fn wall(&self, svg: &mut String) {
        let corners = self.trapezium(self.section.rim());
        let [d, a, b, c] = [3, 0, 1, 2].map(|i| self.point(corners[i].0, corners[i].1));
        let _ = writeln!(svg, "<polyline class=\"dip-wall\" points=\"{d} {a} {b} {c}\"/>");
        let two = Exact::from(2i64);
        let [floor, rim] = [Exact::ZERO, self.section.rim()].map(|z| self.section.half(z) * two);
        let _ = writeln!(
            svg,
            "<text class=\"dip-text dip-soft\" text-anchor=\"middle\" x=\"{}\" y=\"{}\">inside {floor} mm at the floor, {rim} mm at the rim</text>",
            fixed(self.middle, 1),
            self.floor + LINE
        );
    }

    /// The tub's inside up to a height: lower left, lower right, upper right, upper left.
    fn trapezium(&self, z: Exact) -> [(Exact, Exact); 4] {
        let [low, high] = [self.section.half(Exact::ZERO), self.section.half(z)];
        [(-low, Exact::ZERO), (low, Exact::ZERO), (high, z), (-high, z)]
    }

    fn polygon(&self, svg: &mut String, class: &str, corners: &[(Exact, Exact)]) {
        let points: Vec<String> = corners.iter().map(|&(x, z)| self.point(x, z)).collect();
        let _ = writeln!(svg, "<polygon class=\"{class}\" points=\"{}\"/>", points.join(" "));
    }

    /// A line from wall to wall.
    fn line(&self, svg: &mut String, class: &str, z: Exact) {
        let half = self.section.half(z);
        let (left, right, y) = (self.x(-half), self.x(half), fixed(self.y(z), 1));
        let (left, right) = (fixed(left, 1), fixed(right, 1));
        let _ = writeln!(
            svg,
            "<line class=\"{class}\" x1=\"{left}\" y1=\"{y}\" x2=\"{right}\" y2=\"{y}\"/>"
        );
    }

    /// Labels with leaders, from the top down, none on another.
    fn labels(&self, svg: &mut String, words: &DipWords) {
        let labels = self.heights(words);
        let wanted: Vec<i64> = labels.iter().map(|l| self.y(l.2).to_whole()).collect();
        let places = spread(&wanted, LABEL, self.floor);
        for ((from, text, z), y) in labels.iter().zip(places) {
            let start = format!("{},{}", fixed(self.x(*from), 1), fixed(self.y(*z), 1));
            let (bend, end) = (LABELS - 26, LABELS - 6);
            let _ = writeln!(
                svg,
                "<polyline class=\"dip-lead\" points=\"{start} {bend},{y} {end},{y}\"/>"
            );
            put_text(svg, "dip-text", [LABELS, y + 5], text);
        }
    }

    /// What is labelled, from the top down: where its leader begins, the words, the height.
    fn heights(&self, words: &DipWords) -> Vec<(Exact, String, Exact)> {
        let section = self.section;
        let right = section.pieces.last().map_or(Exact::ZERO, |ends| ends[1]);
        let wall = |z: Exact| section.half(z);
        let mm = |what: &str, z: Exact| format!("{what} {} mm", fixed(z, 1));
        let free = section.rim() - words.table.freeboard;
        let mut labels = vec![
            (wall(section.rim()), mm("rim", section.rim()), section.rim()),
            (wall(section.level), mm("level with the piece in", section.level), section.level),
            (wall(section.before), mm("level before", section.before), section.before),
            (right, mm("top of the piece", section.top), section.top),
            (wall(Exact::ZERO), "floor".to_owned(), Exact::ZERO),
        ];
        if words.table.freeboard > Exact::ZERO {
            labels.push((wall(free), mm("highest level allowed", free), free));
        }
        if section.underside > Exact::ZERO {
            let z = section.underside;
            labels.push((right, mm("underside of the piece", z), z));
        }
        if let Some([width, height]) = section.displacers {
            let from = width - section.half(Exact::ZERO);
            labels.push((from, mm("displacers, to", height), height));
        }
        labels.sort_by_key(|label| std::cmp::Reverse(label.2));
        labels
    }
}

/// Moves rising places apart until they are at least so far from each other, none beyond the end.
fn spread(wanted: &[i64], apart: i64, end: i64) -> Vec<i64> {
    let mut places = Vec::with_capacity(wanted.len());
    let mut least = i64::MIN;
    for &place in wanted {
        let place = place.max(least);
        places.push(place);
        least = place + apart;
    }
    let mut most = end;
    for place in places.iter_mut().rev() {
        *place = (*place).min(most);
        most = *place - apart;
    }
    places
}

fn put_text(svg: &mut String, class: &str, [x, y]: [i64; 2], text: &str) {
    // Writing to a string cannot fail.
    let _ = writeln!(svg, "<text class=\"{class}\" x=\"{x}\" y=\"{y}\">{}</text>", escaped(text));
}

/// Text as XML takes it. Characters that XML 1.0 does not know become blanks.
fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            '\u{fffe}' | '\u{ffff}' => safe.push(' '),
            c if c.is_control() => safe.push(' '),
            c => safe.push(c),
        }
    }
    safe
}

/// Most bytes of a name within a file name.
const NAME_BYTES: usize = 80;

/// Bath and part as the name of a file without its ending: letters and digits in lower case, anything else a hyphen.
pub fn dip_stem(shop: &Shop, plan: &DipPlan) -> String {
    let bath = &shop.scenario.baths[plan.bath.index()].name;
    let part = &shop.scenario.part(plan.part).name;
    format!("dip-{}-{}", plain(bath), plain(part))
}

fn plain(name: &str) -> String {
    let mut text = String::new();
    for c in name.chars().flat_map(char::to_lowercase) {
        let c = if c.is_alphanumeric() { c } else { '-' };
        if text.len() + c.len_utf8() > NAME_BYTES {
            break;
        }
        if c != '-' || !(text.is_empty() || text.ends_with('-')) {
            text.push(c);
        }
    }
    let text = text.trim_matches('-');
    if text.is_empty() { "unnamed".to_owned() } else { text.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_becomes_part_of_a_file_name() {
        assert_eq!(plain("Green dye, no. 2"), "green-dye-no-2");
        assert_eq!(plain("../../etc/passwd"), "etc-passwd");
        assert_eq!(plain("C:\\boot"), "c-boot");
        assert_eq!(plain(" -- "), "unnamed");
        assert_eq!(plain("Ärmel"), "ärmel");
        assert!(plain(&"字".repeat(200)).len() <= NAME_BYTES);
    }

    #[test]
    fn labels_keep_apart_and_within_the_sketch() {
        assert_eq!(spread(&[10, 12, 90], 19, 100), [10, 29, 90]);
        assert_eq!(spread(&[80, 90, 95], 19, 100), [62, 81, 100]);
    }

    #[test]
    fn text_is_safe_in_xml() {
        assert_eq!(escaped("a<b> & \"c\"\u{1b}"), "a&lt;b&gt; &amp; &quot;c&quot; ");
    }
}
