//! A witness in the words of the bench: what to move, and what then is sent and arrives.

use super::plain::plain;
use crate::findings::{Setting, Witness, WitnessChannel, hands};
use crate::fleet::Decimal;
use crate::fleet::words::Hands;
use crate::signal::Rational64;
use compact_str::CompactString;

/// How many channels are named at most; a page of readings is for the bench sheet.
const CHANNELS_AT_MOST: usize = 4;

/// A link that changes a pulse by less than this, in microseconds, is not worth a word.
const CLEAR_US: f64 = 5.0;

/// The way to the witness's state and what can be read there: "Start with throttle at -100 %. Put left-rear to middle.
/// Channel 7 is sent 1500 us and arrives as 1000 us." Of the channels those of `named` are told; if it
/// has none of them, those that arrive clearly otherwise than they are sent.
pub fn in_words(witness: &Witness, named: &[u8]) -> String {
    let readings = list(told(witness, named).map(reading));
    match readings.is_empty() {
        true => way(witness),
        false => format!("{} {}.", way(witness), capital(&readings)),
    }
}

/// The way to the witness's state: "Start with throttle at -100 %. Put left-rear to middle."
pub fn way(witness: &Witness) -> String {
    let mut sentences = Vec::new();
    let (start, movements) = witness.path.split_first().map_or((&[][..], &[][..]), |(s, m)| (s.as_slice(), m));
    if !start.is_empty() {
        sentences.push(format!("Start with {}.", list(start.iter().map(|set| standing(witness.hands, set)))));
    }
    // A movement that moves nothing, or the same again, is no step.
    let mut last: &[(CompactString, Setting)] = &[];
    let steps = movements.iter().map(Vec::as_slice).filter(|movement| {
        let is_step = !movement.is_empty() && *movement != last;
        last = if is_step { movement } else { last };
        is_step
    });
    for (number, movement) in steps.enumerate() {
        let then = |first: &str, then: &str| if number == 0 { first.to_owned() } else { then.to_owned() };
        sentences.push(match movement {
            [] => continue,
            [(_, Setting::Wait(seconds))] if *seconds == Decimal::whole(0) => {
                then("Wait a moment.", "Then wait a moment.")
            }
            [(_, Setting::Wait(seconds))] => format!("{} {seconds} s.", then("Wait", "Then wait")),
            all => format!("{} {}.", then("Put", "Then put"), list(all.iter().map(|set| moved(witness.hands, set)))),
        });
    }
    if sentences.is_empty() {
        sentences.push("Leave every control at rest.".to_owned());
    }
    if !witness.trims.is_empty() {
        let trims = witness.trims.iter().map(|(name, percent)| format!("{} to {} %", plain(name), percent.text()));
        sentences.push(format!("Set the trim of {}.", list(trims)));
    }
    sentences.join(" ")
}

/// A number as it is shown: to one tenth, without a needless `.0`.
pub fn number(value: f64) -> String {
    let text = format!("{value:.1}");
    let text = text.strip_suffix(".0").unwrap_or(&text);
    // A tiny negative value rounds to "-0".
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// Where a stick is, in which hand, behind its number: a pilot's hand knows no percent.
fn in_hand(hands: Hands, name: &str, percent: Rational64) -> String {
    hands::at(hands, name, percent).map_or_else(String::new, |words| format!(" ({words})"))
}

pub(super) fn standing(hands: Hands, (name, setting): &(CompactString, Setting)) -> String {
    match setting {
        Setting::Position(position) => format!("{} {}", plain(name), plain(position)),
        Setting::Percent(percent) => {
            format!("{} at {} %{}", plain(name), percent.text(), in_hand(hands, name, *percent))
        }
        Setting::Wait(seconds) => format!("a wait of {seconds} s"),
    }
}

fn moved(hands: Hands, (name, setting): &(CompactString, Setting)) -> String {
    match setting {
        Setting::Position(position) => format!("{} to {}", plain(name), plain(position)),
        Setting::Percent(percent) => {
            format!("{} to {} %{}", plain(name), percent.text(), in_hand(hands, name, *percent))
        }
        Setting::Wait(seconds) => format!("a wait of {seconds} s"),
    }
}

fn reading(channel: &WitnessChannel) -> String {
    let (number_of, sent) = (channel.channel, number(channel.pulse_us));
    match channel.carried_us.map(number) {
        None => format!("channel {number_of} is sent {sent} us, and the link does not carry it"),
        Some(carried) if carried == sent => format!("channel {number_of} arrives as {carried} us"),
        Some(carried) => format!("channel {number_of} is sent {sent} us and arrives as {carried} us"),
    }
}

/// The channels worth naming.
fn told<'w>(witness: &'w Witness, named: &'w [u8]) -> impl Iterator<Item = &'w WitnessChannel> {
    let any_named = witness.channels.iter().any(|channel| named.contains(&channel.channel));
    let worth = move |channel: &&WitnessChannel| match any_named {
        true => named.contains(&channel.channel),
        false => channel.carried_us.is_none_or(|carried| (carried - channel.pulse_us).abs() >= CLEAR_US),
    };
    witness.channels.iter().filter(worth).take(CHANNELS_AT_MOST)
}

/// `a`, `a and b`, `a, b and c`.
pub fn list(items: impl Iterator<Item = String>) -> String {
    let items: Vec<String> = items.collect();
    match items.split_last() {
        Some((last, [])) => last.clone(),
        Some((last, rest)) => format!("{} and {last}", rest.join(", ")),
        None => String::new(),
    }
}

/// The same with a capital at its start.
pub(super) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fleet::words::Grip;
    use crate::signal::whole;

    fn at(name: &str, position: &str) -> (CompactString, Setting) {
        (name.into(), Setting::Position(position.into()))
    }

    fn channel(channel: u8, pulse_us: f64, carried_us: Option<f64>) -> WitnessChannel {
        WitnessChannel { channel, pulse_us, carried_us }
    }

    #[test]
    fn a_path_in_words() {
        let throttle = ("throttle".into(), Setting::Percent(whole(-100)));
        for (path, named, channels, words) in [
            (
                vec![vec![], vec![at("left-rear", "middle")]],
                &[7][..],
                vec![channel(3, 1000.0, Some(1000.0)), channel(7, 1500.0, Some(1000.0))],
                "Put left-rear to middle. Channel 7 is sent 1500 us and arrives as 1000 us.",
            ),
            (
                vec![
                    vec![throttle, at("left-front", "up")],
                    vec![at("left-front", "down")],
                    vec![at("shoulder", "up")],
                ],
                &[],
                vec![channel(3, 1000.04, Some(1000.0)), channel(7, 1333.333, Some(1300.0)), channel(12, 1500.0, None)],
                "Start with throttle at -100 % and left-front up. Put left-front to down. Then put shoulder to up. Channel 7 \
                 is sent 1333.3 us and arrives as 1300 us and channel 12 is sent 1500 us, and the link does not carry it.",
            ),
            (
                vec![],
                &[3, 7],
                vec![channel(3, 1000.0, Some(1000.0)), channel(7, 2000.0, Some(2000.0)), channel(8, 1.0, None)],
                "Leave every control at rest. Channel 3 arrives as 1000 us and channel 7 arrives as 2000 us.",
            ),
        ] {
            let witness = Witness { path, channels, ..Witness::default() };
            assert_eq!(in_words(&witness, named), words);
        }
    }

    #[test]
    fn a_stick_is_told_by_its_hand() {
        let stick = |name: &str, percent| (name.into(), Setting::Percent(whole(percent)));
        let told = |hands, path| in_words(&Witness { hands, path, ..Witness::default() }, &[]);
        let path = vec![vec![stick("throttle", -100), stick("dial", 100)], vec![stick("roll", 40)]];
        assert_eq!(
            told(Hands { grip: Grip::Sticks, mode: Some(2) }, path),
            "Start with throttle at -100 % (left stick all the way down) and dial at 100 %. Put roll to 40 % (right stick 40 % right of \
             its middle)."
        );
        let path = vec![vec![], vec![stick("trigger", 100)]];
        assert_eq!(told(Hands { grip: Grip::Pistol, mode: None }, path), "Put trigger to 100 % (pulled all the way).");
    }

    #[test]
    fn names_are_made_plain_and_trims_are_told() {
        let witness = Witness {
            path: vec![vec![], vec![at("a\u{1b}b", "x\ny")]],
            trims: vec![("roll".into(), Rational64::new(-1996, 100).unwrap())],
            ..Witness::default()
        };
        assert_eq!(in_words(&witness, &[]), "Put a\\u{1b}b to x\\ny. Set the trim of roll to -19.96 %.");
    }

    #[test]
    fn numbers_are_rounded_to_a_tenth() {
        for (value, text) in [(1500.0, "1500"), (1333.333, "1333.3"), (-0.01, "0"), (-99.96, "-100"), (0.25, "0.2")] {
            assert_eq!(number(value), text);
        }
    }
}
