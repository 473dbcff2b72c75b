//! The named checks every knowledge file must pass; none stops at the first problem.

mod chances;
mod distinct;
mod identity;
mod intervals;
mod openings;
mod phrases;
mod references;
mod safety;
mod sources;

use super::library::{Library, Source};
use super::model::Model;
use super::problem::Problem;
use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet};
use std::fmt;

/// A check over the files as read.
type LibraryCheck = fn(&Library) -> Vec<Problem>;
/// A check over the compiled systems.
type ModelCheck = fn(&Library, &Model) -> Vec<Problem>;

/// Each looks at one thing.
const LIBRARY_CHECKS: [LibraryCheck; 10] = [
    identity::ids_are_unique,
    identity::single_tables_stand_once,
    references::ids_are_known,
    openings::few_enough_for_the_plan,
    chances::distributions_sum_to_one,
    chances::figures_are_in_range,
    intervals::measurements_cover_every_number,
    safety::acts_have_their_gates,
    safety::words_have_their_lines,
    sources::everything_says_where_it_comes_from,
];

/// Each looks at one thing.
const MODEL_CHECKS: [ModelCheck; 3] = [
    distinct::every_outcome_can_happen,
    distinct::every_fault_can_be_told,
    chances::priors_leave_room,
];

/// Everything wrong with the files as read.
#[must_use]
pub fn library(library: &Library) -> Vec<Problem> {
    LIBRARY_CHECKS
        .iter()
        .flat_map(|check| check(library))
        .collect()
}

/// Everything wrong with what the files compile to.
#[must_use]
pub fn models(library: &Library, models: &[Model]) -> Vec<Problem> {
    MODEL_CHECKS
        .iter()
        .flat_map(|check| models.iter().flat_map(move |model| check(library, model)))
        .collect()
}

/// Ids that phrases name and nothing else knows, and things that are measured and no phrase names: what a rider
/// says would be lost.
#[must_use]
pub fn phrase_ids(library: &Library, ids: &super::phrase::Ids) -> Vec<Problem> {
    let unknown = phrases::ids_are_known(library, ids);
    unknown
        .into_iter()
        .chain(phrases::things_are_named(library, ids))
        .collect()
}

/// The problems found, with the files they stand in.
#[derive(Debug, Clone)]
pub struct Verdict {
    /// The files.
    pub sources: Vec<Source>,
    /// What is wrong with them.
    pub problems: Vec<Problem>,
}

impl Verdict {
    /// Every problem with the lines it stands on, for a terminal.
    #[must_use]
    pub fn render(&self, renderer: &Renderer) -> String {
        let mut text = String::new();
        for problem in &self.problems {
            text += &self.render_one(problem, renderer);
            text += "\n\n";
        }
        text
    }

    fn render_one(&self, problem: &Problem, renderer: &Renderer) -> String {
        let title = Level::ERROR.primary_title(problem.what.as_str());
        let remedy = Level::HELP.message(problem.remedy.as_str());
        let source = self
            .sources
            .iter()
            .find(|source| source.path == problem.file);
        let group = match (source, &problem.span) {
            (Some(source), Some(span)) => title.element(
                Snippet::source(source.text.as_str())
                    .path(source.path.as_str())
                    .annotation(AnnotationKind::Primary.span(span.clone())),
            ),
            _ => title.element(annotate_snippets::Origin::path(problem.file.as_str())),
        };
        renderer.render(&[group.element(remedy)])
    }
}

impl fmt::Display for Verdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.render(&Renderer::plain()))
    }
}
