//! What a rule says while it looks at one subject.

use super::book::{self, RuleDoc};
use super::parameters::Parameters;
use crate::findings::coverage::Missing;
use crate::findings::fact::{self, Fact, FactValue, Joined};
use crate::findings::{Choice, Edit, Finding, Mend, Severity, Witness};
use crate::fleet::condition::Condition as Written;
use crate::fleet::equipment::{Body, Head};
use crate::fleet::model::Channel;
use crate::fleet::table::Block;
use crate::fleet::{Decimal, Dimension};
use crate::setup::terms::is_plain_control;
use crate::setup::{LinkPath, Motor, Setup, Signals, Stop};
use crate::signal::{Answer, Condition, ControlId, Question, Reach, Unstated, Why, Within};
use crate::source::{Place, Span};
use compact_str::{CompactString, ToCompactString};

/// Takes what one rule finds.
#[derive(Debug)]
pub struct Out<'o> {
    /// The rule's page.
    pub doc: &'static RuleDoc,
    /// The aircraft that the subject is about; findings name them unless they name others.
    pub aircraft: &'o [CompactString],
    parameters: &'o Parameters,
    /// The links that were looked at where several reach the aircraft, each with the number of findings before it.
    over: Vec<(CompactString, usize)>,
    /// What was found.
    pub findings: Vec<Finding>,
    /// Questions of the rule that were not decided.
    pub undecided: Vec<Undecided>,
    /// What questions of the rule hang on and is not stated, or was not understood.
    pub missing: Vec<Missing>,
    /// The same, each of an aircraft that the rule names itself.
    pub missing_about: Vec<(CompactString, Missing)>,
}

/// A question of a rule that was not decided.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Undecided {
    /// What it is about.
    pub place: Place,
    /// Why, in words.
    pub why: String,
    /// The aircraft that it concerns.
    pub aircraft: Vec<CompactString>,
}

impl<'o> Out<'o> {
    /// For a rule that is about to look at a subject.
    pub fn new(doc: &'static RuleDoc, aircraft: &'o [CompactString], parameters: &'o Parameters) -> Self {
        Self {
            doc,
            aircraft,
            parameters,
            over: Vec::new(),
            findings: Vec::new(),
            undecided: Vec::new(),
            missing: Vec::new(),
            missing_about: Vec::new(),
        }
    }

    /// Whether nothing was found, and everything decided and there.
    pub fn is_empty(&self) -> bool {
        self.findings.is_empty()
            && self.undecided.is_empty()
            && self.missing.is_empty()
            && self.missing_about.is_empty()
    }

    /// Begins a finding at a place, with the rule's usual severity and the words of its page for its mend. `key` tells the cases
    /// of the rule apart and stays for good. The message is one sentence, made of the template by [`fact::say`], that states the
    /// fact with its numbers and does not name the aircraft.
    pub fn find(
        &mut self,
        place: Place,
        key: &'static str,
        template: &str,
        facts: impl IntoIterator<Item = Fact>,
    ) -> &mut Finding {
        let facts: Vec<Fact> = facts.into_iter().collect();
        let message = fact::say(template, &facts);
        self.push(Finding { facts, ..Finding::new(self.doc.id, self.doc.severity, place, key, message) })
    }

    /// What is found from here on holds over one link.
    pub fn over(&mut self, path: &LinkPath<'_>) -> &mut Self {
        self.over.extend(path.link.map(|link| (link.head.name.value.clone(), self.findings.len())));
        self
    }

    /// After all links that reach an aircraft were looked at: what holds over several of them is said once, and over which where
    /// it does not hold over all.
    pub fn join_links(&mut self) {
        let looked_at = std::mem::take(&mut self.over);
        if looked_at.len() < 2 {
            return;
        }
        let mut joined: Vec<(Finding, Vec<&CompactString>)> = Vec::new();
        for (number, finding) in std::mem::take(&mut self.findings).into_iter().enumerate() {
            let link = looked_at.iter().rev().find(|(_, before)| *before <= number).map(|(link, _)| link);
            let same = joined.iter_mut().find(|(known, _)| {
                let says = |it: &Finding| (it.key, it.place, it.severity);
                says(known) == says(&finding) && known.facts == finding.facts
            });
            match same {
                Some((_, links)) => links.extend(link),
                None => joined.push((finding, link.into_iter().collect())),
            }
        }
        self.findings.extend(joined.into_iter().map(|(mut finding, mut links)| {
            links.dedup();
            if links.len() < looked_at.len() {
                let links = links.into_iter().map(|link| FactValue::Name(link.clone()));
                finding.also("link", "That is so over the link {link}.", [fact::list("link", Joined::And, links)]);
            }
            finding
        }));
    }

    fn push(&mut self, finding: Finding) -> &mut Finding {
        self.findings.push(Finding { aircraft: self.aircraft.to_vec(), ..finding });
        let last = self.findings.len() - 1;
        &mut self.findings[last]
    }

    /// Notes that a question of the rule about this place was not decided, and why.
    pub fn not_decided(&mut self, place: Place, why: impl Into<String>) {
        self.not_decided_about(place, why, self.aircraft.to_vec());
    }

    /// Notes the same about these aircraft instead of the subject's.
    pub fn not_decided_about(&mut self, place: Place, why: impl Into<String>, aircraft: Vec<CompactString>) {
        let undecided = Undecided { place, why: why.into(), aircraft };
        // One rule asks about one place in a row, so looking at the last ones is enough and stays linear.
        if !self.undecided.iter().rev().take(16).any(|known| *known == undecided) {
            self.undecided.push(undecided);
        }
    }

    /// A channel of the model. `None` where it defines none; a line that was not understood and may define it is missing then.
    pub fn channel<'f>(&mut self, setup: &Setup<'f>, number: u8) -> Option<&'f Channel> {
        if let Some(line) = setup.lost_channel(number) {
            self.misses(Missing::Line(line));
        }
        setup.model.channel(number)
    }

    /// The motors whose channels the model defines; a line that was not understood and may define another is missing.
    pub fn motors<'s, 'f>(&mut self, setup: &'s Setup<'f>) -> &'s [Motor<'f>] {
        for motor in setup.motor_channels() {
            self.channel(setup, motor.channel);
        }
        setup.motors()
    }

    /// The arming controls of a pair. `None` where they were not decided, which is noted for this place.
    pub fn arming_controls<'s>(&mut self, signals: &'s Signals, place: Place) -> Option<&'s [ControlId]> {
        signals.arming_controls().map_err(|why| self.why(why, place)).ok()
    }

    /// The switches that keep a motor idle, by its number among the setup's. `None` where that was not decided, which is noted for
    /// its channel.
    pub fn stops<'s>(&mut self, setup: &Setup<'_>, signals: &'s Signals, motor: usize) -> Option<&'s [Stop]> {
        let place = setup.motors().get(motor).map(|motor| setup.in_model(motor.channel.header))?;
        match setup.stops(signals).get(motor)? {
            Ok(stops) => Some(stops),
            Err(why) => {
                self.why(*why, place);
                None
            }
        }
    }

    /// Notes that something is missing: where the rule finds nothing, it counts as not asked.
    pub fn misses(&mut self, missing: Missing) {
        if !self.missing.contains(&missing) {
            self.missing.push(missing);
        }
    }

    /// The same of these aircraft, for a rule that looks at the whole fleet.
    pub fn misses_about(&mut self, missing: Missing, aircraft: impl IntoIterator<Item = CompactString>) {
        self.missing_about.extend(aircraft.into_iter().map(|name| (name, missing.clone())));
    }

    /// A condition, as the signal path asks it. `None` where it names something that is not there, which is noted for this place.
    pub fn condition(&mut self, signals: &Signals, when: &Written, place: Place) -> Option<Condition> {
        let condition = signals.lowered().when(when).ok();
        if condition.is_none() {
            self.misses(Missing::Line(place));
        }
        condition
    }

    /// Notes why a question was not decided. What was not understood or is not stated is missing, and so is a channel that is
    /// not fed or not carried, which is a finding of another rule: this one was not asked then.
    pub fn why(&mut self, why: Why, place: Place) {
        let statement = |block, word, within| Missing::Statement { block, word, within, form: "" };
        let missing = match why {
            why @ Why::NotKnown(_) => Missing::SignalPath { place, why: why.to_compact_string() },
            Why::NotUnderstood(line) => Missing::Line(line),
            Why::BeyondLimits(place) => Missing::SignalPath { place, why: why.to_compact_string() },
            Why::NotStated(Unstated::TrimRange) => statement(Block::Handset, "trim-range", "handset".into()),
            Why::NotStated(Unstated::Link) => statement(Block::Receiver, "link", "receiver".into()),
            why => return self.not_decided(place, why.to_string()),
        };
        self.misses(missing);
    }

    /// Asks the signal path. `None` where it was not decided, which is noted for this place.
    pub fn ask(&mut self, signals: &Signals, question: &Question, place: Place) -> Option<Answer> {
        match signals.program().ask(question) {
            Answer::NotDecided(why) => {
                self.why(why, place);
                None
            }
            answer => Some(answer),
        }
    }

    /// Asks the signal path whether there is such a state, where none has to be shown. `None` where it was not decided, which is
    /// noted for this place.
    pub fn decide(&mut self, signals: &Signals, question: &Question, place: Place) -> Option<bool> {
        signals.program().decide(question).map_err(|why| self.why(why, place)).ok()
    }

    /// The controls that move a channel. `None` where that was not decided, which is noted for this place.
    pub fn moved_by(&mut self, signals: &Signals, channel: u8, place: Place) -> Option<Vec<ControlId>> {
        signals.program().moved_by(u16::from(channel)).map_err(|why| self.why(why, place)).ok()
    }

    /// Asks what a channel reaches. `None` where it was not decided, which is noted for this place, or where the channel
    /// is not there.
    pub fn range(
        &mut self,
        signals: &Signals,
        channel: u8,
        measure: crate::signal::Measure,
        within: &Within,
        place: Place,
    ) -> Option<Reach> {
        match signals.program().range(u16::from(channel), measure, within)? {
            Reach::NotDecided(why) => {
                self.why(why, place);
                None
            }
            reach => Some(reach),
        }
    }

    /// A parameter of the rule, in the first unit of its dimension. A name that the book does not have gives 0, and a
    /// test of the book refuses it.
    pub fn parameter(&self, name: &str, dimension: Dimension) -> Decimal {
        self.parameters.number_of(self.doc, name, dimension).unwrap_or_default()
    }

    /// A parameter of another rule, which this one leaves its cases to.
    pub fn parameter_of(&self, rule: &str, name: &str, dimension: Dimension) -> Decimal {
        self.parameters.number(rule, name, dimension).unwrap_or_default()
    }
}

impl Finding {
    /// With another severity than the rule's usual one.
    pub fn severity(&mut self, severity: Severity) -> &mut Self {
        self.severity = severity;
        self
    }

    /// In a case of the rule's page, which says what can happen in it; none for an empty word.
    pub fn case(&mut self, case: &'static str) -> &mut Self {
        let has = |doc: &RuleDoc| case.is_empty() || doc.cases.iter().any(|(known, _)| *known == case);
        debug_assert!(book::find(self.rule).is_some_and(has), "{} has no case {case}", self.rule);
        self.case = case;
        self
    }

    /// With another place and a few words on what stands there.
    pub fn other(&mut self, place: Place, label: impl Into<String>) -> &mut Self {
        self.others.push((place, label.into()));
        self
    }

    /// With another sentence, made of more facts. `case` tells what makes it said.
    pub fn also(&mut self, case: &'static str, template: &str, facts: impl IntoIterator<Item = Fact>) -> &mut Self {
        let case = FactValue::Word(case);
        match self.facts.iter_mut().find(|fact| fact.name == "also") {
            Some(Fact { value: FactValue::List(_, cases), .. }) => cases.push(case),
            _ => self.facts.push(fact::list("also", Joined::And, [case])),
        }
        self.facts.extend(facts);
        self.message.push(' ');
        self.message.push_str(&fact::say(template, &self.facts));
        self
    }

    /// With a state that shows it.
    pub fn shown_by(&mut self, witness: Witness) -> &mut Self {
        self.witness = Some(Box::new(witness));
        self
    }

    /// With the range that is reached, in words, for a proved absence.
    pub fn reaches(&mut self, range: impl Into<String>) -> &mut Self {
        self.reached = Some(range.into());
        self
    }

    /// With words for its mend.
    pub fn mend_words(&mut self, words: impl Into<String>) -> &mut Self {
        self.mend = Mend::Words(words.into());
        self
    }

    /// With the one way to mend it in the text, which the pilot may not want: what stands there may be meant.
    pub fn mend_offer(&mut self, label: impl Into<String>, edits: Vec<Edit>) -> &mut Self {
        self.mend_choices("", vec![choice(label, edits)])
    }

    /// With edits that keep the pilot's intent: nobody can have meant what stands there.
    pub fn mend_sure(&mut self, label: impl Into<String>, edits: Vec<Edit>) -> &mut Self {
        self.mend = Mend::Sure(Choice { label: label.into(), edits });
        self
    }

    /// With edits to choose from, the likeliest first; without any, the words stand alone.
    pub fn mend_choices(&mut self, words: impl Into<String>, choices: Vec<Choice>) -> &mut Self {
        let words = words.into();
        self.mend = if choices.is_empty() { Mend::Words(words) } else { Mend::Choices(words, choices) };
        self
    }

    /// About these aircraft.
    pub fn about(&mut self, aircraft: impl IntoIterator<Item = CompactString>) -> &mut Self {
        self.aircraft = aircraft.into_iter().collect();
        self
    }
}

/// The edit that replaces what stands in a range.
pub fn replace(head: &Head, span: Span, text: impl Into<String>) -> Edit {
    Edit { place: head.place(span), text: text.into() }
}

/// The edit that takes a statement out. A line that is left blank goes too when the edit is applied.
pub fn remove(head: &Head, span: Span) -> Edit {
    replace(head, span, "")
}

/// The edit that adds a statement at the end of a block.
pub fn insert(head: &Head, body: &Body, statement: &str) -> Edit {
    let (span, text) = body.insertion(&[statement.to_owned()]);
    Edit { place: head.place(span), text }
}

/// A choice with one edit.
pub fn choice(label: impl Into<String>, edits: Vec<Edit>) -> Choice {
    Choice { label: label.into(), edits }
}

/// The choice that turns a channel round.
pub fn turned(setup: &Setup<'_>, channel: &Channel) -> Choice {
    let head = &setup.model.head;
    let edits: Vec<Edit> = match (channel.reversed, &channel.body, channel.lines.first()) {
        (Some(reversed), ..) => vec![remove(head, reversed)],
        (None, Some(body), _) => vec![insert(head, body, "reversed")],
        (None, None, Some(line)) => {
            let Span { start, end } = line.value.span;
            let before = |text| replace(head, Span::new(start, start), text);
            match is_plain_control(setup.model, &line.value) {
                true => vec![before("-")],
                false => vec![before("-("), replace(head, Span::new(end, end), ")")],
            }
        }
        (None, None, None) => Vec::new(),
    };
    choice(format!("turn channel {} round in the model", channel.number.value), edits)
}
