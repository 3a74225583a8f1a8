//! The JSON Schema (draft 2020-12) of the JSON form, written from the table of statements.

use super::form::{BODY, FORM, Form, Key, STATEMENT, Takes, WAIVE, forms};
use crate::fleet::number::Dimension;
use crate::fleet::shape::SlotKind;
use crate::fleet::table::lists::accepted;
use crate::fleet::table::{Block, Ready, WITHOUT, block};
use serde_json::{Map, Value, json};

/// The key with the name of the block that one is like.
const LIKE: &str = "like";
/// A number as the language writes it.
const NUMBER: &str = r"[+-]?[0-9]+(\.[0-9]+)?";
/// A number that is whole.
const WHOLE: &str = r"-?[0-9]+(\.0+)?";

/// The schema. What it accepts can be read as far as each statement goes; what a name leads to is for `inspect` to say.
pub fn schema() -> Value {
    let mut definitions = Map::new();
    for &kind in Block::ALL {
        definitions.insert(block_definition(kind, Of::Whole), statements(kind, Of::Whole));
        for ready in block(kind).iter().filter(|ready| !is_version(ready) && !is_without(ready)) {
            definitions.insert(definition(ready, Of::Whole), statement(ready, Of::Whole));
        }
        if kind == Block::Top {
            continue;
        }
        definitions.insert(block_definition(kind, Of::Part), statements(kind, Of::Part));
        for ready in block(kind).iter().filter(|ready| ready.entry.opens.is_some() || is_without(ready)) {
            definitions.insert(definition(ready, Of::Part), statement(ready, Of::Part));
        }
    }
    definitions.insert("waivers".to_owned(), waivers());
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Settings of radio-control handsets, links and aircraft: the JSON form of a rig file, version 1",
        "type": "object",
        "required": ["rig", "statements"],
        "additionalProperties": false,
        "properties": {
            "rig": {"enum": [crate::fleet::VERSION, crate::fleet::VERSION.to_string()], "description": "The version of the language."},
            WAIVE: reference("waivers"),
            "statements": reference(&block_definition(Block::Top, Of::Whole)),
        },
        "$defs": definitions,
    })
}

/// `rig 1` is a key of the file and no statement in its list.
fn is_version(ready: &Ready) -> bool {
    ready.entry.block == Block::Top && ready.entry.word == "rig"
}

/// `without` stands only in what is like something else.
fn is_without(ready: &Ready) -> bool {
    ready.entry.word == WITHOUT
}

/// Whether a block says all that is said, or is a part of a block that is like another: it may lack what the other has.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Of {
    Whole,
    Part,
}

fn definition(ready: &Ready, of: Of) -> String {
    format!("{} in {}", ready.entry.word, block_definition(ready.entry.block, of))
}

fn block_definition(kind: Block, of: Of) -> String {
    match of {
        Of::Whole => kind.name().to_owned(),
        Of::Part => format!("{} that is like another", kind.name()),
    }
}

fn reference(name: &str) -> Value {
    // A name in a pointer: blanks are escaped as in an address.
    json!({"$ref": format!("#/$defs/{}", name.replace(' ', "%20"))})
}

/// The list of a block's statements.
fn statements(kind: Block, of: Of) -> Value {
    let stands = |ready: &&Ready| !is_version(ready) && (of == Of::Part || !is_without(ready));
    let known: Vec<&'static Ready> = block(kind).iter().filter(stands).collect();
    let words: Vec<&str> = known.iter().map(|ready| ready.entry.word).collect();
    let is = |word: &str| json!({"required": [STATEMENT], "properties": {STATEMENT: {"const": word}}});
    let defined = |ready: &Ready| {
        let apart = ready.entry.opens.is_some() || is_without(ready);
        reference(&definition(ready, if apart { of } else { Of::Whole }))
    };
    let each: Vec<Value> =
        known.iter().map(|ready| json!({"if": is(ready.entry.word), "then": defined(ready)})).collect();
    let mut counts: Vec<Value> = Vec::new();
    for ready in &known {
        let mut count = Map::new();
        count.insert("contains".to_owned(), is(ready.entry.word));
        match (ready.entry.required && of == Of::Whole, ready.entry.many) {
            (true, true) => {}
            (true, false) => drop(count.insert("maxContains".to_owned(), 1.into())),
            (false, true) => continue,
            (false, false) => {
                count.insert("minContains".to_owned(), 0.into());
                count.insert("maxContains".to_owned(), 1.into());
            }
        }
        counts.push(Value::Object(count));
    }
    let mut list = json!({
        "type": "array",
        "items": {
            "type": "object",
            "if": {"required": [STATEMENT]},
            "then": {"properties": {STATEMENT: {"enum": words}}, "allOf": each},
            "else": {
                "description": "Waivers behind the last statement.",
                "required": [WAIVE],
                "additionalProperties": false,
                "properties": {WAIVE: reference("waivers")},
            },
        },
    });
    if let (false, Some(list)) = (counts.is_empty(), list.as_object_mut()) {
        list.insert("allOf".to_owned(), Value::Array(counts));
    }
    list
}

fn statement(ready: &'static Ready, of: Of) -> Value {
    let mut all: Vec<Value> = forms(ready).iter().map(|form| object(ready, form, of)).collect();
    let mut value = if all.len() == 1 { all.remove(0) } else { json!({"oneOf": all}) };
    if let Some(value) = value.as_object_mut() {
        let mut help = ready.entry.help.to_owned();
        if !ready.entry.default.is_empty() {
            help += &format!(" Absent: {}.", ready.entry.default);
        }
        value.insert("description".to_owned(), help.into());
    }
    value
}

fn object(ready: &'static Ready, form: &Form, of: Of) -> Value {
    let mut properties = Map::new();
    let mut required = vec![STATEMENT];
    properties.insert(STATEMENT.to_owned(), json!({"const": ready.entry.word}));
    if let Some(words) = &form.form {
        properties.insert(FORM.to_owned(), json!({"const": words}));
        required.push(FORM);
    }
    for key in &form.keys {
        properties.insert(key.name.to_owned(), takes(key));
        if key.required {
            required.push(key.name);
        }
    }
    properties.insert(WAIVE.to_owned(), reference("waivers"));
    let mut value =
        json!({"type": "object", "required": required, "additionalProperties": false, "properties": properties});
    if let (true, Some(opens)) = (form.body, ready.entry.opens) {
        let body = |of: Of| json!({"properties": {BODY: reference(&block_definition(opens, of))}});
        value["properties"][BODY] = json!({});
        value["required"].as_array_mut().into_iter().for_each(|required| required.push(BODY.into()));
        if form.keys.iter().any(|key| key.name == LIKE) {
            value["if"] = json!({"required": [LIKE]});
            value["then"] = body(Of::Part);
            value["else"] = body(Of::Whole);
        } else {
            value["properties"][BODY] = reference(&block_definition(opens, of));
        }
    }
    value
}

fn takes(key: &Key) -> Value {
    match &key.takes {
        Takes::Flag => json!({"const": true}),
        Takes::Slot(kind) => slot(kind),
        Takes::Groups(keys) => {
            let properties: Map<String, Value> = keys.iter().map(|key| (key.name.to_owned(), takes(key))).collect();
            let required: Vec<&str> = keys.iter().filter(|key| key.required).map(|key| key.name).collect();
            list(json!({
                "type": "object",
                "required": required,
                "additionalProperties": false,
                "properties": properties,
            }))
        }
    }
}

fn list(items: Value) -> Value {
    json!({"type": "array", "minItems": 1, "items": items})
}

fn text(pattern: &str) -> Value {
    json!({"type": "string", "pattern": format!("^ *{pattern} *$")})
}

fn slot(kind: &SlotKind) -> Value {
    match kind {
        SlotKind::Name | SlotKind::Position => json!({"type": "string"}),
        SlotKind::Integer(low, high) => whole(*low, *high, WHOLE),
        SlotKind::IntegerRange(low, high) => whole(*low, *high, &format!(r"{WHOLE}(\.\.{WHOLE})?")),
        SlotKind::Integers(low, high) => list(whole(*low, *high, &format!(r"{WHOLE}(\.\.{WHOLE})?"))),
        SlotKind::Number(dimension, _) => with_unit(NUMBER, *dimension),
        SlotKind::Numbers(dimension) => list(with_unit(NUMBER, *dimension)),
        SlotKind::Range(dimension, _) => with_unit(&format!(r"{NUMBER}\.\.{NUMBER}"), *dimension),
        SlotKind::Duration => {
            let part = format!("{NUMBER} *({})", units(Dimension::Time));
            json!({
                "type": "string",
                "pattern": format!("^ *{part}( +{part})* *$"),
                "description": "A time such as \"2 min 30 s\".",
            })
        }
        SlotKind::Day => text(r"\d{4}-\d{2}-\d{2}"),
        SlotKind::Names(_) => list(json!({"type": "string"})),
        SlotKind::Points => {
            let number = json!({"anyOf": [text(&format!("{NUMBER}( *%)?")), {"type": "number"}]});
            list(json!({"type": "array", "minItems": 2, "maxItems": 2, "items": number}))
        }
        SlotKind::Condition => {
            json!({"type": "string", "minLength": 1, "description": "A condition as a rig file has it."})
        }
        SlotKind::Value => json!({"type": "string", "minLength": 1, "description": "A value as a rig file has it."}),
        SlotKind::OneOf(words) => json!({"enum": accepted(words).collect::<Vec<_>>()}),
        SlotKind::SomeOf(words) => list(json!({"enum": accepted(words).collect::<Vec<_>>()})),
    }
}

/// A whole number without a unit: as text, or as a number.
fn whole(low: i64, high: i64, pattern: &str) -> Value {
    json!({"anyOf": [text(pattern), {"type": "integer", "minimum": low, "maximum": high}]})
}

fn with_unit(number: &str, dimension: Dimension) -> Value {
    text(&format!("{number} *({})", units(dimension)))
}

fn units(dimension: Dimension) -> String {
    dimension.units().iter().map(|unit| unit.text()).collect::<Vec<_>>().join("|")
}

fn waivers() -> Value {
    let parts = json!({
        "type": "object",
        "required": ["rule"],
        "additionalProperties": false,
        "properties": {
            "rule": {"type": "string", "pattern": r"^\S+$", "description": "The rule whose findings are accepted."},
            "because": {"type": "string", "description": "Why; without it the waiver covers nothing."},
            "until": {"type": "string", "pattern": r"^\S+$", "description": "The last day on which it counts: 2027-03-01."},
        },
    });
    let words = json!({
        "type": "string",
        "description": "A waiver that can't be understood, as its comment has it behind the word `waive`.",
    });
    json!({
        "type": "array",
        "description": "Findings that are accepted in the statement they stand at.",
        "items": {"anyOf": [parts, words]},
    })
}
