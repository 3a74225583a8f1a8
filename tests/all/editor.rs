//! The language server, asked by a client in the same process.

mod client;
mod completion;
mod diagnostics;
mod fixes;
mod life;
mod names;
mod shown;
