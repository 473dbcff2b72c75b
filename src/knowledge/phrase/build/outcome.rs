//! How the results of checks are told: beside the check, and in tables of the phrase files.

use super::{Builder, Draft, OutcomePhrases, Source};
use crate::knowledge::phrase::meaning::Meaning;

impl Builder {
    /// What stands in the `said` and `short` of outcomes.
    pub(super) fn read_outcomes(&mut self, outcomes: &[OutcomePhrases]) {
        for outcome in outcomes {
            let file = self
                .paths
                .iter()
                .position(|path| *path == outcome.path)
                .unwrap_or_else(|| {
                    self.paths.push(outcome.path.clone());
                    self.paths.len() - 1
                });
            let ids = || (outcome.observation.clone(), outcome.outcome.clone());
            let of = |(observation, outcome)| Meaning::Outcome(observation, outcome);
            let short = |(observation, outcome)| Meaning::Short(observation, outcome);
            let said = outcome.said.iter().map(|said| (said, of(ids())));
            let short = outcome.short.iter().map(|said| (said, short(ids())));
            for (text, meaning) in said.chain(short) {
                self.draft(Draft {
                    text: text.clone(),
                    source: Source { file, span: None },
                    meaning,
                    strength: 1.0,
                });
            }
        }
    }

    /// The `[[outcome]]` tables of phrase files, which say more ways of telling a result.
    pub(super) fn read_more_of_outcomes(&mut self, outcomes: &[OutcomePhrases]) {
        for (file, named) in std::mem::take(&mut self.told) {
            let known = outcomes
                .iter()
                .find(|known| known.outcome.as_str() == named.id);
            let Some(known) = known else {
                let span = named.said.first().map(toml::Spanned::span);
                self.problem(
                    &Source { file, span },
                    format!("`{}` is the outcome of no check.", named.id),
                    "Name the `id` of an outcome in `observations/`.",
                );
                continue;
            };
            let meaning = Meaning::Outcome(known.observation.clone(), known.outcome.clone());
            for text in &named.said {
                self.draft(Draft {
                    text: text.get_ref().clone(),
                    source: Source {
                        file,
                        span: Some(text.span()),
                    },
                    meaning: meaning.clone(),
                    strength: 1.0,
                });
            }
        }
    }
}
