//! `module/empty-bay`: a bay is on, and nothing is in it.

use super::{swap, turn_off, would_serve};
use crate::findings::fact::name;
use crate::rules::out::Out;
use crate::setup::ModelSetup;

pub(in crate::rules) fn check(view: &ModelSetup<'_>, out: &mut Out<'_>) {
    for bay in &view.bays {
        let (Some(handset), Some(hardware)) = (view.handset, bay.hardware) else { continue };
        if !hardware.empty {
            continue;
        }
        let mut choices: Vec<_> = would_serve(view).map(|other| swap(view.model, bay.module, other)).collect();
        choices.extend(turn_off(view.model, bay.module));
        let sentence = "The module bay {bay} is on, and it is empty: nothing transmits from it.";
        let facts = [name("bay", bay.module.bay.value.clone())];
        out.find(view.model.head.place(bay.module.header), "empty", sentence, facts)
            .other(handset.head.place(hardware.header), "the handset has nothing in this bay")
            .mend_choices("Turn the bay on that holds the module, and this one off.", choices);
    }
}
