//! Sealing what a person wrote under the key of its conversation, and names under a keyed hash.
//!
//! ChaCha20-Poly1305 (RFC 8439) with a nonce by chance for each record; the place of a record is
//! sealed with it, so that none can be put in place of another. Pseudonyms are HMAC-SHA256 (RFC
//! 2104), cut to 16 bytes.

use super::engine::Tree;
use super::keys::KEY;
use super::pack::{pack, unpack};
use super::problem::StoreError;
use chacha20poly1305::aead::{Aead, Payload};
use chacha20poly1305::{ChaCha20Poly1305, KeyInit};
use hmac::{Hmac, Mac};
use sha2::Sha256;

/// Bytes of a nonce.
const NONCE: usize = 12;

/// What a person or place is called where its own name must not stand.
pub type Pseudonym = [u8; 16];

/// What seals and opens the records of one conversation.
pub struct Lock(ChaCha20Poly1305);

impl Lock {
    /// The lock of a key.
    #[must_use]
    pub fn of(key: &[u8; KEY]) -> Self {
        Self(ChaCha20Poly1305::new(key.into()))
    }

    /// Seals the value that will stand at a place.
    ///
    /// # Errors
    /// When the system has no randomness.
    pub fn seal(&self, tree: Tree, key: &[u8], value: &[u8]) -> Result<Vec<u8>, StoreError> {
        let mut nonce = [0; NONCE];
        let failed = |what: String| StoreError::NoRandomness { what };
        getrandom::fill(&mut nonce).map_err(|error| failed(error.to_string()))?;
        let (place, packed) = (place(tree, key), pack(value));
        let payload = Payload {
            msg: &packed,
            aad: &place,
        };
        let sealed = self.0.encrypt(&nonce.into(), payload);
        let sealed = sealed.map_err(|error| failed(error.to_string()))?;
        Ok([nonce.as_slice(), &sealed].concat())
    }

    /// Opens the value found at a place; none if it is not the one sealed for it.
    #[must_use]
    pub fn open(&self, tree: Tree, key: &[u8], sealed: &[u8]) -> Option<Vec<u8>> {
        let (nonce, sealed) = sealed.split_first_chunk::<NONCE>()?;
        let place = place(tree, key);
        let payload = Payload {
            msg: sealed,
            aad: &place,
        };
        unpack(&self.0.decrypt(nonce.into(), payload).ok()?)
    }
}

fn place(tree: Tree, key: &[u8]) -> Vec<u8> {
    [tree.name().as_bytes(), &[0], key].concat()
}

/// The pseudonym of a name of some kind ("rider", "address"), by a secret.
///
/// # Panics
/// Never: HMAC takes a key of any length.
#[must_use]
pub fn pseudonym(secret: &[u8; KEY], kind: &str, name: &str) -> Pseudonym {
    let mut mac = <Hmac<Sha256> as hmac::KeyInit>::new_from_slice(secret)
        .expect("HMAC takes a key of any length");
    mac.update(kind.as_bytes());
    mac.update(&[0]);
    mac.update(name.as_bytes());
    let whole = mac.finalize().into_bytes();
    let mut cut = Pseudonym::default();
    cut.copy_from_slice(&whole[..16]);
    cut
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 8439, section 2.8.2: the worked example of the AEAD.
    #[test]
    fn the_cipher_is_the_published_one() {
        let mut key = [0; KEY];
        (0x80..).zip(&mut key).for_each(|(byte, at)| *at = byte);
        let nonce = [7, 0, 0, 0, 0x40, 0x41, 0x42, 0x43, 0x44, 0x45, 0x46, 0x47];
        let aad = [
            0x50, 0x51, 0x52, 0x53, 0xc0, 0xc1, 0xc2, 0xc3, 0xc4, 0xc5, 0xc6, 0xc7,
        ];
        let msg: &[u8] = b"Ladies and Gentlemen of the class of '99: \
            If I could offer you only one tip for the future, sunscreen would be it.";
        let payload = Payload { msg, aad: &aad };
        let sealed = Lock::of(&key).0.encrypt(&nonce.into(), payload).unwrap();
        assert_eq!(
            sealed[..8],
            [0xd3, 0x1a, 0x8d, 0x34, 0x64, 0x8e, 0x60, 0xdb]
        );
        let tag = [
            0x1a, 0xe1, 0x0b, 0x59, 0x4f, 0x09, 0xe2, 0x6a, 0x7e, 0x90, 0x2e, 0xcb, 0xd0, 0x60,
            0x06, 0x91,
        ];
        assert_eq!(sealed[msg.len()..], tag);
    }

    #[test]
    fn a_record_opens_only_at_its_place_and_under_its_key() {
        let lock = Lock::of(&[1; KEY]);
        let sealed = lock.seal(Tree::Events, b"a", b"words").unwrap();
        let opened = lock.open(Tree::Events, b"a", &sealed);
        assert_eq!(opened.as_deref(), Some(&b"words"[..]));
        assert_eq!(lock.open(Tree::Events, b"b", &sealed), None);
        assert_eq!(lock.open(Tree::Replies, b"a", &sealed), None);
        assert_eq!(Lock::of(&[2; KEY]).open(Tree::Events, b"a", &sealed), None);
        for at in 0..sealed.len() {
            let mut flipped = sealed.clone();
            flipped[at] ^= 1;
            assert_eq!(lock.open(Tree::Events, b"a", &flipped), None, "{at}");
        }
        assert_eq!(lock.open(Tree::Events, b"a", &sealed[..11]), None);
        assert_ne!(lock.seal(Tree::Events, b"a", b"words").unwrap(), sealed);
    }

    #[test]
    fn names_of_different_kinds_and_secrets_have_different_pseudonyms() {
        let one = pseudonym(&[1; KEY], "rider", "a");
        assert_eq!(one, pseudonym(&[1; KEY], "rider", "a"));
        assert_ne!(one, pseudonym(&[2; KEY], "rider", "a"));
        assert_ne!(one, pseudonym(&[1; KEY], "group", "a"));
        assert_ne!(one, pseudonym(&[1; KEY], "rider", "b"));
    }
}
