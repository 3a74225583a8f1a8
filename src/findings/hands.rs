//! The sticks of a handset in words: which hand, and which way. On a pistol grip there are a trigger and a wheel.
//!
//! `stick-mode` says which function is on which stick (the modes 1 to 4 of the trade, common practice, no source); where it is not stated
//! a function is called by its name alone.

use crate::fleet::words::{Grip, Hands, Stick};
use crate::signal::{Rational64, whole};

/// What a pilot calls the stick of a function: the throttle stick, or the trigger.
pub const fn called(grip: Grip, stick: Stick) -> &'static str {
    match (grip, stick) {
        (Grip::Pistol, Stick::Throttle) => "trigger",
        (Grip::Pistol, Stick::Yaw) => "wheel",
        (_, Stick::Roll) => "roll stick",
        (_, Stick::Pitch) => "pitch stick",
        (_, Stick::Throttle) => "throttle stick",
        (_, Stick::Yaw) => "yaw stick",
    }
}

/// The throttle at the end where it gives least: the throttle stick at its lowest, or the trigger pushed all the way.
pub const fn lowest(grip: Grip) -> &'static str {
    match grip {
        Grip::Sticks => "throttle stick at its lowest",
        Grip::Pistol => "trigger pushed all the way",
    }
}

/// What the hand does that moves a stick to the right, or away from the pilot.
pub const fn right_or_away(grip: Grip, stick: Stick) -> &'static str {
    match (grip, stick) {
        (Grip::Pistol, Stick::Throttle) => "pulling the trigger",
        (Grip::Pistol, Stick::Yaw) => "turning the wheel to the right",
        (_, Stick::Roll) => "the roll stick to the right",
        (_, Stick::Pitch) => "the pitch stick away from you",
        (_, Stick::Throttle) => "the throttle stick up",
        (_, Stick::Yaw) => "the yaw stick to the right",
    }
}

/// What a pilot calls the two ends of a stick, a knob or a slider: the lower or left one first.
pub fn ends(grip: Grip, control: &str) -> [&'static str; 2] {
    match (grip, grip.stick(control)) {
        (Grip::Pistol, Some(Stick::Throttle)) => ["pushed", "pulled"],
        (_, Some(Stick::Roll | Stick::Yaw)) => ["left", "right"],
        (_, Some(Stick::Pitch)) => ["towards you", "away from you"],
        (_, Some(Stick::Throttle)) => ["down", "up"],
        (_, None) => ["low", "high"],
    }
}

/// Where a hand has a stick that stands at so many percent: "left stick all the way up", "trigger let go". `None` for what is no stick,
/// and where it is not stated on which side it is.
pub fn at(hands: Hands, control: &str, percent: Rational64) -> Option<String> {
    let stick = hands.grip.stick(control)?;
    let (zero, full) = (whole(0), whole(100));
    let rises = percent > zero;
    let size = if rises { percent } else { percent.negate() };
    let (is_full, is_centred) = (size >= full, size == zero);
    let share = || format!("{:.0}", size.near());
    Some(match (hands.grip, stick) {
        (Grip::Pistol, _) if is_centred => "let go".to_owned(),
        (Grip::Pistol, Stick::Throttle) => pulled(if rises { "pulled" } else { "pushed" }, is_full, share()),
        (Grip::Pistol, _) => {
            let way = if rises { "right" } else { "left" };
            match is_full {
                true => format!("turned all the way {way}"),
                false => format!("turned {} % {way}", share()),
            }
        }
        (Grip::Sticks, _) => {
            let side = side(hands.mode?, stick)?;
            let upright = matches!(stick, Stick::Pitch | Stick::Throttle);
            let (way, off) = match (upright, rises) {
                (true, true) => ("up", "above"),
                (true, false) => ("down", "below"),
                (false, true) => ("right", "right of"),
                (false, false) => ("left", "left of"),
            };
            match (is_centred, is_full) {
                (true, _) => format!("{side} stick in its middle"),
                (false, true) => format!("{side} stick all the way {way}"),
                (false, false) => format!("{side} stick {} % {off} its middle", share()),
            }
        }
    })
}

fn pulled(how: &str, is_full: bool, share: String) -> String {
    if is_full { format!("{how} all the way") } else { format!("{how} {share} %") }
}

/// The side of a stick: pitch and yaw are on the left in mode 1, throttle and yaw in mode 2; modes 3 and 4 are these two with the sides
/// exchanged.
pub const fn side(mode: u8, stick: Stick) -> Option<&'static str> {
    Some(match (mode, stick) {
        (1, Stick::Pitch | Stick::Yaw) | (2, Stick::Throttle | Stick::Yaw) => "left",
        (3, Stick::Pitch | Stick::Roll) | (4, Stick::Throttle | Stick::Roll) => "left",
        (1..=4, _) => "right",
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    const fn hands(mode: u8) -> Hands {
        Hands { grip: Grip::Sticks, mode: Some(mode) }
    }

    // The four stick modes are common practice, no source.
    #[test]
    fn each_mode_has_its_hands() {
        for (mode, roll, pitch, throttle, yaw) in [
            (1, "right", "left", "right", "left"),
            (2, "right", "right", "left", "left"),
            (3, "left", "left", "right", "right"),
            (4, "left", "right", "left", "right"),
        ] {
            for (control, side, way) in
                [("roll", roll, "right"), ("pitch", pitch, "up"), ("throttle", throttle, "up"), ("yaw", yaw, "right")]
            {
                let words = format!("{side} stick all the way {way}");
                assert_eq!(at(hands(mode), control, whole(100)), Some(words), "mode {mode} {control}");
            }
        }
    }

    #[test]
    fn part_of_a_way_and_the_middle() {
        let third = Rational64::new(-100, 3).unwrap();
        for (control, percent, words) in [
            ("throttle", whole(-100), "left stick all the way down"),
            ("throttle", whole(-30), "left stick 30 % below its middle"),
            ("pitch", whole(0), "right stick in its middle"),
            ("roll", third, "right stick 33 % left of its middle"),
        ] {
            assert_eq!(at(hands(2), control, percent).as_deref(), Some(words));
        }
        let pistol = Hands { grip: Grip::Pistol, mode: Some(2) };
        for (control, percent, words) in [
            ("trigger", whole(100), "pulled all the way"),
            ("trigger", whole(-40), "pushed 40 %"),
            ("trigger", whole(0), "let go"),
            ("wheel", whole(-100), "turned all the way left"),
            ("wheel", whole(25), "turned 25 % right"),
        ] {
            assert_eq!(at(pistol, control, percent).as_deref(), Some(words));
        }
    }

    #[test]
    fn what_is_not_stated_has_no_side() {
        assert_eq!(at(Hands::default(), "throttle", whole(100)), None);
        assert_eq!(at(hands(2), "dial", whole(100)), None);
        assert_eq!(at(hands(2), "trigger", whole(100)), None);
    }
}
