//! What came from the rider, typed or picked, in one shape.

use super::doubt;
use super::event::{Incoming, Step, Topic};
use super::menu::{asks, menu};
use super::state::State;
use crate::knowledge::Knowledge;
use crate::knowledge::id::{ObservationId, OutcomeId};
use crate::language::interpretation::{Answer, Context, Expecting, Interpretation, Said, Span};
use crate::language::{GUESSED, counted, interpret};
use crate::reply::{Ask, Choice, Means};

/// A message or a pick, understood.
#[derive(Debug, Clone, Default)]
pub struct Heard {
    /// What the words say; empty for a pick.
    pub said: Interpretation,
    /// The message itself; empty for a pick.
    pub text: String,
    /// What it amounts to as an answer.
    pub means: Option<Means>,
    /// The id of the choice picked.
    pub choice: Option<String>,
    /// The outcome picked or worded, of those on offer.
    pub outcome: Option<(OutcomeId, f64)>,
    /// An id that is not on offer.
    pub stray: Option<String>,
}

impl Heard {
    /// Whether there is a yes in it that takes something back: "yes, except the gloves".
    #[must_use]
    pub fn has_reserve(&self) -> bool {
        matches!(self.means, Some(Means::Yes | Means::Done)) && self.said.reserve.is_some()
    }
}

/// Understands what came in the light of what was asked. The id of a choice on offer, typed, picks
/// it. "What next?" is no answer: it must never confirm a condition, a repair or the end of a danger.
#[must_use]
pub fn hear(state: &State, incoming: &Incoming, knowledge: &Knowledge) -> Heard {
    match incoming {
        Incoming::Choose(id) => pick(state, id, knowledge),
        Incoming::Text(text) => match typed_choice(state, text, knowledge) {
            Some(id) => pick(state, &id, knowledge),
            None => listen(state, text, knowledge),
        },
    }
}

/// The choice typed: by its id, by its own words or, where choices are all that is asked for, by its number.
/// A number is no answer to a checklist, whose lines have numbers of their own, nor to what may be "5 minutes".
fn typed_choice(state: &State, text: &str, knowledge: &Knowledge) -> Option<String> {
    let typed = text.trim().to_lowercase();
    let menu = menu(state, knowledge);
    let ids: Vec<String> = menu.iter().map(|choice| choice.id.clone()).collect();
    if ids.contains(&typed) {
        return Some(typed);
    }
    if let Some(id) = worded(text, &menu, asks(state, knowledge)) {
        return Some(id);
    }
    let listed = state.table == Some(Step::Tell(Topic::System)) && state.query.is_none();
    let place = listed.then(|| counted(text, ids.len(), &knowledge.phrases));
    place.flatten().map(|place| ids[place].clone())
}

/// The choice or result whose words are typed as they are shown, signs aside; none where two are worded alike.
fn worded(text: &str, menu: &[Choice], asks: Vec<Ask>) -> Option<String> {
    let typed = spelled(text);
    let results = asks.into_iter().flat_map(|ask| ask.outcomes);
    let results = results.map(|(id, words)| (id.to_string(), words));
    let choices = menu.iter();
    let choices = choices.map(|choice| (choice.id.clone(), choice.words.clone()));
    let mut alike = results
        .chain(choices)
        .filter(|(_, words)| spelled(words) == typed);
    let (id, _) = alike.next().filter(|_| !typed.is_empty())?;
    alike.next().is_none().then_some(id)
}

/// The words and figures of a text, without case and signs.
pub(super) fn spelled(text: &str) -> Vec<String> {
    let words = text.split(|sign: char| !sign.is_alphanumeric());
    let words = words.filter(|word| !word.is_empty());
    words.map(str::to_lowercase).collect()
}

fn pick(state: &State, id: &str, knowledge: &Knowledge) -> Heard {
    let mut heard = Heard::default();
    let offered = offered(state, knowledge);
    if let Some(choice) = menu(state, knowledge)
        .into_iter()
        .find(|choice| choice.id == id)
    {
        heard.means = Some(choice.means);
        heard.choice = Some(choice.id);
    } else if let Some(outcome) = offered.into_iter().find(|outcome| outcome.as_str() == id) {
        heard.outcome = Some((outcome, 1.0));
    } else {
        heard.stray = Some(id.to_owned());
    }
    heard
}

fn listen(state: &State, text: &str, knowledge: &Knowledge) -> Heard {
    let context = Context {
        expecting: expecting(state, knowledge),
        offered: offered(state, knowledge),
        system: state.system.clone(),
    };
    let mut said = interpret(text, &context, &knowledge.phrases);
    let named: Vec<Span> = said.kit.iter().map(|kit| kit.span.clone()).collect();
    if state.table == Some(Step::Tell(Topic::Kit)) || said.says_nothing() {
        bare_list(text, &context, knowledge, &mut said);
    }
    only_what_is_asked(state, text, &named, &mut said);
    Heard {
        means: means(&said),
        outcome: said
            .picked
            .as_ref()
            // A number read as a reading is not the number of a choice as well.
            .filter(|_| said.readings.is_empty())
            .map(|picked| (picked.what.clone(), picked.strength)),
        text: text.to_owned(),
        said,
        ..Heard::default()
    }
}

/// Words and bytes of a list of tools, at most; of more words than a danger is disregarded in.
const LIST: usize = 40;
const LONGEST_LIST: usize = 400;

/// A list of tools tells of no check ("a water bottle, no spark tester"), and who picks a result says it in the
/// words of that result, of which no complaint is guessed.
/// What is told beside the tools ("and it smells of petrol") stays.
fn only_what_is_asked(state: &State, text: &str, named: &[Span], said: &mut Interpretation) {
    let lists = text.split_whitespace().count() <= LIST && !said.kit.is_empty();
    if state.table == Some(Step::Tell(Topic::Kit)) && lists {
        said.observations.clear();
        said.readings.clear();
        let touches = |span: &Span| {
            let mut tools = named.iter();
            tools.any(|kit| kit.start < span.end && span.start < kit.end)
        };
        said.symptoms
            .retain(|it| it.strength > GUESSED && !touches(&it.span));
    }
    let answers = |ids: &[ObservationId]| {
        let mut observed = said.observations.iter();
        said.picked.is_some() || observed.any(|it| ids.contains(&it.what.id))
    };
    if matches!(&state.table, Some(Step::Observe(ids)) if answers(ids)) {
        said.symptoms.retain(|said| said.strength > GUESSED);
    }
}

/// Riders list what is at hand without a verb: "multimeter, spanners, a can". Where nothing is said to be
/// lacking, so is each piece of the list.
fn bare_list(text: &str, context: &Context, knowledge: &Knowledge, said: &mut Interpretation) {
    let had = |piece: &str| interpret(&format!("I have {piece}"), context, &knowledge.phrases).kit;
    let mut pieces = text.split([',', ';', '\n']);
    let answers = said.answer.is_some() && pieces.clone().nth(1).is_none();
    if said.kit.is_empty() && !answers && said.requests.is_empty() {
        said.kit = pieces.next().map(had).unwrap_or_default();
    }
    // "multimeter, torch, no charger", but not "I have no multimeter, torch, charger"
    let first = text.split([',', ';', '\n']).next().map(had);
    let lacks = first.is_some_and(|kit| kit.iter().any(|kit| !kit.what.has));
    if lacks || text.split_whitespace().nth(LIST).is_some() || text.len() > LONGEST_LIST {
        return;
    }
    for kit in pieces.flat_map(had) {
        if said.kit.iter().all(|known| known.what.id != kit.what.id) {
            said.kit.push(kit);
        }
    }
}

fn offered(state: &State, knowledge: &Knowledge) -> Vec<OutcomeId> {
    let asks = asks(state, knowledge);
    asks.into_iter()
        .flat_map(|ask| ask.outcomes)
        .map(|(id, _)| id)
        .collect()
}

fn expecting(state: &State, knowledge: &Knowledge) -> Option<Expecting> {
    if let Some(kept) = doubt::expecting(state, knowledge) {
        return Some(kept);
    }
    match state.table.as_ref()? {
        Step::Observe(_) => {
            let quantity = asks(state, knowledge)
                .into_iter()
                .find_map(|ask| ask.quantity);
            Some(quantity.map_or(Expecting::YesNo, Expecting::Quantity))
        }
        Step::Tell(Topic::Complaint | Topic::Background | Topic::System) => None,
        _ => Some(Expecting::YesNo),
    }
}

/// A request that is an answer counts before a bare yes or no.
fn means(said: &Interpretation) -> Option<Means> {
    let request = said
        .requests
        .iter()
        .find_map(|request| as_means(request.what.as_str()));
    let done = || said.done.as_ref().map(|_| Means::Done);
    request
        .or_else(|| said.answer.as_ref().map(answer))
        .or_else(done)
}

fn as_means(request: &str) -> Option<Means> {
    match request {
        "why" => Some(Means::Why),
        "undo" => Some(Means::Undo),
        "stop" => Some(Means::Stop),
        "skip" => Some(Means::Skip),
        "cannot" => Some(Means::Cannot),
        _ => None,
    }
}

fn answer(said: &Said<Answer>) -> Means {
    match said.what {
        Answer::Yes => Means::Yes,
        Answer::No => Means::No,
        Answer::Unsure => Means::Unsure,
    }
}
