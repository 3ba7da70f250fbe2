//! The building blocks of a view.

/// Everything that is said, in order.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct View {
    /// The line on top.
    pub title: String,
    /// The sections.
    pub sections: Vec<Section>,
    /// Lines it should fit: where it would be longer, gaps between sections are left out, then sentences that can be spared.
    pub lines: usize,
}

/// A stretch of a view.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Section {
    /// What it is about; it stands before the first sentence. Empty for the verdict.
    pub heading: String,
    /// What it says.
    pub body: Body,
    /// True where it belongs to the section before it, with no gap between.
    pub close: bool,
    /// Sentences that must stay; those behind them are left out where the view is too long.
    pub least: usize,
}

/// Sentences, a table or a drawing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Body {
    /// Sentences, each on its own lines.
    Sentences(Vec<String>),
    /// A table; its heading stands in the first cell.
    Table(Table),
    /// A drawing made of characters, line by line: never wrapped.
    Drawing(Vec<String>),
}

/// A table of texts. The first column is a name, all others are figures unless they are said to be words.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Table {
    /// Column headings; the first is that of the names.
    pub head: Vec<String>,
    /// Rows, each as long as the head.
    pub rows: Vec<Vec<String>>,
    /// Further columns of words, by index: to the left like the first.
    pub words: Vec<usize>,
}

impl Section {
    /// A section of sentences; `None` where there is nothing to say.
    pub fn sentences(heading: &str, sentences: Vec<String>) -> Option<Section> {
        let body = Body::Sentences(sentences);
        let empty = matches!(&body, Body::Sentences(s) if s.is_empty());
        (!empty).then(|| Section {
            heading: heading.to_owned(),
            body,
            close: false,
            least: usize::MAX,
        })
    }

    /// A section with everything in one sentence, parts joined by semicolons; `None` where there is nothing to say.
    pub fn joined(heading: &str, parts: &[String]) -> Option<Section> {
        let one = if parts.is_empty() { Vec::new() } else { vec![parts.join("; ")] };
        Section::sentences(heading, one)
    }

    /// The same with at most so many parts; how many more there are is said.
    pub fn joined_few(heading: &str, mut parts: Vec<String>, most: usize) -> Option<Section> {
        let more = parts.len().saturating_sub(most);
        if more > 0 {
            parts.truncate(most);
            parts.push(format!("{more} more (--all)"));
        }
        Section::joined(heading, &parts)
    }

    /// A table; `None` where it has no rows.
    pub fn table(head: Vec<String>, rows: Vec<Vec<String>>) -> Option<Section> {
        let empty = rows.is_empty();
        let body = Body::Table(Table { head, rows, words: Vec::new() });
        (!empty).then(|| Section { heading: String::new(), body, close: false, least: usize::MAX })
    }

    /// The same table with further columns of words.
    #[must_use]
    pub fn with_words(mut self, columns: &[usize]) -> Section {
        if let Body::Table(table) = &mut self.body {
            table.words = columns.to_vec();
        }
        self
    }

    /// The same, of which all but so many sentences can be spared.
    #[must_use]
    pub fn at_least(mut self, least: usize) -> Section {
        self.least = least;
        self
    }

    /// The same without a gap before it.
    #[must_use]
    pub fn closely(mut self) -> Section {
        self.close = true;
        self
    }
}
