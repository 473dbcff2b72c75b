//! Checks that the plan can hold every set of openings.

use crate::knowledge::library::{Library, Spot};
use crate::knowledge::problem::Problem;

/// The plan keeps what is open in one word of this many bits.
const MOST: usize = 128;

/// There are no more openings than the plan can hold.
pub(super) fn few_enough_for_the_plan(library: &Library) -> Vec<Problem> {
    let over = library.openings.iter().skip(MOST);
    let problem =
        |opening: &crate::knowledge::library::Placed<crate::knowledge::schema::Opening>| {
            library.problem(
                Spot {
                    file: opening.file,
                    item: opening.id.as_str(),
                    needle: "",
                },
                format!(
                    "The opening \"{}\" is one more than the {MOST} the plan can hold.",
                    opening.id
                ),
                "Join openings that are always made together.",
            )
        };
    over.map(problem).collect()
}
