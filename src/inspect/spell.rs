//! Blocks that are `like` others, spelled out whenever one of them or one that they are like is new.

use super::Workspace;
use super::file::{Heirs, Whole};
use super::keep::Need;
use crate::findings::{Choice, Edit, Finding, Mend};
use crate::fleet::FileFleet;
use crate::fleet::like::{Here, MAX_SPELT, Speller, Written, here};
use crate::source::{FileId, Place, Span};
use crate::syntax::MAX_BYTES;
use rustc_hash::{FxHashMap, FxHashSet};

impl Workspace {
    /// The files whose blocks have to be spelled out again: those that are new, and those with blocks that are like one of the
    /// names that changed.
    pub(super) fn open_again(&mut self, new: &FxHashSet<FileId>, changed: &FxHashSet<Need>) -> Vec<FileId> {
        let numbered = || (0..).map(FileId).zip(&self.files);
        let with_heirs = || numbered().filter_map(|(number, file)| Some((number, file.heirs.as_deref()?)));
        let mut open: Vec<FileId> = with_heirs()
            .filter(|(number, heirs)| new.contains(number) || heirs.bases.iter().any(|base| changed.contains(base)))
            .map(|(number, _)| number)
            .collect();
        if with_heirs().next().is_none() {
            return open;
        }
        let find = |kind: u8, name: &str| self.written(kind, name);
        let text_of = |file| self.rig_of(file);
        let speller = Speller::new(&find, &text_of);
        let bound = |heirs: &Heirs| heirs.written.iter().map(|block| speller.bound(block)).sum::<usize>();
        let bounds: Vec<(FileId, usize)> = open
            .iter()
            .filter_map(|&number| Some((number, bound(self.files.get(number.0 as usize)?.heirs.as_deref()?))))
            .collect();
        for (number, bound) in bounds {
            if let Some(heirs) = self.files.get_mut(number.0 as usize).and_then(|file| file.heirs.as_deref_mut()) {
                heirs.bound = bound;
            }
        }
        // In the order of the files, so that the outcome does not hang on which of them came first.
        let mut all = 0usize;
        for (number, file) in (0..).map(FileId).zip(&mut self.files) {
            let Some(heirs) = file.heirs.as_deref_mut() else { continue };
            all = all.saturating_add(heirs.bound);
            let refused = all > MAX_SPELT || heirs.bound > MAX_BYTES;
            if std::mem::replace(&mut heirs.refused, refused) != refused && !open.contains(&number) {
                open.push(number);
            }
        }
        open.sort_unstable();
        open
    }

    /// Spells the blocks of files out and reads them.
    pub(super) fn spell(&mut self, open: &[FileId]) {
        let read: Vec<Option<Whole>> = {
            let find = |kind: u8, name: &str| self.written(kind, name);
            let text_of = |file| self.rig_of(file);
            let speller = Speller::new(&find, &text_of);
            self.spread.map(open.len(), |index| {
                let &number = open.get(index)?;
                let file = self.files.get(number.0 as usize)?;
                let heirs = file.heirs.as_deref()?;
                Some(file.read_spelt(number, &speller.behind(&heirs.written, heirs.refused)))
            })
        };
        let mut fleets: Vec<(FileId, FileFleet)> = Vec::new();
        for (&number, read) in open.iter().zip(read) {
            let (Some(file), Some(read)) = (self.files.get_mut(number.0 as usize), read) else { continue };
            self.aircraft.open(file.subjects.aircraft());
            fleets.push((number, file.take_spelt(read)));
        }
        self.fleet.put(fleets);
    }

    /// The first block of a kind with a name, as it is written.
    fn written(&self, kind: u8, name: &str) -> Option<Written> {
        let head = self.fleet.head(kind, name)?;
        let heirs = self.files.get(head.file.0 as usize)?.heirs.as_ref();
        let heir = heirs.and_then(|heirs| heirs.find(kind, name)).cloned();
        Some(heir.unwrap_or_else(|| Written::of(kind, head)))
    }

    fn rig_of(&self, file: FileId) -> Option<(&[u8], &[u32])> {
        let file = self.files.get(file.0 as usize)?;
        Some((file.rig_text(), file.rig.as_ref().map_or(&[], |rig| &rig.broken)))
    }

    /// A block whole: spelled out where it is like another.
    pub fn spelled_out(&self, kind: u8, name: &str) -> Option<&str> {
        let head = self.fleet.head(kind, name)?;
        let text = self.files.get(head.file.0 as usize)?.seen_text();
        std::str::from_utf8(head.body.whole.of(text)).ok()
    }

    /// The rig text of a file with its blocks spelled out where they stand; none where one of them can't be.
    pub fn whole_text(&self, file: FileId) -> Option<String> {
        let known = self.files.get(file.0 as usize)?;
        let text = std::str::from_utf8(known.rig_text()).ok()?;
        let (mut whole, mut at) = (String::with_capacity(text.len()), 0);
        for block in known.heirs.iter().flat_map(|heirs| &heirs.written) {
            let head = self.fleet.head(block.kind, &block.name);
            head.filter(|head| head.file == file && head.like.is_none())?;
            whole += text.get(at..block.whole.range().start)?;
            whole += self.spelled_out(block.kind, &block.name)?;
            at = block.whole.range().end;
        }
        Some(whole + text.get(at..)?)
    }

    /// The heirs of a file, where a place lies in what is spelled out behind its text.
    fn beyond(&self, place: Place) -> Option<&Heirs> {
        let heirs = self.files.get(place.file.0 as usize)?.heirs.as_deref()?;
        (!heirs.spelt.text.is_empty() && place.span.end > heirs.own).then_some(heirs)
    }

    /// Whether a place lies in a block that is spelled out.
    pub(super) fn is_spelt(&self, place: Place) -> bool {
        self.beyond(place).is_some()
    }

    /// Where a place that rules see is written, in rig text.
    pub(super) fn as_written(&self, place: Place) -> Place {
        self.beyond(place).and_then(|heirs| heirs.spelt.place(place.span)).unwrap_or(place)
    }

    /// The header of the block that a place lies in, as it is written; a place outside of all blocks stands for itself.
    pub(super) fn block_of(&self, place: Place) -> Place {
        let heirs = self.files.get(place.file.0 as usize).and_then(|file| file.heirs.as_deref());
        if let Some(block) = heirs.and_then(|heirs| heirs.around(place.span)) {
            return block.header;
        }
        let around = self.fleet.around(place);
        around.map_or(place, |block| self.as_written(block.head().place(block.head().header)))
    }

    /// A place by which the fleet finds the block that a written place lies in.
    pub(super) fn seen(&self, place: Place) -> Place {
        let heirs = self.files.get(place.file.0 as usize).and_then(|file| file.heirs.as_deref());
        let head = heirs
            .and_then(|heirs| heirs.around(place.span))
            .and_then(|block| self.fleet.head(block.kind, &block.name))
            .filter(|head| head.file == place.file);
        head.map_or(place, |head| head.place(head.header))
    }

    /// Leads findings in blocks that are spelled out back to the lines that say it.
    pub(super) fn lead_to_written(&self, findings: &mut [Finding]) {
        if self.files.iter().all(|file| file.heirs.is_none()) {
            return;
        }
        let mut led: Vec<usize> = Vec::new();
        for (number, finding) in findings.iter_mut().enumerate() {
            if finding.places().any(|place| self.is_spelt(place)) {
                if self.is_spelt(finding.place) {
                    led.push(number);
                }
                self.lead(finding);
            }
        }
        // What is found in the block that says it too is mended there for all.
        let mut told: FxHashMap<(&str, &str, Place), Vec<usize>> = FxHashMap::default();
        for (number, finding) in findings.iter().enumerate() {
            if led.binary_search(&number).is_err() {
                told.entry((finding.rule, finding.key, finding.place)).or_default().push(number);
            }
        }
        let same = |left: &Finding, right: &Finding| left.severity == right.severity && left.facts == right.facts;
        let mends: Vec<(usize, Mend)> = led
            .into_iter()
            .filter_map(|number| {
                let finding = findings.get(number)?;
                let known = told.get(&(finding.rule, finding.key, finding.place))?;
                let twin = known.iter().filter_map(|&known| findings.get(known)).find(|known| same(known, finding))?;
                Some((number, twin.mend.clone()))
            })
            .collect();
        for (number, mend) in mends {
            if let Some(finding) = findings.get_mut(number) {
                finding.mend = mend;
            }
        }
    }

    fn lead(&self, finding: &mut Finding) {
        let seen = finding.place;
        finding.place = self.as_written(seen);
        finding.others.iter_mut().for_each(|(place, _)| *place = self.as_written(*place));
        if let Some(block) = self.heir(seen).filter(|block| !self.is_in(block, finding.place)) {
            finding.others.push((block.header, format!("{} is like that and has this line from there", block.shown())));
        }
        finding.mend = match std::mem::replace(&mut finding.mend, Mend::Words(String::new())) {
            Mend::Words(words) => Mend::Words(words),
            Mend::Sure(choice) => {
                let label = choice.label.clone();
                let mut choices = self.choices(choice);
                match (choices.pop(), choices.is_empty()) {
                    (None, _) => Mend::Words(label),
                    (Some(only), true) => Mend::Sure(only),
                    (Some(last), false) => {
                        choices.push(last);
                        Mend::Choices(label, choices)
                    }
                }
            }
            Mend::Choices(words, choices) => {
                let choices: Vec<Choice> = choices.into_iter().flat_map(|choice| self.choices(choice)).collect();
                if choices.is_empty() { Mend::Words(words) } else { Mend::Choices(words, choices) }
            }
        };
    }

    /// The written block that is spelled out around a place.
    fn heir(&self, seen: Place) -> Option<&Written> {
        let heirs = self.beyond(seen)?;
        let head = self.fleet.around(seen)?.head();
        heirs.around(self.as_written(head.place(head.header)).span)
    }

    fn is_in(&self, block: &Written, place: Place) -> bool {
        block.header.file == place.file && block.whole.holds(place.span)
    }

    /// What a choice becomes whose edits lie in blocks that are spelled out: the same where the block says it itself; else it is
    /// made in the block that says it, or by saying something else in the one that is like it.
    fn choices(&self, choice: Choice) -> Vec<Choice> {
        let Choice { label, edits } = choice;
        let (spelt, others): (Vec<Edit>, Vec<Edit>) = edits.into_iter().partition(|edit| self.is_spelt(edit.place));
        if spelt.is_empty() {
            return vec![Choice { label, edits: others }];
        }
        let exact = |edit: &Edit| {
            let place = self.beyond(edit.place)?.spelt.exact(edit.place.span)?;
            Some(Edit { place, text: edit.text.clone() })
        };
        let there: Option<Vec<Edit>> = spelt.iter().map(exact).collect();
        let is_own = |there: &Vec<Edit>| {
            let blocks = there.iter().zip(&spelt).map(|(there, edit)| (self.heir(edit.place), there.place));
            blocks.into_iter().all(|(block, place)| block.is_some_and(|block| self.is_in(block, place)))
        };
        if let Some(own) = there.as_ref().filter(|there| is_own(there)) {
            return vec![Choice { label, edits: [own.as_slice(), &others].concat() }];
        }
        let mut choices = Vec::new();
        if let Some(here) = self.here(&spelt) {
            let only = if there.is_some() { format!("{label} (only for what is like it)") } else { label.clone() };
            choices.push(Choice { label: only, edits: [here.as_slice(), &others].concat() });
        }
        if let Some(there) = there {
            let label = format!("{label} (where it is stated, for all that is like it)");
            choices.push(Choice { label, edits: [there.as_slice(), &others].concat() });
        }
        choices
    }

    /// Edits of blocks that are spelled out, made in these blocks alone.
    fn here(&self, spelt: &[Edit]) -> Option<Vec<Edit>> {
        let mut by_block: Vec<(Place, Vec<&Edit>)> = Vec::new();
        for edit in spelt {
            let head = self.fleet.around(edit.place)?.head();
            let whole = head.place(head.body.whole);
            match by_block.iter_mut().find(|(known, _)| *known == whole) {
                Some((_, edits)) => edits.push(edit),
                None => by_block.push((whole, vec![edit])),
            }
        }
        let mut all = Vec::new();
        for (whole, mut edits) in by_block {
            edits.sort_by_key(|edit| std::cmp::Reverse(edit.place.span));
            let key = (whole.span, edits.iter().map(|edit| (edit.place.span, edit.text.clone())).collect());
            let heirs = self.beyond(whole)?;
            // Every outcome leads all findings back, and what a mend becomes hangs on nothing but its file.
            let known = heirs.made.lock().ok().and_then(|made| made.get(&key).cloned());
            let edits = known.unwrap_or_else(|| {
                let edits = self.made_in(whole, heirs, &key.1);
                if let Ok(mut made) = heirs.made.lock() {
                    made.insert(key, edits.clone());
                }
                edits
            })?;
            all.extend(
                edits.into_iter().map(|edit| Edit { place: Place::new(whole.file, edit.span), text: edit.text }),
            );
        }
        Some(all)
    }

    /// Edits of one block that is spelled out, the last place first, made in the block as it is written.
    fn made_in(&self, whole: Place, heirs: &Heirs, edits: &[(Span, String)]) -> Option<Vec<Here>> {
        let file = self.files.get(whole.file.0 as usize)?;
        let old = heirs.spelt.text.get(whole.span.range())?;
        let mut new = old.to_owned();
        for (Span { start, end }, text) in edits {
            let (start, end) = (start.checked_sub(whole.span.start)?, end.checked_sub(whole.span.start)?);
            new.get(start as usize..end as usize)?;
            new.replace_range(start as usize..end as usize, text);
        }
        here(file.rig_text(), self.heir(whole)?, old, &new)
    }
}
