//! The worked example of docs/signal-path.md: the numbers in its tables, worked out by hand there, are what the program says.

use serde_json::Value;
use std::process::Command;

fn page() -> String {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/signal-path.md");
    std::fs::read_to_string(path).unwrap()
}

/// The text of the block that this fence opens.
fn block<'p>(page: &'p str, fence: &str) -> &'p str {
    page.split_once(fence).expect("the block is there").1.split("```").next().unwrap()
}

/// The words of a command line, with the quotes taken as a shell takes them.
fn words(line: &str) -> Vec<String> {
    let mut words = Vec::new();
    for (index, part) in line.split('"').enumerate() {
        if index % 2 == 1 {
            words.push(part.to_owned());
        } else {
            words.extend(part.split_whitespace().map(str::to_owned));
        }
    }
    words
}

#[test]
fn the_worked_example_is_what_the_program_says() {
    let page = page();
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("example.rig"), block(&page, "```rig\n")).unwrap();
    let line = page.lines().find(|line| line.starts_with("walkaround trace ")).expect("the command is there");
    let words = words(line);
    let output = Command::new(env!("CARGO_BIN_EXE_walkaround"))
        .args(&words[1..])
        .args(["--as", "json"])
        .current_dir(folder.path())
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let told: Value = serde_json::from_slice(&output.stdout).unwrap();
    let mut rows = 0;
    for cells in page.lines().filter(|line| line.starts_with("| ")).map(|line| line.split('|').collect::<Vec<_>>()) {
        let number = |cell: &str, unit: &str| cell.trim().trim_end_matches(unit).trim().parse::<f64>().unwrap();
        let Ok(channel) = cells[1].trim().parse::<u64>() else { continue };
        let reading = told["channels"].as_array().unwrap().iter().find(|reading| reading["channel"] == channel);
        let reading = reading.expect("the channel is told");
        for (key, written) in [
            ("percent", number(cells[2], "%")),
            ("pulse_us", number(cells[3], "us")),
            ("carried_us", number(cells[4], "us")),
        ] {
            let theirs = reading[key].as_f64().unwrap();
            // The program rounds what it shows to 0.1.
            assert!(
                (written - theirs).abs() <= 0.05 + 1e-9,
                "channel {channel}, {key}: {written} on the page, {theirs}"
            );
        }
        rows += 1;
    }
    assert_eq!(rows, told["channels"].as_array().unwrap().len(), "every channel has its row");
    for (mode, on) in told["modes"].as_object().unwrap() {
        let row = format!("| {mode} | {} |", if on.as_bool().unwrap() { "on" } else { "off" });
        assert!(page.lines().any(|line| line == row), "{row}");
    }
    assert_eq!(told["modes"].as_object().unwrap().len(), 2);
}
