//! Rules about the handset itself.

rules_of!(handset);
