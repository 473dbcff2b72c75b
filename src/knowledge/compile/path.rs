//! The order of a system's parts, and the stretch of a path that an observation looks at.

use crate::knowledge::id::{PartId, SystemId};
use crate::knowledge::schema;

/// The parts of a system, along its paths first, each once.
pub(super) fn parts_in_order(system: &schema::System) -> Vec<&PartId> {
    let mut parts: Vec<&PartId> = Vec::new();
    let on_paths = system.path.iter().flat_map(|path| &path.parts);
    for part in on_paths.chain(&system.parts) {
        if !parts.contains(&part) {
            parts.push(part);
        }
    }
    parts
}

/// The parts of the path that a place looks at; none where the system has no such path or part.
pub(super) fn stretch<'a>(
    system: &'a schema::System,
    place: &schema::Place,
) -> Option<&'a [PartId]> {
    let path = system.path.iter().find(|path| path.id == place.path)?;
    let end = path.parts.iter().position(|part| *part == place.at)?;
    let start = match &place.from {
        Some(from) => path.parts.iter().position(|part| part == from)?,
        None => 0,
    };
    path.parts.get(start..=end)
}

pub(super) fn applies(systems: Option<&[SystemId]>, system: &schema::System) -> bool {
    systems.is_none_or(|systems| systems.contains(&system.id))
}
