//! The straight line: one message in, events and one reply out.

use super::agenda::{adopt, next};
use super::answer::{answer, needs_plain_yes};
use super::compose::compose;
use super::draft::Draft;
use super::event::{Declined, Ending, Event, HandOver, Incoming, Step, Target, Terms, Topic};
use super::gates::{demands, denied, left_behind};
use super::hear::{Heard, hear};
use super::insight::Insight;
use super::intake::settle;
use super::menu::{FORGET, PERSON, READY, START_OVER, may_be_misread, targets};
use super::state::{End, State};
use super::uptake::facts;
use super::{explain, state};
use crate::diagnosis::Choice;
use crate::knowledge::Knowledge;
use crate::knowledge::id::{HazardId, ObservationId};
use crate::language::GUESSED;
use crate::language::interpretation::Said;
use crate::reply::{Line, Means, Reply, wording};
use std::collections::BTreeSet;

/// Opens a conversation: the greeting, with what this is and is not.
#[must_use]
pub fn open(terms: &Terms, knowledge: &Knowledge) -> (Vec<Event>, Reply) {
    let mut draft = Draft::opening(knowledge);
    draft.record(Event::Opened(terms.clone()));
    draft.record(Event::Asked(Step::Tell(Topic::Complaint)));
    draft.lines.extend(wording::step::greeting());
    finish(draft)
}

/// One turn.
#[must_use]
pub fn advance(state: &State, incoming: &Incoming, knowledge: &Knowledge) -> (Vec<Event>, Reply) {
    let mut draft = Draft::begin(state, incoming, knowledge);
    let heard = hear(state, incoming, knowledge);
    if heard.said.cut.is_some() {
        draft.say(Line::Plain(wording::step::TOO_LONG.to_owned()));
    }
    let handled = danger(&mut draft, &heard) | command(&mut draft, &heard);
    let advised = !handled && asked_about(&mut draft, &heard);
    if !handled {
        let learned = facts(&mut draft, &heard);
        let answered = answer(&mut draft, &heard);
        settle(&mut draft);
        let explained = explain::explain(&mut draft, &heard);
        if !(learned || answered || explained || advised) {
            not_understood(&mut draft, &heard);
        } else if !draft.state.hazards.is_empty() && !raised(&draft) {
            how_it_ends(&mut draft);
        }
    }
    finish(draft)
}

/// Where an unfinished conversation stands: the last question once more, without a new event.
#[must_use]
pub fn resume(state: &State, knowledge: &Knowledge) -> Reply {
    let insight = Insight::of(state, knowledge);
    let agenda = next(state, knowledge, insight.as_ref());
    let mut draft = Draft::opening(knowledge);
    draft.state = state.clone();
    explain::summary(&mut draft, insight.as_ref());
    compose(draft, &agenda, insight.as_ref())
}

fn finish(mut draft: Draft<'_>) -> (Vec<Event>, Reply) {
    let knowledge = draft.knowledge;
    let mut insight = Insight::of(&draft.state, knowledge);
    let skipped = skipped_now(&draft);
    if out_of_steps(&draft.state, knowledge, (insight.as_ref(), &skipped)) {
        offer_again(&mut draft, &skipped);
        insight = Insight::of(&draft.state, knowledge);
    }
    let mut agenda = next(&draft.state, knowledge, insight.as_ref());
    if !skipped.is_empty() && matches!(agenda.step, Step::HandOver(_)) {
        draft.say(Line::Plain(wording::step::SKIPPED_THE_LAST.to_owned()));
    }
    let mut left = begun_beside(&draft, &agenda.step);
    left.extend(left_behind(&draft.state, knowledge, &agenda.step));
    if !left.is_empty() {
        for event in left {
            draft.record(event);
        }
        agenda = next(&draft.state, knowledge, insight.as_ref());
    }
    for event in adopt(&draft.state, &agenda, insight.as_ref()) {
        draft.record(event);
    }
    let events = draft.events.clone();
    (events, compose(draft, &agenda, insight.as_ref()))
}

/// Where checks were asked for together and not all are answered, the others may have been begun: what
/// they open counts as open, so that it is put back.
fn begun_beside(draft: &Draft<'_>, next: &Step) -> Vec<Event> {
    let answered = |event: &Event| matches!(event, Event::Found(found) if found.asked);
    match &draft.state.table {
        Some(step @ Step::Observe(ids))
            if ids.len() > 1 && step != next && draft.events.iter().any(answered) =>
        {
            let openings = targets(step)
                .into_iter()
                .flat_map(|target| demands(&draft.state, draft.knowledge, &target).openings);
            let openings: BTreeSet<_> = openings.collect();
            openings.into_iter().map(Event::AccessOpened).collect()
        }
        _ => Vec::new(),
    }
}

/// What was only skipped, or barred by the place, is offered once more before the case is handed over,
/// but not a repair that this message skips.
fn out_of_steps(
    state: &State,
    knowledge: &Knowledge,
    (insight, skipped): (Option<&Insight<'_>>, &[Target]),
) -> bool {
    let hands_over = insight.is_some_and(|insight| insight.plan.choice == Choice::HandOver);
    let put_off = |(target, reason): (&Target, &Declined)| match reason {
        Declined::Skipped => !skipped.contains(target),
        Declined::Gated => true,
        Declined::Cannot | Declined::Unsure => false,
    };
    let denied = denied(state, knowledge);
    let left_out = state.declined.iter().any(put_off) || !denied.is_empty();
    // a hot engine is no reason to give up
    let waits = denied.iter().any(|gate| gate.passes);
    hands_over && state.end.is_none() && (waits || left_out && !state.reconsidered)
}

fn offer_again(draft: &mut Draft<'_>, skipped: &[Target]) {
    if !denied(&draft.state, draft.knowledge).is_empty() {
        draft.say(Line::Plain(wording::step::ONLY_WITH_THIS.to_owned()));
    }
    look_again(draft);
    for target in skipped {
        draft.record(Event::Declined {
            target: target.clone(),
            reason: Declined::Skipped,
        });
    }
}

/// The repairs that this very message skips. Whoever leaves a repair out wants to go on testing, or a
/// shop to do it: the same repair offered again at once would be no answer.
fn skipped_now(draft: &Draft<'_>) -> Vec<Target> {
    let skipped = |event: &Event| match event {
        Event::Declined {
            target: target @ Target::Repair(_),
            reason: Declined::Skipped,
        } => Some(target.clone()),
        _ => None,
    };
    draft.events.iter().filter_map(skipped).collect()
}

/// A danger in any message, in any phase, stops everything.
fn danger(draft: &mut Draft<'_>, heard: &Heard) -> bool {
    /// Words of a list of tools, at most.
    const LIST: usize = 12;
    let known = &draft.knowledge.hazards;
    // "an old jam jar" among the tools is none, whatever its words recall
    let short = heard.text.split_whitespace().count() <= LIST;
    let lists = short && draft.state.table == Some(Step::Tell(Topic::Kit));
    let told = |said: &&Said<HazardId>| !lists || said.strength > GUESSED;
    let mut reported: Vec<_> = heard
        .said
        .hazards
        .iter()
        .filter(told)
        .map(|said| said.what.clone())
        .collect();
    reported.retain(|id| known.contains_key(id));
    reported.sort_by_key(|id| known[id].rank);
    reported.dedup();
    let any = !reported.is_empty();
    for hazard in reported {
        if !draft.state.hazards.contains(&hazard) {
            draft.record(Event::HazardRaised(hazard));
        }
    }
    if any {
        facts(draft, heard);
        settle(draft);
    }
    any
}

/// Says what ends the danger that is asked about.
fn how_it_ends(draft: &mut Draft<'_>) {
    draft.say(Line::Plain(wording::step::PLAIN_YES.to_owned()));
    let asked = match &draft.state.table {
        Some(Step::Safe(hazard)) => may_be_misread(&draft.state, draft.knowledge, hazard),
        _ => false,
    };
    if asked {
        draft.say(Line::Plain(wording::step::SAY_MISREAD.to_owned()));
    }
}

/// Whether this turn brought a danger up.
fn raised(draft: &Draft<'_>) -> bool {
    let raised = |event: &Event| matches!(event, Event::HazardRaised(_));
    draft.events.iter().any(raised)
}

/// Answers who only asks about a danger: nothing has happened yet, and it had better stay so.
fn asked_about(draft: &mut Draft<'_>, heard: &Heard) -> bool {
    let known = &draft.knowledge.hazards;
    let asked = heard.said.asked_about.iter();
    let answers: Vec<Line> = asked
        .filter_map(|said| known.get(&said.what))
        .map(|hazard| Line::Caution(hazard.asked.clone()))
        .collect();
    let any = !answers.is_empty();
    draft.lines.extend(answers);
    any
}

/// What is asked of the conversation itself, in any phase.
fn command(draft: &mut Draft<'_>, heard: &Heard) -> bool {
    let asked = |id: &str| {
        let said = heard
            .said
            .requests
            .iter()
            .any(|request| request.what.as_str() == id);
        said || heard.choice.as_deref() == Some(id)
    };
    if asked(FORGET) {
        draft.record(Event::ForgetAsked);
        draft.say(Line::Plain(wording::step::NOT_KEPT.to_owned()));
    } else if heard.means == Some(Means::Undo) {
        undo(draft);
    } else if asked(START_OVER) {
        draft.record(Event::StartedOver);
        draft.say(Line::Plain(wording::step::STARTED_OVER.to_owned()));
    } else if !draft.state.hazards.is_empty() || draft.state.end.is_some() {
        return false;
    } else if heard.means == Some(Means::Stop) {
        stop(draft);
    } else if asked(PERSON) {
        draft.record(Event::HandedOver(HandOver::Asked));
    } else if heard.choice.as_deref() == Some(READY) {
        look_again(draft);
    } else {
        return false;
    }
    true
}

fn undo(draft: &mut Draft<'_>) {
    match draft.state.last_undoable() {
        Some(turn) => {
            let said = state::heard_in(&draft.state, turn);
            let table = draft.state.table.clone();
            // What lay on the table may have been begun: its conditions go with it.
            let left = left_behind(&draft.state, draft.knowledge, &Step::Stop);
            draft.record(Event::Undone(turn));
            if draft.state.table != table {
                for event in left {
                    draft.record(event);
                }
            }
            draft.say(Line::Plain(wording::step::undone(said.as_deref())));
        }
        None => draft.say(Line::Plain(wording::step::NOTHING_TO_UNDO.to_owned())),
    }
}

fn stop(draft: &mut Draft<'_>) {
    if draft.state.open.is_empty() {
        let ending = if draft.state.gone {
            Ending::Solved
        } else {
            Ending::Stopped
        };
        if ending == Ending::Stopped {
            explain::parting(draft);
        }
        draft.record(Event::Closed(ending));
    } else {
        draft.record(Event::Stopping);
    }
}

/// The place has changed: what was denied is asked again, what it barred is offered again.
fn look_again(draft: &mut Draft<'_>) {
    let gates: Vec<_> = denied(&draft.state, draft.knowledge)
        .into_iter()
        .map(|gate| gate.id.clone())
        .collect();
    for gate in gates {
        draft.record(Event::GateReopened(gate));
    }
    draft.record(Event::Reconsidered);
}

/// Says what was not understood; the question on the table follows.
fn not_understood(draft: &mut Draft<'_>, heard: &Heard) {
    if !draft.state.hazards.is_empty() && heard.stray.is_none() {
        // Whoever says what was done about a danger is not to be told that it was no answer.
        how_it_ends(draft);
        return;
    }
    let ended = matches!(draft.state.end, Some(End::HandedOver(_) | End::Closed(_)));
    let mut lines = vec![match (&heard.stray, ended) {
        (Some(id), _) => wording::step::not_on_offer(id),
        (None, true) => wording::step::OVER.to_owned(),
        (None, false) if draft.state.table == Some(Step::Tell(Topic::Complaint)) => {
            wording::step::no_trouble_named(&heard.text)
        }
        (None, false) if is_known(draft, heard) => wording::step::KNOWN.to_owned(),
        (None, false) => wording::step::not_understood(&heard.text),
    }];
    if draft.state.table.as_ref().is_some_and(needs_plain_yes) {
        lines.push(wording::step::PLAIN_YES.to_owned());
    }
    if told_of_background(draft) {
        lines.push(wording::step::NO_MATTER.to_owned());
    }
    draft.lines.extend(lines.into_iter().map(Line::Plain));
}

/// Whether it tells again of complaints that were told before, and of nothing else.
fn is_known(draft: &Draft<'_>, heard: &Heard) -> bool {
    let told = &heard.said.symptoms;
    let known = |id: &ObservationId| draft.state.found(id).is_some();
    !told.is_empty() && told.iter().all(|said| known(&said.what.id))
}

/// Whether this message settled the question what changed last, though nothing in it was understood.
fn told_of_background(draft: &Draft<'_>) -> bool {
    draft.events.contains(&Event::Settled(Topic::Background))
}
