//! The forms in which findings leave the program.
