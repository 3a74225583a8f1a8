//! The language reference, written from the table of statements.

use super::lists::SYNONYMS;
use super::{Block, Entry, entries, plain};
use crate::fleet::MAX_TERMS;
use crate::syntax::{MAX_BYTES, MAX_IN_BLOCK, MAX_NESTING, MAX_STATEMENTS, MAX_WORD, Unit};

const HEAD: &str = "\
# The rig language, version 1

This page is written from the table of statements that the reader itself uses: `cargo run --example write_docs`.

A rig file is UTF-8 text; LF or CRLF ends a line, and a byte-order mark is tolerated. The first statement is `rig 1`. One statement stands on a
line and never spans lines; `#` starts a comment. Inside braces `;` separates statements too. An unknown statement is reported and passed over:
one broken line never hides what is found elsewhere.

* **Names** are words (a letter, then letters, digits, `-`, `_`) or strings in quotes with the escapes `\\\"`, `\\\\`, `\\n`, `\\t` and `\\u{…}`. They are
  compared exactly. The words of conditions and values (`roll`, `and`, `when` and so on) are no names of controls, conditions or curves.
* **Numbers** have an optional sign that touches the digits, and a decimal point: `-0.5`, `+5 %`. A comma between digits is refused. At most 15 digits.
* **Ranges** are `1..4` without spaces. In a list or range a number without a unit takes the unit of the last.
* **Units** are needed by every physical value; units of one kind are converted (`0.1 W` is `100 mW` is `20 dBm`).
* What is not stated is **not known**, and never assumed.
* **Closed lists** (the kind of an aircraft, the chemistry of a battery, what a surface does) take their own words and what the trade says for
  them; anything else is a fault that names the nearest.
* A line that is **not understood** takes with it only what hangs on it: the channel, the condition or the setting that it speaks of.

## Saying it once: `like`

A place, a link, a handset, an aircraft or a model can start from another of its kind, in any file:

```
craft knot like dunlin {
  receiver { number 5 }
  controller { idle-below 1060 us; without expo roll }
}
```

* It has every statement of the other. One that is stated **replaces** the one with the same key: its word, and for those that may stand several
  times the channel, name, bay or function. What of both has a block is put together statement by statement, under the header that is stated.
  `channel 3 { reversed }` keeps the value of `channel 3 = throttle`.
* Lines whose order counts belong together: one `value`, `rate`, `carry`, `sensitivity`, `air-time` or `timer` replaces all of its word there, an `alarm` all of
  its kind (`battery`, `signal`, `link-quality`). An `expect` comes to the others.
* `without channel 8`, `without controller` **takes away**: a word, and what tells it from others. What is stated beside it stands alone: nothing of the
  other's is left in it.
* What belongs to one aircraft is never taken over: what a model `flies`, its `receiver-number`, the `number` of a receiver, and what was `tested`. A model needs its own
  `flies` where the other has one, and its own `receiver-number` where the match is on; a receiver's number that is not stated is not known.
* The other may itself be like a third, up to 32 in a row. A circle is a fault, and so is a name that nobody has; what is stated is checked all the same.
* What is found in a line that the other says points there, and to the header of the block that has it from there. A waiver above that line covers it in
  all of them. `walkaround trace --spelled-out NAME` shows a block whole, `walkaround convert --spelled-out FILE` a file.

## Conditions and values

```
condition = or ;  or = and {\"or\" and} ;  and = not {\"and\" not}
not       = \"not\" not | \"held\" duration not | \"(\" or \")\" | atom
atom      = control position | control \"becomes\" position | axis (\"above\" | \"below\") number \"%\"
          | \"channel\" integer ((\"above\" | \"below\") number unit | \"between\" range unit)
          | \"mode\" name | condition-name
value     = term {(\"+\" | \"-\") term} ;  term = factor {\"*\" factor}
factor    = number \"%\" | control | mix-name | \"unshaped\" stick | \"channel\" integer | curve-name \"(\" value \")\"
          | (\"min\" | \"max\") \"(\" value \",\" value \")\" | \"-\" factor | \"(\" value \")\"
```

`low`, `centre` and `high` of a stick, knob or slider are within 3 % of its ends and its middle: `throttle low` is the raw stick at or under
-97 %. `above` and `below` are strict, `between` includes its ends. In `when`, `while`, `set` and `reset` a
channel's `us` is the pulse that the handset sends; in `expect` it is the pulse that arrives. Sticks are `roll`, `pitch`, `throttle` and `yaw`; on a
pistol grip `wheel` and `trigger`. A stick is positive to the right, and away from the pilot: roll and yaw to the right, pitch pushed away (nose down),
throttle at the top, the wheel turned to the right, the trigger pulled. Controls, conditions, curves and mixes share one name space, and a value names a mix as it names a control.
";

/// The page as Markdown.
pub fn markdown() -> String {
    let mut page = HEAD.to_owned();
    page += &format!(
        "\nLimits: {} MiB a file, {MAX_STATEMENTS} statements, {MAX_IN_BLOCK} in one block, blocks {MAX_NESTING} deep, \
         names of {MAX_WORD} characters, \
         {MAX_TERMS} parts in a condition, a value, a curve or a list. Units: {}.\n",
        MAX_BYTES >> 20,
        Unit::ALL.iter().map(|unit| format!("`{}`", unit.text())).collect::<Vec<_>>().join(" ")
    );
    let said: Vec<String> = SYNONYMS.iter().map(|(synonym, meant)| format!("`{synonym}` is `{meant}`")).collect();
    page += &format!("\nWhat the trade says in closed lists: {}.\n", said.join(", "));
    for &block in Block::ALL {
        let opened: Vec<String> = entries()
            .filter(|entry| entry.opens == Some(block))
            .map(|entry| format!("`{}` in {}", entry.word, entry.block.name()))
            .collect();
        page += &format!("\n## In {}\n\n", block.name());
        if !opened.is_empty() {
            page += &format!("The block of {}.\n\n", opened.join(" and of "));
        }
        page += "| statement | | what it says |\n|---|---|---|\n";
        for entry in entries().filter(|entry| entry.block == block) {
            page += &row(entry);
        }
    }
    page
}

fn row(entry: &Entry) -> String {
    let forms: Vec<String> = entry
        .shapes
        .iter()
        .map(|shape| {
            let written = format!("{} {}", entry.word, plain(shape));
            let written = written.trim_end().replace(" {", " { … }").replace('|', "\\|");
            format!("`{}`", written.split_whitespace().collect::<Vec<_>>().join(" "))
        })
        .collect();
    let count = match (entry.required, entry.many) {
        (true, true) => "needed, repeatable",
        (true, false) => "needed",
        (false, true) => "repeatable",
        (false, false) => "",
    };
    let units = units(entry);
    let default = match entry.default {
        "" => String::new(),
        words => format!(" Absent: {words}."),
    };
    format!("| {} | {count} | {}{units}{default} |\n", forms.join("<br>"), entry.help)
}

/// The units and limits of a statement's numbers, in words.
fn units(entry: &Entry) -> String {
    let mut words = Vec::new();
    for slot in entry.shapes.iter().flat_map(|shape| shape.split('<')).filter_map(|rest| rest.split('>').next()) {
        let Some((name, kind)) = slot.split_once(':') else { continue };
        let mut parts = kind.split(' ');
        let (Some(kind), argument, limits) = (parts.next(), parts.next().unwrap_or_default(), parts.next()) else {
            continue;
        };
        let text = match kind {
            "int" | "ints" | "int-range" => argument.replace("..", " to "),
            "number" | "numbers" | "range" => {
                let dimension = crate::fleet::Dimension::find(argument);
                let units = dimension.map_or_else(String::new, super::super::miss::units);
                limits.map_or(units.clone(), |limits| format!("{} {units}", limits.replace("..", " to ")))
            }
            "duration" => super::super::miss::units(crate::fleet::Dimension::Time),
            _ => continue,
        };
        let word = format!("{name}: {text}");
        if !text.is_empty() && !words.contains(&word) {
            words.push(word);
        }
    }
    if words.is_empty() { String::new() } else { format!(" ({})", words.join("; ")) }
}

/// A file in which every statement stands, for examples.
const EVERY_STATEMENT: &str = include_str!("../../../testdata/syntax/every-statement.rig");

/// What is said of the statements with a word, in each of their blocks, with an example; empty where there is none.
pub fn entry(word: &str) -> String {
    let mut page = String::new();
    for entry in entries().filter(|entry| entry.word == word) {
        page += &format!("{word}, in {}\n", entry.block.name());
        for shape in entry.shapes {
            let written = format!("{} {}", entry.word, plain(shape)).replace(" {", " { … }");
            page += &format!("    {}\n", written.trim_end());
        }
        let count = match (entry.required, entry.many) {
            (true, true) => " It is needed, and may stand several times.",
            (true, false) => " It is needed.",
            (false, true) => " It may stand several times.",
            (false, false) => "",
        };
        let default = match entry.default {
            "" if entry.required => String::new(),
            "" => " Absent: it is not known.".to_owned(),
            words => format!(" Absent: {words}."),
        };
        page += &format!("  {}{}{count}{default}\n", entry.help, units(entry));
        for line in examples(entry).into_iter().take(EXAMPLES_AT_MOST) {
            page += &format!("  for example  {line}\n");
        }
        page += "\n";
    }
    page.truncate(page.trim_end().len());
    if page.is_empty() { page } else { page + "\n" }
}

/// Examples of one statement that are shown.
const EXAMPLES_AT_MOST: usize = 2;

/// The lines of the example file that state this, shortest first.
fn examples(entry: &Entry) -> Vec<String> {
    let mut tables = crate::syntax::Tables::default();
    crate::syntax::parse(EVERY_STATEMENT.as_bytes(), super::vocabulary, &mut tables);
    let mut found = Vec::new();
    gather(entry, Block::Top, None, &tables, &mut found);
    found.sort_by_key(String::len);
    found.dedup();
    found
}

fn gather(entry: &Entry, block: Block, parent: Option<u32>, tables: &crate::syntax::Tables, found: &mut Vec<String>) {
    let bytes = EVERY_STATEMENT.as_bytes();
    for index in tables.body(parent) {
        let Some(statement) = tables.statements.get(index as usize) else { continue };
        let Some(ready) = super::find(block, tables.word(statement).of(bytes)) else { continue };
        if std::ptr::eq(ready.entry, entry) {
            let header = String::from_utf8_lossy(tables.header(statement).of(bytes)).into_owned();
            found.push(if statement.has_body { header + " { … }" } else { header });
        }
        if let Some(opened) = ready.entry.opens.filter(|_| statement.has_body) {
            gather(entry, opened, Some(index), tables, found);
        }
    }
}

/// The closed lists of the language, each once, with where they stand and what the trade says for their words.
pub fn lists() -> String {
    let mut lists: Vec<(Vec<&str>, Vec<String>)> = Vec::new();
    for entry in entries() {
        for slot in entry.shapes.iter().flat_map(|shape| shape.split('<')).filter_map(|rest| rest.split('>').next()) {
            let Some((_, words)) = slot.split_once('=') else { continue };
            let words: Vec<&str> = words.trim_end_matches(',').split('|').collect();
            let place = format!("{} in {}", entry.word, entry.block.name());
            match lists.iter_mut().find(|(known, _)| *known == words) {
                _ if words.len() < 2 => {}
                Some((_, places)) if places.contains(&place) => {}
                Some((_, places)) => places.push(place),
                None => lists.push((words, vec![place])),
            }
        }
    }
    lists.push((super::lists::FUNCTIONS.to_vec(), vec!["channel in surfaces".to_owned()]));
    let mut page = String::new();
    for (words, places) in lists {
        page += &format!("{}\n", places.join(", "));
        for word in words {
            let said: Vec<&str> =
                SYNONYMS.iter().filter(|(_, meant)| *meant == word).map(|(synonym, _)| *synonym).collect();
            let said = if said.is_empty() { String::new() } else { format!("  (also {})", said.join(", ")) };
            page += &format!("    {word}{said}\n");
        }
    }
    page
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_statement_has_an_entry_with_an_example() {
        for entry in entries() {
            let page = super::entry(entry.word);
            assert!(page.contains(&format!("{}, in {}\n", entry.word, entry.block.name())), "{}", entry.word);
            assert!(!examples(entry).is_empty(), "{} in {} has no example", entry.word, entry.block.name());
        }
        assert_eq!(super::entry("no-such-word"), "");
        assert!(lists().contains("    li-po  (also lipo)\n"), "{}", lists());
    }
}
