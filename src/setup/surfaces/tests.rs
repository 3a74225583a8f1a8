//! Which way each surface has to go, after the FAA Pilot's Handbook of Aeronautical Knowledge (FAA-H-8083-25, chapter 6).

use super::answers::has_to_rise;
use crate::fleet::craft::Surfaces;
use crate::fleet::words::Stick;
use crate::fleet::{read, table};
use crate::source::FileId;
use crate::syntax::{Tables, parse};

fn surfaces(lines: &str) -> Surfaces {
    let text = format!("rig 1\ncraft knot {{ surfaces {{ {lines} }} }}\n");
    let mut tables = Tables::default();
    parse(text.as_bytes(), table::vocabulary, &mut tables);
    let mut file = read(FileId(0), text.as_bytes(), &tables);
    assert!(file.problems.is_empty(), "{lines}: {:?}", file.problems);
    file.crafts.remove(0).surfaces.unwrap()
}

/// Each row: what is stated of the surfaces, and for the first channel whether its pulse has to rise with the roll stick to the
/// right, the pitch stick away from the pilot, and the yaw stick to the right.
#[test]
fn each_surface_goes_as_the_handbook_has_it() {
    let (up, down) = (Some(true), Some(false));
    for (lines, wanted) in [
        // Ailerons: stick right raises the right one and lowers the left one.
        ("channel 1 roll right high-is up", [up, None, None]),
        ("channel 1 roll left high-is up", [down, None, None]),
        ("channel 1 roll right high-is down", [down, None, None]),
        ("channel 1 aileron left high-is down", [up, None, None]),
        // One channel for both ailerons: which of them goes up is not stated.
        ("channel 1 roll high-is up", [None, None, None]),
        // Elevator: stick back raises it, stick away lowers it. A canard does the opposite.
        ("channel 1 pitch high-is up", [None, down, None]),
        ("channel 1 pitch high-is down", [None, up, None]),
        ("channel 1 pitch high-is up; canard", [None, up, None]),
        ("channel 1 pitch high-is down; canard", [None, down, None]),
        // Rudder, and a wheel that steers: right pedal, to the right.
        ("channel 1 yaw high-is right", [up, None, up]),
        ("channel 1 rudder high-is left", [down, None, down]),
        ("channel 1 steering high-is right", [up, None, up]),
        ("channel 1 yaw high-is up", [None, None, None]),
        // Elevons: both together are elevators, against each other ailerons.
        ("channel 1 roll + pitch right high-is up", [up, down, None]),
        ("channel 1 roll + pitch left high-is up", [down, down, None]),
        ("channel 1 roll + pitch right high-is down", [down, up, None]),
        ("channel 1 roll + pitch left high-is down", [up, up, None]),
        // Which of them are in front of the centre is not stated.
        ("channel 1 roll + pitch left high-is down; canard", [up, None, None]),
        // Upright V-tail: both together are elevators; the right pedal raises the left surface and lowers the right one.
        ("channel 1 pitch + yaw left high-is up; tail upright-v", [up, down, up]),
        ("channel 1 pitch + yaw right high-is up; tail upright-v", [down, down, down]),
        ("channel 1 pitch + yaw left high-is down; tail upright-v", [down, up, down]),
        ("channel 1 pitch + yaw right high-is down; tail upright-v", [up, up, up]),
        // Inverted V-tail: the other way round for the rudder.
        ("channel 1 pitch + yaw left high-is up; tail inverted-v", [down, down, down]),
        ("channel 1 pitch + yaw right high-is up; tail inverted-v", [up, down, up]),
        // Without the shape of the tail the rudder is not known.
        ("channel 1 pitch + yaw left high-is up", [None, down, None]),
        // Without a direction nothing is.
        ("channel 1 roll + pitch left; channel 2 roll + pitch right", [None, None, None]),
        ("channel 1 flap high-is down", [None, None, None]),
    ] {
        let surfaces = surfaces(lines);
        let found =
            [Stick::Roll, Stick::Pitch, Stick::Yaw].map(|stick| has_to_rise(&surfaces, &surfaces.channels[0], stick));
        assert_eq!(found, wanted, "{lines}");
    }
}
