//! The handbook: all that is known about bikes as one printable page, for people to read and correct.
//!
//! Read `html` first, which lets no text through unescaped, then the chapters in the order of
//! [`page`], and [`tale`], which plays the example conversations. Deliberately absent: files (the
//! command line writes the page), scripts, anything fetched from elsewhere, and any fact of its own.

mod checks;
mod drawing;
mod faults;
mod html;
mod safety;
mod systems;
pub mod tale;
mod things;

use crate::knowledge::Knowledge;
use html::Html;
use tale::Tale;

/// The whole handbook as one HTML page that is also well-formed XML.
#[must_use]
pub fn page(knowledge: &Knowledge, tales: &[Tale]) -> String {
    let chapters = [
        ("safety", "Safety", safety::chapter(knowledge)),
        ("systems", "Fuel systems", systems::chapter(knowledge)),
        ("said", "What riders say", systems::complaints(knowledge)),
        (
            "checks",
            "Checks and measurements",
            checks::chapter(knowledge),
        ),
        ("faults", "Faults and repairs", faults::chapter(knowledge)),
        ("things", "Parts, access, tools", things::chapter(knowledge)),
        ("bikes", "Invented bikes", things::bikes(knowledge)),
        ("tales", "Invented riders' stories", tale::chapter(tales)),
    ];
    let contents = chapters
        .iter()
        .map(|(id, title, _)| Html::element("li", &[], [Html::link(id, title)]));
    let contents = Html::element("ol", &[("class", "contents")], contents.collect::<Vec<_>>());
    let front = front(knowledge);
    let body = chapters.into_iter().map(|(id, title, body)| {
        let heading = Html::element("h2", &[], [Html::text(title)]);
        Html::element("section", &[("id", id)], [heading, body])
    });
    let main = [front, contents]
        .into_iter()
        .chain(body)
        .collect::<Vec<_>>();
    let head = Html::element(
        "head",
        &[],
        [
            Html::empty("meta", &[("charset", "utf-8")]),
            Html::empty(
                "meta",
                &[("name", "viewport"), ("content", "width=device-width")],
            ),
            Html::element("title", &[], [Html::text("Floatbowl: the handbook")]),
            Html::style(include_str!("book/style.css")),
        ],
    );
    let body = Html::element("body", &[], main);
    let page = Html::element(
        "html",
        &[("lang", "en"), ("xmlns", "http://www.w3.org/1999/xhtml")],
        [head, body],
    );
    format!("<!DOCTYPE html>\n{}\n", page.into_string())
}

fn front(knowledge: &Knowledge) -> Html {
    let words = [
        "All that Floatbowl believes about motorcycles and their fuel supply, with the source of each belief. \
         It is written from the same files the program reads.",
        "This is guidance. It is no substitute for the vehicle's manual, local codes and licensed practice; \
         where they differ from what stands here, they are right. In danger, stop and call the fire service \
         or the emergency number first.",
        "\"Common practice, no source\" marks a fact of the trade that nobody has written down for us; \"from \
         memory\" marks one whose source was recalled and not looked up. Both are the first to doubt. \
         To correct an entry, change the file of its kind in the folder \"knowledge\", looking for the \
         name printed beside it.",
    ];
    let revision = format!("Revision {} of the knowledge.", knowledge.revision);
    let title = Html::element("h1", &[], [Html::text("Floatbowl: the handbook")]);
    let paragraphs = words.into_iter().map(Html::paragraph);
    let all = [title]
        .into_iter()
        .chain(paragraphs)
        .chain([Html::paragraph(&revision)]);
    Html::element("header", &[], all.collect::<Vec<_>>())
}
