//! The table of statements walked against the reader: what is declared is read.

use super::{FileFleet, read};
use crate::fleet::items::Items;
use crate::fleet::like::tests::alone;
use crate::fleet::shape::{Captures, Part, SlotKind};
use crate::fleet::table::{self, Block, block};
use crate::source::{FileId, Span};
use crate::syntax::{NONE, Tables, parse};

const TEXT: &str = include_str!("../../../testdata/syntax/every-statement.rig");

fn tables(text: &str) -> Tables {
    let mut tables = Tables::default();
    parse(text.as_bytes(), table::vocabulary, &mut tables);
    tables
}

fn fleet(text: &str) -> FileFleet {
    read(FileId(0), text.as_bytes(), &tables(text))
}

/// What a text says, without the places and without what stands for its bytes.
fn said(text: &str) -> String {
    let mut fleet = alone(text);
    fleet.problems.clear();
    fleet.models.iter_mut().for_each(|model| (model.digest, model.head.lost) = (0, Vec::new()));
    fleet.crafts.iter_mut().for_each(|craft| craft.head.lost.clear());
    fleet.links.iter_mut().for_each(|link| link.head.lost.clear());
    fleet.handsets.iter_mut().for_each(|handset| handset.head.lost.clear());
    fleet.sites.iter_mut().for_each(|site| site.head.lost.clear());
    let whole = format!("{fleet:?}");
    let mut said = String::new();
    for part in whole.split_inclusive(|letter: char| !letter.is_ascii_digit()) {
        let place = ["start: ", "end: ", "insert: ", "indent: "].iter().any(|word| said.ends_with(word));
        said.push_str(if place { part.trim_start_matches(|letter: char| letter.is_ascii_digit()) } else { part });
    }
    said.replace("empty: true", "").replace("empty: false", "")
}

/// A statement of the text: where it stands, its block, its word, the shape that it has and what its slots took.
struct Stated {
    whole: Span,
    block: Block,
    word: &'static str,
    shape: usize,
    slots: Vec<(&'static str, Span)>,
}

fn statements() -> Vec<Stated> {
    let tables = tables(TEXT);
    assert!(tables.problems.is_empty(), "{:?}", tables.problems);
    let mut list: Vec<Stated> = Vec::new();
    let mut opened: Vec<Option<Block>> = Vec::new();
    for (index, statement) in tables.statements.iter().enumerate() {
        let around = if statement.parent == NONE { Block::Top } else { opened[statement.parent as usize].unwrap() };
        let word = tables.word(statement);
        let ready = table::find(around, word.of(TEXT.as_bytes())).unwrap();
        opened.push(ready.entry.opens.filter(|_| statement.has_body));
        let items = Items::new(TEXT.as_bytes(), tables.items(statement), word.end);
        let mut captures = Captures::default();
        let fits = |shape: &crate::fleet::shape::Shape, captures: &mut Captures| {
            shape.has_body() == statement.has_body && shape.take(&mut items.clone(), captures).is_ok()
        };
        let shape = ready.shapes().iter().position(|shape| fits(shape, &mut captures)).unwrap();
        let slots = captures.list.iter().map(|(slot, capture)| (*slot, capture.span)).collect();
        list.push(Stated { whole: tables.whole(index as u32), block: around, word: ready.entry.word, shape, slots });
    }
    list
}

/// The text without a statement; nothing else moves.
fn without(span: Span) -> String {
    let (start, end) = (span.start as usize, span.end as usize);
    let blank: String = TEXT[start..end].chars().map(|letter| if letter == '\n' { '\n' } else { ' ' }).collect();
    format!("{}{blank}{}", &TEXT[..start], &TEXT[end..])
}

/// The slots of parts with the words of closed lists.
fn slots(parts: &'static [Part], list: &mut Vec<(&'static str, &'static [&'static str])>) {
    for part in parts {
        match part {
            Part::Slot(name, SlotKind::OneOf(words) | SlotKind::SomeOf(words)) => list.push((name, words)),
            Part::Slot(name, _) => list.push((name, &[])),
            Part::Optional(inner) | Part::Repeat(inner) => slots(inner, list),
            Part::Word(_) | Part::Sign(_) => {}
        }
    }
}

#[test]
fn the_text_of_every_statement_has_no_fault() {
    assert!(fleet(TEXT).problems.is_empty(), "{:?}", fleet(TEXT).problems);
    assert!(alone(TEXT).problems.is_empty(), "{:?}", alone(TEXT).problems);
}

#[test]
fn every_statement_of_the_table_is_read_in_each_of_its_shapes() {
    let (whole, statements) = (said(TEXT), statements());
    for ready in Block::ALL.iter().flat_map(|&kind| block(kind)) {
        let entry = ready.entry;
        if entry.word == "rig" {
            continue;
        }
        for (shape, text) in entry.shapes.iter().enumerate() {
            let what = format!("`{} {text}` of {}", entry.word, entry.block.name());
            let is =
                |stated: &&Stated| stated.block == entry.block && stated.word == entry.word && stated.shape == shape;
            let stated: Vec<&Stated> = statements.iter().filter(is).collect();
            assert!(!stated.is_empty(), "{what} does not stand in every-statement.rig");
            for known in &stated {
                assert_ne!(said(&without(known.whole)), whole, "{what} changes nothing of what is read");
            }
            let mut list = Vec::new();
            slots(ready.shapes()[shape].parts(), &mut list);
            for (slot, words) in list.into_iter().filter(|(slot, _)| *slot != "_") {
                let mut filled = stated.iter().filter_map(|stated| {
                    let at = stated.slots.iter().find(|(name, _)| *name == slot)?.1;
                    Some((stated.whole, at))
                });
                let (whole, at) = filled
                    .next()
                    .unwrap_or_else(|| panic!("<{slot}> of {what} stands in no line of every-statement.rig"));
                let mut seen = vec![said(&without(whole))];
                for word in words {
                    let (start, end) = (at.start as usize, at.end as usize);
                    let changed = said(&format!("{}{word}{}", &TEXT[..start], &TEXT[end..]));
                    // Which letter stands where in a channel order is no matter of one letter.
                    if entry.word != "order" {
                        assert!(!seen.contains(&changed), "`{word}` of {what} says what another word says");
                    }
                    seen.push(changed);
                }
            }
        }
    }
}

#[test]
fn a_lost_statement_keeps_its_key_and_where_it_stood() {
    let text = "rig 1\nmodel m {\n  handset h\n  channel 7 arm {\n    value 100 % wen ready\n    value -100 %\n  }\n  condition idle when throttle lo w\n  chanel 9 = roll\n  zzz 3\n  curve soft { points 0:0 }\n}\n\
                craft c {\n  receiver main {\n    link s\n    number none\n  }\n  surfaces { motor channel 3 idle-below }\n}\n";
    let fleet = fleet(text);
    let lost = |head: &crate::fleet::equipment::Head| -> Vec<String> {
        let opened = |opened: &crate::fleet::equipment::Opened| format!("{} {:?} > ", opened.word, opened.key);
        let tell = |lost: &crate::fleet::equipment::Lost| {
            format!("{}{} {:?}", lost.inside.iter().map(opened).collect::<String>(), lost.word, lost.key)
        };
        head.lost.iter().map(tell).collect()
    };
    assert_eq!(
        lost(&fleet.models[0].head),
        [
            "channel Some(\"7\") > value None",
            "condition Some(\"idle\")",
            "channel Some(\"9\")",
            " None",
            "curve Some(\"soft\")"
        ]
    );
    assert_eq!(
        lost(&fleet.crafts[0].head),
        ["receiver Some(\"main\") > number None", "surfaces None > motor Some(\"3\")"]
    );
    let head = &fleet.models[0].head;
    assert!(head.lost_key("channel", "7") && head.lost_key("channel", "9") && !head.lost_key("channel", "3"));
    assert!(head.may_be_lost(&["channel"], "9") && head.may_be_lost(&["channel"], "5"), "`zzz` may be anything");
    assert!(head.lost_here(&["trims"]), "`zzz` may be anything");
}

#[test]
fn what_may_be_lost_is_only_what_the_line_can_have_been() {
    let fleet = fleet("rig 1\nmodel m {\n  handset h\n  chanel 9 = roll\n}\n");
    let head = &fleet.models[0].head;
    assert!(head.may_be_lost(&["channel"], "9") && !head.may_be_lost(&["channel"], "5"));
    assert!(!head.lost_here(&["trims"]) && !head.may_be_lost(&["condition"], "9"));
}
