//! Numbers as they stand in a message, alone.

use super::numbers;
use crate::knowledge::phrase::{PhraseFile, Phrases};
use crate::language::normalise::normalise;
use crate::language::token::tokens;

/// Every number of a text, by value.
fn values(text: &str) -> Vec<f64> {
    let file = PhraseFile {
        path: "numbers.toml".into(),
        text: include_str!("../../../knowledge/phrases/en/numbers.toml").into(),
    };
    let phrases = Phrases::compile(&[file], &[]).expect("the number words compile");
    let tokens = tokens(&normalise(text), &phrases.words);
    let found = numbers(&tokens, &phrases.numbers);
    found.into_iter().map(|number| number.value).collect()
}

#[test]
fn numbers_in_digits_and_words() {
    let cases: [(&str, &[f64]); 52] = [
        ("12.4", &[12.4]),
        ("-12.4", &[-12.4]),
        ("12,4", &[12.4]),
        ("13,300", &[13_300.0]),
        ("13.300,5", &[13_300.5]),
        (".8", &[0.8]),
        ("4R7 1k2 12V6", &[4.7, 1.2, 12.6]),
        ("4.7k", &[4_700.0]),
        ("5 k", &[5_000.0]),
        ("3 1/2", &[3.5]),
        ("3½", &[3.5]),
        ("3/4", &[0.75]),
        ("1/2/2023", &[1.0, 2.0, 2023.0]),
        ("12 point 4", &[12.4]),
        ("12 .4", &[12.4]),
        ("12..4", &[12.4]),
        ("12,,45", &[12.45]),
        ("12. 4", &[12.4]),
        ("12. 4 V", &[12.4]),
        ("12..14", &[12.0, 14.0]),
        ("0..4", &[0.0, 4.0]),
        ("1. 12 V", &[1.0, 12.0]),
        ("pump 1 .4", &[1.0, 0.4]),
        ("at 12. 4 fuses", &[12.0, 4.0]),
        ("12. 4, 5 and 6", &[12.0, 4.0, 5.0, 6.0]),
        ("12 and a half", &[12.5]),
        ("2 and a half thousand", &[2500.0]),
        ("four and a half thousand", &[4500.0]),
        ("12.4-12.6", &[12.4, 12.6]),
        ("12 point 06", &[12.06]),
        ("twelve point six", &[12.6]),
        ("twelve oh two", &[12.02]),
        ("five oh one", &[5.01]),
        ("eleven nine five", &[11.95]),
        ("eleven point niner", &[11.9]),
        ("one k five", &[1_000.0, 5.0]),
        ("two k three hundred", &[2_300.0]),
        ("twelve six", &[12.6]),
        ("nine five", &[9.5]),
        ("eleven point oh five", &[11.05]),
        ("point nine", &[0.9]),
        ("oh point four", &[0.4]),
        ("zero point four", &[0.4]),
        ("minus twelve", &[-12.0]),
        ("battery minus 0.05", &[0.05]),
        ("three and a half", &[3.5]),
        ("three quarters", &[0.75]),
        ("two hundred and fifty", &[250.0]),
        ("thirteen thousand three hundred", &[13_300.0]),
        ("fourteen hundred", &[1_400.0]),
        ("a couple", &[2.0]),
        ("twenty five", &[25.0]),
    ];
    for (text, expected) in cases {
        assert_eq!(values(text), expected, "{text}");
    }
}
