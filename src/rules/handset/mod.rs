//! Rules about the handset itself.

pub(super) mod stick_filter;
