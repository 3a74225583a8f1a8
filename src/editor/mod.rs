//! `walkaround editor`: what an editor asks for while a pilot writes, over the one [`crate::inspect::Workspace`].
//!
//! | file | holds |
//! |---|---|
//! | `encoding` | how an editor counts columns |
//! | `address` | addresses of files, and paths |
//! | `client` | what the editor at the other end can do |
//! | `folder` | [`Loaded`]: a folder as `inspect` reads it; a folder with the texts that are open laid over it |
//! | `text` | a text with its statements, and what stands at a byte |
//! | `diagnostics` | findings as an editor shows them |
//! | `actions` | mends, waivers, all sure mends at once, changes of texts |
//! | `names` | names over all files: where they are defined, used, and what they are called afterwards |
//! | `hover` | what is told about the thing under the cursor |
//! | `outline` | symbols, what folds, what can be selected |
//! | `completion` | what may be typed next, tried before it is offered |
//! | `tokens` | what each word is, for colours |
//! | `hints` | pulses and what is inherited between the lines, verdicts over models |
//! | `server` | the one loop: messages in, messages out |
//!
//! Nothing here touches the disk, the clock or a thread: what is on the disk is given by a function ([`Load`]), and messages
//! come and go over a pair of channels. Nothing is written; what changes a text is handed to the editor.

mod actions;
mod address;
mod client;
mod completion;
mod diagnostics;
mod encoding;
mod folder;
mod hints;
mod hover;
mod names;
mod outline;
mod server;
mod text;
mod tokens;

pub use folder::{Load, Loaded, Noted, Spread, Takes, Text};
pub use server::serve;
