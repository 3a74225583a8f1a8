//! The live bench with the texts of a folder in it.

use super::super::json::to_writer;
use serde_json::{Value, json};
use std::io::{self, Write};
use std::sync::Arc;

/// Where the page has room for the texts of a folder.
const ROOM: &str = "<script type=\"application/json\" id=\"folder\">null</script>";

/// Writes the page with the texts of a folder, by name, in the place of those that it shows first.
///
/// # Errors
/// When `out` can't be written to, and when the page has no room for texts.
pub fn write(page: &str, texts: &[(String, Arc<[u8]>)], out: &mut dyn Write) -> io::Result<()> {
    let (before, after) = page.split_once(ROOM).ok_or_else(|| io::Error::other("the page has no room for texts"))?;
    // What is no text is written as numbers, so that the page finds wrong with it what there is wrong.
    let value = |text: &[u8]| std::str::from_utf8(text).map_or_else(|_| json!(text), |text| json!(text));
    let texts: serde_json::Map<String, Value> = texts.iter().map(|(name, text)| (name.clone(), value(text))).collect();
    let mut json = Vec::new();
    to_writer(&texts, &mut json)?;
    // A browser ends a script at the first `</script`, and looks for it before it looks at quotes.
    let json = String::from_utf8_lossy(&json).trim_end().replace('<', "\\u003c");
    write!(out, "{before}<script type=\"application/json\" id=\"folder\">{json}</script>{after}")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(texts: &[(&str, &[u8])]) -> String {
        let texts: Vec<(String, Arc<[u8]>)> =
            texts.iter().map(|(name, text)| ((*name).to_owned(), (*text).into())).collect();
        let mut out = Vec::new();
        write(&format!("<p>before</p>{ROOM}<p>after</p>"), &texts, &mut out).unwrap();
        String::from_utf8(out).unwrap()
    }

    #[test]
    fn what_is_written_is_read_again_and_ends_no_script() {
        let hostile = "rig 1 # </script><script>alert(1)</script> <!-- \u{202e}\0\u{7f} \"\\ é\r\n";
        let page = written(&[("a</script>.rig", hostile.as_bytes()), ("b.rig", b"rig 1 \xff")]);
        let inside = page.strip_prefix("<p>before</p><script type=\"application/json\" id=\"folder\">").unwrap();
        let inside = inside.strip_suffix("</script><p>after</p>").unwrap();
        assert!(!inside.contains('<'));
        let read: Value = serde_json::from_str(inside).unwrap();
        assert_eq!(read, json!({"a</script>.rig": hostile, "b.rig": b"rig 1 \xff"}));
    }

    #[test]
    fn a_page_without_room_is_refused() {
        assert!(write("<p></p>", &[], &mut Vec::new()).is_err());
    }
}
