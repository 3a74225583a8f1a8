//! The most memory that the program takes of texts as long as they may be, as GNU time measures it.

use std::fs;
use std::process::Command;

/// The longest text that is read.
const LONGEST: usize = walkaround::syntax::MAX_BYTES;

/// So many times its bytes a text may take.
const TIMES: usize = 20;

/// The most memory of an inspection of one file, in bytes.
fn peak(text: &[u8]) -> usize {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("a.rig"), text).unwrap();
    let told = folder.path().join("peak");
    let mut run = Command::new("/usr/bin/time");
    run.args(["-f", "%M", "-o"]).arg(&told).arg(env!("CARGO_BIN_EXE_walkaround"));
    let output = run.args(["inspect", "--today", "2027-03-01"]).arg(folder.path()).output().unwrap();
    assert!(output.status.code().is_some_and(|status| status < 3), "{output:?}");
    // What GNU time says of the exit status stands before it.
    let told = fs::read_to_string(told).unwrap();
    told.lines().last().unwrap().parse::<usize>().unwrap() << 10
}

#[test]
fn what_says_one_thing_again_and_again_takes_a_bounded_share_of_its_bytes() {
    let nothing = peak(b"rig 1\n");
    for piece in [
        "\"", "{", "}", "{}", "(", ")", ",", "7", "\n", "#", ";", "-", "=", ".", "@", "\\", " ", "\r", "a", "é", "\0",
        "\"\"", "a\n", "a;", "a{", "#\n", "\"\n", "1,", "a 5\n",
    ] {
        let text = "rig 1\n".to_owned() + &piece.repeat(LONGEST / piece.len() - 6);
        let taken = peak(text.as_bytes()).saturating_sub(nothing);
        assert!(taken <= TIMES * text.len(), "{piece:?} takes {taken} bytes");
    }
}
