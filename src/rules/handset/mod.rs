//! Rules about the handset itself.

pub(super) mod copied_model;
pub(super) mod name_alike;
pub(super) mod stick_filter;
pub(super) mod trainer;
pub(super) mod trainer_stays;
