//! Waivers: comments in a rig text, objects in the JSON form.

use super::form::WAIVE;
use super::tape::{Kind, Node};
use super::turn::{Turner, Wrong};
use crate::fleet::resolve::in_quotes;

const KEYS: &[&str] = &["rule", "because", "until"];
const EXAMPLE: &str = "write {\"rule\": \"group/name\", \"because\": \"…\", \"until\": \"2027-03-01\"}";

/// A waiver as the JSON form holds it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Waive {
    /// One that can be understood.
    Parts {
        /// The rule.
        rule: String,
        /// Why the finding is accepted.
        because: Option<String>,
        /// The last day on which it counts.
        until: Option<String>,
    },
    /// Another: the words behind `waive` as they stand.
    Words(String),
}

impl Turner<'_> {
    pub(super) fn waivers(&mut self, list: u32) {
        let Some(node) = self.tape.node(list) else { return };
        if node.kind != Kind::Array {
            let message = format!("`{WAIVE}` is {} and should be a list", node.kind.words());
            return self.wrong.push(Wrong::new(node.span, message, EXAMPLE));
        }
        let items: Vec<u32> = self.tape.inside(list).collect();
        for item in items {
            let (text, pieces) = (self.turned.text.len(), self.turned.map.len());
            self.indent();
            self.put("# waive");
            if self.waiver(item) {
                self.put("\n");
            } else {
                self.turned.text.truncate(text);
                self.turned.map.truncate(pieces);
            }
        }
    }

    fn waiver(&mut self, item: u32) -> bool {
        let Some(node) = self.tape.node(item) else { return false };
        match node.kind {
            Kind::Text => self.words(node),
            Kind::Object => {
                self.unknown_keys(item, KEYS, "a waiver");
                if self.twice(item, KEYS) {
                    return false;
                }
                let Some((_, rule)) = self.member(item, "rule") else {
                    self.wrong.push(Wrong::new(node.span, "this waiver names no `rule`", EXAMPLE));
                    return false;
                };
                let because = self.member(item, "because").map(|(_, value)| value);
                let until = self.member(item, "until").map(|(_, value)| value);
                self.word("rule", rule)
                    && because.is_none_or(|value| self.reason(value))
                    && until.is_none_or(|value| {
                        self.put(" until");
                        self.word("until", value)
                    })
            }
            _ => {
                let message = format!("{} stands where a waiver should", node.kind.words());
                self.wrong.push(Wrong::new(node.span, message, EXAMPLE));
                false
            }
        }
    }

    /// A rule's name or a day: one word of the comment.
    fn word(&mut self, name: &str, value: u32) -> bool {
        let Some(node) = self.text_node(name, value) else { return false };
        let text = self.decoded(node).0;
        if text.is_empty() || text.contains(|character: char| character.is_whitespace() || character.is_control()) {
            let message = format!("the `{name}` of a waiver is one word without blanks");
            self.wrong.push(Wrong::new(node.span, message, EXAMPLE));
            return false;
        }
        self.put(" ");
        self.put_from(&text, node.span);
        true
    }

    fn reason(&mut self, value: u32) -> bool {
        let Some(node) = self.text_node("because", value) else { return false };
        let text = self.decoded(node).0;
        self.put(" because ");
        self.put_from(&in_quotes(&text), node.span);
        true
    }

    fn words(&mut self, node: Node) -> bool {
        let (text, local) = self.decoded(node);
        if text.contains(char::is_control) {
            self.wrong.push(Wrong::new(node.span, "a control character stands in this waiver", EXAMPLE));
            return false;
        }
        self.put(" ");
        let start = self.turned.text.len() as u32;
        self.put(&text);
        self.turned.map.append(&local, start, text.len() as u32);
        true
    }
}
