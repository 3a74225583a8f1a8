//! `channels/not-carried`: the link does not carry a channel.

use crate::findings::Severity;
use crate::findings::fact::{channel, name, text};
use crate::rules::out::Out;
use crate::setup::ModelSetup;

pub(in crate::rules) fn check(view: &ModelSetup<'_>, out: &mut Out<'_>) {
    for defined in &view.model.channels {
        let number = defined.number.value;
        let place = view.model.head.place(defined.header);
        for (link, setups) in view.not_carried(number) {
            let users = setups.iter().filter_map(|setup| {
                let (_, what, _) = setup.used().find(|(used, ..)| *used == number)?;
                Some((&setup.craft.head.name.value, what))
            });
            let users: Vec<_> = users.collect();
            let facts = vec![name("link", link.head.name.value.clone()), channel(number)];
            let finding = match users.first() {
                Some((_, what)) => {
                    let sentence = "Link {link} does not carry channel {channel}. The aircraft reads {what} from it.";
                    let facts = facts.into_iter().chain([text("what", what.to_string())]);
                    let finding = out.find(place, "read", sentence, facts).severity(
                        match users.iter().all(|(_, what)| what.is_beside()) {
                            true => Severity::Caution,
                            false => Severity::Danger,
                        },
                    );
                    finding.about(users.iter().map(|(craft, _)| (*craft).clone()))
                }
                None => {
                    let sentence = "Link {link} does not carry channel {channel}. No aircraft of this model reads it.";
                    let finding = out.find(place, "unread", sentence, facts).severity(Severity::Note);
                    finding.about(setups.iter().take(1).map(|setup| setup.craft.head.name.value.clone()))
                }
            };
            if let Some(count) = link.channels.filter(|count| number > count.value) {
                finding.other(link.head.place(count.span), "how many channels the link carries");
            } else if let Some(carry) = link.carries.first() {
                finding.other(link.head.place(carry.span), "the channels that the link carries");
            }
        }
    }
}
