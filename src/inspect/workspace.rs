//! The texts of a folder and everything that is known of them.

use super::aircraft::Aircraft;
use super::ask::Rules;
use super::file::{File, Header, headers};
use super::keep::{Asked, Defined, Need, Subjects};
use super::words::Words;
use super::{Options, Outcome, Spread};
use crate::findings::Finding;
use crate::fleet::{self, FileFleet, Fleet};
use crate::setup::{Compared, Context, UsedNumbers};
use crate::signal::Answers;
use crate::source::{FileId, Lines, Place};
use crate::syntax::{Tables, parse};
use rustc_hash::FxHashSet;
use std::cell::{Cell, OnceCell};
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex};

/// Texts in, outcome out. A [`FileId`] is the place of a name in [`Workspace::names`]: first the files that describe the
/// fleet, in the order of their names, whenever they came; then other texts that findings speak of.
#[derive(Debug, Default)]
pub struct Workspace {
    pub(super) options: Options,
    pub(super) rules: Rules,
    pub(super) spread: Spread,
    names: Vec<String>,
    pub(super) files: Vec<File>,
    pub(super) notes: Vec<Note>,
    /// What came since texts were read the last time, by name.
    waiting: BTreeMap<String, Waiting>,
    pub(super) fleet: Fleet,
    pub(super) aircraft: Aircraft,
    numbers: UsedNumbers,
    compared: Compared,
    /// Answers that models share; each piece of work takes one set and puts it back.
    answers: Mutex<Vec<Answers>>,
    outcome: Option<Arc<Outcome>>,
    texts_read: usize,
    subjects_asked: usize,
}

/// A text that describes no fleet, and in which something was found outside: the settings, or the record of known findings.
#[derive(Debug)]
pub(super) struct Note {
    text: Arc<[u8]>,
    headers: Box<[Header]>,
    faults: Vec<Finding>,
}

/// What is to become of a file.
#[derive(Debug)]
enum Waiting {
    Text(Arc<[u8]>),
    Unreadable(String),
    Gone,
}

impl Workspace {
    /// Without files, as the settings are where nothing is set.
    pub fn new() -> Self {
        Self::with(Options::default())
    }

    /// Without files, for an inspection that is done so.
    pub fn with(options: Options) -> Self {
        Self { rules: Rules::of(&options), options, ..Self::default() }
    }

    /// Says how the inspection is done.
    pub fn settings(&mut self, options: Options) {
        self.rules = Rules::of(&options);
        self.options = options;
        self.forget_all();
    }

    /// Gives a way to have independent pieces of work done at the same time: it calls the piece with each number below the
    /// count, once, in any order and on any thread.
    pub fn spread(&mut self, over: impl Fn(usize, &(dyn Fn(usize) + Sync)) + Send + Sync + 'static) {
        self.spread = Spread(Box::new(over));
    }

    /// Gives a file its text. One whose name ends in `.json` is in the JSON form.
    pub fn set(&mut self, name: &str, text: impl AsRef<[u8]> + Into<Arc<[u8]>>) {
        let known = self.file(name).and_then(|file| self.files.get(file.0 as usize));
        if known.is_some_and(|file| file.unreadable.is_none() && *file.text == *text.as_ref()) {
            self.waiting.remove(name);
            return;
        }
        self.waiting.insert(name.to_owned(), Waiting::Text(text.into()));
    }

    /// Says that a file should be there and can't be read, and why.
    pub fn unreadable(&mut self, name: &str, reason: impl Into<String>) {
        self.waiting.insert(name.to_owned(), Waiting::Unreadable(reason.into()));
    }

    /// Takes a file out.
    pub fn remove(&mut self, name: &str) {
        match self.file(name) {
            Some(_) => self.waiting.insert(name.to_owned(), Waiting::Gone),
            None => self.waiting.remove(name),
        };
    }

    /// Gives a text that describes no fleet, with what was found in it outside: its places get the number of the text. It takes
    /// the place of one of the same name.
    pub fn note(&mut self, name: &str, text: impl Into<Arc<[u8]>>, faults: Vec<Finding>) {
        let text = text.into();
        let mut tables = Tables::default();
        if !faults.is_empty() {
            parse(&text, fleet::table::vocabulary, &mut tables);
        }
        let note = Note { text, headers: headers(&tables), faults };
        let known = self.names.get(self.files.len()..).unwrap_or_default().iter().position(|known| known == name);
        match known.and_then(|at| self.notes.get_mut(at)) {
            Some(known) => *known = note,
            None => {
                self.names.push(name.to_owned());
                self.notes.push(note);
            }
        }
        self.outcome = None;
    }

    /// What is found in the texts as they are now.
    pub fn outcome(&mut self) -> Arc<Outcome> {
        self.read();
        if let Some(outcome) = &self.outcome {
            return outcome.clone();
        }
        self.ask();
        let mut aircraft = std::mem::take(&mut self.aircraft);
        aircraft.renew(self);
        self.aircraft = aircraft;
        let outcome = Arc::new(self.finish());
        self.outcome = Some(outcome.clone());
        outcome
    }

    /// The same, where nothing more is to be asked.
    pub fn into_outcome(mut self) -> Outcome {
        let outcome = self.outcome();
        self.outcome = None;
        Arc::unwrap_or_clone(outcome)
    }

    /// Reads the texts that are new. [`Workspace::outcome`] does it too; what follows shows what was read.
    pub fn read(&mut self) {
        let waiting = std::mem::take(&mut self.waiting);
        if waiting.is_empty() {
            return;
        }
        self.outcome = None;
        let mut before = Defined::default();
        waiting.keys().filter_map(|name| self.file(name)).for_each(|file| before.add(&self.fleet, file));
        self.make_room(&waiting);
        let new: Vec<(FileId, Waiting)> =
            waiting.into_iter().filter_map(|(name, waiting)| Some((self.file(&name)?, waiting))).collect();
        let tables = Mutex::new(Vec::new());
        let read = self.spread.map(new.len(), |index| {
            let (file, waiting) = new.get(index)?;
            let text = match waiting {
                Waiting::Text(text) => text.clone(),
                Waiting::Unreadable(reason) => return Some((File::unreadable(reason.clone()), FileFleet::default())),
                Waiting::Gone => return None,
            };
            let mut own: Tables = tables.lock().ok().and_then(|mut all| all.pop()).unwrap_or_default();
            let read = File::read(*file, text, self.is_json(*file), &mut own);
            if let Ok(mut all) = tables.lock() {
                all.push(own);
            }
            Some(read)
        });
        let mut fleets = Vec::with_capacity(new.len());
        for (&(number, _), (file, fleet)) in new.iter().zip(read.into_iter().flatten()) {
            self.texts_read += usize::from(file.unreadable.is_none());
            fleets.push((number, fleet));
            if let Some(place) = self.files.get_mut(number.0 as usize) {
                self.aircraft.open(place.subjects.aircraft());
                *place = file;
            }
        }
        self.fleet.put(fleets);
        let mut after = Defined::default();
        new.iter().for_each(|(file, _)| after.add(&self.fleet, *file));
        let mut changed: FxHashSet<FileId> = new.iter().map(|(file, _)| *file).collect();
        let open = self.open_again(&changed, &before.names.union(&after.names).copied().collect());
        open.iter().filter(|file| !changed.contains(file)).for_each(|file| before.add(&self.fleet, *file));
        self.spell(&open);
        open.iter().filter(|file| changed.insert(**file)).for_each(|file| after.add(&self.fleet, *file));
        self.forget(before, after, &changed);
    }

    /// Makes the list of files what it is to be, so that every file has its number.
    fn make_room(&mut self, waiting: &BTreeMap<String, Waiting>) {
        let is_gone = |name: &str| matches!(waiting.get(name), Some(Waiting::Gone));
        if waiting.keys().all(|name| !is_gone(name) && self.file(name).is_some()) {
            return;
        }
        let count = self.files.len();
        let mut others = self.names.split_off(count);
        let old: Vec<(String, File)> = std::mem::take(&mut self.names).into_iter().zip(self.files.drain(..)).collect();
        let known = |name: &String| old.binary_search_by(|(known, _)| known.cmp(name)).is_ok();
        let added = waiting.iter().filter(|(name, waiting)| !matches!(waiting, Waiting::Gone) && !known(name));
        let mut added: Vec<String> = added.map(|(name, _)| name.clone()).rev().collect();
        // By old number: the new one.
        let mut numbers: Vec<Option<FileId>> = Vec::with_capacity(count);
        let (mut names, mut files) = (Vec::with_capacity(count), Vec::with_capacity(count));
        for (name, file) in old {
            while added.last().is_some_and(|first| *first < name) {
                names.extend(added.pop());
                files.push(File::default());
            }
            numbers.push((!is_gone(&name)).then_some(FileId(names.len() as u32)));
            if !is_gone(&name) {
                names.push(name);
                files.push(file);
            }
        }
        while let Some(name) = added.pop() {
            names.push(name);
            files.push(File::default());
        }
        names.append(&mut others);
        (self.names, self.files) = (names, files);
        self.renumber(&numbers);
    }

    /// Gives everything that is kept the new numbers of the files; what has none is gone.
    fn renumber(&mut self, numbers: &[Option<FileId>]) {
        if numbers.iter().enumerate().all(|(old, new)| *new == Some(FileId(old as u32))) {
            return;
        }
        let number = |file: FileId| numbers.get(file.0 as usize).copied().flatten();
        let gone = (0..numbers.len() as u32).map(FileId).filter(|file| number(*file).is_none());
        self.fleet.remove(gone.collect::<Vec<_>>());
        self.fleet.renumber(&|file| number(file).unwrap_or(file));
        // A place in a file that is gone stands only in what hangs on that file, and so is forgotten.
        let lead = &mut |place: &mut Place| place.file = number(place.file).unwrap_or(place.file);
        self.files.iter_mut().for_each(|file| file.each_place(lead));
        self.compared.forget(&|_| true);
        self.aircraft.open_all();
    }

    /// Forgets what hangs on what was defined in files that changed, and on what is defined in them now.
    fn forget(&mut self, mut before: Defined, mut after: Defined, files: &FxHashSet<FileId>) {
        before.numbers.sort_unstable();
        after.numbers.sort_unstable();
        let mut changed = before.names;
        changed.extend(after.names);
        if before.numbers != after.numbers {
            changed.insert(Need::NUMBERS);
        }
        self.numbers = UsedNumbers::default();
        let unread = self.files.iter().any(|file| file.unread);
        if unread != self.fleet.unread {
            // What is not defined may stand in a file that was not read.
            self.fleet.unread = unread;
            self.forget_all();
            return;
        }
        for file in &mut self.files {
            file.subjects.forget(&changed, &mut self.aircraft);
        }
        let mut other: FxHashSet<Place> = FxHashSet::default();
        for (number, file) in self.files.iter().enumerate().filter(|(_, file)| file.subjects.are_open()) {
            let number = FileId(number as u32);
            let crafts = self.fleet.crafts_of(number).iter().map(|craft| &craft.head).zip(&file.subjects.crafts);
            let models = self.fleet.models_of(number).iter().map(|model| &model.head).zip(&file.subjects.models);
            other.extend(
                crafts.chain(models).filter(|(_, asked)| asked.is_none()).map(|(head, _)| head.place(head.header)),
            );
        }
        self.compared.forget(&|place| files.contains(&place.file) || other.contains(&place));
    }

    fn forget_all(&mut self) {
        self.files.iter_mut().for_each(|file| file.subjects.forget_all());
        self.compared.forget(&|_| true);
        self.aircraft.open_all();
        self.outcome = None;
    }

    /// Asks the rules about every subject of which nothing is known.
    fn ask(&mut self) {
        let open = self.files.iter().enumerate().filter(|(_, file)| file.subjects.are_open());
        let open: Vec<FileId> = open.map(|(number, _)| FileId(number as u32)).collect();
        let asked = self.spread.map(open.len(), |index| open.get(index).map(|file| self.ask_file(*file)));
        for (number, new) in open.into_iter().zip(asked.into_iter().flatten()) {
            let Some(file) = self.files.get_mut(number.0 as usize) else { continue };
            self.subjects_asked += new.asked().count();
            self.aircraft.asked(number, new.aircraft());
            file.subjects.take(new);
        }
    }

    /// Asks the rules about the subjects of a file of which nothing is known.
    fn ask_file(&self, number: FileId) -> Subjects {
        let Some(file) = self.files.get(number.0 as usize) else { return Subjects::default() };
        let answers = self.answers.lock().ok().and_then(|mut all| all.pop()).unwrap_or_default();
        let text_of = |file| self.words_of(file);
        let mut words = Words::new(&text_of);
        let mut each = |ask: &dyn Fn(&Context<'_>) -> Asked| {
            let context = Context { answers: Some(&answers), ..self.context() };
            let mut asked = ask(&context);
            // The words around what was found are taken now, where many can do it at the same time.
            asked.findings.iter_mut().for_each(|finding| finding.fingerprint = words.gist(finding));
            asked
        };
        let kept = &file.subjects;
        let handsets = self.fleet.handsets_of(number).iter().zip(&kept.handsets);
        let handsets = handsets.map(|(handset, known)| match known {
            Some(_) => None,
            None => Some(each(&|context| self.rules.handset(context, handset))),
        });
        let handsets = handsets.collect();
        let crafts = self.fleet.crafts_of(number).iter().zip(&kept.crafts);
        let crafts = crafts.map(|(craft, known)| match known {
            Some(_) => None,
            None => Some(each(&|context| self.rules.craft(context, craft))),
        });
        let crafts = crafts.collect();
        let models = self.fleet.models_of(number).iter().zip(&kept.models);
        let models = models.map(|(model, known)| match known {
            Some(_) => None,
            None => Some(each(&|context| self.rules.model(context, model))),
        });
        let models = models.collect();
        if let Ok(mut all) = self.answers.lock() {
            all.push(answers);
        }
        Subjects { handsets, crafts, models }
    }

    /// The fleet as it was read.
    pub fn fleet(&self) -> &Fleet {
        &self.fleet
    }

    /// What holds for the whole inspection, to ask about a model by hand.
    pub fn context(&self) -> Context<'_> {
        Context {
            fleet: &self.fleet,
            default_place: self.options.default_place.as_deref(),
            today: self.options.today,
            tested: &self.options.tested,
            budget: self.options.budget,
            used: &self.numbers,
            numbers_asked: Cell::new(false),
            compared: &self.compared,
            answers: None,
            open_model: OnceCell::new(),
        }
    }

    /// How the inspection is done.
    pub fn options(&self) -> &Options {
        &self.options
    }

    /// How many files describe the fleet.
    pub fn count(&self) -> usize {
        self.files.len()
    }

    /// The names of all files, by number: first those that describe the fleet.
    pub fn names(&self) -> &[String] {
        &self.names
    }

    /// The number of a file that describes the fleet.
    pub fn file(&self, name: &str) -> Option<FileId> {
        let names = self.names.get(..self.files.len())?;
        names.binary_search_by(|known| known.as_str().cmp(name)).ok().map(|at| FileId(at as u32))
    }

    /// The text of a file as it was given; `None` where it could not be read.
    pub fn text(&self, file: FileId) -> Option<Arc<[u8]>> {
        let file = file.0 as usize;
        match self.files.get(file) {
            Some(file) => file.unreadable.is_none().then(|| file.text.clone()),
            None => self.notes.get(file - self.files.len()).map(|note| note.text.clone()),
        }
    }

    /// The lines of a file that describes the fleet.
    pub fn lines(&self, file: FileId) -> Option<Lines<'_>> {
        let file = self.files.get(file.0 as usize)?;
        Some(Lines::at(&file.text, file.lines.get_or_init(|| Lines::starts(&file.text))))
    }

    /// Whether a file that describes the fleet is in the JSON form.
    pub fn is_json(&self, file: FileId) -> bool {
        let file = file.0 as usize;
        file < self.files.len() && self.names.get(file).is_some_and(|name| name.ends_with(".json"))
    }

    /// How many faults the description and what was found outside have.
    pub fn faults(&self) -> usize {
        let unreadable = self.files.iter().filter(|file| file.unreadable.is_some()).count();
        let outside = self.notes.iter().map(|note| note.faults.len()).sum::<usize>();
        self.problems().len() + unreadable + outside
    }

    /// What was found outside of the texts that describe the fleet, in words.
    pub fn told_outside(&self) -> Vec<String> {
        self.unreadable_files().chain(self.outside()).map(|fault| fault.message).collect()
    }

    /// How many texts were read since the workspace was made.
    pub fn texts_read(&self) -> usize {
        self.texts_read
    }

    /// How many subjects the rules were asked about since the workspace was made: handsets, aircraft, and models.
    pub fn subjects_asked(&self) -> usize {
        self.subjects_asked
    }

    /// The most that was looked at for one model, of [`crate::signal::MODEL_BUDGET`].
    pub fn most_work(&self) -> u64 {
        let models = self.files.iter().flat_map(|file| &file.subjects.models);
        models.flatten().map(|asked| asked.work).max().unwrap_or(0)
    }

    /// The text of a file that rules see, and where its statements stand.
    pub(super) fn words_of(&self, file: FileId) -> Option<(&[u8], &[Header])> {
        let file = file.0 as usize;
        match self.files.get(file) {
            Some(file) => Some((file.seen_text(), &file.headers)),
            None => self.notes.get(file - self.files.len()).map(|note| (&*note.text, &*note.headers)),
        }
    }

    /// What was found outside, with the numbers of the files.
    pub(super) fn outside(&self) -> impl Iterator<Item = Finding> + '_ {
        self.notes.iter().zip(self.files.len() as u32..).flat_map(|(note, number)| {
            note.faults.iter().map(move |fault| {
                let mut fault = fault.clone();
                fault.each_place(&mut |place| place.file = FileId(number));
                fault
            })
        })
    }
}
