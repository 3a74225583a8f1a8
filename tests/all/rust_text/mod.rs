//! Enough of Rust's lexical rules to see which paths a text names: comments and strings do not count.

/// One piece of Rust text. Numbers, lifetimes and characters are left out: no path needs them.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) enum Token {
    /// A name or keyword.
    Word(String),
    /// What stands in a string, escapes not resolved.
    Text(String),
    /// `::`
    Path,
    /// Any other single sign.
    Sign(char),
}

/// The tokens of a text that compiles.
pub(crate) fn tokens(text: &str) -> Vec<Token> {
    let signs: Vec<char> = text.chars().collect();
    let mut found = Vec::new();
    let mut at = 0;
    while at < signs.len() {
        let next = signs.get(at + 1).copied();
        at = match signs[at] {
            '/' if next == Some('/') => skip_while(&signs, at, |sign| sign != '\n'),
            '/' if next == Some('*') => after_block_comment(&signs, at),
            '"' => push_string(&signs, at, 0, &mut found),
            'r' | 'b' | 'c' if starts_string(&signs, at) => {
                let raw = signs[at] == 'r' || next == Some('r');
                let opening = skip_while(&signs, at, |sign| matches!(sign, 'r' | 'b' | 'c'));
                let quote = skip_while(&signs, opening, |sign| sign == '#');
                push_string(&signs, quote, if raw { quote - opening + 1 } else { 0 }, &mut found)
            }
            '\'' => after_quote(&signs, at),
            sign if sign.is_alphabetic() || sign == '_' => {
                let end = skip_while(&signs, at, |sign| sign.is_alphanumeric() || sign == '_');
                found.push(Token::Word(signs[at..end].iter().collect()));
                end
            }
            sign if sign.is_ascii_digit() => skip_while(&signs, at, |sign| sign.is_alphanumeric() || sign == '_'),
            ':' if next == Some(':') => {
                found.push(Token::Path);
                at + 2
            }
            sign => {
                if !sign.is_whitespace() {
                    found.push(Token::Sign(sign));
                }
                at + 1
            }
        };
    }
    found
}

fn skip_while(signs: &[char], from: usize, stays: impl Fn(char) -> bool) -> usize {
    signs[from..].iter().position(|sign| !stays(*sign)).map_or(signs.len(), |length| from + length)
}

/// Whether a string with a prefix (`r"`, `r#"`, `b"`, `br"`, `c"`) starts here.
fn starts_string(signs: &[char], at: usize) -> bool {
    let prefix = skip_while(signs, at, |sign| matches!(sign, 'r' | 'b' | 'c'));
    let quote = skip_while(signs, prefix, |sign| sign == '#');
    let after_word = at > 0 && (signs[at - 1].is_alphanumeric() || signs[at - 1] == '_');
    !after_word && prefix - at <= 2 && signs.get(quote) == Some(&'"')
}

fn after_block_comment(signs: &[char], from: usize) -> usize {
    let (mut at, mut depth) = (from + 2, 1);
    while at < signs.len() && depth > 0 {
        match (signs[at], signs.get(at + 1)) {
            ('/', Some('*')) => (depth, at) = (depth + 1, at + 2),
            ('*', Some('/')) => (depth, at) = (depth - 1, at + 2),
            _ => at += 1,
        }
    }
    at
}

/// Reads a string from its quote. `raw` is 0 where backslashes escape, else one more than the number of `#`.
fn push_string(signs: &[char], quote: usize, raw: usize, found: &mut Vec<Token>) -> usize {
    let mut at = quote + 1;
    while at < signs.len() {
        match signs[at] {
            '\\' if raw == 0 => at += 2,
            '"' if raw <= 1 || signs[at + 1..].iter().take(raw - 1).filter(|sign| **sign == '#').count() == raw - 1 => {
                break;
            }
            _ => at += 1,
        }
    }
    found.push(Token::Text(signs[quote + 1..at.min(signs.len())].iter().collect()));
    at + raw.max(1)
}

/// What follows a character or a lifetime.
fn after_quote(signs: &[char], at: usize) -> usize {
    match (signs.get(at + 1), signs.get(at + 2)) {
        (Some('\\'), _) => skip_while(signs, at + 3, |sign| sign != '\'') + 1,
        (_, Some('\'')) => at + 3,
        _ => skip_while(signs, at + 1, |sign| sign.is_alphanumeric() || sign == '_'),
    }
}

/// The tokens without the items that are compiled for tests only.
pub(crate) fn without_tests(tokens: &[Token]) -> Vec<Token> {
    let attribute = self::tokens("#[cfg(test)]");
    let mut kept = Vec::new();
    let mut at = 0;
    while at < tokens.len() {
        if tokens[at..].starts_with(&attribute) {
            at = after_item(tokens, at + attribute.len());
        } else {
            kept.push(tokens[at].clone());
            at += 1;
        }
    }
    kept
}

/// Where the item that starts here ends: at its `;`, or after its braces.
fn after_item(tokens: &[Token], from: usize) -> usize {
    let (mut at, mut depth) = (from, 0_i32);
    while let Some(token) = tokens.get(at) {
        at += 1;
        match token {
            Token::Sign('{' | '(' | '[') => depth += 1,
            Token::Sign(')' | ']') => depth -= 1,
            Token::Sign('}') => {
                depth -= 1;
                if depth == 0 {
                    break;
                }
            }
            Token::Sign(';') if depth == 0 => break,
            _ => {}
        }
    }
    at
}

/// Every path that starts at `crate`, `super` or `std`, with the groups of a `use` written out.
pub(crate) fn paths(tokens: &[Token]) -> Vec<Vec<String>> {
    let mut found = Vec::new();
    let mut at = 0;
    while at < tokens.len() {
        let starts = matches!(&tokens[at], Token::Word(word) if matches!(word.as_str(), "crate" | "super" | "std"));
        let continues_path = at > 0 && tokens[at - 1] == Token::Path;
        if starts && !continues_path && tokens.get(at + 1) == Some(&Token::Path) {
            at = read_tree(tokens, at, &[], &mut found);
        } else {
            at += 1;
        }
    }
    found
}

/// Reads one branch of a path tree, adds its whole paths, and gives the place after it.
fn read_tree(tokens: &[Token], from: usize, stem: &[String], found: &mut Vec<Vec<String>>) -> usize {
    let mut path = stem.to_vec();
    let mut at = from;
    while let Some(Token::Word(word)) = tokens.get(at) {
        path.push(word.clone());
        at += 1;
        if tokens.get(at) != Some(&Token::Path) {
            break;
        }
        at += 1;
    }
    if tokens.get(at) != Some(&Token::Sign('{')) || tokens.get(at.wrapping_sub(1)) != Some(&Token::Path) {
        if path.len() > stem.len() {
            found.push(path);
        }
        return at.max(from + 1);
    }
    at += 1;
    while at < tokens.len() && tokens[at] != Token::Sign('}') {
        at = if tokens[at] == Token::Sign(',') { at + 1 } else { read_tree(tokens, at, &path, found) };
        // What follows `as` is a new name, not a path.
        if tokens.get(at) == Some(&Token::Word("as".into())) {
            at += 2;
        }
    }
    at + 1
}
