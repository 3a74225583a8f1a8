//! The steps on the bench that `walkaround inspect --full` gives where the book's own are those of another aircraft.

use crate::program::run;
use crate::testdata;
use std::fs;

/// What the book says of the bench comes in the words of the car and of the wheel and trigger that it is tried with; a multirotor with the
/// same finding has its own words, and is not sent to those of the car.
#[test]
fn the_steps_on_the_bench_fit_the_craft_and_the_handset() {
    let folder = testdata::copy_fleet_to_temp("kinds");
    for (file, locked) in
        [("greenshank.rig", "    number 21\n"), ("ruff.rig", "    number 6\n"), ("avocet.rig", "    number 12\n")]
    {
        let file = folder.path().join(file);
        let text = fs::read_to_string(&file).unwrap();
        assert!(text.contains(locked), "{text}");
        fs::write(file, text.replace(locked, "    number any\n")).unwrap();
    }
    let output = run(folder.path(), "inspect", &["--full", "--today", "2027-03-01"], "");
    let text = String::from_utf8(output.stdout).unwrap();
    for (craft, begins, follows) in [
        (
            "greenshank",
            "Wheels off the ground. No other aircraft powered.",
            "The steering channel must follow the wheel",
        ),
        ("ruff", "Propellers off, no other aircraft powered.", "The roll channel must follow the stick"),
        (
            "avocet",
            "Hands clear of what the servos move. No other aircraft powered.",
            "The roll channel must follow the stick",
        ),
    ] {
        let own =
            text.split(&format!("receiver/not-locked ({craft})")).nth(1).unwrap_or_else(|| panic!("{craft}: {text}"));
        let bench = own.split(" bench  ").nth(1).unwrap().split(" mend  ").next().unwrap();
        let bench = bench.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(bench.starts_with(begins) && bench.contains(follows), "{craft}: {bench}");
    }
}

/// A mend that sends the pilot to look at the craft first says what has to be done with that craft before.
#[test]
fn what_to_look_at_before_a_mend_has_the_caution_that_fits() {
    for (file, stated, turned, mend) in [
        (
            "greenshank.rig",
            "steering high-is right",
            "steering high-is left",
            "Wheels off the ground. Look at the surface first.",
        ),
        (
            "spoonbill.rig",
            "steering high-is right",
            "steering high-is left",
            "Hands clear of what the servos move. Look at the surface first.",
        ),
    ] {
        let folder = testdata::copy_fleet_to_temp("kinds");
        let path = folder.path().join(file);
        let text = fs::read_to_string(&path).unwrap();
        assert!(text.contains(stated), "{text}");
        fs::write(path, text.replace(stated, turned)).unwrap();
        let output = run(folder.path(), "inspect", &["--full", "--today", "2027-03-01"], "");
        let text = String::from_utf8(output.stdout).unwrap();
        let own = text.split("surfaces/reversed (").nth(1).unwrap_or_else(|| panic!("{file}: {text}"));
        let own = own.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(own.contains(&format!("mend {mend}")), "{own}");
    }
}
