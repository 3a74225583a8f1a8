//! Rules about what the channels carry, and whether it is what the aircraft reads there.

rules_of!(channels);

#[cfg(test)]
mod tests;

/// The names of the facts of one function, where a finding is about several.
struct Names {
    channel: &'static str,
    stick: &'static str,
    function: &'static str,
}

/// The names of four functions, as many as there are, in the order in which a finding tells of them.
const NAMES: [Names; 4] = [
    Names { channel: "channel", stick: "stick", function: "function" },
    Names { channel: "second_channel", stick: "second_stick", function: "second_function" },
    Names { channel: "third_channel", stick: "third_stick", function: "third_function" },
    Names { channel: "fourth_channel", stick: "fourth_stick", function: "fourth_function" },
];
