//! Turns the rule book's data files into static tables, so that nothing is parsed when the program runs.
//!
//! Reads `rules/<group>/<name>.toml` and `rules/examples/*.rig` and writes into the build's output folder: `book.rs`, the
//! tables; `modules.rs`, the `mod` lines of each group's source files; `list.rs`, the list of rules that ask something. Of
//! `rules/batteries.toml` it makes `batteries.rs`. A mistake in a data file stops the build with the file's name.
//! `rules/regions/` belongs to another table. With the feature `live-page` it takes in the page that `page/build` made.

#[path = "src/radio/certainty.rs"]
#[allow(dead_code, unreachable_pub)]
mod certainty;

use certainty::Certainty;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::{env, fs, io};

/// Folders under `rules/` that hold no rules.
const NOT_GROUPS: [&str; 2] = ["examples", "regions"];

/// One data file as it is written.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Rule {
    rule: String,
    title: String,
    severity: Severity,
    severities: Option<String>,
    basis: Basis,
    mend_kind: MendKind,
    asks: Option<Asks>,
    #[serde(default)]
    applies: Applies,
    #[serde(default)]
    needs: Vec<String>,
    #[serde(default)]
    looks_at: Vec<String>,
    /// What it needs besides, in the form of `needs`, for silence to mean that all is well.
    #[serde(default)]
    clear_needs: Vec<String>,
    what_is_it: String,
    what_can_happen: String,
    bench: String,
    mend: String,
    when_fine: String,
    source: String,
    no_example: Option<String>,
    /// What can happen in a case that a finding names, instead of `what_can_happen`.
    #[serde(default)]
    cases: BTreeMap<String, String>,
    #[serde(default)]
    parameters: Vec<Parameter>,
    #[serde(default)]
    bad: Vec<Bad>,
    #[serde(default)]
    good: Vec<Good>,
}

#[derive(Deserialize, Debug)]
#[serde(rename_all = "lowercase")]
enum Severity {
    Danger,
    Caution,
    Note,
    Fault,
}

#[derive(Deserialize, Debug)]
#[serde(rename_all = "lowercase")]
enum Basis {
    Signal,
    Pairing,
    Table,
    Facts,
    Practice,
    Reading,
}

#[derive(Deserialize, Debug)]
#[serde(rename_all = "lowercase")]
enum MendKind {
    Sure,
    Choice,
    Words,
}

/// What the rule's `check` looks at; a rule without it is found while a text is read.
#[derive(Deserialize, Clone, Copy, Debug)]
#[serde(rename_all = "lowercase")]
enum Asks {
    Signals,
    Way,
    Setup,
    Model,
    Craft,
    Handset,
    Arms,
    Sharing,
    Fleet,
    Text,
}

impl Asks {
    /// The kind of check, as the list of rules has it.
    const fn check(self) -> &'static str {
        match self {
            Self::Signals => "Signals",
            Self::Way => "Way",
            Self::Setup => "Setup",
            Self::Model => "Model",
            Self::Craft => "Craft",
            Self::Handset => "Handset",
            Self::Arms => "Arms",
            Self::Sharing => "Sharing",
            Self::Fleet => "Fleet",
            Self::Text => "Text",
        }
    }
}

/// The aircraft that a rule is about; `src/rules/book.rs` says what each means.
#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
struct Applies {
    #[serde(default)]
    kinds: Vec<String>,
    #[serde(default)]
    not_kinds: Vec<String>,
    controller: Option<bool>,
    surfaces: Option<bool>,
    powered: Option<bool>,
    combustion: Option<bool>,
    simulator: Option<bool>,
    #[serde(default)]
    has: Vec<String>,
}

/// The blocks of the language, as needs name them, with their names in the table of statements. That table refuses a word
/// that a block does not have in a test, since it is no part of this script.
const BLOCKS: [(&str, &str); 16] = [
    ("place", "Place"),
    ("link", "Link"),
    ("handset", "Handset"),
    ("handset-battery", "HandsetBattery"),
    ("bay", "HandsetModule"),
    ("craft", "Craft"),
    ("receiver", "Receiver"),
    ("preset", "Preset"),
    ("controller", "Controller"),
    ("surfaces", "Surfaces"),
    ("battery", "CraftBattery"),
    ("model", "Model"),
    ("module", "ModelModule"),
    ("curve", "Curve"),
    ("rates", "Rates"),
    ("channel", "Channel"),
];

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Parameter {
    name: String,
    default: String,
    help: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Bad {
    title: String,
    severity: Severity,
    #[serde(default)]
    with: Vec<String>,
    file: Option<String>,
    text: String,
    repaired: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Good {
    title: String,
    #[serde(default)]
    with: Vec<String>,
    file: Option<String>,
    text: String,
}

/// The live bench, or an empty file where it is not wanted or was not built.
fn take_in_page(out: &Path) -> io::Result<()> {
    let root = PathBuf::from(env::var_os("CARGO_MANIFEST_DIR").unwrap_or_default());
    let mut page = Vec::new();
    if env::var_os("CARGO_FEATURE_LIVE_PAGE").is_some() {
        let file = root.join("page/built/walkaround.html");
        if file.is_file() {
            println!("cargo::rerun-if-changed=page/built/walkaround.html");
            page = fs::read(file)?;
        } else {
            println!("cargo::rerun-if-changed=page");
            println!("cargo::warning=the live bench is not in the program: page/build was not run");
        }
    }
    fs::write(out.join("page.html"), page)
}

fn main() -> io::Result<()> {
    println!("cargo::rerun-if-changed=rules");
    println!("cargo::rerun-if-changed=build.rs");
    let root = PathBuf::from(env::var_os("CARGO_MANIFEST_DIR").unwrap_or_default()).join("rules");
    let out = PathBuf::from(env::var_os("OUT_DIR").unwrap_or_default());
    take_in_page(&out)?;

    let mut preambles = Vec::new();
    for path in files(&root.join("examples"), "rig")? {
        preambles.push((stem(&path), fs::read_to_string(&path)?));
    }
    let mut rules = Vec::new();
    let mut complaints = Vec::new();
    for group in folders(&root)? {
        for path in files(&group, "toml")? {
            let id = format!("{}/{}", stem(&group), stem(&path));
            let found = toml::from_str::<Rule>(&fs::read_to_string(&path)?)
                .map_err(|error| vec![error.to_string()])
                .and_then(|rule| {
                    let wrong = mistakes(&rule, &id, &preambles);
                    if wrong.is_empty() { Ok(rule) } else { Err(wrong) }
                });
            match found {
                Ok(rule) => rules.push(rule),
                Err(wrong) => complaints.extend(wrong.into_iter().map(|text| format!("rules/{id}.toml: {text}"))),
            }
        }
    }
    match batteries(&fs::read_to_string(root.join("batteries.toml"))?) {
        Ok(table) => fs::write(out.join("batteries.rs"), table)?,
        Err(error) => complaints.push(format!("rules/batteries.toml: {error}")),
    }
    for complaint in complaints {
        // The message of a build script is one line.
        println!("cargo::error={}", complaint.trim_end().replace('\n', " | "));
    }
    rules.sort_by(|a, b| a.rule.cmp(&b.rule));
    fs::write(out.join("modules.rs"), modules(&rules))?;
    fs::write(out.join("list.rs"), list(&rules))?;
    fs::write(out.join("book.rs"), tables(&rules, &preambles))
}

/// `rules/batteries.toml` as it is written.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Batteries {
    chemistry: Vec<Chemistry>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
struct Chemistry {
    name: String,
    title: String,
    full: Figure,
    nominal: Figure,
    half_rested: Figure,
    landing_rested: Figure,
    landing_under_load: Figure,
    minimum: Figure,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Figure {
    volts: f64,
    source: String,
    certainty: Certainty,
}

/// The Rust source of the table of batteries.
fn batteries(text: &str) -> Result<String, toml::de::Error> {
    let figure = |Figure { volts, source, certainty }: &Figure| {
        format!("Figure {{ volts: {volts:?}, source: {source:?}, certainty: Certainty::{certainty:?} }}")
    };
    let one = |cell: &Chemistry| {
        format!(
            "Chemistry {{ name: {:?}, title: {:?}, full: {}, nominal: {}, half_rested: {}, landing_rested: {}, \
             landing_under_load: {}, minimum: {} }},\n",
            cell.name,
            cell.title,
            figure(&cell.full),
            figure(&cell.nominal),
            figure(&cell.half_rested),
            figure(&cell.landing_rested),
            figure(&cell.landing_under_load),
            figure(&cell.minimum),
        )
    };
    let cells: String = toml::from_str::<Batteries>(text)?.chemistry.iter().map(one).collect();
    Ok(format!("/// Every chemistry, in the order of the file.\nconst ALL: &[Chemistry] = &[\n{cells}];\n"))
}

/// The files of a folder with this ending, by name. A folder that is missing has none.
fn files(folder: &Path, ending: &str) -> io::Result<Vec<PathBuf>> {
    let mut found = entries(folder)?;
    found.retain(|path| path.is_file() && path.extension().is_some_and(|it| it == ending));
    Ok(found)
}

/// The folders of rules, by name.
fn folders(root: &Path) -> io::Result<Vec<PathBuf>> {
    let mut found = entries(root)?;
    found.retain(|path| path.is_dir() && !NOT_GROUPS.contains(&stem(path).as_str()));
    Ok(found)
}

fn entries(folder: &Path) -> io::Result<Vec<PathBuf>> {
    if !folder.is_dir() {
        return Ok(Vec::new());
    }
    let mut found = fs::read_dir(folder)?.map(|entry| Ok(entry?.path())).collect::<io::Result<Vec<_>>>()?;
    found.sort();
    Ok(found)
}

fn stem(path: &Path) -> String {
    path.file_stem().unwrap_or_default().to_string_lossy().into_owned()
}

/// What is wrong with a data file, beyond what its shape forbids.
fn mistakes(rule: &Rule, id: &str, preambles: &[(String, String)]) -> Vec<String> {
    let mut wrong = Vec::new();
    if rule.rule != id {
        wrong.push(format!("`rule` says \"{}\", the file's place says \"{id}\"", rule.rule));
    }
    if rule.title.ends_with('.') || rule.title.contains('\n') {
        wrong.push("`title` is one line without a full stop".to_owned());
    }
    let texts = [&rule.what_is_it, &rule.what_can_happen, &rule.bench, &rule.mend, &rule.when_fine, &rule.source];
    if texts.into_iter().chain(rule.cases.values()).any(|text| text.trim().is_empty()) {
        wrong.push("one of the texts is empty".to_owned());
    }
    match (&rule.no_example, rule.bad.is_empty()) {
        (None, true) => wrong.push("no `bad` example, and no `no_example` that says why".to_owned()),
        (Some(_), false) => wrong.push("a `bad` example and a `no_example` together".to_owned()),
        _ => {}
    }
    for text in
        rule.needs.iter().chain(&rule.applies.has).chain(&rule.clear_needs).filter(|text| alternatives(text).is_none())
    {
        wrong.push(format!("\"{text}\" names no block and nothing that can be needed"));
    }
    for text in rule.looks_at.iter().filter(|text| statement(text).is_none()) {
        wrong.push(format!("\"{text}\" is no statement: write block/word"));
    }
    let mark = format!("# <- {id}");
    for bad in &rule.bad {
        if !bad.text.lines().any(|line| line.trim_end().ends_with(&mark)) {
            wrong.push(format!("no line of the bad example \"{}\" ends in \"{mark}\"", bad.title));
        }
        if bad.repaired.as_ref().is_some_and(|text| text.contains("# <- ")) {
            wrong.push(format!("a marker stands in the repaired text of \"{}\"", bad.title));
        }
    }
    for good in rule.good.iter().filter(|good| good.text.contains("# <- ")) {
        wrong.push(format!("a marker stands in the good example \"{}\"", good.title));
    }
    let named = rule.bad.iter().flat_map(|bad| &bad.with).chain(rule.good.iter().flat_map(|good| &good.with));
    for name in named {
        if !preambles.iter().any(|(known, _)| known == name) {
            wrong.push(format!("`with` names \"{name}\", and there is no rules/examples/{name}.rig"));
        }
    }
    wrong
}

/// The `mod` lines of each group's source files, as a macro with one arm a group. The lines belong to the file that calls it,
/// so that compiler and editor look for the sources beside that file.
fn modules(rules: &[Rule]) -> String {
    let mut out = String::from("macro_rules! rules_of {\n");
    let asked = || rules.iter().filter(|rule| rule.asks.is_some()).filter_map(|rule| rule.rule.split_once('/'));
    let mut groups: Vec<&str> = asked().map(|(group, _)| group).collect();
    groups.dedup();
    for group in groups {
        let _ = writeln!(out, "    ({group}) => {{");
        for (_, name) in asked().filter(|(own, _)| *own == group) {
            let _ = writeln!(out, "        pub(super) mod {};", name.replace('-', "_"));
        }
        out.push_str("    };\n");
    }
    out.push_str("}\n");
    out
}

/// The list of the rules that ask something, by name.
fn list(rules: &[Rule]) -> String {
    let mut out = String::from("/// All rules that ask something, by name.\npub const RULES: &[Rule] = &[\n");
    for (rule, asks) in rules.iter().filter_map(|rule| Some((rule, rule.asks?))) {
        let own = format!("super::{}", rule.rule.replace('/', "::").replace('-', "_"));
        let check = match asks {
            Asks::Text => "Check::Text".to_owned(),
            Asks::Sharing => format!("Check::Sharing({own}::shared, {own}::check)"),
            _ => format!("Check::{}({own}::check)", asks.check()),
        };
        let _ = writeln!(out, "    Rule {{ id: {:?}, check: {check} }},", rule.rule);
    }
    out.push_str("];\n");
    out
}

/// A statement, `controller/valid`, as Rust has it; `None` where there is no such block.
fn statement(text: &str) -> Option<String> {
    let (block, word) = text.split_once('/')?;
    let (_, variant) = BLOCKS.iter().find(|(name, _)| *name == block)?;
    Some(format!("Block::{variant}, {word:?}"))
}

/// One need or several of which one is enough, `link/band | signal`, as Rust has them; the special ones are checked by the
/// compiler.
fn alternatives(text: &str) -> Option<String> {
    let mut list = String::from("&[");
    for need in text.split('|').map(str::trim) {
        if need.contains('/') {
            list += &format!("Need::Stated({}), ", statement(need)?);
            continue;
        }
        let camel: String = need
            .split('-')
            .flat_map(|word| {
                let (first, rest) = word.split_at(word.len().min(1));
                [first.to_uppercase(), rest.to_owned()]
            })
            .collect();
        let letters = !camel.is_empty() && camel.chars().all(|letter| letter.is_ascii_alphabetic());
        list += &format!("Need::Special(Special::{}), ", letters.then_some(camel)?);
    }
    Some(list + "]")
}

fn all_alternatives(texts: &[String]) -> String {
    let lists: Vec<String> = texts.iter().filter_map(|text| alternatives(text)).collect();
    format!("&[{}]", lists.join(", "))
}

/// What a rule applies to and needs, as Rust has it.
fn coverage(rule: &Rule) -> String {
    let Applies { kinds, not_kinds, controller, surfaces, powered, combustion, simulator, has } = &rule.applies;
    let looks_at: Vec<String> =
        rule.looks_at.iter().filter_map(|text| statement(text)).map(|text| format!("({text})")).collect();
    let asks = rule.asks.map_or_else(|| "None".to_owned(), |asks| format!("Some(Asks::{asks:?})"));
    format!(
        "asks: {asks}, applies: Applies {{ kinds: &{kinds:?}, not_kinds: &{not_kinds:?}, controller: {controller:?}, \
         surfaces: {surfaces:?}, powered: {powered:?}, combustion: {combustion:?}, simulator: {simulator:?}, has: {} }}, \
         needs: {}, clear_needs: {}, looks_at: &[{}],",
        all_alternatives(has),
        all_alternatives(&rule.needs),
        all_alternatives(&rule.clear_needs),
        looks_at.join(", "),
    )
}

/// The Rust source of the tables. A string's debug form is a string literal with everything escaped.
fn tables(rules: &[Rule], preambles: &[(String, String)]) -> String {
    let mut out = String::from("/// Every rule, sorted by its name.\npub static BOOK: &[RuleDoc] = &[\n");
    for rule in rules {
        let (group, name) = rule.rule.split_once('/').unwrap_or_default();
        // Writing to a string can't fail.
        let _ = writeln!(
            out,
            "RuleDoc {{ id: {:?}, group: {group:?}, name: {name:?}, title: {:?}, severity: Severity::{:?}, \
             severities: {:?}, basis: Basis::{:?}, mend_kind: MendKind::{:?}, what_is_it: {:?}, what_can_happen: {:?}, \
             bench: {:?}, mend: {:?}, when_fine: {:?}, source: {:?}, no_example: {:?},",
            rule.rule,
            rule.title,
            rule.severity,
            rule.severities.as_deref().map(flow),
            rule.basis,
            rule.mend_kind,
            flow(&rule.what_is_it),
            flow(&rule.what_can_happen),
            flow(&rule.bench),
            flow(&rule.mend),
            flow(&rule.when_fine),
            flow(&rule.source),
            rule.no_example.as_deref().map(flow),
        );
        out.push_str(&coverage(rule));
        out.push_str("cases: &[");
        for (case, text) in &rule.cases {
            let _ = write!(out, "({case:?}, {:?}), ", flow(text));
        }
        out.push_str("], parameters: &[");
        for Parameter { name, default, help } in &rule.parameters {
            let _ = write!(out, "ParameterDoc {{ name: {name:?}, default: {default:?}, help: {:?} }}, ", flow(help));
        }
        out.push_str("],\nbad: &[");
        for Bad { title, severity, with, file, text, repaired } in &rule.bad {
            let _ = write!(
                out,
                "BadExample {{ title: {title:?}, severity: Severity::{severity:?}, with: &{with:?}, file: {file:?}, \
                 text: {text:?}, repaired: {repaired:?} }}, "
            );
        }
        out.push_str("],\ngood: &[");
        for Good { title, with, file, text } in &rule.good {
            let _ =
                write!(out, "GoodExample {{ title: {title:?}, with: &{with:?}, file: {file:?}, text: {text:?} }}, ");
        }
        out.push_str("] },\n");
    }
    out.push_str("];\n\n/// The files that examples share, sorted by name.\npub static PREAMBLES: &[Preamble] = &[\n");
    for (name, text) in preambles {
        let _ = writeln!(out, "Preamble {{ name: {name:?}, text: {text:?} }},");
    }
    out.push_str("];\n");
    out
}

/// Lines of one paragraph joined by spaces; paragraphs stay apart by one empty line; a line that starts with "- "
/// stays a line of its own.
fn flow(text: &str) -> String {
    let mut out = String::new();
    let mut gap = false;
    for line in text.trim().lines().map(str::trim) {
        if line.is_empty() {
            gap = true;
            continue;
        }
        out.push_str(match (out.is_empty(), gap, line.starts_with("- ")) {
            (true, ..) => "",
            (_, true, _) => "\n\n",
            (_, _, true) => "\n",
            _ => " ",
        });
        out.push_str(line);
        gap = false;
    }
    out
}
