//! All that was learned from labelled messages, table by table.

use super::classifier::{Claim, Classifier, Learned, OF_NUMBERS, REMEDY, of_numbers_along};
use super::library::{Library, Source};
use super::network::Network;
use super::phrase::Phrases;
use super::problem::Problem;
use super::recurrent::Recurrent;
use std::collections::BTreeSet;

/// The tables and networks; each is empty where its file is missing.
#[derive(Default)]
pub struct Tables {
    words: Classifier,
    network: Network,
    recurrent: Recurrent,
    numbers: Classifier,
    figures: Recurrent,
}

impl Tables {
    /// Reads the files.
    ///
    /// # Errors
    /// The first file that is not as it should be, or was not learned together with the one beside it.
    pub(super) fn read(library: &Library) -> Result<Self, Problem> {
        let told = claims(library);
        let of_figures = of_numbers_along();
        let known_of_figures: BTreeSet<Claim> = of_figures.iter().cloned().collect();
        let (network, recurrent) = (Learned::Network, Learned::Recurrent);
        let file = |what| library.learned(what);
        let tables = Self {
            words: parsed(file(Learned::Words), Classifier::parse, &told)?,
            network: parsed(file(network), Network::parse, &told)?,
            recurrent: parsed(file(recurrent), Recurrent::parse, &told)?,
            numbers: parsed(
                file(Learned::Numbers),
                Classifier::parse,
                &OF_NUMBERS.into(),
            )?,
            figures: parsed(file(Learned::Figures), Recurrent::parse, &known_of_figures)?,
        };
        alike(
            file(network),
            tables.network.claims(),
            tables.words.claims(),
        )?;
        alike(
            file(recurrent),
            tables.recurrent.claims(),
            tables.words.claims(),
        )?;
        alike(file(Learned::Figures), tables.figures.claims(), &of_figures)?;
        Ok(tables)
    }

    /// Puts them beside the phrases.
    pub(super) fn put_into(self, phrases: &mut Phrases) {
        phrases.classifier = self.words;
        phrases.network = self.network;
        phrases.recurrent = self.recurrent;
        phrases.numbered = self.numbers;
        phrases.numbered_along = self.figures;
    }
}

/// What a file holds; nothing where there is none.
fn parsed<T: Default>(
    file: Option<&Source>,
    parse: impl Fn(&str, &str, &BTreeSet<Claim>) -> Result<T, Problem>,
    known: &BTreeSet<Claim>,
) -> Result<T, Problem> {
    file.map_or_else(
        || Ok(T::default()),
        |file| parse(&file.path, &file.text, known),
    )
}

/// Refuses a network that was learned apart from the table beside it.
fn alike(file: Option<&Source>, claims: &[Claim], others: &[Claim]) -> Result<(), Problem> {
    let Some(file) = file.filter(|_| claims != others) else {
        return Ok(());
    };
    let what = "Its claims are not those of the table beside it.";
    Err(Problem::of_file(&file.path, what.to_owned(), REMEDY))
}

/// What a message may tell.
fn claims(library: &Library) -> BTreeSet<Claim> {
    let symptoms = library
        .symptoms
        .iter()
        .flat_map(|it| [Claim::Symptom(it.id.clone()), Claim::Denied(it.id.clone())]);
    let history = library
        .history
        .iter()
        .map(|it| Claim::History(it.id.clone()));
    let hazards = library
        .hazards
        .iter()
        .map(|it| Claim::Hazard(it.id.clone()));
    let all = symptoms.chain(history).chain(hazards);
    all.chain([Claim::Danger]).collect()
}
