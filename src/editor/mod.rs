//! `walkaround editor`: what an editor asks for while a pilot writes, over the one [`crate::inspect::Workspace`].
//!
//! | file | holds |
//! |---|---|
//! | `encoding` | how an editor counts columns |
//! | `address` | addresses of files, and paths |
//! | `client` | what the editor at the other end can do |
//! | `folder` | [`Loaded`]: a folder as `inspect` reads it; a folder with the texts that are open laid over it |
//! | `diagnostics` | findings as an editor shows them |
//! | `server` | the one loop: messages in, messages out |
//!
//! Nothing here touches the disk, the clock or a thread: what is on the disk is given by a function ([`Load`]), and messages
//! come and go over a pair of channels. Nothing is written; what changes a text is handed to the editor.

mod address;
mod client;
mod diagnostics;
mod encoding;
mod folder;
mod server;

pub use folder::{Load, Loaded, Noted, Spread, Takes, Text};
pub use server::serve;
