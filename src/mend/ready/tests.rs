use super::super::splice::splice;
use super::*;
use crate::syntax::parse;

fn tables(text: &str) -> Tables {
    let mut tables = Tables::default();
    parse(text.as_bytes(), table::vocabulary, &mut tables);
    tables
}

/// The text after an edit. `<` and `>` stand around the bytes that are replaced.
fn after(marked: &str, new: &str) -> Result<String, Refusal> {
    let start = marked.find('<').unwrap();
    let end = marked.find('>').unwrap() - 1;
    let text = marked.replace(['<', '>'], "");
    let changes = ready(text.as_bytes(), &tables(&text), &[(Span::new(start as u32, end as u32), new)])?;
    Ok(String::from_utf8(splice(text.as_bytes(), &changes)).unwrap())
}

macro_rules! cases {
    ($($name:ident: $marked:expr, $new:expr => $after:expr;)*) => {
        $(#[test] fn $name() { assert_eq!(after($marked, $new).as_deref(), Ok($after)); })*
    };
}

cases! {
    a_line_goes_with_its_statement:
        "model m {\n  channel 1 {\n    value roll\n    <subtrim 2 %>\n  }\n}\n", ""
        => "model m {\n  channel 1 {\n    value roll\n  }\n}\n";
    one_of_two_blank_lines_goes_too:
        "model m {\n  handset h\n\n  <trims on>\n\n  channel 1 = roll\n}\n", ""
        => "model m {\n  handset h\n\n  channel 1 = roll\n}\n";
    a_comment_behind_keeps_the_line:
        "model m {\n  <trims on>    # for now\n}\n", "" => "model m {\n  # for now\n}\n";
    a_first_statement_takes_its_separator:
        "battery li-po { <cells 3>; draw 7 A }\n", "" => "battery li-po { draw 7 A }\n";
    a_last_statement_takes_its_separator:
        "battery li-po { cells 3; <draw 7 A> }\n", "" => "battery li-po { cells 3 }\n";
    an_only_statement_leaves_empty_braces:
        "battery li-po { <cells 3> }\n", "" => "battery li-po { }\n";
    a_waiver_goes_with_its_statement:
        "model m {\n  # why\n  # waive channels/trims because \"x\"\n  <trims on>\n  handset h\n}\n", ""
        => "model m {\n  # why\n  handset h\n}\n";
    a_comment_in_a_block_that_goes_is_kept:
        "model m {\n  <rates roll { # soft\n    rate 70 %\n    # waive channels/order because \"x\"\n    # end\n  }>\n}\n", ""
        => "model m {\n  # soft\n  # end\n}\n";
    the_comment_of_a_header_stays_behind_the_line_that_replaces_its_block:
        "model m {\n  <module bay {        # a try\n    # slow\n    match on\n  }>\n}\n", "module bay off"
        => "model m {\n  # slow\n  module bay off      # a try\n}\n";
    a_comment_keeps_its_column:
        "model m {\n  stick-filter <on>    # é\n}\n", "off" => "model m {\n  stick-filter off   # é\n}\n";
    a_comment_keeps_a_distance:
        "model m {\n  stick-filter <on>  # x\n}\n", "off" => "model m {\n  stick-filter off  # x\n}\n";
    the_line_ends_are_the_texts_own:
        "model m {\r\n\thandset h\r\n<>}\r\n", "  trims off\n" => "model m {\r\n\thandset h\r\n\ttrims off\r\n}\r\n";
    a_new_statement_stands_with_its_kind:
        "model m {\n  handset h\n  before-start throttle low # c\n\n  channel 1 = roll\n<>}\n", "  before-start x up\n"
        => "model m {\n  handset h\n  before-start throttle low # c\n  before-start x up\n\n  channel 1 = roll\n}\n";
    a_new_statement_stands_where_the_table_has_it:
        "model m {\n  handset h\n  module b off\n\n  channel 1 = roll\n<>}\n", "  trims off\n"
        => "model m {\n  handset h\n  module b off\n  trims off\n\n  channel 1 = roll\n}\n";
    a_new_statement_in_an_inner_block:
        "model m {\n  channel 1 {\n    value roll\n<>  }\n}\n", "    reversed\n"
        => "model m {\n  channel 1 {\n    value roll\n    reversed\n  }\n}\n";
    a_new_statement_behind_others_on_a_line:
        "channel 1 { value roll <>}\n", "; reversed " => "channel 1 { value roll; reversed }\n";
    a_new_statement_in_empty_braces:
        "channel 1 { <>}\n", " reversed " => "channel 1 { reversed }\n";
    a_new_statement_in_touching_braces:
        "channel 1 {<>}\n", " reversed " => "channel 1 { reversed }\n";
    a_mark_at_the_start_is_no_part_of_the_first_line:
        "\u{feff}<rig 2>\nmodel m { }\n", "" => "\u{feff}model m { }\n";
}

#[test]
fn a_comment_that_would_become_a_waiver_keeps_its_statement() {
    let text = "model m {\n  <trims on> # waive channels/order because \"x\"\n  channel 1 = pitch\n}\n";
    assert!(matches!(after(text, ""), Err(Refusal::Waiver(_))));
}

#[test]
fn edits_that_touch_each_other_are_refused() {
    let text = "model m {\n  trims on\n}\n";
    let span = |start, end| Span::new(start, end);
    let ready = |edits: &[(Span, &str)]| ready(text.as_bytes(), &tables(text), edits);
    assert_eq!(ready(&[(span(12, 20), "a"), (span(18, 20), "b")]), Err(Refusal::Unfit));
    assert_eq!(ready(&[(span(12, 13), "a"), (span(12, 13), "b")]), Err(Refusal::Unfit));
    assert_eq!(ready(&[(span(12, 999), "a")]), Err(Refusal::Unfit));
    assert!(ready(&[(span(12, 12), "("), (span(20, 20), ")")]).is_ok());
}

#[test]
fn two_statements_of_one_line_go_together() {
    let text = "battery li-po { cells 3; draw 7 A; capacity 1 Ah }\n";
    let at = |word: &str| {
        let start = text.find(word).unwrap() as u32;
        Span::new(start, start + word.len() as u32)
    };
    let changes = ready(text.as_bytes(), &tables(text), &[(at("draw 7 A"), ""), (at("cells 3"), "")]).unwrap();
    assert_eq!(splice(text.as_bytes(), &changes), b"battery li-po { capacity 1 Ah }\n");
}
