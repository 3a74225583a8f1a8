//! A model's bays, with what its handset has in them.

use crate::fleet::Fleet;
use crate::fleet::equipment::{Handset, HandsetModule, Link};
use crate::fleet::model::{Model, ModelModule};

/// A bay of a model, mostly one that is on, with what is in it.
#[derive(Clone, Copy, Debug)]
pub struct Bay<'f> {
    /// The model's settings.
    pub module: &'f ModelModule,
    /// What the handset has in it; `None` where the handset has no such bay.
    pub hardware: Option<&'f HandsetModule>,
    /// Its link, where it is stated and defined.
    pub link: Option<&'f Link>,
}

/// The bays that a model has on, for those who need no more of it. `handset` is the model's.
pub fn bays<'f>(fleet: &'f Fleet, model: &'f Model, handset: Option<&'f Handset>) -> impl Iterator<Item = Bay<'f>> {
    model.modules_on().map(move |module| bay(fleet, module, handset))
}

/// A bay of a model, whether it is on or off, with what is in it. `handset` is the model's.
pub(super) fn bay<'f>(fleet: &'f Fleet, module: &'f ModelModule, handset: Option<&'f Handset>) -> Bay<'f> {
    let hardware = handset.and_then(|handset| handset.module(&module.bay.value));
    let link = hardware.and_then(|hardware| fleet.link(&hardware.link.as_ref()?.value));
    Bay { module, hardware, link }
}

/// The handset of a model, where it is defined.
pub fn handset_of<'f>(fleet: &'f Fleet, model: &Model) -> Option<&'f Handset> {
    model.handset.as_ref().and_then(|name| fleet.handset(&name.value))
}
