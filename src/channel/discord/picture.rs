//! A picture that goes with a reply, as Discord takes it.

use super::rest::Picture;
use crate::reply::Reply;
use crate::reply::picture;

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
