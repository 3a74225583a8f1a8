//! Countries by the names that people give them.

use crate::fleet::problem::nearest;
use crate::radio::regions::RegionCode;
use celes::Country;

/// What people say that stands in no list of countries: the parts of one, and the code that it has beside its own.
const SAID: &[(&str, &str)] = &[("uk", "GB"), ("britain", "GB"), ("wales", "GB")];

/// The code (ISO 3166-1 alpha-2) of a country that is given by its code of two or three letters, or by its name in English.
///
/// # Errors
/// What is accepted, in words, with the name that is nearest.
pub(super) fn code(answer: &str) -> Result<String, String> {
    let plain = bare(answer);
    let said = SAID.iter().find(|(words, _)| *words == plain).map(|(_, code)| (*code).to_owned());
    let code = said.or_else(|| {
        let is_code =
            |country: &Country| [country.alpha2, country.alpha3].iter().any(|it| it.eq_ignore_ascii_case(&plain));
        let by_name = || find(|country| bare(country.long_name) == plain);
        let found = find(is_code).or_else(by_name).or_else(|| Country::from_alias(&plain).ok());
        found.map(|country| country.alpha2.to_owned())
    });
    // The list of codes that a rig file accepts has the last word.
    let code = code.filter(|code| RegionCode::parse(code).is_some());
    code.ok_or_else(|| {
        let near = near(answer).map_or(String::new(), |near| format!("; the nearest is {near}"));
        format!(
            "ISO 3166-1 has no such country{near}; answer its name in English, or its two letters, such as New Zealand or NZ"
        )
    })
}

/// The first country of which something holds.
fn find(holds: impl Fn(&Country) -> bool) -> Option<Country> {
    Country::get_countries().into_iter().find(holds)
}

/// A name without spaces, signs, capitals and the "the" that may lead it.
fn bare(name: &str) -> String {
    let plain: String = name.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect();
    plain.strip_prefix("the").map(str::to_owned).unwrap_or(plain)
}

/// The name of a country by its code of two letters.
pub(super) fn name(code: &str) -> Option<&'static str> {
    let country = find(|country| country.alpha2.eq_ignore_ascii_case(code))?;
    Some(country.long_name.strip_prefix("The ").unwrap_or(country.long_name))
}

/// The country whose name is nearest to what was written, where one is near enough to be meant.
fn near(answer: &str) -> Option<&'static str> {
    let countries = Country::get_countries();
    let names: Vec<&'static str> = countries.iter().filter_map(|country| name(country.alpha2)).collect();
    let small: Vec<String> = names.iter().map(|name| name.to_lowercase()).collect();
    let near = nearest(&answer.to_lowercase(), small.iter().map(String::as_str))?;
    let at = small.iter().position(|name| name == near)?;
    names.get(at).copied()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::radio::regions::country_codes;

    #[test]
    fn a_country_is_known_by_its_codes_and_its_names() {
        for (said, is) in [
            ("DE", "DE"),
            ("de", "DE"),
            ("DEU", "DE"),
            ("Germany", "DE"),
            ("germany", "DE"),
            ("UK", "GB"),
            ("gb", "GB"),
            ("United Kingdom", "GB"),
            ("the united kingdom", "GB"),
            ("Great Britain", "GB"),
            ("England", "GB"),
            ("Wales", "GB"),
            ("USA", "US"),
            ("U.S.A.", "US"),
            ("United States", "US"),
            ("The United States of America", "US"),
            ("netherlands", "NL"),
            ("The Netherlands", "NL"),
            ("Holland", "NL"),
            ("New Zealand", "NZ"),
            ("new-zealand", "NZ"),
            ("South Korea", "KR"),
            ("Czech Republic", "CZ"),
            ("Czechia", "CZ"),
            ("Turkey", "TR"),
            ("Türkiye", "TR"),
            ("Samoa", "WS"),
            ("American Samoa", "AS"),
            ("Niger", "NE"),
            ("Nigeria", "NG"),
            ("Guinea", "GN"),
            ("Dominica", "DM"),
            ("Dominican Republic", "DO"),
            ("Switzerland", "CH"),
            ("Austria", "AT"),
            ("Australia", "AU"),
            ("Ireland", "IE"),
            ("Georgia", "GE"),
        ] {
            assert_eq!(code(said).as_deref(), Ok(is), "{said}");
        }
    }

    #[test]
    fn what_is_no_country_is_refused_with_the_nearest() {
        assert!(code("Germny").unwrap_err().contains("the nearest is Germany"));
        for answer in ["", "XX", "Europe", "EU", "north", "zzz", "1"] {
            assert!(code(answer).unwrap_err().contains("answer its name in English"), "{answer}");
        }
    }

    /// Every code that a rig file accepts is known here by itself and by the name that it has here.
    #[test]
    fn every_country_has_a_name_that_leads_back_to_it() {
        let codes: Vec<String> = country_codes().iter().map(|code| code.to_string()).collect();
        assert_eq!(codes.len(), 249);
        for known in &codes {
            assert_eq!(code(known).as_ref(), Ok(known));
            let name = name(known).unwrap_or_default();
            assert_eq!(code(name).as_ref(), Ok(known), "{name}");
        }
    }
}
