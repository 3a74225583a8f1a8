//! What the aircraft share: places, links, handsets.

use super::outline::{Entry, lines_of};

/// How far out a place is flown.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Reach {
    /// In sight.
    Short,
    /// Along the coast.
    Long,
}

/// The places with what they state.
pub(crate) const PLACES: [(&str, &str, Reach); 6] = [
    ("north spit", "region AU; reach 700 m", Reach::Short),
    ("mud flat", "region AU; reach 500 m", Reach::Short),
    ("shell bank", "region NZ; reach 650 m", Reach::Short),
    ("salt meadow", "region NZ; reach 400 m", Reach::Short),
    ("long sands", "region AU; reach 2 km", Reach::Long),
    ("outer bar", "region NZ; reach 1.6 km", Reach::Long),
];

/// The handsets' names; they are alike but for the stick mode.
pub(crate) const HANDSETS: [&str; 6] =
    ["bench-one", "bench-two", "bench-three", "bench-four", "bench-five", "bench-six"];

/// The places file.
pub(crate) fn places() -> Vec<Entry> {
    PLACES
        .iter()
        .map(|(name, states, _)| {
            Entry::block(format!("place \"{name}\""), states.split("; ").map(Entry::line).collect())
        })
        .collect()
}

/// The links file.
pub(crate) fn links() -> Vec<Entry> {
    let shore = "
        band 2405..2475 MHz
        modulation hopping
        hop-channels 38
        bandwidth 1 MHz
        adaptive off
        update-rate 45, 110, 190 Hz
        air-time 2.4 ms at 190 Hz
        channels 10
        carry channel 1..4 levels 1800 every 1 update
        carry channel 7 levels 2 every 1 update
        carry channel 5, 6, 8..10 levels 90 every 2 updates
        receiver-number 1..40
        number-check strict
        firmware-check same-major
        sensitivity -104 dBm at 45 Hz
        sensitivity -100 dBm at 110 Hz
        sensitivity -97 dBm at 190 Hz";
    let marsh = "
        band 916..927 MHz
        modulation hopping
        hop-channels 26
        bandwidth 400 kHz
        adaptive off
        update-rate 20, 35 Hz
        air-time 9 ms at 35 Hz
        channels 8
        carry channel 1..8 levels 1800 every 1 update
        receiver-number 1..24
        number-check strict
        firmware-check same-major
        sensitivity -112 dBm at 20 Hz
        sensitivity -109 dBm at 35 Hz";
    vec![Entry::block_of("link shore-24", shore), Entry::Gap, Entry::block_of("link marsh-900", marsh)]
}

/// The handsets file.
pub(crate) fn handsets() -> Vec<Entry> {
    let own = "
        switch left-front 2 positions
        switch left-rear 3 positions
        switch shoulder 2 positions sprung-to up
        switch rotary 5 positions
        button trigger
        knob dial
        scale 1500 us plus-minus 500 us
        trim-range 20 %
        stick-filter on
        battery li-ion { cells 2; alarm 7.0 V }";
    let built_in = "
        link shore-24
        chains 2
        power 15, 60, 120, 320 mW
        antenna-gain 2 dBi
        firmware \"12.6\"
        domain any";
    let plug_in = "
        link marsh-900
        chains 1
        power 30, 150, 450 mW
        antenna-gain 2 dBi
        firmware \"21.0\"
        domain any";
    let mut entries = Vec::new();
    for (index, name) in HANDSETS.iter().enumerate() {
        let mut body = vec![Entry::line(format!("stick-mode {}", index % 4 + 1))];
        body.extend(lines_of(own));
        body.push(Entry::block_of("module built-in", built_in));
        body.push(Entry::block_of("module plug-in", plug_in));
        entries.push(Entry::block(format!("handset {name}"), body));
    }
    entries
}
