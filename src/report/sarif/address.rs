//! Paths as addresses (RFC 3986).

use std::fmt::Write as _;

/// The name under which a reader of the log knows the folder that relative addresses start from (section 3.14.14).
pub(super) const BASE: &str = "%SRCROOT%";

/// Where a file is.
#[derive(serde::Serialize, Clone, PartialEq, Eq, Debug)]
#[serde(rename_all = "camelCase")]
pub(super) struct ArtifactLocation {
    uri: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    uri_base_id: Option<&'static str>,
}

impl ArtifactLocation {
    /// The address of a path with `/` between its folders.
    pub(super) fn of(path: &str) -> Self {
        match full(path, cfg!(windows)) {
            Some(uri) => Self { uri, uri_base_id: None },
            None => Self { uri: encoded(path), uri_base_id: Some(BASE) },
        }
    }
}

/// The address of a path from the top of a file system (RFC 8089); none of another. On Windows that is a drive or, behind two
/// strokes, another machine.
fn full(path: &str, windows: bool) -> Option<String> {
    match path.split_at_checked(2) {
        Some(("//", share)) if windows => {
            let (machine, below) = share.split_once('/').unwrap_or((share, ""));
            Some(format!("file://{}/{}", encoded(machine), encoded(below)))
        }
        Some((drive, below)) if windows && drive.ends_with(':') && below.starts_with('/') => {
            Some(format!("file:///{drive}/{}", encoded(below)))
        }
        _ => path.strip_prefix('/').map(|below| format!("file:///{}", encoded(below))),
    }
}

/// The address of a file by its path, which is absolute and has `/` between its folders.
pub fn address(path: &str) -> String {
    ArtifactLocation::of(path).uri
}

/// A path with all but unreserved characters percent-encoded, without empty segments and those that stay where they
/// are (section 3.10.2). A colon is encoded too: in a first segment it would end a scheme.
fn encoded(path: &str) -> String {
    let mut address = String::with_capacity(path.len());
    for segment in path.split('/').filter(|segment| !matches!(*segment, "" | ".")) {
        if !address.is_empty() {
            address.push('/');
        }
        for byte in segment.bytes() {
            match byte {
                b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' => address.push(char::from(byte)),
                // Writing to a string can't fail.
                _ => {
                    let _ = write!(address, "%{byte:02X}");
                }
            }
        }
    }
    address
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paths_become_addresses() {
        for (path, uri, relative) in [
            ("fleet/knot.rig", "fleet/knot.rig", true),
            ("./fleet//knot.rig", "fleet/knot.rig", true),
            ("two words/é🪶.rig", "two%20words/%C3%A9%F0%9F%AA%B6.rig", true),
            ("a:b%20[1]?#\u{1b}.rig", "a%3Ab%2520%5B1%5D%3F%23%1B.rig", true),
            ("/srv/fleet/a b.rig", "file:///srv/fleet/a%20b.rig", false),
        ] {
            let wanted = ArtifactLocation { uri: uri.to_owned(), uri_base_id: relative.then_some(BASE) };
            assert_eq!(ArtifactLocation::of(path), wanted, "{path}");
        }
    }

    #[test]
    fn drives_and_machines_are_known_on_windows() {
        for (path, uri) in [
            ("C:/fleet/a b.rig", Some("file:///C:/fleet/a%20b.rig")),
            ("//hangar/fleet/knot.rig", Some("file://hangar/fleet/knot.rig")),
            ("fleet/knot.rig", None),
        ] {
            assert_eq!(full(path, true).as_deref(), uri, "{path}");
        }
        assert_eq!(full("C:/fleet/knot.rig", false), None);
    }
}
