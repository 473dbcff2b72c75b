//! The forms of an English word, for `leak~`.

/// The word itself, its plural or third person, its past and its `-ing` form.
///
/// Irregular pasts are not made here: a class lists them. Both spellings are made where English
/// doubles a consonant (`stoped` is how some riders write it).
pub fn forms(word: &str) -> Vec<String> {
    let mut forms = vec![word.to_owned(), plural(word)];
    let stem = word
        .strip_suffix('e')
        .filter(|stem| !stem.ends_with('e'))
        .unwrap_or(word);
    let past = match word.strip_suffix('y') {
        Some(stem) if !ends_in_vowel(stem) => format!("{stem}ied"),
        _ => format!("{stem}ed"),
    };
    forms.push(past);
    forms.push(format!("{stem}ing"));
    if let Some(last) = doubling(word) {
        forms.push(format!("{word}{last}ed"));
        forms.push(format!("{word}{last}ing"));
    }
    forms
}

fn plural(word: &str) -> String {
    match word.strip_suffix('y') {
        Some(stem) if !ends_in_vowel(stem) => format!("{stem}ies"),
        _ if ["s", "x", "ch", "sh", "z"]
            .iter()
            .any(|end| word.ends_with(end)) =>
        {
            format!("{word}es")
        }
        _ => format!("{word}s"),
    }
}

fn ends_in_vowel(stem: &str) -> bool {
    stem.ends_with(['a', 'e', 'i', 'o', 'u'])
}

/// The final consonant where it follows a single vowel: stop, drip, quit.
fn doubling(word: &str) -> Option<char> {
    let mut back = word.chars().rev();
    let (last, vowel) = (back.next()?, back.next()?);
    let doubles = !matches!(last, 'a' | 'e' | 'i' | 'o' | 'u' | 'w' | 'x' | 'y');
    let is_vowel = |c: char| matches!(c, 'a' | 'e' | 'i' | 'o' | 'u');
    // "quit" doubles, its `u` belonging to the `q`; "leak" does not
    let (before, first) = (back.next(), back.next());
    let single =
        before.is_none_or(|before| !is_vowel(before)) || (before, first) == (Some('u'), Some('q'));
    (doubles && is_vowel(vowel) && single).then_some(last)
}

#[cfg(test)]
mod tests {
    use super::forms;

    #[test]
    fn forms_of_regular_words() {
        let cases = [
            ("leak", "leak leaks leaked leaking"),
            ("die", "die dies died diing"),
            ("stop", "stop stops stoped stoping stopped stopping"),
            ("dry", "dry dries dried drying"),
            ("smoke", "smoke smokes smoked smoking"),
            ("hiss", "hiss hisses hissed hissing"),
            ("spray", "spray sprays sprayed spraying"),
        ];
        for (word, expected) in cases {
            assert_eq!(forms(word).join(" "), expected, "{word}");
        }
    }
}
