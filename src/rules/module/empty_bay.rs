//! `module/empty-bay`: a bay is on, and nothing is in it.

use super::{swap, turn_off, would_serve};
use crate::fleet::craft::Craft;
use crate::rules::out::Out;
use crate::setup::ModelSetup;

pub(in crate::rules) fn check(view: &ModelSetup<'_>, out: &mut Out<'_>) {
    let crafts: Vec<&Craft> = view.setups.iter().map(|setup| setup.craft).collect();
    for bay in &view.bays {
        let Some(hardware) = bay.hardware.filter(|hardware| hardware.empty) else { continue };
        let Some(handset) = view.handset else { continue };
        let serving = would_serve(view, &crafts);
        let mut choices: Vec<_> = serving.iter().map(|other| swap(view.model, bay.module, other)).collect();
        choices.extend(turn_off(view.model, bay.module));
        let message =
            format!("The module bay \"{}\" is on, and it is empty: nothing transmits from it.", bay.module.bay.value);
        out.find_text(view.model.head.place(bay.module.header), message)
            .other(handset.head.place(hardware.header), "the handset has nothing in this bay")
            .mend_choices("Turn the bay on that holds the module, and this one off.", choices);
    }
}
