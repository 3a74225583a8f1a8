//! Codes of regions and of regulatory domains.

use serde::{Deserialize, Deserializer, de::Error as _};
use std::fmt;
use std::sync::OnceLock;

/// Where radio is used: an ISO 3166-1 alpha-2 code, or `EU` for the rules that the members of the European Union and
/// of the European Free Trade Association share.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct RegionCode([u8; 2]);

impl RegionCode {
    /// The shared rules of Europe. ISO 3166-1 reserves this code without assigning it.
    pub const EU: Self = Self(*b"EU");

    /// Reads two capital letters. `None` where ISO 3166-1 has no such code and it isn't `EU`.
    pub fn parse(text: &str) -> Option<Self> {
        let code = Self(text.as_bytes().try_into().ok()?);
        (code == Self::EU || country_codes().binary_search(&code).is_ok()).then_some(code)
    }

    /// Whether these are the two letters.
    pub fn is(&self, text: &str) -> bool {
        text.as_bytes() == self.0
    }

    /// The two letters.
    pub fn as_str(&self) -> &str {
        std::str::from_utf8(&self.0).unwrap_or_default()
    }
}

impl fmt::Display for RegionCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

impl fmt::Debug for RegionCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

impl<'de> Deserialize<'de> for RegionCode {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        Self::parse(&text).ok_or_else(|| D::Error::custom(format!("{text:?} is no code of ISO 3166-1 and not EU")))
    }
}

/// The codes of ISO 3166-1 in alphabetical order, from `rules/regions/iso-3166-1.toml`.
pub fn country_codes() -> &'static [RegionCode] {
    static CODES: OnceLock<Vec<RegionCode>> = OnceLock::new();
    CODES.get_or_init(|| {
        let text = include_str!("../../../rules/regions/iso-3166-1.toml");
        // The file is part of the program and a test counts its codes, so a list that does not read is only empty.
        let list = toml::from_str::<List>(text).map(|list| list.codes).unwrap_or_default();
        let mut codes: Vec<_> =
            list.split_whitespace().filter_map(|code| Some(RegionCode(code.as_bytes().try_into().ok()?))).collect();
        codes.sort_unstable();
        codes
    })
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct List {
    #[expect(dead_code, reason = "the source is for the reader of the file")]
    source: String,
    codes: String,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_list_is_whole() {
        // Source: Debian iso-codes 4.15.0, 249 entries.
        assert_eq!(country_codes().len(), 249);
        assert!(country_codes().windows(2).all(|pair| pair[0] < pair[1]), "sorted, each once");
        assert!(country_codes().iter().all(|code| code.0.iter().all(u8::is_ascii_uppercase)));
    }

    #[test]
    fn reading_a_code() {
        assert_eq!(RegionCode::parse("AU").unwrap().as_str(), "AU");
        assert_eq!(RegionCode::parse("EU"), Some(RegionCode::EU));
        for wrong in ["", "A", "AUS", "au", "XX", "UK", "é", "any"] {
            assert_eq!(RegionCode::parse(wrong), None, "{wrong}");
        }
    }
}
