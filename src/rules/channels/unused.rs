//! `channels/unused`: a channel that no aircraft of the model reads.

use crate::findings::fact::channel;
use crate::rules::out::Out;
use crate::setup::ModelSetup;
use crate::setup::terms::has_a_job;

pub(in crate::rules) fn check(view: &ModelSetup<'_>, out: &mut Out<'_>) {
    let model = view.model;
    // Nothing is said while one of several aircraft is not known well enough.
    if view.setups.len() != model.flies.len() || !view.setups.iter().all(|setup| setup.reads_are_known()) {
        return;
    }
    for defined in &model.channels {
        let number = defined.number.value;
        let used = view.setups.iter().flat_map(|setup| setup.used()).any(|(used, ..)| used == number);
        // A channel that feeds another, a condition or a timer has a job.
        if used || has_a_job(model, number) {
            continue;
        }
        // That a link does not carry it is said by channels/not-carried.
        let mut links = view.setups.iter().flat_map(|setup| setup.paths()).filter_map(|path| path.link);
        if links.all(|link| link.carries_channel(number)) {
            let sentence = "No aircraft of this model reads channel {channel}.";
            out.find(model.head.place(defined.header), "unused", sentence, [channel(number)]);
        }
    }
}
