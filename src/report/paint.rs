//! Colours on a terminal: they stand for severity, and bold for a heading; never for a channel.

use crate::findings::Severity;

/// Paints, or leaves texts as they are.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Paint(pub bool);

impl Paint {
    /// For what no terminal shows.
    pub const NONE: Self = Self(false);

    /// A text in the colour of a severity.
    pub fn severity(self, severity: Severity, text: &str) -> String {
        let code = match severity {
            Severity::Fault | Severity::Danger => "1;31",
            Severity::Caution => "1;33",
            Severity::Note => "1;36",
        };
        self.with(code, text)
    }

    /// A heading.
    pub fn head(self, text: &str) -> String {
        self.with("1", text)
    }

    fn with(self, code: &str, text: &str) -> String {
        if self.0 { format!("\u{1b}[{code}m{text}\u{1b}[0m") } else { text.to_owned() }
    }
}
