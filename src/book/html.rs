//! HTML that can only be built from escaped text, so that no word of the files is taken for a tag.

use std::fmt::Write as _;

/// A piece of a page.
#[derive(Debug, Clone, Default)]
pub(super) struct Html(String);

impl Html {
    /// Words, escaped.
    pub fn text(words: &str) -> Self {
        Self(escape(words))
    }

    /// An element with attributes and children.
    pub fn element(
        tag: &str,
        attributes: &[(&str, &str)],
        children: impl IntoIterator<Item = Self>,
    ) -> Self {
        let mut html = opened(tag, attributes);
        html.push('>');
        for child in children {
            html.push_str(&child.0);
        }
        write!(html, "</{tag}>").expect("a string takes all");
        Self(html)
    }

    /// An element without children.
    pub fn empty(tag: &str, attributes: &[(&str, &str)]) -> Self {
        Self(opened(tag, attributes) + "/>")
    }

    /// The style sheet, which stands in this folder and holds no character to escape.
    pub fn style(sheet: &'static str) -> Self {
        Self::element("style", &[], [Self::text(sheet)])
    }

    /// A paragraph.
    pub fn paragraph(words: &str) -> Self {
        Self::element("p", &[], [Self::text(words)])
    }

    /// A link to another place of the page.
    pub fn link(id: &str, words: &str) -> Self {
        Self::element("a", &[("href", &format!("#{id}"))], [Self::text(words)])
    }

    /// Several pieces, one after the other.
    pub fn all(pieces: impl IntoIterator<Item = Self>) -> Self {
        Self(pieces.into_iter().map(|piece| piece.0).collect())
    }

    /// A numbered list; nothing where there are no items.
    pub fn steps<S: AsRef<str>>(items: &[S]) -> Self {
        if items.is_empty() {
            return Self::default();
        }
        let items = items
            .iter()
            .map(|item| Self::element("li", &[], [Self::text(item.as_ref())]));
        Self::element("ol", &[], items)
    }

    /// Links to things of one sort, with a word before them; nothing where there are none.
    pub fn links<S: AsRef<str>>(label: &str, sort: &str, ids: &[S]) -> Self {
        if ids.is_empty() {
            return Self::default();
        }
        let mut pieces = vec![
            Self::element("b", &[], [Self::text(label)]),
            Self::text(" "),
        ];
        for (at, id) in ids.iter().enumerate() {
            if at > 0 {
                pieces.push(Self::text(", "));
            }
            pieces.push(Self::link(&format!("{sort}-{}", id.as_ref()), id.as_ref()));
        }
        Self::element("p", &[("class", "small")], pieces)
    }

    /// Where something comes from.
    pub fn source(words: &str) -> Self {
        Self::element(
            "p",
            &[("class", "source")],
            [Self::text("Source: "), Self::text(words)],
        )
    }

    /// An entry with its anchor, its heading and its name in the files.
    pub fn entry(
        (sort, id): (&str, &str),
        title: &str,
        body: impl IntoIterator<Item = Self>,
    ) -> Self {
        let name = Self::element("code", &[], [Self::text(id)]);
        let heading = Self::element("h3", &[], [Self::text(title), Self::text(" "), name]);
        let all = [heading].into_iter().chain(body);
        Self::element("article", &[("id", &format!("{sort}-{id}"))], all)
    }

    /// A table with a line of headings.
    pub fn table(headings: &[&str], rows: impl IntoIterator<Item = Vec<Self>>) -> Self {
        let cells = headings
            .iter()
            .map(|words| Self::element("th", &[], [Self::text(words)]));
        let head = Self::element("thead", &[], [Self::element("tr", &[], cells)]);
        let rows = rows.into_iter().map(|cells| {
            let cells = cells
                .into_iter()
                .map(|cell| Self::element("td", &[], [cell]));
            Self::element("tr", &[], cells)
        });
        Self::element("table", &[], [head, Self::element("tbody", &[], rows)])
    }

    /// The finished text.
    pub fn into_string(self) -> String {
        self.0
    }
}

fn opened(tag: &str, attributes: &[(&str, &str)]) -> String {
    let mut html = format!("<{tag}");
    for (name, value) in attributes {
        write!(html, " {name}=\"{}\"", escape(value)).expect("a string takes all");
    }
    html
}

fn escape(words: &str) -> String {
    let mut escaped = String::with_capacity(words.len());
    for letter in words.chars() {
        match letter {
            '&' => escaped.push_str("&amp;"),
            '<' => escaped.push_str("&lt;"),
            '>' => escaped.push_str("&gt;"),
            '"' => escaped.push_str("&quot;"),
            '\'' => escaped.push_str("&#39;"),
            other => escaped.push(other),
        }
    }
    escaped
}
