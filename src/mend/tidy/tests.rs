use super::*;

fn laid(text: &str) -> Result<String, Untidy> {
    tidy(text.as_bytes()).map(|laid| String::from_utf8(laid).unwrap())
}

macro_rules! cases {
    ($($name:ident: $text:expr => $laid:expr;)*) => {
        $(#[test] fn $name() {
            assert_eq!(laid($text).as_deref(), Ok($laid));
            assert_eq!(laid($laid).as_deref(), Ok($laid), "not the same a second time");
        })*
    };
}

cases! {
    two_spaces_a_level: "model m {\nchannel 1 {\n\tvalue roll\n}\n }" => "model m {\n  channel 1 {\n    value roll\n  }\n}\n";
    one_space_between_words:
        "model m {\n channel  1=roll*50%+pitch *-50 %;}\n" => "model m {\n  channel 1 = roll * 50 % + pitch * -50 %\n}\n";
    a_block_on_one_line_stays: "place x {region AU;;reach 5 m ; }" => "place x { region AU; reach 5 m }\n";
    empty_braces: "place x {}\nplace y {   }\nplace z {\n}\n" => "place x { }\nplace y { }\nplace z {\n}\n";
    blocks_within_a_line: "craft x { receiver {link y;failsafe preset{ channel 1 1500us } } }"
        => "craft x { receiver { link y; failsafe preset { channel 1 1500 us } } }\n";
    statements_of_a_longer_block_have_a_line_each: "place x { region AU;\nreach 5 m }" => "place x {\n  region AU\n  reach 5 m\n}\n";
    one_blank_line_in_a_row: "\n\nrig 1\n\n\n \nplace x { }\n\n\n" => "rig 1\n\nplace x { }\n";
    signs: "model m {\nchannel 1 = - roll - - pitch\nchannel 2 = -( roll -5 % )- 5 %\nchannel 3 = min( roll ,- 5 % )\n}"
        => "model m {\n  channel 1 = -roll - -pitch\n  channel 2 = -(roll -5 %) - 5 %\n  channel 3 = min(roll, - 5 %)\n}\n";
    brackets: "model m {\ncondition a when not(x up or(y up))\nchannel 1 = soft (roll)*( yaw )\nchannel 2 {\nvalue( roll )\n}\n}"
        => "model m {\n  condition a when not (x up or (y up))\n  channel 1 = soft(roll) * (yaw)\n  channel 2 {\n    value (roll)\n  }\n}\n";
    points: "curve c { points -100 : -100 ,0: 0 }" => "curve c { points -100:-100, 0:0 }\n";
    lists: "link l {\nupdate-rate 40 ,50 Hz\nband 2405..2475MHz\n}" => "link l {\n  update-rate 40, 50 Hz\n  band 2405..2475 MHz\n}\n";
    comments_stand_in_their_block: "model m {\n# a\nhandset h\n    # b\n}\n# c"
        => "model m {\n  # a\n  handset h\n  # b\n}\n# c\n";
    comments_behind_make_a_column: "model m {       # a\nhandset h # b   \nflies someone # c\n\ntrims off # d\n}  # e\n"
        => "model m {        # a\n  handset h      # b\n  flies someone  # c\n\n  trims off  # d\n}            # e\n";
    a_column_of_comments_stays: "model m {\n  handset h          # b\n  flies y            # c\n}\n"
        => "model m {\n  handset h          # b\n  flies y            # c\n}\n";
    comments_in_odd_places: "place x { # a\nregion AU; # b\n; # c\nreach 5 m } # d"
        => "place x {    # a\n  region AU  # b\n  # c\n  reach 5 m\n}           # d\n";
    names_make_a_column: "handset h {\nswitch a 2 positions\nswitch left-rear   3 positions\n\nswitch b 2 positions\n}"
        => "handset h {\n  switch a         2 positions\n  switch left-rear 3 positions\n\n  switch b 2 positions\n}\n";
    other_words_part_a_column: "handset h {\nswitch a 2 positions\nknob dial\nswitch left-rear 3 positions\n}"
        => "handset h {\n  switch a 2 positions\n  knob dial\n  switch left-rear 3 positions\n}\n";
    levels_make_a_column: "link l {\ncarry channel 1..4 levels 90 every 1 update\ncarry channel 5, 6  levels 2\n}"
        => "link l {\n  carry channel 1..4 levels 90 every 1 update\n  carry channel 5, 6 levels 2\n}\n";
    line_ends_and_mark_stay: "\u{feff}rig 1\r\nplace x {\r\nregion AU}" => "\u{feff}rig 1\r\nplace x {\r\n  region AU\r\n}\r\n";
    nothing: "" => "";
    only_a_comment: "  # x" => "# x\n";
}

#[test]
fn what_is_not_laid_out() {
    for text in ["model m {\n", "}", "model m { channel 1 = 3,5 % }", "a \"b", ";", "\u{0}"] {
        assert!(matches!(laid(text), Err(Untidy::Fault(..))), "{text}");
    }
    assert_eq!(laid("rig 2\n  place x { }"), Err(Untidy::Version(Span::new(4, 5))));
    // A statement that is not understood is a matter of its words, not of the layout.
    assert_eq!(laid("rig 1\n swich  x").as_deref(), Ok("rig 1\nswich x\n"));
}

#[test]
fn no_comment_begins_to_be_a_waiver() {
    let text = "place x {\n  region AU\n  ; # waive channels/order because \"x\"\n  reach 5 m\n}\n";
    assert_eq!(laid(text), Err(Untidy::Unsure));
}
