//! A picture that goes with a reply, as Discord takes it.

use super::rest::Picture;
use crate::reply::picture::{self, trail};
use crate::reply::{Reply, Trail};

/// The picture of a reply, where one helps.
#[must_use]
pub fn of(reply: &Reply) -> Option<Picture> {
    let drawn = picture::of(reply)?;
    Some(Picture {
        name: "reading.png".to_owned(),
        alt: drawn.alt,
        bytes: drawn.png,
    })
}

/// A path, as Discord takes it.
#[must_use]
pub fn of_path(path: &Trail) -> Picture {
    let drawn = trail::draw(path);
    Picture {
        name: "path.png".to_owned(),
        alt: drawn.alt,
        bytes: drawn.png,
    }
}
