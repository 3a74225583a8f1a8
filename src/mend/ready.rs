//! The edits of one mend, fitted into their text.

use super::lines::{all_blank, indent, is_blank, line_break, line_end, line_start};
use super::splice::Change;
use crate::findings::waiver::Waiver;
use crate::fleet::table::{self, Block};
use crate::source::{FileId, Place, Span};
use crate::syntax::{Comment, Kind, Known, NONE, Statement, Tables};

/// Why the edits of a mend can't be made.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Refusal {
    /// They do not lie in the text, or touch each other.
    Unfit,
    /// A comment behind a statement that goes would begin to count as a waiver.
    Waiver(Span),
}

/// Fits edits (bytes, and what stands there afterwards) into their text: a statement that is taken out takes its line
/// or its `;` along, and the waivers that stand for it; a statement added at the end of a block comes where the order of the
/// statement table has it, indented like its neighbours; comments in what is replaced are kept; line ends are the
/// text's own. The changes come in text order.
///
/// # Errors
/// When they can't be made.
pub fn ready(text: &[u8], tables: &Tables, edits: &[(Span, &str)]) -> Result<Vec<Change>, Refusal> {
    let fitter = Fitter { text, tables };
    let mut changes = Vec::with_capacity(edits.len());
    for &(span, new) in edits {
        if span.start > span.end || span.end as usize > text.len() {
            return Err(Refusal::Unfit);
        }
        match (span.start == span.end, new.is_empty()) {
            (true, true) => {}
            (true, false) => changes.push(fitter.insertion(span.start, new)),
            (false, true) => fitter.removal(span, &mut changes)?,
            (false, false) => changes.push(fitter.replacement(span, new)?),
        }
    }
    changes.sort();
    changes.dedup();
    let mut changes = joined(text, changes)?;
    fitter.keep_columns(&mut changes);
    let line_break = line_break(text);
    if line_break != "\n" {
        changes.iter_mut().for_each(|change| change.text = change.text.replace("\r\n", "\n").replace('\n', line_break));
    }
    Ok(changes)
}

/// Joins removals between which only white space and `;` would be left; refuses changes that touch the same bytes.
fn joined(text: &[u8], changes: Vec<Change>) -> Result<Vec<Change>, Refusal> {
    let mut out: Vec<Change> = Vec::with_capacity(changes.len());
    for change in changes {
        let Some(last) = out.last_mut() else {
            out.push(change);
            continue;
        };
        let both_go = last.text.is_empty() && change.text.is_empty();
        if both_go && change.span.start <= last.span.end {
            last.span = last.span.to(change.span);
        } else if change.span.start < last.span.end || change.span == last.span {
            return Err(Refusal::Unfit);
        } else {
            out.push(change);
        }
    }
    // What is left blank by two removals on one line goes as a whole.
    for change in out.iter_mut().filter(|change| change.text.is_empty()) {
        change.span = with_blank_line(text, change.span);
    }
    Ok(out)
}

/// A removal with the whole line where nothing else stands on it, and one of two blank lines that would meet.
fn with_blank_line(text: &[u8], span: Span) -> Span {
    let start = line_start(text, span.start);
    let end = if span.end > span.start && text.get(span.end as usize - 1) == Some(&b'\n') {
        span.end
    } else {
        line_end(text, span.end)
    };
    let last = if text.get((end as usize).wrapping_sub(1)) == Some(&b'\n') { end - 1 } else { end };
    if !all_blank(text, start, span.start) || !all_blank(text, span.end.min(last), last) {
        return span;
    }
    let next = line_end(text, end);
    let blank_below = next > end && all_blank(text, end, next - 1) && text.get(next as usize - 1) == Some(&b'\n');
    let above = line_start(text, start.saturating_sub(1));
    let blank_above = start > above && all_blank(text, above, start - 1);
    Span::new(start, if blank_above && blank_below { next } else { end })
}

/// By how many characters a change makes its line longer.
fn grown(text: &[u8], change: &Change) -> i64 {
    let gone = String::from_utf8_lossy(change.span.of(text)).chars().count() as i64;
    change.text.chars().count() as i64 - gone
}

struct Fitter<'t> {
    text: &'t [u8],
    tables: &'t Tables,
}

impl Fitter<'_> {
    fn statement(&self, index: u32) -> Option<&Statement> {
        self.tables.statements.get(index as usize)
    }

    /// The statement that is exactly this range.
    fn statement_at(&self, span: Span) -> Option<u32> {
        let at = self.tables.statements.partition_point(|one| self.tables.word(one).start < span.start) as u32;
        (self.statement(at).is_some_and(|one| self.tables.word(one).start == span.start)
            && self.tables.whole(at) == span)
            .then_some(at)
    }

    fn removal(&self, span: Span, changes: &mut Vec<Change>) -> Result<(), Refusal> {
        let gone = |span| Change { span, text: String::new() };
        let Some(index) = self.statement_at(span) else {
            // A word within a statement goes with the white space behind it.
            let blanks = self.text.get(span.end as usize..).unwrap_or_default();
            let more = blanks.iter().take_while(|&&byte| matches!(byte, b' ' | b'\t')).count() as u32;
            let after_blank = span.start > 0 && self.text.get(span.start as usize - 1).copied().is_some_and(is_blank);
            let end = if after_blank { span.end + more } else { span.end };
            changes.push(gone(Span::new(span.start, end)));
            return Ok(());
        };
        changes.extend(self.waivers_above(index).map(|waiver| gone(self.whole_line(waiver.span))));
        let kept = self.kept_comments(span)?;
        let behind = self.comment_behind(span).filter(|_| self.begins_line(index));
        if let Some(comment) = behind {
            // The comment stays and has the line to itself.
            if self.is_waiver(comment) {
                return Err(Refusal::Waiver(comment.span));
            }
            let text = if kept.is_empty() { String::new() } else { self.above(span, &kept, " ") };
            let text = text.trim_end_matches(' ').to_owned();
            changes.push(Change { span: Span::new(span.start, comment.span.start), text });
        } else if kept.is_empty() {
            changes.push(gone(with_blank_line(self.text, self.with_separator(span))));
        } else {
            changes.push(Change { span, text: self.above(span, &kept, "") });
        }
        Ok(())
    }

    fn replacement(&self, span: Span, new: &str) -> Result<Change, Refusal> {
        let first_line = line_end(self.text, span.start);
        let mut kept = self.kept_comments(span)?;
        // A comment on the line of a header stays behind what takes the block's place.
        let behind = kept.first().copied().filter(|comment| comment.start < first_line && !new.contains('\n'));
        if let Some(comment) = behind
            && all_blank(self.text, span.end, line_end(self.text, span.end).saturating_sub(1).max(span.end))
        {
            kept.remove(0);
            let column = comment.start - span.start;
            let gap = (column as usize).saturating_sub(new.len()).max(2);
            let comment = String::from_utf8_lossy(comment.of(self.text));
            let text = self.above(span, &kept, &format!("{new}{:gap$}{comment}", ""));
            return Ok(Change { span, text });
        }
        Ok(Change { span, text: self.above(span, &kept, new) })
    }

    /// Comments on lines of their own above a text, in the indentation of the line they come from.
    fn above(&self, span: Span, comments: &[Span], new: &str) -> String {
        let indent = String::from_utf8_lossy(indent(self.text, span.start));
        let mut lines: Vec<String> =
            comments.iter().map(|comment| String::from_utf8_lossy(comment.of(self.text)).into_owned()).collect();
        if !new.is_empty() {
            lines.push(new.to_owned());
        }
        lines.join(&format!("\n{indent}"))
    }

    /// The comments within a range, but for waivers of what goes with it.
    fn kept_comments(&self, span: Span) -> Result<Vec<Span>, Refusal> {
        let comments = &self.tables.comments;
        let from = comments.partition_point(|comment| comment.span.start < span.start);
        let inside = comments.get(from..).unwrap_or_default().iter().take_while(|one| one.span.end <= span.end);
        let mut kept = Vec::new();
        for comment in inside {
            match (self.is_waiver(comment), comment.own_line) {
                (true, true) => {}
                (true, false) => return Err(Refusal::Waiver(comment.span)),
                (false, _) => kept.push(comment.span),
            }
        }
        Ok(kept)
    }

    fn is_waiver(&self, comment: &Comment) -> bool {
        let text = std::str::from_utf8(comment.span.of(self.text)).unwrap_or_default();
        Waiver::parse(text, Place::new(FileId(0), comment.span)).is_some()
    }

    /// The waivers that stand for a statement.
    fn waivers_above(&self, index: u32) -> impl Iterator<Item = &Comment> {
        let word = self.statement(index).map_or(0, |statement| self.tables.word(statement).start);
        let closes = move |comment: &Comment| {
            let from = self.tables.tokens.partition_point(|token| token.start < comment.span.start);
            let between = self.tables.tokens.get(from..).unwrap_or_default();
            between.iter().take_while(|token| token.start < word).any(|token| token.kind == Kind::BlockClose)
        };
        let from = self.tables.comments.partition_point(|comment| comment.before < index);
        let above = self.tables.comments.get(from..).unwrap_or_default().iter();
        let above = above.take_while(move |comment| comment.before == index).filter(|comment| comment.own_line);
        above.filter(move |comment| self.is_waiver(comment) && !closes(comment))
    }

    /// The comment at the end of the line on which a range ends, behind it.
    fn comment_of_line(&self, span: Span) -> Option<&Comment> {
        let from = self.tables.comments.partition_point(|comment| comment.span.start < span.end);
        let comment = self.tables.comments.get(from).filter(|comment| !comment.own_line)?;
        (comment.span.start < line_end(self.text, span.end)).then_some(comment)
    }

    fn comment_behind(&self, span: Span) -> Option<&Comment> {
        self.comment_of_line(span).filter(|comment| all_blank(self.text, span.end, comment.span.start))
    }

    fn whole_line(&self, span: Span) -> Span {
        Span::new(line_start(self.text, span.start), line_end(self.text, span.end))
    }

    /// A statement with the `;` that sets it apart from its neighbour on the same line.
    fn with_separator(&self, span: Span) -> Span {
        let tokens = &self.tables.tokens;
        let after = tokens.partition_point(|token| token.start < span.end);
        let before = tokens.partition_point(|token| token.start < span.start);
        let behind = tokens.get(after).filter(|token| token.kind == Kind::Semicolon);
        let ahead = before.checked_sub(1).and_then(|at| tokens.get(at));
        if let Some(semicolon) = behind {
            let next = tokens.get(after + 1).map_or(semicolon.end, |token| token.start);
            // A statement follows on the line: it moves up. Otherwise what is before keeps its distance.
            let end = if all_blank(self.text, semicolon.end, next) { next } else { semicolon.end };
            let ends_line = tokens.get(after + 1).is_some_and(|token| token.kind == Kind::EndOfLine);
            return Span::new(span.start, if ends_line { semicolon.end } else { end });
        }
        match ahead.filter(|token| token.kind == Kind::Semicolon) {
            Some(semicolon) if all_blank(self.text, semicolon.end, span.start) => Span::new(semicolon.start, span.end),
            _ => {
                let blanks = self.text.get(span.end as usize..).unwrap_or_default();
                let more = blanks.iter().take_while(|&&byte| matches!(byte, b' ' | b'\t')).count() as u32;
                let alone = ahead.is_some_and(|token| token.kind == Kind::BlockOpen && token.end < span.start);
                Span::new(span.start, if alone { span.end + more } else { span.end })
            }
        }
    }

    /// Keeps the comments behind changed statements in their columns, by the white space before them.
    fn keep_columns(&self, changes: &mut Vec<Change>) {
        let mut gaps: Vec<Change> = Vec::new();
        let mut behind: Vec<&Comment> = changes.iter().filter_map(|change| self.comment_of_line(change.span)).collect();
        behind.dedup();
        for comment in behind {
            let start = line_start(self.text, comment.span.start);
            let on_line = |change: &&Change| {
                change.span.start >= start && change.span.end < comment.span.start && !change.text.contains('\n')
            };
            let grown: i64 = changes.iter().filter(on_line).map(|change| grown(self.text, change)).sum();
            let before = self.text.get(start as usize..comment.span.start as usize).unwrap_or_default();
            let gap = before.iter().rev().take_while(|&&byte| byte == b' ').count() as i64;
            let kept = (gap - grown).max(2);
            let from = comment.span.start - gap as u32;
            if grown == 0
                || gap < 2
                || kept == gap
                || changes.iter().any(|change| change.span.end > from && change.span.start < comment.span.end)
            {
                continue;
            }
            let span = Span::new(from, comment.span.start);
            gaps.push(Change { span, text: " ".repeat(kept as usize) });
        }
        changes.extend(gaps);
        changes.sort();
    }

    fn insertion(&self, at: u32, new: &str) -> Change {
        let here = Span::new(at, at);
        let own_line = new.ends_with('\n') && !new.trim_end().contains('\n');
        if own_line && at == line_start(self.text, at) {
            return self.placed(at, new);
        }
        let before = self.text.get(..at as usize).unwrap_or_default();
        let blanks = before.iter().rev().take_while(|&&byte| matches!(byte, b' ' | b'\t')).count() as u32;
        if new.starts_with(';') {
            return Change { span: Span::new(at - blanks, at), text: new.to_owned() };
        }
        let text = if new.starts_with(' ') && blanks > 0 { new.trim_start() } else { new };
        Change { span: here, text: text.to_owned() }
    }

    /// A new statement at the end of a block, which ends in the line that starts at `at`, put where the table of
    /// statements has it: behind the last of its own kind, or of those that the table names before it.
    fn placed(&self, at: u32, new: &str) -> Change {
        let Some(block) = self.closed_on_line(at) else {
            return Change { span: Span::new(at, at), text: new.to_owned() };
        };
        let new = new.trim();
        let children: Vec<u32> = self.tables.body(Some(block)).collect();
        let word = new.split_whitespace().next().unwrap_or_default();
        let anchor = self.kind_of(block).and_then(|kind| {
            let rank = |word: &[u8]| table::block(kind).iter().position(|ready| ready.entry.word.as_bytes() == word);
            let own = rank(word.as_bytes())?;
            let same = |index: &&u32| self.word_of(**index) == word.as_bytes();
            let before = |index: &&u32| rank(self.word_of(**index)).is_some_and(|rank| rank < own);
            children.iter().rfind(same).or_else(|| children.iter().rfind(before)).copied()
        });
        let neighbour = anchor.or(children.last().copied());
        let indentation = match neighbour.filter(|&index| self.begins_line(index)) {
            Some(index) => indent(self.text, self.tables.whole(index).start).to_vec(),
            None => [indent(self.text, at), b"  "].concat(),
        };
        let at = anchor.and_then(|index| self.line_below(index)).unwrap_or(at);
        Change { span: Span::new(at, at), text: format!("{}{new}\n", String::from_utf8_lossy(&indentation)) }
    }

    /// The statement whose block is closed by the first `}` of the line that starts here.
    fn closed_on_line(&self, at: u32) -> Option<u32> {
        let close = self.tables.tokens.partition_point(|token| token.start < at);
        let token = self.tables.tokens.get(close).filter(|token| token.kind == Kind::BlockClose)?;
        let next = self.tables.statements.partition_point(|one| self.tables.word(one).start < token.start);
        let mut index = next.checked_sub(1)? as u32;
        while let Some(statement) = self.statement(index) {
            if statement.close == close as u32 {
                return Some(index);
            }
            index = statement.parent;
        }
        None
    }

    fn word_of(&self, index: u32) -> &[u8] {
        self.statement(index).map_or(&[], |statement| self.tables.word(statement).of(self.text))
    }

    fn begins_line(&self, index: u32) -> bool {
        let start = self.tables.whole(index).start;
        all_blank(self.text, line_start(self.text, start), start)
    }

    /// The start of the line below a statement, where it has its lines to itself.
    fn line_below(&self, index: u32) -> Option<u32> {
        let whole = self.tables.whole(index);
        let next = self.tables.tokens.partition_point(|token| token.start < whole.end);
        let ends = self.tables.tokens.get(next).is_some_and(|token| token.kind == Kind::EndOfLine);
        (ends && self.begins_line(index)).then(|| line_end(self.text, whole.end))
    }

    /// What kind of block a statement opens.
    fn kind_of(&self, index: u32) -> Option<Block> {
        let statement = self.statement(index)?;
        let outer = if statement.parent == NONE { Block::Top } else { self.kind_of(statement.parent)? };
        let kind = crate::syntax::BlockKind(outer as u8);
        match table::vocabulary(kind, self.word_of(index), true) {
            Known::Opens(kind) => Block::ALL.get(usize::from(kind.0)).copied(),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests;
