//! The JSON form of rig files: the same statements as objects in lists, for programs that write or read setups.
//!
//! A JSON text has no reading of its own. It is turned into rig text, and a map leads every place back; so whatever is
//! found in a rig file is found in a JSON file too, and the two can't drift apart. Keys, lists and the schema follow
//! from the table of statements.

mod choose;
mod form;
mod map;
mod page;
mod schema;
mod tape;
#[cfg(test)]
mod tests;
mod turn;
mod values;
mod waive;
mod write;

pub use map::Map;
pub use page::markdown;
pub use schema::schema;
pub use tape::MAX_DEPTH;
pub use turn::{Turned, to_rig};
pub use waive::Waive;
pub use write::from_rig;

use super::table::Ready;

/// Whether a text is one word of the language.
fn is_word(text: &str) -> bool {
    super::resolve::quoted(text) == text && !text.is_empty()
}

/// How a statement is written, for messages.
fn written(ready: &'static Ready) -> String {
    let one = |form: &form::Form| {
        let mut keys = vec![format!("\"statement\": \"{}\"", ready.entry.word)];
        keys.extend(form.form.iter().map(|words| format!("\"form\": \"{words}\"")));
        let required = form.keys.iter().filter(|key| key.required).map(|key| key.name);
        keys.extend(required.chain(form.body.then_some(form::BODY)).map(|name| format!("\"{name}\": …")));
        let more: Vec<String> =
            form.keys.iter().filter(|key| !key.required).map(|key| format!("\"{}\"", key.name)).collect();
        let more = if more.is_empty() { String::new() } else { format!(", perhaps with {}", more.join(", ")) };
        format!("`{{{}}}`{more}", keys.join(", "))
    };
    form::forms(ready).iter().map(one).collect::<Vec<_>>().join(" or ")
}
