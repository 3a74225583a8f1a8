//! The rules of this repository or club.

rules_of!(house);
