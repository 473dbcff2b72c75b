//! A bystander's words as the rider would have said them: "his bowl is dry" is about the rider's bike.

/// Words by which a bystander means the rider, as possessives.
const THEIRS: [&str; 7] = ["his", "her", "their", "your", "ur", "op's", "ops"];

/// The text with the bystander's "his" or "your" as the rider's "my". Everything else stays as it was.
#[must_use]
pub fn as_riders(text: &str) -> String {
    let mut words = Vec::new();
    for word in text.split(' ') {
        let bare = word.trim_matches(|c: char| !c.is_alphanumeric());
        let theirs = THEIRS.iter().any(|known| bare.eq_ignore_ascii_case(known));
        words.push(if theirs {
            word.replacen(bare, "my", 1)
        } else {
            word.to_owned()
        });
    }
    words.join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    #[case("his bowl is dry", "my bowl is dry")]
    #[case("Your fuse, (her fuse) is fine", "my fuse, (my fuse) is fine")]
    #[case("my buddy's bike leaked", "my buddy's bike leaked")]
    #[case("this pump hums", "this pump hums")]
    #[case("", "")]
    fn possessives_turn(#[case] text: &str, #[case] expected: &str) {
        assert_eq!(as_riders(text), expected);
    }
}
