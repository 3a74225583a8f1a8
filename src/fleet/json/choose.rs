//! Which of a statement's forms an object has.

use super::form::{BODY, FORM, Form, Key, forms};
use super::tape::{Kind, Node};
use super::turn::{Turner, Wrong};
use crate::fleet::table::Ready;

impl Turner<'_> {
    /// The form that an object has: the one that lacks least of what it needs and knows most of its keys.
    pub(super) fn form(&self, index: u32, word: Node, ready: &'static Ready) -> Result<&'static Form, Wrong> {
        let name = ready.entry.word;
        let written = || format!("it is written {}", super::written(ready));
        let all = forms(ready);
        let body = self.member(index, BODY).and_then(|(_, value)| self.tape.node(value));
        if let Some(node) = body.filter(|node| node.kind != Kind::Array) {
            let message = format!("the `body` of `{name}` is {} and should be a list", node.kind.words());
            return Err(Wrong::new(node.span, message, written()));
        }
        let candidates: Vec<&Form> = all.iter().filter(|form| form.body == body.is_some()).collect();
        if candidates.is_empty() {
            let message = if body.is_some() { "has no `body` here" } else { "needs its `body` here" };
            return Err(Wrong::new(word.span, format!("`{name}` {message}"), written()));
        }
        let told = self.member(index, FORM).and_then(|(_, value)| self.tape.node(value));
        let candidates: Vec<&Form> = match told {
            None => candidates,
            Some(node) => {
                let text = if node.kind == Kind::Text { self.decoded(node).0 } else { String::new() };
                let fitting: Vec<&Form> =
                    candidates.iter().copied().filter(|form| form.form.as_deref() == Some(text.as_str())).collect();
                if fitting.is_empty() {
                    let message = format!("this is no `form` of `{name}` here");
                    return Err(Wrong::new(node.span, message, written()));
                }
                fitting
            }
        };
        let cost = |form: &&Form| {
            let lacks = |key: &&Key| key.required && self.member(index, key.name).is_none();
            let lacking = form.keys.iter().filter(lacks).count() + usize::from(form.form.is_some() && told.is_none());
            let unknown = self.tape.members(index).take(64).filter(|(key, _)| {
                let key = self.decoded(*key).0;
                !form.keys.iter().any(|known| known.name == key)
            });
            (lacking, unknown.count())
        };
        let best = candidates.iter().copied().min_by_key(cost);
        match best {
            Some(form) if form.form.is_none() || told.is_some() => Ok(form),
            _ => {
                let message = format!("`{name}` needs its `form` here");
                Err(Wrong::new(word.span, message, written()))
            }
        }
    }
}
