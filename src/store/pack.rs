//! Records made smaller before they are sealed; what is sealed cannot be made smaller any more.

/// Records shorter than this are left as they are: they would hardly become smaller.
const SHORT: usize = 200;
/// How hard the compressor tries: least, since a rider waits.
const EFFORT: i32 = 1;
/// Before a record left as it is.
const PLAIN: u8 = 0;
/// Before its length and the record compressed.
const SMALL: u8 = 1;

/// A record, packed.
#[must_use]
pub fn pack(record: &[u8]) -> Vec<u8> {
    if record.len() >= SHORT
        && let Ok(length) = u32::try_from(record.len())
        && let Ok(small) = zstd::bulk::compress(record, EFFORT)
        && small.len() < record.len()
    {
        return [&[SMALL], length.to_be_bytes().as_slice(), &small].concat();
    }
    [&[PLAIN], record].concat()
}

/// A packed record, unpacked; none if it was never packed by [`pack`].
#[must_use]
pub fn unpack(packed: &[u8]) -> Option<Vec<u8>> {
    match packed.split_first()? {
        (&PLAIN, record) => Some(record.to_vec()),
        (&SMALL, rest) => {
            let (length, small) = rest.split_first_chunk()?;
            let length = usize::try_from(u32::from_be_bytes(*length)).ok()?;
            zstd::bulk::decompress(small, length).ok()
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn any_record_comes_back(record in proptest::collection::vec(any::<u8>(), 0..2000)) {
            prop_assert_eq!(unpack(&pack(&record)), Some(record));
        }
    }

    #[test]
    fn what_repeats_itself_becomes_smaller() {
        let record = b"the fuel pump is silent; ".repeat(40);
        assert!(pack(&record).len() < record.len() / 5);
        assert_eq!(unpack(&pack(&record)), Some(record));
        assert_eq!(unpack(&[]), None);
        assert_eq!(unpack(&[2, 1]), None);
    }
}
