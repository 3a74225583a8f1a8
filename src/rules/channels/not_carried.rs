//! `channels/not-carried`: the link does not carry a channel.

use crate::findings::Severity;
use crate::rules::out::Out;
use crate::setup::ModelSetup;

pub(in crate::rules) fn check(view: &ModelSetup<'_>, out: &mut Out<'_>) {
    for channel in &view.model.channels {
        let number = channel.number.value;
        let lost = view.setups.iter().filter_map(|setup| Some((setup, setup.link?)));
        let lost: Vec<_> = lost
            .filter(|(_, link)| !link.carries_channel(number) && !link.head.lost_here(&["carry", "channels"]))
            .collect();
        let Some(&(first, link)) = lost.first() else { continue };
        let users: Vec<_> = lost
            .iter()
            .filter_map(|(setup, _)| Some((setup, setup.used().find(|(used, ..)| *used == number)?)))
            .collect();
        let (severity, then) = match users.first() {
            Some((_, (_, what, _))) => (Severity::Danger, format!("The aircraft reads {what} from it")),
            None => (Severity::Note, "No aircraft of this model reads it".to_owned()),
        };
        let message = format!("Link \"{}\" does not carry channel {number}. {then}.", link.head.name.value);
        let finding = out.find_text(view.model.head.place(channel.header), message).severity(severity);
        if let Some(count) = link.channels.filter(|count| number > count.value) {
            finding.other(link.head.place(count.span), "how many channels the link carries");
        } else if let Some(carry) = link.carries.first() {
            finding.other(link.head.place(carry.span), "the channels that the link carries");
        }
        let concerned = if users.is_empty() { vec![first.craft.head.name.value.clone()] } else { Vec::new() };
        finding.about(users.iter().map(|(setup, _)| setup.craft.head.name.value.clone()).chain(concerned));
    }
}
