//! Checks that every figure and rule says where it comes from, and that no real bike stands here.

use crate::knowledge::library::{Library, Placed, Spot};
use crate::knowledge::problem::Problem;
use crate::knowledge::schema::Sheet;

/// Every value has a source, and every bike says that it is invented.
pub(super) fn everything_says_where_it_comes_from(library: &Library) -> Vec<Problem> {
    let mut found = Vec::new();
    let mut sort = |items: Vec<(usize, &str, &str)>| {
        for (file, item, source) in items {
            if source.trim().is_empty() {
                found.push(library.problem(
                    Spot { file, item, needle: "source" },
                    format!("\"{item}\" does not say where it comes from."),
                    "Name the published source, or write \"common practice, no source\" or \"from memory\".",
                ));
            }
        }
    };
    sort(listed(&library.systems, |item| {
        (item.id.as_str(), &item.source)
    }));
    sort(listed(&library.openings, |item| {
        (item.id.as_str(), &item.source)
    }));
    sort(listed(&library.gates, |item| {
        (item.id.as_str(), &item.source)
    }));
    sort(listed(&library.cautions, |item| {
        (item.id.as_str(), &item.source)
    }));
    sort(listed(&library.hazards, |item| {
        (item.id.as_str(), &item.source)
    }));
    sort(listed(&library.history, |item| {
        (item.id.as_str(), &item.source)
    }));
    sort(listed(&library.faults, |item| {
        (item.id.as_str(), &item.repair.source)
    }));
    sort(listed(&library.observations, |item| {
        (item.id.as_str(), &item.source)
    }));
    sort(listed(&library.specs, |item| {
        (item.observation.as_str(), &item.source)
    }));
    found.extend(unsound_sheets(library));
    found.extend(real_bikes(library));
    found
}

fn listed<'a, T>(
    items: &'a [Placed<T>],
    pick: impl Fn(&'a T) -> (&'a str, &'a String),
) -> Vec<(usize, &'a str, &'a str)> {
    items
        .iter()
        .map(|placed| {
            let (id, source) = pick(&placed.item);
            (placed.file, id, source.as_str())
        })
        .collect()
}

fn unsound_sheets(library: &Library) -> impl Iterator<Item = Problem> {
    let unsound = |sheet: &Placed<Sheet>| {
        let spot = Spot {
            file: sheet.file,
            item: &sheet.citation,
            needle: "",
        };
        let problem = |error| {
            library.problem(
                spot,
                format!("A group's sheet cannot be used: {error}."),
                "A sheet is only as good as the person who stands for it and the page it was taken from.",
            )
        };
        sheet.sound().err().map(problem)
    };
    library.sheets.iter().filter_map(unsound)
}

fn real_bikes(library: &Library) -> impl Iterator<Item = Problem> {
    library
        .bikes
        .iter()
        .filter(|bike| !bike.invented)
        .map(|bike| {
            library.problem(
            Spot { file: bike.file, item: &bike.id, needle: "invented" },
            format!("The bike \"{}\" is not marked as invented.", bike.id),
            "Only invented bikes stand here; a real bike's spec comes from its rider's own manual.",
        )
        })
}
