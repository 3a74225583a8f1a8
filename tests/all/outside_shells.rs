//! Completions in shells that are installed by `.ci/install-outside-tools`; bash is asked by `reference.rs`.

use crate::hooks::PROGRAM;
use std::path::Path;
use std::process::Command;

#[test]
fn fish_completes_the_names_that_stand_in_the_folder() {
    let built = Path::new(PROGRAM).parent().unwrap();
    let path = std::env::var_os("PATH").unwrap();
    let path = std::env::join_paths(std::iter::once(built.to_owned()).chain(std::env::split_paths(&path))).unwrap();
    for (typed, offered) in [
        ("walkaround why arming/sl", "arming/slow"),
        ("walkaround why arming/slow --for kn", "knot"),
        ("walkaround trace sand", "sanderling survey"),
        ("walkaround trace rain --craft kn", "knot"),
        ("walkaround sheet turn", "turnstone"),
    ] {
        let program = format!("{PROGRAM} reference --completions fish | source; complete -C '{typed}'");
        let mut fish = Command::new("fish");
        fish.args(["--no-config", "-c", &program]).env("PATH", &path);
        fish.current_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("testdata/fleets/clean"));
        let output = fish.output().expect("fish is not installed");
        let lines = String::from_utf8(output.stdout).unwrap();
        let names: Vec<&str> = lines.lines().filter_map(|line| line.split('\t').next()).collect();
        assert_eq!(names, [offered], "{typed}: {}", String::from_utf8_lossy(&output.stderr));
    }
}
