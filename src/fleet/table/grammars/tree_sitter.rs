//! The grammar for tree-sitter, as the JSON from which its parser is generated, and the query that colours with it.

use super::{JOINING, openers, plain, taken, units};
use crate::fleet::table::Block;
use serde_json::{Map, Value, json};
use std::fmt::Write as _;

/// A letter of a word: of any alphabet, but not the byte-order mark.
const LETTER: &str = r"a-zA-Z\x{80}-\x{FEFE}\x{FF00}-\x{10FFFF}";

/// The rule for what stands in a block of which nothing is known.
const UNKNOWN: &str = "unknown";

/// The grammar, as the file holds it.
pub fn tree_sitter() -> String {
    let mut rules: Vec<(String, Value)> = Vec::new();
    // Statements with an end each; the last of a text or a block may have none.
    let lines = |inside: &str, ends: &[&str]| {
        let end = || choice(ends.iter().map(|end| string(end)));
        let one = sequence([symbol(inside), end()]);
        [optional(repeat1(choice([one, end()]))), optional(symbol(inside))]
    };
    let body = |name: &str, inside: &str| {
        let [all, last] = lines(inside, &["\n", ";"]);
        (name.to_owned(), sequence([string("{"), all, last, string("}")]))
    };
    // The first rule is that of a whole text.
    rules.push(("file".into(), sequence(lines(&inside(Block::Top), &["\n"]))));
    for &block in Block::ALL {
        rules.extend(statements(block));
        if block != Block::Top {
            rules.push(body(&body_of(block), &inside(block)));
        }
    }
    let unknown = sequence([
        field("word", symbol("word")),
        optional(symbol("_items")),
        optional(field("body", alias("body", symbol("_unknown_body")))),
    ]);
    rules.push((UNKNOWN.into(), unknown));
    rules.push(body("_unknown_body", UNKNOWN));
    rules.push(("_items".into(), repeat1(symbol("_item"))));
    rules.push(("_item".into(), choice(items())));
    rules.push(("quantity".into(), sequence([choice([symbol("number"), symbol("range")]), symbol("unit")])));
    rules.push(("unit".into(), choice(units().into_iter().map(string))));
    rules.push(("operator".into(), choice(["=", "+", "-", "*"].map(string))));
    let number = r"[-+]?[0-9]+(\.[0-9]+)?";
    rules.push(("number".into(), pattern(number)));
    rules.push(("range".into(), pattern(&format!(r"{number}\.\.{number}"))));
    rules.push(("day".into(), pattern("[0-9]{4}-[0-9]{2}-[0-9]{2}")));
    rules.push(("string".into(), pattern(r#""([^"\\\n]|\\[^\n])*""#)));
    rules.push(("comment".into(), pattern(r"#[^\n]*")));
    rules.push(("word".into(), pattern(&format!("[{LETTER}][{LETTER}0-9_-]*"))));
    // The order counts, of the rules and of what goes before them, and a map of this library has none.
    let rules: Vec<String> = rules.iter().map(|(name, rule)| format!("    \"{name}\": {rule}")).collect();
    let extras = json!([pattern(r"[ \t\r\x{FEFF}]"), symbol("comment")]);
    format!(
        "{{\n  \"name\": \"rig\",\n  \"word\": \"word\",\n  \"rules\": {{\n{}\n  }},\n  \"extras\": {extras},\n  \"conflicts\": [],\n  \
         \"precedences\": [],\n  \"externals\": [],\n  \"inline\": [],\n  \"supertypes\": []\n}}\n",
        rules.join(",\n"),
    )
}

/// The query that says how what the parser finds is coloured.
pub fn highlights() -> String {
    let quoted = |words: &mut dyn Iterator<Item = &'static str>| {
        words.fold(String::new(), |mut all, word| {
            let _ = write!(all, " \"{word}\"");
            all
        })
    };
    format!(
        "; Made from the table of statements by `cargo run --example write_docs`.\n\
         (comment) @comment\n\
         (string) @string\n\
         [(number) (range) (day)] @number\n\
         (unit) @type\n\
         (operator) @operator\n\
         (statement word: _ @keyword)\n\
         (block word: _ @keyword)\n\
         ((word) @keyword.operator (#any-of? @keyword.operator{}))\n\
         ((word) @constant.builtin (#any-of? @constant.builtin{}))\n",
        quoted(&mut JOINING.into_iter()),
        quoted(&mut taken().into_iter()),
    )
}

/// The name of a block in the names of rules.
fn name(block: Block) -> String {
    block.name().replace('\'', "").replace(' ', "_")
}

fn body_of(block: Block) -> String {
    format!("_body_of_{}", name(block))
}

fn inside(block: Block) -> String {
    format!("_in_{}", name(block))
}

/// The rules for the statements of a block: that for any of them, and those that it chooses from, the known ones by their words.
fn statements(block: Block) -> Vec<(String, Value)> {
    let mut rules = Vec::new();
    let mut all = Vec::new();
    let words: Vec<Value> = plain(block).map(string).collect();
    if !words.is_empty() {
        let name = format!("_statement_of_{}", name(block));
        all.push(alias("statement", symbol(&name)));
        rules.push((name, sequence([field("word", choice(words)), optional(symbol("_items"))])));
    }
    for (word, opened) in openers(block) {
        let body = field("body", alias("body", symbol(&body_of(opened))));
        let name = format!("_{word}_of_{}", name(block)).replace('-', "_");
        all.push(alias("block", symbol(&name)));
        rules.push((name, sequence([field("word", string(word)), optional(symbol("_items")), optional(body)])));
    }
    all.push(symbol(UNKNOWN));
    rules.insert(0, (inside(block), choice(all)));
    rules
}

/// What a statement takes.
fn items() -> Vec<Value> {
    let named = ["word", "string", "number", "range", "day", "quantity", "operator"].map(symbol);
    named.into_iter().chain([",", ":", "(", ")"].map(string)).collect()
}

fn rule(kind: &str, parts: impl IntoIterator<Item = (&'static str, Value)>) -> Value {
    let mut map = Map::new();
    map.insert("type".into(), kind.into());
    map.extend(parts.into_iter().map(|(key, part)| (key.to_owned(), part)));
    Value::Object(map)
}

fn string(text: &str) -> Value {
    rule("STRING", [("value", text.into())])
}

fn pattern(text: &str) -> Value {
    rule("PATTERN", [("value", text.into())])
}

fn symbol(name: &str) -> Value {
    rule("SYMBOL", [("name", name.into())])
}

fn sequence(members: impl IntoIterator<Item = Value>) -> Value {
    rule("SEQ", [("members", members.into_iter().collect())])
}

fn choice(members: impl IntoIterator<Item = Value>) -> Value {
    let mut members: Vec<Value> = members.into_iter().collect();
    match members.len() {
        1 => members.remove(0),
        _ => rule("CHOICE", [("members", members.into())]),
    }
}

fn optional(content: Value) -> Value {
    choice([content, rule("BLANK", [])])
}

fn repeat1(content: Value) -> Value {
    rule("REPEAT1", [("content", content)])
}

fn field(name: &str, content: Value) -> Value {
    rule("FIELD", [("name", name.into()), ("content", content)])
}

fn alias(name: &str, content: Value) -> Value {
    rule("ALIAS", [("named", true.into()), ("value", name.into()), ("content", content)])
}
