//! Where the check on the table is made: the path, and the part of it.

use super::event::Step;
use super::state::State;
use crate::knowledge::Knowledge;
use crate::reply::Trail;

/// The path on which the check asked for is made, with its place marked; none where it has no place on
/// a path, or a danger is open.
#[must_use]
pub fn trail(state: &State, knowledge: &Knowledge) -> Option<Trail> {
    let Some(Step::Observe(ids)) = &state.table else {
        return None;
    };
    if !state.hazards.is_empty() {
        return None;
    }
    let place = knowledge.observations.get(ids.first()?)?.on.as_ref()?;
    let system = knowledge.systems.get(state.system.as_ref()?)?;
    let path = system.path.iter().find(|path| path.id == place.path)?;
    let at = path.parts.iter().position(|part| *part == place.at)?;
    let name = |part| knowledge.parts.get(part).map(|part| part.name.clone());
    Some(Trail {
        path: path.name.clone(),
        parts: path.parts.iter().map(name).collect::<Option<_>>()?,
        at,
    })
}
