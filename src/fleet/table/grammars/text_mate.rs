//! The grammar in TextMate's form, a JSON file of regular expressions that many editors and forges read.

use super::{JOINING, openers, plain, taken, units};
use crate::fleet::table::Block;
use serde_json::{Map, Value, json};

/// Behind a word: nothing that would make it longer.
const ENDS: &str = r"(?![\w-])";

/// Where a statement begins: in a new line, behind `{`, or behind `;`.
const BEGINS: &str = r"(?:^|(?<=[{;]))[\s\x{FEFF}]*";

/// Where it ends, if no block of its own is open.
const STATEMENT_ENDS: &str = r"(?=[;}])|$";

/// The grammar, as the file holds it.
pub fn text_mate() -> String {
    let mut repository = Map::new();
    for &block in Block::ALL {
        repository.insert(key(block), json!({ "patterns": statements(block) }));
    }
    repository.insert("comment".into(), json!({ "match": "#.*$", "name": "comment.line.number-sign.rig" }));
    repository.insert("items".into(), json!({ "patterns": items() }));
    let grammar = json!({
        "information_for_contributors": ["Made from the table of statements by `cargo run --example write_docs`."],
        "name": "Rig",
        "scopeName": "source.rig",
        "fileTypes": ["rig"],
        "patterns": [{ "include": format!("#{}", key(Block::Top)) }],
        "repository": repository,
    });
    format!("{grammar:#}\n")
}

fn key(block: Block) -> String {
    format!("in {}", block.name())
}

fn alternatives<'w>(words: impl IntoIterator<Item = &'w str>) -> String {
    words.into_iter().collect::<Vec<_>>().join("|")
}

/// What stands in a block.
fn statements(block: Block) -> Vec<Value> {
    let mut rules = vec![json!({ "include": "#comment" })];
    for (word, opened) in openers(block) {
        let header = match block {
            // What is described has a name, which others give.
            Block::Top => format!(r#"{BEGINS}({word}){ENDS}(?:\s+("(?:[^"\\]|\\.)*"|[^\s{{;}}"]+))?"#),
            _ => format!("{BEGINS}({word}){ENDS}"),
        };
        rules.push(json!({
            "begin": header,
            "beginCaptures": {
                "1": { "name": "keyword.control.block.rig" },
                "2": { "name": "entity.name.type.rig" },
            },
            "end": STATEMENT_ENDS,
            "patterns": [
                {
                    "begin": r"\{",
                    "beginCaptures": { "0": { "name": "punctuation.section.block.begin.rig" } },
                    "end": r"\}",
                    "endCaptures": { "0": { "name": "punctuation.section.block.end.rig" } },
                    "patterns": [{ "include": format!("#{}", key(opened)) }],
                },
                { "include": "#items" },
            ],
        }));
    }
    let words = alternatives(plain(block));
    if !words.is_empty() {
        rules.push(json!({
            "begin": format!("{BEGINS}({words}){ENDS}"),
            "beginCaptures": { "1": { "name": "keyword.other.statement.rig" } },
            "end": STATEMENT_ENDS,
            "patterns": [{ "include": "#items" }],
        }));
    }
    rules.push(json!({ "match": ";", "name": "punctuation.terminator.rig" }));
    rules
}

/// What a statement takes.
fn items() -> Vec<Value> {
    let number = r"[-+]?\d+(?:\.\d+)?";
    let alone = |words: String| format!(r"(?<![\w-])(?:{words}){ENDS}");
    vec![
        json!({ "include": "#comment" }),
        json!({
            "match": r#""(?:[^"\\]|\\.)*"?"#,
            "name": "string.quoted.double.rig",
        }),
        json!({
            "match": r"(?<![\w-])\d{4}-\d{2}-\d{2}(?![\w-])",
            "name": "constant.other.date.rig",
        }),
        json!({
            "match": format!(r"(?<![A-Za-z_])({number}(?:\.\.{number})?)(?:\s*((?:{}){ENDS}|%))?", alternatives(units().into_iter().filter(|unit| *unit != "%"))),
            "captures": {
                "1": { "name": "constant.numeric.rig" },
                "2": { "name": "keyword.other.unit.rig" },
            },
        }),
        json!({ "match": alone(alternatives(JOINING)), "name": "keyword.operator.word.rig" }),
        json!({ "match": alone(alternatives(taken())), "name": "support.constant.rig" }),
        json!({ "match": "[=+*-]", "name": "keyword.operator.rig" }),
    ]
}
