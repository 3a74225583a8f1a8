//! SARIF logs against the schema of OASIS as it is published, with a validator that is not written in Rust.
//! `.ci/install-outside-tools` installs it; where it is missing these tests fail and never skip.
#![cfg(unix)]

use crate::outputs::cases::Case;
use serde_json::{Value, json};
use std::io::Write;
use std::process::{Command, Stdio};

/// Prints how many errors the document on standard input has.
const PROGRAM: &str = "import json, sys, jsonschema\n\
    schema = json.load(open(sys.argv[1]))\n\
    validator = jsonschema.validators.validator_for(schema)(schema)\n\
    print(sum(1 for _ in validator.iter_errors(json.load(sys.stdin))))";

fn errors(log: &Value) -> usize {
    let schema = concat!(env!("CARGO_MANIFEST_DIR"), "/testdata/schemas/sarif-2.1.0.json");
    let mut python = Command::new("python3")
        .args(["-c", PROGRAM, schema])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("python3 is installed");
    python.stdin.take().unwrap().write_all(log.to_string().as_bytes()).unwrap();
    let output = python.wait_with_output().unwrap();
    assert!(output.status.success(), "the Python package jsonschema is installed");
    String::from_utf8(output.stdout).unwrap().trim().parse().unwrap()
}

#[test]
fn logs_of_all_fleets_are_valid() {
    for case in Case::all() {
        assert_eq!(errors(&case.json("sarif")), 0, "{}", case.path);
    }
}

#[test]
fn a_bad_log_is_not() {
    let good = Case::odd().json("sarif");
    for (pointer, bad) in [
        ("/runs/0/results/0/level", json!("fatal")),
        ("/runs/0/results/0/locations/0/physicalLocation/region/startLine", json!(0)),
    ] {
        let mut log = good.clone();
        *log.pointer_mut(pointer).unwrap() = bad;
        assert!(errors(&log) > 0, "{pointer}");
    }
}

/// Prints how many cases the test results on standard input have, read by a parser that refuses what is no XML.
const XML: &str = "import sys, xml.etree.ElementTree as tree\n\
    print(len(tree.parse(sys.stdin.buffer).getroot().findall('./testsuite/testcase')))";

#[test]
fn test_results_are_xml() {
    for case in Case::all() {
        let page = case.run("junit").0;
        let mut python = Command::new("python3")
            .args(["-c", XML])
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("python3 is installed");
        python.stdin.take().unwrap().write_all(page.as_bytes()).unwrap();
        let output = python.wait_with_output().unwrap();
        assert!(output.status.success(), "{}", case.path);
        let count: usize = String::from_utf8(output.stdout).unwrap().trim().parse().unwrap();
        assert_eq!(count, page.matches("<testcase ").count());
    }
}
