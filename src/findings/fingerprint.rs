//! Numbers by which a finding is known again after the file was edited.
//!
//! A fingerprint is made of the rule, of its key, of the words around the place (the block headers and the statement, which the
//! caller names), of the aircraft, and of a count among findings that are alike in all of these. So it survives edits elsewhere,
//! lines that move, numbers that change, and every other wording of what is said.

use super::{Finding, fact};
use rustc_hash::FxHashMap;

/// What a finding is known by before those that are alike are counted. `context` names the words around its place, from the
/// outermost block header to the statement, such as `model "dunlin race" / channel 7`; places of one statement must have one.
pub fn gist(finding: &Finding, context: &str) -> u64 {
    let mut hash = Fnv::new();
    hash.part(finding.rule.as_bytes());
    hash.part(context.as_bytes());
    hash.part(finding.key.as_bytes());
    hash.0
}

/// Gives every finding its fingerprint; `gists` holds that of each.
///
/// The result does not depend on the order of `findings`, and not on their severity.
pub fn assign(findings: &mut [Finding], gists: &[u64]) {
    let mut in_place_order: Vec<usize> = (0..findings.len()).collect();
    in_place_order.sort_by(|&left, &right| {
        let key = |index: usize| (findings[index].place, &findings[index].aircraft);
        key(left).cmp(&key(right)).then_with(|| fact::compare(&findings[left].facts, &findings[right].facts))
    });
    let mut alike: FxHashMap<u64, u32> = FxHashMap::default();
    for index in in_place_order {
        let mut hash = Fnv(gists.get(index).copied().unwrap_or_default());
        findings[index].aircraft.iter().for_each(|name| hash.part(name.as_bytes()));
        let ordinal = alike.entry(hash.0).or_default();
        hash.part(&ordinal.to_le_bytes());
        *ordinal += 1;
        // Zero stands for a finding that has none yet.
        findings[index].fingerprint = hash.0.max(1);
    }
}

/// A fingerprint as every output writes it: sixteen hexadecimal digits.
pub fn written(fingerprint: u64) -> String {
    format!("{fingerprint:016x}")
}

/// FNV-1a with 64 bits, by G. Fowler, L. C. Noll and K.-P. Vo. Its value is the same on every machine and in every
/// version of the program, which the standard library's hashes do not promise.
struct Fnv(u64);

impl Fnv {
    const fn new() -> Self {
        Self(0xcbf2_9ce4_8422_2325)
    }

    fn bytes(&mut self, bytes: &[u8]) {
        for &byte in bytes {
            self.0 = (self.0 ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3);
        }
    }

    /// The bytes of one part and an end mark, so that `ab` + `c` differs from `a` + `bc`.
    fn part(&mut self, bytes: &[u8]) {
        self.bytes(bytes);
        self.bytes(&[0xff]);
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::finding;
    use super::*;
    use crate::source::Place;

    // Check values: IETF draft-eastlake-fnv-19, section "Test values".
    #[test]
    fn the_hash_is_the_published_one() {
        for (text, value) in
            [("", 0xcbf2_9ce4_8422_2325), ("a", 0xaf63_dc4c_8601_ec8c), ("foobar", 0x8594_4171_f739_67e8)]
        {
            let mut hash = Fnv::new();
            hash.bytes(text.as_bytes());
            assert_eq!(hash.0, value, "{text}");
        }
    }

    fn prints(findings: &[Finding], context: &dyn Fn(Place) -> String) -> Vec<u64> {
        let mut copy = findings.to_vec();
        let gists: Vec<u64> = findings.iter().map(|finding| gist(finding, &context(finding.place))).collect();
        assign(&mut copy, &gists);
        copy.iter().map(|finding| finding.fingerprint).collect()
    }

    #[test]
    fn survives_moves_numbers_and_names_of_others() {
        let context = |_: Place| "model dunlin / channel 7".to_owned();
        let before = prints(&[finding("arming/slow", 0, 10, "takes 120 ms with \"knot\"")], &context);
        let after = prints(&[finding("arming/slow", 3, 900, "takes 240 ms with \"plover\"")], &context);
        assert_eq!(before, after);
        assert_ne!(before, prints(&[finding("arming/never", 0, 10, "takes 120 ms with \"knot\"")], &context));
        let other_case = Finding { key: "elsewhere", ..finding("arming/slow", 0, 10, "takes 120 ms with \"knot\"") };
        assert_ne!(before, prints(&[other_case], &context));
        let of_knot = Finding { aircraft: vec!["knot".into()], ..finding("arming/slow", 0, 10, "takes 120 ms") };
        assert_ne!(before, prints(&[of_knot], &context));
        assert_eq!(before, prints(&[finding("arming/slow", 0, 10, "said in other words")], &context));
        let elsewhere = |_: Place| "model dunlin / channel 8".to_owned();
        assert_ne!(before, prints(&[finding("arming/slow", 0, 10, "takes 120 ms with \"knot\"")], &elsewhere));
    }

    #[test]
    fn equals_are_counted_in_place_order() {
        let context = |_: Place| "model dunlin".to_owned();
        let (first, second) = (finding("channels/gap", 0, 10, "a gap"), finding("channels/gap", 0, 90, "a gap"));
        let straight = prints(&[first.clone(), second.clone()], &context);
        let turned = prints(&[second, first], &context);
        assert_ne!(straight[0], straight[1]);
        assert_eq!(straight, [turned[1], turned[0]]);
    }
}
