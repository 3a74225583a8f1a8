//! A rule of the book as a page for a terminal, and the catalogue.

use super::paint::Paint;
use super::paragraphs::wrapped;
use crate::findings::is_protected;
use crate::rules::book::{self, Group, MendKind, RuleDoc};

const INDENT: usize = 2;

/// Everything the book says of a rule;
/// an example is shown around the lines that matter, or `whole`.
pub fn page(rule: &RuleDoc, whole: bool, width: usize, paint: Paint) -> String {
    let mut page = Page { text: format!("{}\n", paint.head(rule.id)), width, paint };
    page.paragraphs(&format!("{}.", rule.title));
    match rule.severities {
        Some(severities) => page.section("how bad", severities),
        None => {
            page.heading("how bad");
            page.text.push_str(&format!("  {}\n", paint.severity(rule.severity, rule.severity.word())));
        }
    }
    page.section("what it is", rule.what_is_it);
    page.section("what can happen", &rule.all_that_can_happen());
    page.section("how to see it on the bench, propellers off", rule.bench);
    let bad = rule.bad.first().map(|bad| (bad.title, bad.text));
    let good = rule.good.first().map(|good| (good.title, good.text));
    for ((word, example), other) in [("a bad example", bad), ("a good example", good)].into_iter().zip([good, bad]) {
        let Some((title, text)) = example else { continue };
        let matters = match other {
            Some((_, other)) if !whole => lines_that_matter(text, other),
            _ => vec![true; text.trim_end().lines().count()],
        };
        page.show(word, title, text, &matters);
    }
    let shared = rule.bad.first().is_some_and(|bad| !bad.with.is_empty());
    if shared {
        let text = "The names in the examples are those of an invented fleet; what they stand for is described in other files of its folder.";
        page.paragraphs(text);
    }
    page.section("how to mend it", rule.mend);
    let command = match rule.mend_kind {
        MendKind::Sure => Some("`walkaround mend` does this."),
        MendKind::Choice => Some("`walkaround mend --ask` offers the choices."),
        MendKind::Words => None,
    };
    if let Some(command) = command {
        page.paragraphs(command);
    }
    page.section("when it is fine", rule.when_fine);
    if !is_protected(rule.id) {
        let text = format!(
            "To keep it and not be told again, write a comment of its own above the line: # waive {} because \"the reason\" until 2027-12-31",
            rule.id
        );
        page.paragraphs(&text);
    }
    if !rule.parameters.is_empty() {
        page.heading("what walkaround.toml can change");
        for parameter in rule.parameters {
            page.paragraphs(parameter.help);
            for line in crate::settings::reference::parameter(rule.id, parameter.name, parameter.default).lines() {
                page.text.push_str(&format!("    {line}\n"));
            }
        }
    }
    page.section("where it comes from", rule.source);
    page.text
}

/// All groups with their rules.
pub fn catalogue(width: usize, paint: Paint) -> String {
    let groups = book::groups().iter().filter(|of| book::in_group(of.name).next().is_some());
    let mut pages: Vec<String> = groups.map(|of| group(of, width, paint)).collect();
    pages.push("walkaround why RULE explains one of them.\n".to_owned());
    pages.join("\n")
}

/// One group with a line a rule.
pub fn group(group: &Group, width: usize, paint: Paint) -> String {
    let mut page = format!("{}: {}\n", paint.head(group.name), group.about);
    let longest = book::in_group(group.name).map(|rule| rule.id.len()).max().unwrap_or(0);
    for rule in book::in_group(group.name) {
        let start = format!("  {:<longest$}  {:<7}  ", rule.id, rule.severity.word());
        let room = width.saturating_sub(start.len()).max(20);
        for (number, line) in wrapped(rule.title, room).into_iter().enumerate() {
            let word = format!("{:<7}", rule.severity.word());
            let before = match number {
                0 => start.replacen(&word, &paint.severity(rule.severity, &word), 1),
                _ => " ".repeat(start.len()),
            };
            page.push_str(&format!("{before}{line}\n"));
        }
    }
    page
}

/// A page on its way.
struct Page {
    text: String,
    width: usize,
    paint: Paint,
}

impl Page {
    fn heading(&mut self, text: &str) {
        self.text.push_str(&format!("\n{}\n", self.paint.head(text)));
    }

    fn section(&mut self, title: &str, text: &str) {
        self.heading(title);
        self.paragraphs(text);
    }

    /// The text's paragraphs, wrapped and indented; an item of a list keeps its sign and hangs.
    fn paragraphs(&mut self, text: &str) {
        for (number, paragraph) in text.trim_end().split('\n').enumerate() {
            let (sign, rest) = paragraph.strip_prefix("- ").map_or(("", paragraph), |rest| ("- ", rest));
            if paragraph.is_empty() && number > 0 {
                self.text.push('\n');
            }
            let room = self.width.saturating_sub(INDENT + sign.len()).max(20);
            for (number, line) in wrapped(rest, room).into_iter().enumerate() {
                let sign = if number == 0 { sign } else { &"  "[..sign.len()] };
                self.text.push_str(&format!("  {sign}{line}\n"));
            }
        }
    }

    fn show(&mut self, word: &str, title: &str, text: &str, shown: &[bool]) {
        self.heading(&format!("{word}: {title}"));
        let mut folded = 0;
        for (line, shown) in text.trim_end().lines().zip(shown) {
            if !shown {
                folded += 1;
                continue;
            }
            self.fold(&mut folded);
            self.text.push_str(format!("    {line}").trim_end());
            self.text.push('\n');
        }
        self.fold(&mut folded);
    }

    /// Tells how many lines are left out.
    fn fold(&mut self, folded: &mut usize) {
        match std::mem::take(folded) {
            0 => {}
            1 => self.text.push_str("    …  (1 line; --whole shows it)\n"),
            count => self.text.push_str(&format!("    …  ({count} lines; --whole shows them)\n")),
        }
    }
}

/// So many lines around one that matters are shown with it.
const CONTEXT: usize = 2;
/// A shorter example is shown whole.
const SHORT_EXAMPLE: usize = 16;

/// Which lines of an example to show: those that the other example has not, and those with an arrow, each with a few around
/// it and the headers that it stands in.
fn lines_that_matter(text: &str, other: &str) -> Vec<bool> {
    let lines: Vec<&str> = text.trim_end().lines().collect();
    let bare = |line: &str| line.split('#').next().unwrap_or_default().trim().to_owned();
    let others: Vec<String> = other.lines().map(bare).collect();
    let mut shown = vec![lines.len() <= SHORT_EXAMPLE; lines.len()];
    let indent = |line: &str| line.len() - line.trim_start().len();
    for (at, line) in lines.iter().enumerate() {
        let words = bare(line);
        if line.contains("# <-") || line.contains("# ←") || !(words.len() < 2 || others.contains(&words)) {
            let around = at.saturating_sub(CONTEXT)..(at + CONTEXT + 1).min(lines.len());
            shown.get_mut(around).into_iter().flatten().for_each(|shown| *shown = true);
            let mut depth = indent(line);
            for above in (0..at).rev() {
                let Some(header) = lines.get(above).filter(|line| line.trim_end().ends_with('{')) else { continue };
                if indent(header) < depth {
                    depth = indent(header);
                    shown.get_mut(above).into_iter().for_each(|shown| *shown = true);
                }
            }
        }
    }
    if shown.iter().any(|shown| *shown) { shown } else { vec![true; lines.len()] }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn squeezed(text: &str) -> String {
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn every_page_says_all_the_book_says() {
        for rule in book::BOOK {
            let page = page(rule, true, 80, Paint::NONE);
            let said = squeezed(&page);
            for text in [rule.title, &rule.all_that_can_happen(), rule.bench, rule.mend, rule.when_fine, rule.source] {
                for paragraph in text.split('\n') {
                    let wanted = squeezed(paragraph.trim_start_matches("- "));
                    assert!(said.contains(&wanted), "{}: {wanted}", rule.id);
                }
            }
            for bad in rule.bad.iter().take(1) {
                assert!(said.contains(&squeezed(bad.text)), "{}", rule.id);
            }
        }
    }

    #[test]
    fn the_catalogue_has_every_rule_once() {
        let catalogue = catalogue(80, Paint::NONE);
        for rule in book::BOOK {
            assert_eq!(catalogue.matches(&format!("  {} ", rule.id)).count(), 1, "{}", rule.id);
        }
    }

    #[test]
    fn pages_keep_to_the_width() {
        for rule in book::BOOK {
            let lines = page(rule, true, 60, Paint::NONE).lines().map(str::to_owned).collect::<Vec<_>>();
            // Examples and long words stay whole.
            let long = lines.iter().find(|line| line.chars().count() > 60 && !line.starts_with("    "));
            let one = |line: &String| line.trim().split(' ').count() == 1 || line.contains("example:");
            assert!(long.is_none_or(one), "{}: {long:?}", rule.id);
        }
    }

    #[test]
    fn an_example_is_folded_around_what_matters() {
        for rule in book::BOOK {
            let (short, whole) = (page(rule, false, 80, Paint::NONE), page(rule, true, 80, Paint::NONE));
            assert!(short.lines().count() <= whole.lines().count() + 8, "{}", rule.id);
            for line in whole.lines().filter(|line| line.contains("# <-")) {
                assert!(short.contains(line), "{}: {line}", rule.id);
            }
        }
        let text = format!("a {{\n{}  bad  # <- here\n}}\n", "  x 1\n".repeat(20));
        let shown = lines_that_matter(&text, &text.replace("  bad  # <- here\n", "  good\n"));
        let count = shown.iter().filter(|shown| **shown).count();
        assert_eq!((count, shown.first(), shown.get(1), shown.get(21)), (5, Some(&true), Some(&false), Some(&true)));
    }

    #[test]
    fn lists_hang() {
        let mut page = Page { text: String::new(), width: 24, paint: Paint::NONE };
        page.paragraphs("One:\n\n- a long item of a list\n- b");
        assert_eq!(page.text, "  One:\n\n  - a long item of a\n    list\n  - b\n");
    }
}
