//! What is told about the thing under the cursor.

use super::text::Text;
use crate::findings::caution::{Caution, before_the_bench};
use crate::findings::waiver::Waiver;
use crate::fleet::Fleet;
use crate::fleet::condition::{Condition, ConditionKind};
use crate::fleet::model::Model;
use crate::fleet::occurs::{Named, Occurrence, Role, kind_of};
use crate::fleet::table::{self, Block, lists};
use crate::inspect::Workspace;
use crate::report::paint::Paint;
use crate::report::plain::plain;
use crate::report::rule_page;
use crate::report::traced::{condition as what, movers, share, span};
use crate::report::witness::way;
use crate::rules::book;
use crate::setup::trace::{Traced, mixes, trace};
use crate::setup::{ModelSetup, Setup};
use crate::signal::{Answer, Question};
use crate::source::{FileId, Located, Place, Span};
use compact_str::CompactString;

/// Something told: lines of prose, and lines that keep their layout.
#[derive(Debug, Default)]
pub(super) struct Told {
    /// What it is about.
    pub(super) span: Span,
    /// Paragraphs, in order.
    pub(super) parts: Vec<Part>,
}

/// A part of what is told.
#[derive(Debug)]
pub(super) enum Part {
    /// A paragraph of prose.
    Prose(String),
    /// Lines that keep their layout.
    Lines(String),
}

impl Told {
    fn prose(&mut self, text: impl Into<String>) {
        self.parts.push(Part::Prose(text.into()));
    }

    fn lines(&mut self, text: impl Into<String>) {
        self.parts.push(Part::Lines(text.into()));
    }

    /// As Markdown, with nothing in it that a file could have put there as markup.
    pub(super) fn markdown(&self) -> String {
        let parts: Vec<String> = self
            .parts
            .iter()
            .map(|part| match part {
                Part::Prose(text) => escaped(text),
                Part::Lines(text) => format!("```text\n{}\n```", text.trim_end().replace("```", "'''")),
            })
            .collect();
        parts.join("\n\n")
    }

    /// As text without markup.
    pub(super) fn plain(&self) -> String {
        let parts = self.parts.iter().map(|part| match part {
            Part::Prose(text) | Part::Lines(text) => text.trim_end(),
        });
        parts.collect::<Vec<_>>().join("\n\n")
    }
}

/// A text in Markdown in which no sign of it means anything, but for the backquotes of code.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 8);
    // Where backquotes do not stand in pairs, none of them begins code.
    let is_code = text.matches('`').count().is_multiple_of(2) && !text.contains("``");
    let text = if is_code { text.into() } else { std::borrow::Cow::from(text.replace('`', "'")) };
    for (number, piece) in text.split('`').enumerate() {
        if number > 0 {
            out.push('`');
        }
        match number % 2 {
            // Code shows its signs as they are.
            1 => out.push_str(piece),
            _ => piece.chars().for_each(|character| {
                if matches!(
                    character,
                    '\\' | '*' | '_' | '{' | '}' | '[' | ']' | '<' | '>' | '#' | '|' | '~' | '!' | '&'
                ) {
                    out.push('\\');
                }
                out.push(character);
            }),
        }
    }
    out
}

/// What is told at a byte of a text.
pub(super) fn hover(workspace: &Workspace, file: FileId, text: &Text<'_>, byte: u32) -> Option<Told> {
    if let Some(comment) = text.comment_at(byte) {
        let waiver = Waiver::parse(text.str(comment.span), Place::new(file, comment.span))?;
        let rule = waiver.rule;
        let is_here = rule.span.start <= byte && byte <= rule.span.end;
        let doc = book::find(&rule.value).filter(|_| is_here)?;
        return Some(Told {
            span: rule.span,
            parts: vec![Part::Lines(rule_page::page(doc, false, PAGE_WIDTH, Paint::NONE))],
        });
    }
    let index = text.statement_at(byte)?;
    let statement = text.statement(index)?;
    let header = text.tables.header(statement);
    if byte > header.end {
        return None;
    }
    let word = text.tables.word(statement).span();
    let names = text.occurrences();
    let name = names.iter().find(|found| found.span.start <= byte && byte <= found.span.end);
    if let Some(told) = name.and_then(|name| about_name(workspace, name)) {
        return Some(told);
    }
    let top = text.top(index);
    let model = model_of(workspace, text, top);
    let channel =
        channel_of(text, index).filter(|channel| word.holds(Span::new(byte, byte)) || channel.span.end >= byte);
    if let (Some(model), Some(channel)) = (model, channel) {
        let mut told = about_channel(workspace, model, channel.value);
        told.span = word.to(channel.span);
        about_statement(text, index, &mut told);
        return Some(told);
    }
    let token = text.token_at(byte)?;
    if token.span() == word {
        let mut told = Told { span: word, ..Told::default() };
        about_statement(text, index, &mut told);
        return (!told.parts.is_empty()).then_some(told);
    }
    // What the trade says for a word of a closed list.
    let written = text.str(token.span());
    let (_, meant) = lists::SYNONYMS.iter().find(|(synonym, _)| *synonym == written)?;
    Some(Told { span: token.span(), parts: vec![Part::Prose(format!("`{written}` is `{meant}`."))] })
}

/// How wide pages are, in characters.
const PAGE_WIDTH: usize = 76;

/// The model whose block a statement begins.
pub(super) fn model_of<'w>(workspace: &'w Workspace, text: &Text<'_>, top: u32) -> Option<&'w Model> {
    let (kind, name) = name_of(text, top)?;
    (kind == Fleet::MODEL).then(|| workspace.fleet().model(&name)).flatten()
}

/// Kind and name of the block that a statement at the top level begins.
pub(super) fn name_of(text: &Text<'_>, top: u32) -> Option<(u8, CompactString)> {
    let kind = kind_of(std::str::from_utf8(text.word(top)).ok()?)?;
    let is_it = |found: &&Occurrence| found.statement == top && found.role == Role::Defined;
    text.occurrences().iter().find(is_it).map(|found| (kind, found.name.clone()))
}

/// The number of the channel that a statement of a model states.
pub(super) fn channel_of(text: &Text<'_>, index: u32) -> Option<Located<u8>> {
    let is_channel = text.block_of(index) == Some(Block::Model) && text.word(index) == b"channel";
    let number = text.tables.items(text.statement(index)?).first().filter(|_| is_channel)?.span();
    text.str(number).parse().ok().map(|value| Located::new(value, number))
}

/// The page of a statement.
fn about_statement(text: &Text<'_>, index: u32, told: &mut Told) {
    let Some(ready) = text.ready(index) else { return };
    let entry = ready.entry;
    let head = format!("{}, in {}\n", entry.word, entry.block.name());
    let pages = table::entry(entry.word);
    let page = pages.split("\n\n").find(|page| format!("{page}\n").starts_with(&head));
    told.lines(page.unwrap_or(entry.help));
}

/// Every model with its aircraft, as it is asked about by hand.
fn with_setups(workspace: &Workspace, model: &Model, mut tell: impl FnMut(&Setup<'_>, usize)) {
    let context = workspace.context();
    let view = ModelSetup::new(&context, model);
    let count = view.setups.len();
    view.setups.iter().for_each(|setup| tell(setup, count));
}

/// The rows of a channel, as a table of text.
pub(super) fn rows(channel: &Traced) -> String {
    let mut out = String::new();
    for row in &channel.rows {
        let received = row.received.map_or_else(|| "nothing".to_owned(), span);
        let modes = if row.modes.is_empty() { String::new() } else { format!("  mode {}", row.modes.join(", ")) };
        let line = format!("{:<28} sent {:<14} received {received:<14}{modes}", row.when, span(row.sent));
        out += &format!("{}\n", plain(line.trim_end()));
    }
    out
}

/// What a channel sends in each position, and what arrives.
fn about_channel(workspace: &Workspace, model: &Model, channel: u8) -> Told {
    let mut told = Told::default();
    let mut seen = Vec::new();
    with_setups(workspace, model, |setup, count| {
        seen.push(Caution::of(setup.craft));
        let all = trace(setup);
        let craft = if count > 1 { format!(" of {}", setup.craft.head.name.value) } else { String::new() };
        match all.as_ref().and_then(|all| all.iter().find(|known| known.channel == channel)) {
            Some(traced) => {
                let lost = if traced.carried { "" } else { "; the link does not carry it" };
                let label = format!("{} {}", traced.channel, traced.label);
                told.prose(plain(&format!("channel {}{craft}: {}{lost}.", label.trim_end(), movers(&traced.moved_by))));
                told.lines(rows(traced));
            }
            None => {
                let why = setup.refused().map_or_else(String::new, |refused| format!(": {}", refused.reason));
                told.prose(plain(&format!("What channel {channel}{craft} sends is not known{why}.")));
            }
        }
    });
    if !told.parts.is_empty() {
        told.prose(format!("Pulses in microseconds. {}", before_the_bench(seen)));
    }
    told
}

/// What a name is a name of.
fn about_name(workspace: &Workspace, name: &Occurrence) -> Option<Told> {
    let mut told = Told { span: name.span, ..Told::default() };
    let fleet = workspace.fleet();
    let owner = name.owner.as_ref()?;
    let model = || (owner.0 == Fleet::MODEL).then(|| fleet.model(&owner.1)).flatten();
    match name.named {
        Named::Top(kind) => {
            let head = fleet.head(kind, &name.name)?;
            let path = workspace.names().get(head.file.0 as usize)?;
            told.prose(plain(&format!("{} `{}`, in {path}.", Fleet::word(kind), name.name)));
            if let Some(verdict) = verdict(workspace, kind, &name.name) {
                told.prose(verdict);
            }
        }
        Named::Condition => {
            let model = model()?;
            let named = model.condition(&name.name)?;
            told.prose(plain(&format!("condition {}: {}.", name.name, what(named))));
            about_condition(workspace, model, &name.name, &mut told);
        }
        Named::Control | Named::Bay | Named::InValue => {
            let handset = match owner.0 {
                Fleet::HANDSET => fleet.handset(&owner.1)?,
                _ => fleet.handset(&model()?.handset.as_ref()?.value)?,
            };
            if let Some(mix) =
                model().filter(|_| name.named == Named::InValue).filter(|model| model.mix(&name.name).is_some())
            {
                about_mix(workspace, mix, &name.name, &mut told);
                return Some(told);
            }
            let kind = handset.control(&name.name).filter(|_| name.named != Named::Bay)?.kind;
            let positions = kind.position_names();
            let whose =
                plain(&format!("`{}`, a control of handset `{}`", name.name, handset.head.name.value)).into_owned();
            told.prose(match positions.is_empty() {
                true => format!("{whose}: it moves all the way from `low` to `high`."),
                false => format!("{whose}: {}.", positions.join(", ")),
            });
        }
        Named::Mix => about_mix(workspace, model()?, &name.name, &mut told),
        Named::Mode | Named::Curve => return None,
    }
    Some(told)
}

/// What is known of an aircraft from the last inspection.
fn verdict(workspace: &Workspace, kind: u8, name: &str) -> Option<String> {
    let craft = workspace.fleet().craft(name).filter(|_| kind == Fleet::CRAFT)?;
    let kind = craft.kind.map(|kind| kind.value.word())?;
    let models = workspace.fleet().models.iter().filter(|model| model.flies.iter().any(|flown| flown.value == name));
    let models: Vec<String> = models.map(|model| format!("`{}`", model.head.name.value)).collect();
    Some(
        plain(&match models.is_empty() {
            true => format!("It is a {kind}; no model flies it."),
            false => format!("It is a {kind}, flown with {}.", models.join(", ")),
        })
        .into_owned(),
    )
}

/// The values of a mix.
fn about_mix(workspace: &Workspace, model: &Model, name: &str, told: &mut Told) {
    with_setups(workspace, model, |setup, count| {
        let craft = if count > 1 { format!(" ({})", setup.craft.head.name.value) } else { String::new() };
        for mix in mixes(setup).iter().filter(|mix| mix.name == name) {
            told.prose(plain(&format!("mix {}{craft}: {}.", mix.name, movers(&mix.moved_by))));
            let rows = mix
                .rows
                .iter()
                .map(|(when, value)| format!("{}\n", plain(format!("{when:<28} {}", share(*value)).trim_start())));
            told.lines(rows.collect::<String>());
        }
    });
}

/// Whether a condition can hold, and where.
fn about_condition(workspace: &Workspace, model: &Model, name: &CompactString, told: &mut Told) {
    let written =
        Condition { span: Span::default(), kind: ConditionKind::Named(Located::new(name.clone(), Span::default())) };
    let mut answered = false;
    with_setups(workspace, model, |setup, _| {
        let Some(signals) = setup.signals().filter(|_| !answered) else { return };
        let Ok(asked) = signals.lowered().condition(&written) else { return };
        answered = true;
        told.prose(plain(&match signals.program().ask(&Question::is(asked)) {
            Answer::Yes(witness) => format!("It can hold. {}", way(&signals.witness(&witness.path))),
            Answer::No(_) => {
                "It can never hold: proved for all positions of all controls, in whatever order they are moved."
                    .to_owned()
            }
            Answer::NotDecided(why) => format!("Whether it can hold is not decided: {why}."),
        }));
    });
    if !answered {
        told.prose("Whether it can hold is not known: the signal path can't be put together.");
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_of_a_file_is_markup() {
        let told = Told {
            span: Span::default(),
            parts: vec![Part::Prose("a *b* [c](d) <e> `f_*g`".to_owned()), Part::Lines("```\nx\n```".to_owned())],
        };
        assert_eq!(told.markdown(), "a \\*b\\* \\[c\\](d) \\<e\\> `f_*g`\n\n```text\n'''\nx\n'''\n```");
        assert_eq!(told.plain(), "a *b* [c](d) <e> `f_*g`\n\n```\nx\n```");
    }
}
