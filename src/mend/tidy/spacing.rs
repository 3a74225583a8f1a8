//! The white space between two words of a statement.

use crate::syntax::{Kind, Token};

/// Words behind which a bracket opens a condition or a value, rather than what a curve or function takes.
const BEFORE_BRACKETS: [&[u8]; 10] =
    [b"and", b"or", b"not", b"when", b"while", b"set", b"reset", b"never", b"always", b"reachable"];

/// The words of a statement as far as they are laid.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Before {
    /// The token before; none at the start of the statement.
    token: Option<Token>,
    /// Whether that is the statement's own word.
    is_own: bool,
    /// Whether that is a sign before what it turns round, rather than between two values.
    is_sign: bool,
}

impl Before {
    /// Takes the next token, and says whether a space stands before it.
    pub(super) fn step(&mut self, text: &[u8], token: Token, is_own: bool) -> bool {
        let space = self.token.is_some_and(|before| self.space(text, before, token));
        let ends_value = |before: Token| {
            matches!(before.kind, Kind::Word | Kind::Text | Kind::Unit(_) | Kind::Close | Kind::Number | Kind::Range)
        };
        let value = self.token.is_some_and(|before| ends_value(before) && !self.is_own && !is_keyword(text, before));
        *self = Self { token: Some(token), is_own, is_sign: token.kind == Kind::Minus && !value };
        space
    }

    fn space(self, text: &[u8], before: Token, after: Token) -> bool {
        match (before.kind, after.kind) {
            (_, Kind::Comma | Kind::Close | Kind::Colon) | (Kind::Open | Kind::Colon, _) => false,
            (Kind::Word | Kind::Text, Kind::Open) => self.is_own || is_keyword(text, before),
            // A sign that touched digits would become a part of the number.
            (Kind::Minus, kind) => !self.is_sign || matches!(kind, Kind::Number | Kind::Range),
            _ => true,
        }
    }
}

fn is_keyword(text: &[u8], token: Token) -> bool {
    token.kind == Kind::Word && BEFORE_BRACKETS.contains(&token.of(text))
}
