//! All knowledge files read together, each item with the file it stands in.

use super::classifier::{LEARNED, Learned};
use super::problem::Problem;
use super::schema::{
    Bike, Caution, Example, Fault, File, Gate, Grades, Hazard, History, Kit, Observation, Opening,
    Part, Proof, Sheet, Spec, Symptom, System,
};
use std::ops::Range;

/// One file's path within the knowledge folder, and its text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Source {
    /// Path with forward slashes.
    pub path: String,
    /// Content.
    pub text: String,
}

/// An item with the position of its file in [`Library::sources`].
#[derive(Debug, Clone)]
pub struct Placed<T> {
    /// Position of the file.
    pub file: usize,
    /// The item.
    pub item: T,
}

impl<T> std::ops::Deref for Placed<T> {
    type Target = T;
    fn deref(&self) -> &T {
        &self.item
    }
}

/// Every item of every file, in file order.
#[derive(Debug, Clone, Default)]
pub struct Library {
    /// The files.
    pub sources: Vec<Source>,
    /// The grades; more than one table is a problem.
    pub grades: Vec<Placed<Grades>>,
    /// Fuel systems.
    pub systems: Vec<Placed<System>>,
    /// Parts.
    pub parts: Vec<Placed<Part>>,
    /// Openings.
    pub openings: Vec<Placed<Opening>>,
    /// Gates.
    pub gates: Vec<Placed<Gate>>,
    /// Cautions.
    pub cautions: Vec<Placed<Caution>>,
    /// Hazards.
    pub hazards: Vec<Placed<Hazard>>,
    /// Kit.
    pub kit: Vec<Placed<Kit>>,
    /// How repairs are proven; more than one table is a problem.
    pub proof: Vec<Placed<Proof>>,
    /// Symptoms.
    pub symptoms: Vec<Placed<Symptom>>,
    /// History.
    pub history: Vec<Placed<History>>,
    /// Faults.
    pub faults: Vec<Placed<Fault>>,
    /// Observations.
    pub observations: Vec<Placed<Observation>>,
    /// Generic specs.
    pub specs: Vec<Placed<Spec>>,
    /// Sheets of groups.
    pub sheets: Vec<Placed<Sheet>>,
    /// Demo bikes.
    pub bikes: Vec<Placed<Bike>>,
    /// Examples.
    pub examples: Vec<Placed<Example>>,
}

/// The folder of phrase files, which have a shape of their own, one folder a language in it.
pub const PHRASES: &str = "phrases/";

impl Library {
    /// Reads every file but the phrases, in path order. Files that do not parse are reported and
    /// left out; the others are read all the same.
    #[must_use]
    pub fn read(mut sources: Vec<Source>) -> (Self, Vec<Problem>) {
        sources.sort_by(|a, b| a.path.cmp(&b.path));
        let mut library = Self::default();
        let mut problems = Vec::new();
        for (at, source) in sources.iter().enumerate() {
            if source.path.starts_with(PHRASES) || source.path.starts_with(LEARNED) {
                continue;
            }
            match toml::from_str::<File>(&source.text) {
                Ok(file) => library.take(at, file),
                Err(error) => problems.push(unreadable(source, &error)),
            }
        }
        library.sources = sources;
        (library, problems)
    }

    /// The phrase files.
    pub fn phrase_files(&self) -> impl Iterator<Item = &Source> {
        self.sources
            .iter()
            .filter(|source| source.path.starts_with(PHRASES))
    }

    /// The file of what was learned from messages of that kind.
    #[must_use]
    pub fn learned(&self, what: Learned) -> Option<&Source> {
        let mut all = self.sources.iter();
        all.find(|source| source.path.starts_with(LEARNED) && Learned::of(&source.path) == what)
    }

    fn take(&mut self, file: usize, content: File) {
        let File {
            grades,
            system,
            part,
            opening,
            gate,
            caution,
            hazard,
            kit,
            proof,
            symptom,
            history,
            fault,
            observation,
            spec,
            sheet,
            bike,
            example,
        } = content;
        place(file, grades, &mut self.grades);
        place(file, system, &mut self.systems);
        place(file, part, &mut self.parts);
        place(file, opening, &mut self.openings);
        place(file, gate, &mut self.gates);
        place(file, caution, &mut self.cautions);
        place(file, hazard, &mut self.hazards);
        place(file, kit, &mut self.kit);
        place(file, proof, &mut self.proof);
        place(file, symptom, &mut self.symptoms);
        place(file, history, &mut self.history);
        place(file, fault, &mut self.faults);
        place(file, observation, &mut self.observations);
        place(file, spec, &mut self.specs);
        place(file, sheet, &mut self.sheets);
        place(file, bike, &mut self.bikes);
        place(file, example, &mut self.examples);
    }

    /// A problem with the item called `id` in that file, pinned to the first `needle` in it.
    #[must_use]
    pub fn problem(&self, at: Spot<'_>, what: String, remedy: &str) -> Problem {
        let source = &self.sources[at.file];
        Problem {
            file: source.path.clone(),
            span: locate(&source.text, at.item, at.needle),
            what,
            remedy: remedy.to_owned(),
        }
    }
}

impl Library {
    /// A problem with one of several claims to an id: the `nth` in that file, counted from 0.
    #[must_use]
    pub fn claim(
        &self,
        (file, id, nth): (usize, &str, usize),
        what: String,
        remedy: &str,
    ) -> Problem {
        let source = &self.sources[file];
        let claim = format!("id = \"{id}\"");
        let start = source.text.match_indices(&claim).nth(nth);
        Problem {
            file: source.path.clone(),
            span: start.map(|(start, _)| start..start + claim.len()),
            what,
            remedy: remedy.to_owned(),
        }
    }
}

impl Library {
    /// The problem, pinned to the longest of the texts it quotes that stands in its file, if it has
    /// no place yet.
    #[must_use]
    pub fn pinned(&self, mut problem: Problem) -> Problem {
        let source = self
            .sources
            .iter()
            .find(|source| source.path == problem.file);
        if let (None, Some(source)) = (&problem.span, source) {
            let quoted = problem.what.split('`').skip(1).step_by(2);
            let places = quoted.filter_map(|text| {
                let start = source.text.find(text)?;
                Some(start..start + text.len())
            });
            problem.span = places.max_by_key(ExactSizeIterator::len);
        }
        problem
    }
}

/// Where in the files a problem is to be pinned.
#[derive(Debug, Clone, Copy)]
pub struct Spot<'a> {
    /// Position of the file.
    pub file: usize,
    /// Id or name of the item.
    pub item: &'a str,
    /// Text within the item; the item's own line where it does not occur.
    pub needle: &'a str,
}

fn place<T>(file: usize, items: impl IntoIterator<Item = T>, into: &mut Vec<Placed<T>>) {
    into.extend(items.into_iter().map(|item| Placed { file, item }));
}

fn unreadable(source: &Source, error: &toml::de::Error) -> Problem {
    Problem {
        file: source.path.clone(),
        span: error.span(),
        what: format!("This does not read as knowledge: {}.", error.message()),
        remedy: "Compare with a neighbouring entry, or print the shape with `floatbowl knowledge \
                 schema`."
            .to_owned(),
    }
}

/// The bytes of `needle` within the table that names `item`, or of that name itself.
fn locate(text: &str, item: &str, needle: &str) -> Option<Range<usize>> {
    let quoted = format!("\"{item}\"");
    let start = ["id = ", "observation = ", "name = "]
        .iter()
        .find_map(|key| text.find(&format!("{key}{quoted}")))
        .or_else(|| text.find(&quoted))?;
    let end = text[start..]
        .find("\n[[")
        .map_or(text.len(), |length| start + length);
    let name = start..start + text[start..end].find('\n').unwrap_or(end - start);
    if needle.is_empty() {
        return Some(name);
    }
    match text[start..end].find(needle) {
        Some(offset) => Some(start + offset..start + offset + needle.len()),
        None => Some(name),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_problem_is_pinned_to_its_own_item() {
        let text = "[[part]]\nid = \"a\"\nname = \"x\"\n[[part]]\nid = \"b\"\nname = \"x\"\n";
        let span = locate(text, "b", "\"x\"").expect("b has an x");
        assert!(span.start > text.find("\"b\"").expect("b is there"));
        assert_eq!(&text[span], "\"x\"");
    }

    #[test]
    fn an_unknown_key_names_its_place() {
        let source = Source {
            path: "parts.toml".to_owned(),
            text: "[[part]]\nid = \"a\"\nname = \"x\"\nwhere = \"y\"\ncolour = \"z\"\n".to_owned(),
        };
        let (_, problems) = Library::read(vec![source.clone()]);
        assert_eq!(problems.len(), 1);
        assert_eq!(problems[0].line(&source.text), 5);
        assert!(problems[0].what.contains("colour"), "{}", problems[0].what);
    }
}
