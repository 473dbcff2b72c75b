//! What a run of digits and separators is worth.

use crate::knowledge::phrase::WordId;

/// A number in digits.
#[derive(Debug, Clone, PartialEq)]
pub struct Digits {
    /// As written.
    pub text: String,
    /// Its value, where it has one: `192.168.1.1` has none.
    pub value: Option<f64>,
    /// Digits after the point.
    pub decimals: u32,
    /// Its value if its only separator is of the other kind after all: `13,300`, `1.300`.
    pub otherwise: Option<f64>,
    /// Its place in the vocabulary, where a phrase names just these digits: the 30 of a "30 amp fuse".
    pub id: Option<WordId>,
    /// Whether an apostrophe stands for figures left out: `'81`.
    pub clipped: bool,
}

/// Reads digits with their separators.
///
/// `13,300` is thirteen thousand three hundred, `3,4` and `0,350` have a decimal comma, `1.234,5`
/// has both, and `12.05.2023` is no number.
pub(super) fn digits(text: String) -> Digits {
    let separators: Vec<(usize, char)> = text
        .char_indices()
        .filter(|(_, c)| !c.is_ascii_digit())
        .collect();
    let last_group = separators.last().map_or(0, |&(at, _)| text.len() - at - 1);
    let first_group = separators.first().map_or(text.len(), |&(at, _)| at);
    let threes = separators.windows(2).all(|pair| pair[1].0 - pair[0].0 == 4);
    let same = separators.windows(2).all(|pair| pair[0].1 == pair[1].1);
    let grouped = (1..=3).contains(&first_group) && !text.starts_with('0') && threes;
    let point = match separators.as_slice() {
        [] => None,
        [(_, '.')] => Some('.'),
        [(_, '\'' | ',')] if last_group == 3 && grouped => None,
        [(_, ',')] => Some(','),
        [.., _] if same && grouped && last_group == 3 => None,
        [.., (_, before), (_, last)] if before != last && grouped => Some(*last),
        _ => {
            return Digits {
                text,
                value: None,
                decimals: 0,
                otherwise: None,
                id: None,
                clipped: false,
            };
        }
    };
    let value = to_number(&text, point);
    let lone = matches!(separators.as_slice(), [(_, ',' | '.')]) && grouped && last_group == 3;
    let other = if point.is_none() { Some(',') } else { None };
    Digits {
        value,
        decimals: if point.is_some() {
            u32::try_from(last_group).unwrap_or(0)
        } else {
            0
        },
        otherwise: if lone { to_number(&text, other) } else { None },
        id: None,
        clipped: false,
        text,
    }
}

fn to_number(text: &str, point: Option<char>) -> Option<f64> {
    // More digits than a meter shows make an account or a telephone number.
    if text.len() > 12 {
        return None;
    }
    let kept = text
        .chars()
        .filter(|&c| c.is_ascii_digit() || Some(c) == point);
    let plain: String = kept
        .map(|c| if Some(c) == point { '.' } else { c })
        .collect();
    plain.parse().ok()
}

#[cfg(test)]
mod tests {
    use super::digits;

    #[test]
    fn separators() {
        let cases = [
            ("12.4", Some(12.4)),
            ("3,4", Some(3.4)),
            ("13,300", Some(13_300.0)),
            ("0,350", Some(0.35)),
            ("1.234,5", Some(1234.5)),
            ("1,234.5", Some(1234.5)),
            ("13'300", Some(13_300.0)),
            ("1,234,567", Some(1_234_567.0)),
            ("12.05.2023", None),
            ("192.168.1.1", None),
            (".8", Some(0.8)),
            ("12,65", Some(12.65)),
        ];
        for (text, expected) in cases {
            assert_eq!(digits(text.to_owned()).value, expected, "{text}");
        }
    }

    #[test]
    fn the_other_meaning_of_a_separator() {
        let cases = [
            ("13,300", Some(13.3)),
            ("1.300", Some(1_300.0)),
            ("0.350", None),
            ("12.65", None),
        ];
        for (text, expected) in cases {
            assert_eq!(digits(text.to_owned()).otherwise, expected, "{text}");
        }
    }
}
