//! How sure a limit or a voltage is. `build.rs` reads it too.

use serde::Deserialize;

/// How well a row or a voltage is founded. The order is from the surest on.
#[derive(Deserialize, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Certainty {
    /// The rule's own text was read.
    #[serde(rename = "Q")]
    RuleText,
    /// A secondary public page states it.
    #[serde(rename = "S")]
    Secondary,
    /// The dataset wireless-regdb has it.
    #[serde(rename = "D")]
    Dataset,
    /// From memory, not checked.
    #[serde(rename = "M")]
    Memory,
}

impl Certainty {
    /// Whether a finding may speak of "the limit" instead of what it is understood to be. Only then is it a danger.
    pub const fn is_rule_text(self) -> bool {
        matches!(self, Self::RuleText)
    }

    /// What the letter means, for a reader.
    pub const fn meaning(self) -> &'static str {
        match self {
            Self::RuleText => "read in the rule's own text",
            Self::Secondary => "stated by a secondary public page",
            Self::Dataset => "in the dataset wireless-regdb",
            Self::Memory => "from memory, not checked against the rule",
        }
    }
}
