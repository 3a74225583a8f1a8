//! Pages for terminals that know ASCII only.

use std::fmt::Write as _;

/// Whether the locale says that characters outside ASCII can't be shown. Where it says nothing they can: many containers
/// and hooks set none, and what reads their output knows UTF-8.
pub(super) fn only_ascii() -> bool {
    // The order of POSIX, chapter 8.2: the first that is set and not empty counts.
    let locale =
        ["LC_ALL", "LC_CTYPE", "LANG"].into_iter().filter_map(std::env::var_os).find(|value| !value.is_empty());
    locale.is_some_and(|locale| !is_utf8(&locale.to_string_lossy()))
}

/// Whether a locale's name ends in the name of the character set UTF-8.
fn is_utf8(locale: &str) -> bool {
    let charset = locale.split_once('.').map_or("", |(_, charset)| charset.split('@').next().unwrap_or_default());
    charset.eq_ignore_ascii_case("utf-8") || charset.eq_ignore_ascii_case("utf8")
}

/// A page with the program's own signs replaced, and everything else outside ASCII as an escape of the rig language.
pub(super) fn in_ascii(page: &str) -> String {
    let mut shown = String::with_capacity(page.len());
    for character in page.chars() {
        match character {
            _ if character.is_ascii() => shown.push(character),
            '│' | '┆' => shown.push('|'),
            '─' => shown.push('-'),
            '╭' => shown.push(','),
            '╰' | '├' => shown.push('`'),
            '┬' | '┴' | '┼' => shown.push('+'),
            '▲' => shown.push('^'),
            '▶' => shown.push('>'),
            '·' => shown.push(':'),
            '•' | '×' => shown.push('*'),
            '…' => shown.push_str("..."),
            '±' => shown.push_str("+/-"),
            '−' | '–' => shown.push('-'),
            '°' => shown.push_str(" deg"),
            // Writing to a string can't fail.
            _ => {
                let _ = write!(shown, "\\u{{{:x}}}", u32::from(character));
            }
        }
    }
    shown
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn which_locales_know_more_than_ascii() {
        for (locale, utf8) in [
            ("C.UTF-8", true),
            ("de_AT.utf8", true),
            ("ca_ES.UTF-8@valencia", true),
            ("C", false),
            ("POSIX", false),
            ("de_AT.ISO-8859-1", false),
            ("de_AT@euro", false),
        ] {
            assert_eq!(is_utf8(locale), utf8, "{locale}");
        }
    }

    #[test]
    fn nothing_but_ascii_is_left() {
        let page = in_ascii("  ╭─[knöt.rig:4:3]\n  │ · …\n  ╰────\n");
        assert_eq!(page, "  ,-[kn\\u{f6}t.rig:4:3]\n  | : ...\n  `----\n");
    }
}
