//! Addresses of files (RFC 8089), and paths.

use crate::report::sarif;
use std::path::{Path, PathBuf};

/// The path that an address of a file stands for; `None` for one of anything else.
pub(super) fn path_of(address: &str) -> Option<PathBuf> {
    let rest = address.strip_prefix("file://")?;
    // An authority is the own machine: `localhost`, or nothing.
    let path = rest.strip_prefix("localhost").unwrap_or(rest);
    if !path.starts_with('/') {
        return None;
    }
    let path = path.split(['?', '#']).next().unwrap_or_default();
    let decoded = decoded(path)?;
    // `/C:/folder` is a path with a drive.
    let drive = cfg!(windows) && decoded.as_bytes().get(2) == Some(&b':');
    Some(PathBuf::from(if drive { decoded.get(1..)? } else { decoded.as_str() }))
}

/// The address of a file.
pub(super) fn of_path(path: &Path) -> String {
    sarif::address(&crate::settings::disk::shown(path, Path::new("")))
}

/// A text with its `%xx` put back.
fn decoded(text: &str) -> Option<String> {
    let mut bytes = Vec::with_capacity(text.len());
    let mut rest = text.bytes();
    while let Some(byte) = rest.next() {
        bytes.push(match byte {
            b'%' => {
                let mut digit = || char::from(rest.next()?).to_digit(16);
                (digit()? * 16 + digit()?) as u8
            }
            other => other,
        });
    }
    String::from_utf8(bytes).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addresses_and_paths() {
        for path in ["/home/a/my fleet/dunlin.rig", "/é🪶/%41#?/a:b.rig"] {
            assert_eq!(path_of(&of_path(Path::new(path))).as_deref(), Some(Path::new(path)), "{path}");
        }
        assert_eq!(of_path(Path::new("/a b/c.rig")), "file:///a%20b/c.rig");
        assert_eq!(path_of("file://localhost/a/b.rig"), Some(PathBuf::from("/a/b.rig")));
        for none in ["untitled:Untitled-1", "file://other/a", "file:///%zz", "file:///%4", "", "http://a/b"] {
            assert_eq!(path_of(none), None, "{none}");
        }
    }
}
