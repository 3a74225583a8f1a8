//! The name that was probably meant.

/// The one of `names` that is nearest to `name` in letters, if it is near enough to be a slip: at most one letter in
/// three differs, two neighbours that changed places counting as one. Of equally near ones the first.
pub fn nearest<'n>(name: &str, names: impl IntoIterator<Item = &'n str>) -> Option<&'n str> {
    let longest = 1 + name.chars().count() / 3;
    // A name far longer than any that is known is no slip, and comparing it would take long.
    if name.len() > 200 {
        return None;
    }
    names
        .into_iter()
        .map(|known| (strsim::osa_distance(name, known), known))
        .filter(|&(distance, _)| distance <= longest)
        .min_by_key(|&(distance, _)| distance)
        .map(|(_, known)| known)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slips_and_other_words() {
        let names = ["arming/momentary", "arming/slow", "modes/stuck", "exclude"];
        for (name, meant) in [
            ("arming/momentry", Some("arming/momentary")),
            ("amring/slow", Some("arming/slow")),
            ("excludes", Some("exclude")),
            ("throttle/jump", None),
            ("", None),
        ] {
            assert_eq!(nearest(name, names), meant, "{name}");
        }
        assert_eq!(nearest(&"x".repeat(100_000), names), None);
    }
}
