//! The language server, asked by a client in the same process.

mod client;
mod diagnostics;
mod life;
