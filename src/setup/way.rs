//! The ways from a handset's bays to an aircraft's receivers.

use super::bay::Bay;
use super::signals::Signals;
use super::subject::Subject;
use crate::fleet::craft::Receiver;
use crate::fleet::equipment::Link;
use crate::signal::{Allowance, Over, Refused, lower};
use std::cell::OnceCell;
use std::rc::Rc;

/// A receiver of an aircraft with the bay that it hears.
#[derive(Clone, Debug)]
pub struct Way<'f> {
    /// The receiver.
    pub receiver: &'f Receiver,
    /// The first bay that is on and speaks the receiver's link; `None` where there is none.
    pub bay: Option<Bay<'f>>,
    /// The receiver's link, where it is stated and defined.
    pub link: Option<&'f Link>,
    path: Rc<LinkPath<'f>>,
}

impl Way<'_> {
    /// The signal path over this way; `None` where faults of the description leave it unclear.
    pub fn signals(&self) -> Option<&Signals> {
        self.path.signals()
    }
}

/// A link that reaches an aircraft, with the signal path over it.
#[derive(Debug)]
pub struct LinkPath<'f> {
    /// The link; `None` where none is known.
    pub link: Option<&'f Link>,
    subject: Subject<'f>,
    allowance: Allowance,
    signals: OnceCell<Result<Signals, Refused>>,
}

impl<'f> LinkPath<'f> {
    fn new(subject: Subject<'f>, link: Option<&'f Link>, allowance: &Allowance) -> Rc<Self> {
        Rc::new(Self { link, subject, allowance: allowance.clone(), signals: OnceCell::new() })
    }

    /// The signal path; `None` where it can't be put together at all, as [`LinkPath::refused`] tells. What depends on a line
    /// that was not understood is not known in it.
    pub fn signals(&self) -> Option<&Signals> {
        self.put_together().as_ref().ok()
    }

    /// Why there is no signal path, and which line causes it.
    pub fn refused(&self) -> Option<&Refused> {
        self.put_together().as_ref().err()
    }

    fn put_together(&self) -> &Result<Signals, Refused> {
        self.signals.get_or_init(|| {
            let Subject { context, model, handset, craft, .. } = self.subject;
            let over = match self.link {
                Some(link) => Over::Link(link),
                // A simulator hears the handset itself.
                None if model.simulator.is_some() => Over::Unchanged,
                None => Over::NotKnown,
            };
            let mut lowered = lower(model, handset, over, Some(craft))?;
            lowered.program = lowered.program.with_allowance(&self.allowance);
            if let Some(budget) = context.budget {
                lowered.program = lowered.program.with_budget(budget);
            } else if let Some(answers) = context.answers {
                lowered.program = lowered.program.with_answers(answers);
            }
            Ok(Signals::new(lowered, self.subject.hands()))
        })
    }
}

/// The ways to every receiver of an aircraft, and the signal path of each link that reaches it, the main one first.
pub(super) type Ways<'f> = (Vec<Way<'f>>, Vec<Rc<LinkPath<'f>>>);

/// The link that all of these are on; `None` where one of them is not known, or two differ: nothing is said then of what arrives.
pub(super) fn agreed<'f>(mut links: impl Iterator<Item = Option<&'f Link>>) -> Option<&'f Link> {
    let first = links.next()?;
    links.all(|link| same(link, first)).then_some(first)?
}

fn same(a: Option<&Link>, b: Option<&Link>) -> bool {
    match (a, b) {
        (Some(a), Some(b)) => a.head.name.value == b.head.name.value,
        (a, b) => a.is_none() && b.is_none(),
    }
}

/// Finds the ways of a subject whose `bays` are on. Where a bay reaches a receiver only the links that are sent count.
pub(super) fn ways<'f>(
    subject: Subject<'f>,
    bays: &[Bay<'f>],
    main: Option<&'f Link>,
    allowance: &Allowance,
) -> Ways<'f> {
    let mut paths = vec![LinkPath::new(subject, main, allowance)];
    let ways = subject.craft.receivers.iter().map(|receiver| {
        let link = receiver.link.as_ref().and_then(|name| subject.context.fleet.link(&name.value));
        let bay = bays.iter().find(|bay| link.is_some() && same(bay.link, link)).copied();
        let known = paths.iter().find(|path| same(path.link, link)).cloned();
        let path = known.unwrap_or_else(|| {
            let path = LinkPath::new(subject, link, allowance);
            // What nobody sends does not reach the aircraft.
            if bay.is_some() {
                paths.push(path.clone());
            }
            path
        });
        Way { receiver, bay, link, path }
    });
    (ways.collect(), paths)
}
