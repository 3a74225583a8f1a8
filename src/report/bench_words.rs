//! How a rule shows on the bench, in the words of what a finding is about.
//!
//! The book speaks of propellers and sticks, as most pilots have them. Where a finding is about no aircraft that has propellers, the
//! caution at the start of the text is the one that fits; where all that is about is steered with a wheel and a trigger, so are the
//! movements.

use super::paragraphs::flat;
use super::witness::capital;
use crate::findings::Finding;
use crate::findings::caution::Caution;
use crate::fleet::words::Grip;
use crate::rules::book::RuleDoc;

/// The text of a rule's page for a finding, in one paragraph.
pub(super) fn bench_words(doc: &RuleDoc, finding: &Finding) -> String {
    let text = cautioned(&flat(doc.bench), &finding.cautions);
    match finding.grip {
        Grip::Sticks => text,
        Grip::Pistol => in_one_hand(&text),
    }
}

/// How the book begins where propellers have to come off; the longest stands first.
const PROPELLERS: [&str; 6] = [
    "Take the propeller off, or unplug the motor",
    "Take the propeller off or lift the wheels",
    "Take the propellers off",
    "Take the propeller off",
    "Propellers off",
    "Propeller off",
];

/// The text with the cautions of what it is about, where that has no propellers.
fn cautioned(text: &str, cautions: &[Caution]) -> String {
    let rest = PROPELLERS.iter().find_map(|start| text.strip_prefix(start));
    let Some(rest) = rest.filter(|_| !cautions.is_empty() && !cautions.contains(&Caution::Propellers)) else {
        return text.to_owned();
    };
    let cautions: Vec<&str> = cautions.iter().map(|caution| caution.words()).collect();
    let cautions = cautions.join(" ");
    // What the book says behind a comma is a sentence of its own behind a longer caution.
    let next = [", and ", ", ", " and ", ". "].iter().find_map(|joint| rest.strip_prefix(joint));
    match next {
        Some(next) => format!("{cautions} {}", capital(next)),
        None => format!("{}{rest}", cautions.trim_end_matches('.')),
    }
}

/// What two hands do at their sticks, and what the same is with a wheel and a trigger; what holds another stands before it.
const IN_ONE_HAND: [(&str, &str); 44] = [
    ("Raise the throttle stick to the middle", "Pull the trigger half-way"),
    ("raise the throttle stick to the middle", "pull the trigger half-way"),
    ("Raise the throttle stick", "Pull the trigger"),
    ("raise the throttle stick", "pull the trigger"),
    ("Pull the throttle stick all the way down", "Push the trigger all the way"),
    ("Pull the throttle all the way down", "Push the trigger all the way"),
    ("Move the throttle stick slowly from the bottom to the top", "Move the trigger slowly from pushed to pulled"),
    ("the throttle stick down", "the trigger pushed"),
    ("throttle stick", "trigger"),
    ("raise the throttle to about a quarter", "pull the trigger about a quarter"),
    ("set the throttle to about a quarter", "pull the trigger about a quarter"),
    (
        "Put the stick in the middle and move yaw to the right",
        "Pull the trigger half-way and turn the wheel to the right",
    ),
    ("with the stick held low, then let the stick go", "with the trigger pushed, then let it go"),
    ("instead of the bottom", "instead of its lowest"),
    ("half stick", "half trigger"),
    ("move the left stick up and down", "pull and push the trigger"),
    ("the roll stick moves the ailerons, the pitch stick the elevator, the yaw stick the rudder", "the wheel steers"),
    (
        "Stick right: the right aileron goes up, the left one down. Stick towards you: the elevator goes up. Yaw stick right: \
         the rudder goes right.",
        "Wheel right: what steers goes right.",
    ),
    ("roll stick", "wheel"),
    ("rudder stick", "wheel"),
    ("yaw stick", "wheel"),
    ("channel must follow the stick", "channel must follow the wheel"),
    ("channel follows the stick", "channel follows the wheel"),
    ("when you move the stick", "when you turn the wheel"),
    ("roll channel", "steering channel"),
    ("Hold the stick to the right", "Hold the wheel to the right"),
    ("each of the four stick directions to its ends", "the wheel and the trigger to both their ends"),
    ("one stick direction at a time to its end", "the wheel and then the trigger to the end"),
    ("every stick and switch", "the wheel, the trigger and every switch"),
    ("the sticks and switches", "the wheel, the trigger and the switches"),
    ("the stick and the switches", "the wheel, the trigger and the switches"),
    ("sticks and switches", "wheel, trigger and switches"),
    ("one stick at a time", "the wheel, and then the trigger"),
    ("answers to its own stick", "answers to its own control"),
    ("who has the sticks", "who steers"),
    ("instructor's stick counts", "instructor's wheel counts"),
    ("all sticks", "the wheel and the trigger"),
    ("every stick", "the wheel and the trigger"),
    ("each stick alone", "the wheel and the trigger, each alone,"),
    ("each stick", "the wheel and the trigger"),
    ("the sticks", "the wheel and the trigger"),
    ("the stick or the lever", "the wheel, the trigger or the lever"),
    ("the stick", "the wheel or the trigger"),
    ("a stick", "the wheel or the trigger"),
];

/// The text for a handset with a wheel and a trigger.
fn in_one_hand(text: &str) -> String {
    // Where a line of the book ends means nothing.
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    IN_ONE_HAND.iter().fold(text, |text, (sticks, pistol)| text.replace(sticks, pistol))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fleet::words::CraftKind;
    use crate::rules::book::BOOK;

    /// The rules that may be about a kind of craft.
    fn about(kind: CraftKind) -> impl Iterator<Item = &'static RuleDoc> {
        BOOK.iter().filter(move |rule| {
            let (kinds, not) = (rule.applies.kinds, rule.applies.not_kinds);
            (kinds.is_empty() || kinds.contains(&kind.word())) && !not.contains(&kind.word())
        })
    }

    #[test]
    fn no_text_speaks_of_propellers_to_what_has_none() {
        for caution in [Caution::Wheels, Caution::Servos] {
            let mut fitted = 0;
            for rule in about(CraftKind::Car).filter(|rule| rule.id != "throttle/ignition") {
                let text = cautioned(&flat(rule.bench), &[caution]);
                assert!(!text.contains("ropeller"), "{}: {text}", rule.id);
                fitted += usize::from(text.starts_with(caution.words().trim_end_matches('.')));
            }
            assert!(fitted > 100, "{fitted}");
        }
        for rule in BOOK {
            let text = flat(rule.bench);
            assert_eq!(cautioned(&text, &[Caution::Propellers]), text);
            assert_eq!(cautioned(&text, &[Caution::Propellers, Caution::Wheels]), text);
        }
    }

    #[test]
    fn what_follows_a_caution_stays_a_sentence() {
        let wheels = |text: &str| cautioned(text, &[Caution::Wheels]);
        for (book, words) in [
            ("Take the propellers off. Move it.", "Wheels off the ground. Move it."),
            (
                "Propellers off, the aircraft held down. Move it.",
                "Wheels off the ground. The aircraft held down. Move it.",
            ),
            ("Take the propellers off and check it by hand:", "Wheels off the ground. Check it by hand:"),
            ("Propellers off on both. Move it.", "Wheels off the ground on both. Move it."),
            ("The aircraft is not needed.", "The aircraft is not needed."),
        ] {
            assert_eq!(wheels(book), words);
        }
    }

    #[test]
    fn no_text_speaks_of_sticks_to_a_hand_that_has_none() {
        let mut turned = 0;
        for rule in about(CraftKind::Car) {
            let text = in_one_hand(&flat(rule.bench)).replace("arms by sticks", "");
            let words = text.split(|letter: char| !letter.is_alphabetic()).map(str::to_lowercase);
            words.for_each(|word| assert!(word != "stick" && word != "sticks", "{}: {text}", rule.id));
            turned += usize::from(text.contains("wheel") || text.contains("trigger"));
        }
        assert!(turned > 40, "{turned}");
        for (sticks, _) in IN_ONE_HAND {
            let is_there =
                |rule: &RuleDoc| flat(rule.bench).split_whitespace().collect::<Vec<_>>().join(" ").contains(sticks);
            assert!(BOOK.iter().any(is_there), "no rule says {sticks}");
        }
    }
}
