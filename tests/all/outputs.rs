//! Every form of the report, read as another program would read it: lines and columns are recomputed from the bytes of
//! the files, and a SARIF log is held against the schema that OASIS publishes.
#![cfg(unix)]

pub(crate) mod cases;

use cases::{Case, ODD_NAME, ODD_NAME_SHOWN, is_harmless, list, number, recomputed, text};
use serde_json::{Value, json};
use std::collections::HashSet;

/// The schema with the slip taken out that testdata/schemas/README.md tells of.
fn schema() -> jsonschema::Validator {
    let text = include_str!("../../testdata/schemas/sarif-2.1.0.json");
    assert_eq!(text.matches("{2}]?$\"").count(), 2);
    let schema = serde_json::from_str(&text.replace("{2}]?$\"", "{2}$\"")).unwrap();
    jsonschema::options().should_validate_formats(true).build(&schema).unwrap()
}

/// Every form.
const FORMS: [&str; 7] = ["text", "lines", "json", "sarif", "annotations", "code-quality", "junit"];

fn run_of(log: &Value) -> &Value {
    &log["runs"][0]
}

#[test]
fn places_are_recomputed_as_the_page_says() {
    let text = "\u{feff}é🪶x\r\n\ty";
    for (words, place) in
        [("\u{feff}", (1, 1)), ("é", (1, 1)), ("🪶", (1, 2)), ("x", (1, 3)), ("\t", (2, 1)), ("y", (2, 2))]
    {
        let at = text.find(words).unwrap();
        assert_eq!(recomputed(text.as_bytes(), at as u64), place, "{words}");
    }
}

#[test]
fn json_names_the_lines_and_columns_of_its_bytes() {
    let mut checked = 0;
    for case in Case::all() {
        for finding in list(&case.json("json")["findings"]) {
            for place in std::iter::once(&finding["place"]).chain(list(&finding["others"])) {
                let bytes = case.bytes(text(&place["file"]));
                let [start, end] = [0, 1].map(|end| recomputed(&bytes, number(&place["bytes"][end])));
                assert_eq!((number(&place["line"]), number(&place["column"])), start, "{place}");
                assert_eq!((number(&place["end_line"]), number(&place["end_column"])), end, "{place}");
                checked += 1;
            }
        }
    }
    assert!(checked > 25, "only {checked} places");
}

/// The file and the start of the primary place of every finding, recomputed from its bytes.
fn primary(case: &Case) -> Vec<(String, (u64, u64), Value)> {
    let report = case.json("json");
    let found = list(&report["findings"]).iter().map(|finding| {
        let file = text(&finding["place"]["file"]).to_owned();
        let start = recomputed(&case.bytes(&file), number(&finding["place"]["bytes"][0]));
        (file, start, finding.clone())
    });
    found.collect()
}

fn shown(file: &str) -> String {
    if file == ODD_NAME { ODD_NAME_SHOWN.to_owned() } else { file.to_owned() }
}

#[test]
fn lines_name_the_same_places() {
    for case in Case::all() {
        let (lines, _) = case.run("lines");
        let primary = primary(&case);
        assert_eq!(lines.lines().count(), primary.len());
        for (line, (file, (row, column), finding)) in lines.lines().zip(primary) {
            let start =
                format!("{}:{row}:{column}: {} {} ", shown(&file), text(&finding["severity"]), text(&finding["rule"]));
            assert!(line.starts_with(&start), "{line}\n{start}");
        }
    }
}

/// A CI log line as its readers take it apart: the command, its properties, its message.
fn command(line: &str) -> (String, Vec<(String, String)>, String) {
    let (head, message) = line.strip_prefix("::").unwrap().split_once("::").unwrap();
    let (command, properties) = head.split_once(' ').unwrap();
    let data = |text: &str| text.replace("%0A", "\n").replace("%0D", "\r").replace("%25", "%");
    let property = |text: &str| {
        let (name, value) = text.split_once('=').unwrap();
        (name.to_owned(), data(&value.replace("%3A", ":").replace("%2C", ",")))
    };
    (command.to_owned(), properties.split(',').map(property).collect(), data(message))
}

#[test]
fn annotations_name_the_same_places() {
    for case in Case::all() {
        let (lines, _) = case.run("annotations");
        let primary = primary(&case);
        assert_eq!(lines.lines().count(), primary.len());
        for (line, (file, (row, column), finding)) in lines.lines().zip(primary) {
            let (command, properties, message) = command(line);
            let end = number(&finding["place"]["end_line"]);
            let severity = text(&finding["severity"]);
            let wanted = match severity {
                "note" => "notice",
                "caution" => "warning",
                _ => "error",
            };
            assert_eq!(command, wanted, "{line}");
            let mut wanted = vec![
                ("file".to_owned(), shown(&file)),
                ("line".to_owned(), row.to_string()),
                ("endLine".to_owned(), end.to_string()),
            ];
            if end == row {
                wanted.push(("col".to_owned(), column.to_string()));
            }
            wanted.push(("title".to_owned(), format!("{severity} {}", text(&finding["rule"]))));
            assert_eq!(properties, wanted, "{line}");
            assert!(!message.is_empty() && !message.contains('\n'), "{line}");
        }
    }
}

#[test]
fn excerpts_stand_under_their_places_and_show_the_lines_of_the_file() {
    let (mut heads, mut rows) = (0, 0);
    for case in Case::all() {
        let report = case.json("json");
        let mut starts = HashSet::new();
        for finding in list(&report["findings"]) {
            for place in std::iter::once(&finding["place"]).chain(list(&finding["others"])) {
                let file = text(&place["file"]);
                let (line, column) = recomputed(&case.bytes(file), number(&place["bytes"][0]));
                starts.insert(format!("{}:{line}:{column}", shown(file)));
            }
        }
        let (page, _) = case.run("text");
        let mut file = String::new();
        for line in page.lines() {
            if let Some((_, head)) = line.split_once("╭─[") {
                let head = head.strip_suffix(']').unwrap();
                assert!(starts.contains(head), "{head}");
                let name = head.rsplitn(3, ':').last().unwrap();
                file = if name == ODD_NAME_SHOWN { ODD_NAME.to_owned() } else { name.to_owned() };
                heads += 1;
            } else if let Some((row, shown)) = line.split_once(" │ ")
                && let Ok(row) = row.trim().parse::<usize>()
            {
                let bytes = case.bytes(&file);
                let line =
                    std::str::from_utf8(&bytes).unwrap().lines().nth(row - 1).unwrap().trim_start_matches('\u{feff}');
                // Lines that hold something to escape are not shown as they are.
                if is_harmless(&line.replace('\t', "")) {
                    // Tabs become spaces.
                    let words = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
                    assert_eq!(words(shown), words(line), "{file}:{row}");
                    rows += 1;
                }
            }
        }
    }
    assert!(heads > 20 && rows > 20, "only {heads} excerpts and {rows} lines");
}

#[test]
fn sarif_is_what_the_published_schema_asks_for() {
    let schema = schema();
    for case in Case::all() {
        let log = case.json("sarif");
        let errors: Vec<_> =
            schema.iter_errors(&log).map(|error| format!("{}: {error}", error.instance_path())).collect();
        assert!(errors.is_empty(), "{errors:#?}");
    }
}

#[test]
fn the_schema_refuses_a_bad_log() {
    let schema = schema();
    let good = Case::odd().json("sarif");
    assert!(schema.is_valid(&good));
    for (pointer, bad) in [
        ("/version", json!("2.0.0")),
        ("/runs/0/columnKind", json!("bytes")),
        ("/runs/0/results/0/level", json!("fatal")),
        ("/runs/0/results/0/message", json!({})),
        ("/runs/0/results/0/locations/0/physicalLocation/region/startLine", json!(0)),
        ("/runs/0/results/0/locations/0/physicalLocation/region/byteOffset", json!(1.5)),
        ("/runs/0/results/0/locations/0/physicalLocation/artifactLocation/uri", json!("two words.rig")),
        ("/runs/0/results/0/ruleIndex", json!(-2)),
        ("/runs/0/tool/driver/rules/0/id", json!(null)),
    ] {
        let mut log = good.clone();
        *log.pointer_mut(pointer).unwrap_or_else(|| panic!("{pointer} is not in the log")) = bad;
        assert!(!schema.is_valid(&log), "{pointer}");
    }
}

/// Every region of a log with the address of its file.
fn regions<'l>(value: &'l Value, uri: &'l str, found: &mut Vec<(&'l str, &'l Value)>) {
    let uri = value.pointer("/artifactLocation/uri").map_or(uri, text);
    match value {
        Value::Array(items) => items.iter().for_each(|item| regions(item, uri, found)),
        Value::Object(entries) => {
            for (key, item) in entries {
                match key.as_str() {
                    "region" | "deletedRegion" => found.push((uri, item)),
                    _ => regions(item, uri, found),
                }
            }
        }
        _ => {}
    }
}

/// An address without its percent signs (RFC 3986, section 2.1).
fn decoded(uri: &str) -> String {
    let mut bytes = Vec::new();
    let mut rest = uri.bytes();
    while let Some(byte) = rest.next() {
        bytes.push(match byte {
            b'%' => {
                let digits = [rest.next().unwrap(), rest.next().unwrap()];
                u8::from_str_radix(std::str::from_utf8(&digits).unwrap(), 16).unwrap()
            }
            _ => byte,
        });
    }
    String::from_utf8(bytes).unwrap()
}

#[test]
fn sarif_names_the_lines_and_columns_of_its_bytes() {
    let (mut checked, mut replaced) = (0, 0);
    for case in Case::all() {
        let log = case.json("sarif");
        assert_eq!(run_of(&log)["columnKind"], "unicodeCodePoints");
        let mut found = Vec::new();
        regions(&run_of(&log)["results"], "", &mut found);
        replaced += log.to_string().matches("\"deletedRegion\"").count();
        for (uri, region) in found {
            assert!(uri.bytes().all(|byte| byte.is_ascii_alphanumeric() || b"-._~/%".contains(&byte)), "{uri}");
            let bytes = case.bytes(&decoded(uri));
            let from = number(&region["byteOffset"]);
            let (start, end) = (recomputed(&bytes, from), recomputed(&bytes, from + number(&region["byteLength"])));
            assert_eq!((number(&region["startLine"]), number(&region["startColumn"])), start, "{region}");
            assert_eq!((number(&region["endLine"]), number(&region["endColumn"])), end, "{region}");
            checked += 1;
        }
    }
    assert!(checked > 40 && replaced > 5, "only {checked} regions, {replaced} of edits");
}

#[test]
fn sarif_says_what_json_says() {
    for case in Case::all() {
        let (log, report) = (case.json("sarif"), case.json("json"));
        let run = run_of(&log);
        let rules = list(&run["tool"]["driver"]["rules"]);
        // What is known or waived stands behind the rest, and says so.
        let results: Vec<&Value> =
            list(&run["results"]).iter().filter(|result| result.get("suppressions").is_none()).collect();
        let findings = list(&report["findings"]);
        assert_eq!(results.len(), findings.len());
        let suppressed = list(&run["results"]).len() - results.len();
        assert_eq!(suppressed as u64, number(&report["waived"]) + number(&report["known"]));
        let found: HashSet<&str> = list(&run["results"]).iter().map(|result| text(&result["ruleId"])).collect();
        for rule in rules {
            let (has_page, is_found) = (rule.get("help").is_some(), found.contains(text(&rule["id"])));
            assert_eq!(has_page, is_found, "{}", rule["id"]);
        }
        for (result, finding) in results.iter().zip(findings) {
            assert_eq!(result["ruleId"], finding["rule"]);
            assert_eq!(rules[number(&result["ruleIndex"]) as usize]["id"], finding["rule"]);
            assert_eq!(result["properties"]["severity"], finding["severity"]);
            let level = match text(&finding["severity"]) {
                "note" => "note",
                "caution" => "warning",
                _ => "error",
            };
            assert_eq!(result["level"], level);
            assert_eq!(result["partialFingerprints"]["walkaround/v1"], finding["fingerprint"]);
            let place = &result["locations"][0]["physicalLocation"];
            assert_eq!(decoded(text(&place["artifactLocation"]["uri"])), text(&finding["place"]["file"]));
            assert!(run["originalUriBaseIds"].get(text(&place["artifactLocation"]["uriBaseId"])).is_some());
            assert_eq!(place["region"]["byteOffset"], finding["place"]["bytes"][0]);
            assert_eq!(list(&result["relatedLocations"]).len(), list(&finding["others"]).len());
            let mend = &finding["mend"];
            let sure = [mend.clone()];
            let ways = if mend["kind"] == "choice" { list(&mend["choices"]) } else { &sure[..] };
            let ways: Vec<_> = ways.iter().filter(|way| !list(&way["edits"]).is_empty()).collect();
            let fixes = list(&result["fixes"]);
            assert_eq!(fixes.len(), ways.len(), "{mend}");
            for (fix, way) in fixes.iter().zip(ways) {
                assert_eq!(fix["properties"]["mend"], mend["kind"]);
                let changes = list(&fix["artifactChanges"]).iter().flat_map(|change| {
                    let uri = decoded(text(&change["artifactLocation"]["uri"]));
                    list(&change["replacements"]).iter().map(move |replacement| {
                        let region = &replacement["deletedRegion"];
                        let from = number(&region["byteOffset"]);
                        let inserted = replacement["insertedContent"]["text"].as_str().unwrap_or("");
                        json!({"file": uri, "bytes": [from, from + number(&region["byteLength"])], "text": inserted})
                    })
                });
                let mut edits = list(&way["edits"]).to_vec();
                edits.sort_by_key(|edit| (text(&edit["file"]).to_owned(), number(&edit["bytes"][0])));
                assert_eq!(changes.collect::<Vec<_>>(), edits);
            }
        }
        assert_eq!(list(&run["properties"]["aircraft"]).len(), list(&report["aircraft"]).len());
    }
}

/// Every text of a JSON value that is shown to people.
fn texts<'v>(value: &'v Value, found: &mut Vec<&'v str>) {
    match value {
        Value::String(text) => found.push(text),
        Value::Array(items) => items.iter().for_each(|item| texts(item, found)),
        // What a fix inserts is exact.
        Value::Object(entries) => {
            entries.iter().filter(|(key, _)| key.as_str() != "insertedContent").for_each(|(_, item)| texts(item, found))
        }
        _ => {}
    }
}

#[test]
fn no_form_sends_what_harms_a_terminal() {
    let case = Case::odd();
    for form in FORMS {
        let (page, status) = case.run(form);
        assert_eq!(status, 2, "{form}");
        assert!(is_harmless(&page), "{form}: {page:?}");
        let escapes = ["\\u{1b}", "\\u{{1b}}", "\\u001b"];
        assert!(escapes.iter().any(|escape| page.contains(escape)), "{form} has lost the names");
    }
    let log = case.json("sarif");
    let mut found = Vec::new();
    texts(&log, &mut found);
    assert!(found.iter().all(|text| is_harmless(text)));
    assert!(found.iter().all(|text| !text.contains("](http")), "a name makes a link");
}

#[test]
fn the_exit_status_does_not_depend_on_the_form() {
    for case in Case::all() {
        let statuses = FORMS.map(|form| case.run(form).1);
        assert!(statuses.iter().all(|status| *status == statuses[0]), "{}: {statuses:?}", case.path);
    }
}

#[test]
fn files_above_the_current_folder_have_their_real_address() {
    let above = Case::demo("hurried").from("clean", "../hurried");
    let log = above.json("sarif");
    let place = &run_of(&log)["results"][0]["locations"][0]["physicalLocation"]["artifactLocation"];
    let uri = text(&place["uri"]);
    assert!(uri.starts_with("file:///") && uri.contains("/testdata/fleets/hurried/") && !uri.contains(".."), "{uri}");
    assert!(place.get("uriBaseId").is_none());
    assert!(schema().is_valid(&log));
}

#[test]
fn a_code_quality_list_names_the_same_places() {
    for case in Case::all() {
        let list_of: Value = serde_json::from_str(&case.run("code-quality").0).unwrap();
        let primary = primary(&case);
        assert_eq!(list(&list_of).len(), primary.len());
        let mut fingerprints = HashSet::new();
        for (one, (file, (row, _), finding)) in list(&list_of).iter().zip(primary) {
            assert_eq!(text(&one["location"]["path"]), shown(&file));
            assert_eq!(number(&one["location"]["lines"]["begin"]), row);
            assert_eq!(one["check_name"], finding["rule"]);
            let wanted = match text(&finding["severity"]) {
                "fault" => "blocker",
                "danger" => "critical",
                "caution" => "major",
                _ => "minor",
            };
            assert_eq!(one["severity"], wanted);
            assert!(fingerprints.insert(text(&one["fingerprint"]).to_owned()), "two are told apart by nothing");
        }
    }
}

#[test]
fn test_results_fail_where_the_run_does() {
    for case in Case::all() {
        let (page, status) = case.run("junit");
        let (report, head) = (case.json("json"), page.lines().nth(1).unwrap());
        let count = |name: &str| -> usize {
            let (_, rest) = head.split_once(&format!(" {name}=\"")).unwrap();
            rest.split('"').next().unwrap().parse().unwrap()
        };
        assert_eq!(count("failures") > 0, status != 0, "{}: {head}", case.path);
        assert_eq!(page.matches("<failure ").count(), count("failures"));
        assert_eq!(page.matches("<testcase ").count(), count("tests"));
        assert_eq!(page.matches("<skipped ").count(), count("skipped"));
        let asked = |name: &str| list(&report["aircraft"]).iter().map(|one| number(&one["rules"][name])).sum::<u64>();
        // A fault leaves an aircraft without a row.
        if list(&report["findings"]).iter().all(|finding| finding["severity"] != "fault") {
            assert_eq!(count("skipped") as u64, asked("not_asked") + asked("not_decided"), "{}", case.path);
        }
    }
}

/// The clean fleet with one finding of its own, which is then waived or recorded.
#[test]
fn what_is_waived_or_known_is_suppressed_in_a_log() {
    let folder = crate::testdata::copy_fleet_to_temp("hurried");
    let run = |arguments: &[&str]| {
        let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_walkaround"));
        command.current_dir(folder.path()).args(["inspect", "--today", "2027-03-01"]).args(arguments).output().unwrap()
    };
    let log = |arguments: &[&str]| -> Value { serde_json::from_slice(&run(arguments).stdout).unwrap() };
    let before = log(&["--as", "sarif"]);
    // One waiver stands in this fleet already.
    let kinds = |log: &Value| -> Vec<Value> {
        list(&run_of(log)["results"]).iter().map(|result| result["suppressions"][0]["kind"].clone()).collect()
    };
    assert_eq!(kinds(&before).iter().filter(|kind| **kind == "inSource").count(), 1);
    assert!(kinds(&before).iter().all(|kind| *kind != "external"));
    run(&["--record", "known.toml"]);
    std::fs::write(folder.path().join("walkaround.toml"), "known = \"known.toml\"\n").unwrap();
    let known = log(&["--as", "sarif"]);
    assert!(schema().is_valid(&known));
    let results = list(&run_of(&known)["results"]);
    assert_eq!(results.len(), list(&run_of(&before)["results"]).len());
    assert_eq!(kinds(&known).iter().filter(|kind| **kind == "external").count(), results.len() - 1);
    std::fs::remove_file(folder.path().join("walkaround.toml")).unwrap();
    let file = folder.path().join("knot.rig");
    let text = std::fs::read_to_string(&file).unwrap();
    let line = text.lines().find(|line| line.trim_start().starts_with("order ")).unwrap();
    let waiver = "    # waive channels/order because \"checked on the bench\" until 2027-12-31\n";
    std::fs::write(&file, text.replace(line, &format!("{waiver}{line}"))).unwrap();
    let waived = log(&["--as", "sarif"]);
    assert!(schema().is_valid(&waived));
    let suppressed: Vec<&Value> =
        list(&run_of(&waived)["results"]).iter().filter(|result| result.get("suppressions").is_some()).collect();
    assert_eq!(suppressed.len(), 2);
    let one = suppressed.into_iter().find(|result| result["ruleId"] == "channels/order").unwrap();
    assert_eq!(one["suppressions"][0]["kind"], "inSource");
    assert_eq!(one["suppressions"][0]["justification"], "checked on the bench (until 2027-12-31)");
    assert!(number(&one["locations"][0]["physicalLocation"]["region"]["startLine"]) > 1);
}
