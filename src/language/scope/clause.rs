//! Where clauses end: at marks, at a "but", and where somebody or something else is told of.

use crate::language::matching::Text;
use crate::language::token::What;

/// Tokens looked over for the "or" of a list.
const LIST: usize = 8;

/// Whether a clause ends at this token, colons and question marks aside.
pub fn ends(text: &Text<'_>, at: usize) -> bool {
    match text.tokens[at].what {
        What::Mark(',') => !list_goes_on(text, at),
        What::Mark(':' | '?') => false,
        What::Mark(';' | '…' | '-' | '(' | ')') => true,
        _ => {
            let turns = ["contrast", "fresh", "aside"];
            turns.iter().any(|class| text.in_class(at, class)) || begins(text, at)
        }
    }
}

/// Whether somebody or something else may be told of from here: a comma ends a clause only before a new
/// subject.
pub fn changes(text: &Text<'_>, at: usize) -> bool {
    match text.tokens[at].what {
        What::Mark(';' | '…' | '-' | '?') => true,
        What::Mark(',') => text.in_class(at + 1, "subject") || text.in_class(at + 1, "contrast"),
        _ => text.in_class(at, "turn") || begins(text, at),
    }
}

/// "and it", "but the": a joining word before a new subject.
fn begins(text: &Text<'_>, at: usize) -> bool {
    text.in_class(at, "joiner") && text.in_class(at + 1, "subject")
}

/// "no leaks, smells or smoke": the list goes on to its "or".
fn list_goes_on(text: &Text<'_>, comma: usize) -> bool {
    let sentence = &text.sentences[text.sentence_of(comma)];
    let last = sentence.tokens.end.min(comma + LIST);
    (comma + 1..last).any(|at| text.in_class(at, "or")) && !text.in_class(comma + 1, "subject")
}
