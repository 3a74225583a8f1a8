//! The file of a new aircraft that is like another: what differs, and nothing else.

use super::answers::Answers;
use super::folder::Base;
use crate::fleet::quoted;

/// The whole text, not laid out yet.
pub(super) fn text(answers: &Answers, base: &Base) -> String {
    let craft = quoted(&answers.name);
    let mut lines = vec![
        "rig 1".to_owned(),
        format!(
            "# {}: like {}, but for what is said here. Write what else differs beside it.",
            answers.name, base.name
        ),
        String::new(),
        format!("craft {craft} like {} {{", quoted(&base.name)),
    ];
    if let Some(number) = answers.number {
        lines.extend(base.receivers.iter().map(|name| {
            let name = name.as_deref().map_or(String::new(), |name| format!(" {}", quoted(name)));
            format!("receiver{name} {{ number {number} }} # check: the receiver has stored it, as its manual says")
        }));
    }
    lines.extend([
        "}".to_owned(),
        String::new(),
        format!("model {craft} like {} {{", quoted(&base.model)),
        format!("flies {craft}"),
    ]);
    if let Some(number) = answers.number {
        lines.extend(base.bays.iter().map(|(bay, matched)| {
            let matching = if *matched { "" } else { "; match on" };
            format!("module {} {{ receiver-number {number}{matching} }}", quoted(bay))
        }));
    }
    lines.push("}\n".to_owned());
    lines.join("\n")
}
