//! What a model that was not made for an aircraft would do with it, and which such models may reach it.

use super::bay::{Bay, bays, handset_of};
use super::channel_use::{Crossed, sticks};
use super::compared::Wrong;
use super::context::Context;
use super::numbers::{is_matched, locked};
use super::of_craft::Setup;
use super::signals::Signals;
use super::stop::Stop;
use crate::fleet::craft::{Craft, Receiver};
use crate::fleet::equipment::{Handset, Link};
use crate::fleet::model::{Model, ModelModule};
use crate::fleet::words::{Grip, NumberCheck, Stick};
use crate::signal::{Allowance, ControlId, Function, Parts, Path, Setting, whole};
use rustc_hash::{FxHashMap, FxHashSet};

/// What a strange model would do with an aircraft that has a model of its own.
pub fn would_do(context: &Context<'_>, strange: &Model, own: &Model, craft: &Craft) -> Wrong {
    context.compared.of([&strange.head, &own.head, &craft.head], || compare(context, strange, own, craft))
}

fn compare<'f>(context: &'f Context<'f>, strange: &'f Model, own: &'f Model, craft: &'f Craft) -> Wrong {
    let allowance = Allowance::default();
    let setup = |model: &'f Model| {
        let handset = handset_of(context.fleet, model);
        let on: Vec<Bay<'f>> = bays(context.fleet, model, handset).collect();
        Setup::new(context, model, handset, craft, &on, &allowance)
    };
    let (other, mine) = (setup(strange), setup(own));
    if let Some(&Crossed { function, channel, stick }) = other.crossed().first()
        && mine.crossed().is_empty()
    {
        return Wrong::Crossed { stick: (other.hands().grip, stick), function, channel };
    }
    if let Some(follows) = other_surfaces((strange, other.handset), (own, mine.handset), craft) {
        return follows;
    }
    let (Some(signals), Some(known)) = (other.signals(), mine.signals()) else { return Wrong::Open };
    // What the pilot takes for off, in the aircraft's own model.
    let Ok(controls) = known.arming_controls() else { return Wrong::Open };
    if let Some(arms) = controls.iter().find_map(|&control| off_asks(signals, known, control)) {
        return arms;
    }
    if craft.controller.is_none()
        && let Some(lifts) = lifted(&other, signals, &mine, known)
    {
        return lifts;
    }
    let (there, here) = (signals.program().parts(), known.program().parts());
    if there.channels == here.channels && there.conditions == here.conditions && there.controls == here.controls {
        return Wrong::Alike;
    }
    let other = |number: u16| {
        let find = |parts: &Parts| parts.channels.iter().find(|channel| channel.number == number).cloned();
        find(there) != find(here)
    };
    let mut numbers = here.channels.iter().chain(&there.channels).map(|channel| channel.number);
    // What differs in a mix shows in no channel of its own.
    numbers
        .find(|&number| number <= Parts::MIXES && other(number))
        .map_or(Wrong::Conditions, |number| Wrong::Channel(number as u8))
}

/// A position of an arming control that does not ask in the aircraft's own model, and asks in the strange one.
fn off_asks(strange: &Signals, own: &Signals, control: ControlId) -> Option<Wrong> {
    let asks = |signals: &Signals, path: &Path| {
        let on = signals.program().play(path).modes.get(usize::from(signals.arm()?.0)).copied();
        on.flatten()
    };
    let at = |signals: &Signals, control: ControlId, position: u8| {
        Path::at(signals.start(&[(control, Setting::Position(position))]))
    };
    let quiet = (0..own.positions(control)).find(|&position| asks(own, &at(own, control, position)) == Some(false))?;
    let (name, word) = (own.name(control), own.position_name(control, quiet));
    let there = strange.lowered().control(name)?;
    let path = at(strange, there, strange.lowered().position(there, &word)?);
    (asks(strange, &path) == Some(true)).then(|| Wrong::Arms {
        control: name.into(),
        position: word,
        witness: Box::new(strange.witness(&path)),
    })
}

/// A motor that stands still under the aircraft's own model where the pilot leaves it, with its throttle at rest and one of the switches
/// that keep it still in such a position, and that the strange model runs there. Its other switches are moved to where they let it run.
fn lifted(strange: &Setup<'_>, signals: &Signals, own: &Setup<'_>, known: &Signals) -> Option<Wrong> {
    let throttle = known.stick(Function::Throttle);
    for (motor, stops) in own.motors().iter().zip(own.stops(known)) {
        let Some(there) = strange.motors().iter().find(|there| there.number() == motor.number()) else { continue };
        let (Some(still), Some(runs)) = (motor.idles(), there.runs()) else { continue };
        let rest = throttle.zip(own.throttle_rest(motor));
        let rest = rest.map(|(stick, percent)| (stick, Setting::Percent(whole(percent))));
        let stops = stops.as_deref().unwrap_or_default();
        let stands = stops.iter().flat_map(|stop| stop.stops.iter().map(move |&at| Some((stop, at)))).chain([None]);
        for stand in stands {
            let start: Vec<(ControlId, Setting)> =
                rest.into_iter().chain(stand.map(|(stop, at)| (stop.control, Setting::Position(at)))).collect();
            let others = stops.iter().filter(|stop| stand.is_some_and(|(own, _)| own.control != stop.control));
            let moves: Vec<(ControlId, Setting)> =
                others.filter_map(|stop| Some((stop.control, Setting::Position(*stop.lets.last()?)))).collect();
            let path = |signals: &Signals, lead: &dyn Fn((ControlId, Setting)) -> Option<(ControlId, Setting)>| {
                let start = start.iter().map(|&set| lead(set)).collect::<Option<Vec<_>>>()?;
                let mut path = Path::at(signals.start(&start));
                for &set in &moves {
                    let (control, setting) = lead(set)?;
                    path = path.then(control, setting);
                }
                Some(path)
            };
            let Some(here) = path(known, &Some) else { continue };
            let Some(shown) = path(signals, &|(control, setting)| lead(known, signals, control, setting)) else {
                continue;
            };
            if known.program().holds(&here, &still) == Some(true)
                && signals.program().holds(&shown, &runs) == Some(true)
            {
                let named =
                    |(stop, at): (&Stop, u8)| (known.name(stop.control).into(), known.position_name(stop.control, at));
                return Some(Wrong::Lifts {
                    channel: motor.number(),
                    stopped_by: stand.map(named),
                    grip: strange.hands().grip,
                    witness: Box::new(signals.witness(&shown)),
                });
            }
        }
    }
    None
}

/// Where a control of one program stands in another, by its name and the name of its position.
fn lead(own: &Signals, strange: &Signals, control: ControlId, setting: Setting) -> Option<(ControlId, Setting)> {
    let there = strange.lowered().control(own.name(control))?;
    Some(match setting {
        Setting::Position(at) => {
            (there, Setting::Position(strange.lowered().position(there, &own.position_name(control, at))?))
        }
        percent => (there, percent),
    })
}

/// On an aircraft without a flight controller: a surface or motor that would follow other sticks than it should.
fn other_surfaces(
    (strange, handset): (&Model, Option<&Handset>),
    (own, own_handset): (&Model, Option<&Handset>),
    craft: &Craft,
) -> Option<Wrong> {
    let surfaces = craft.surfaces.as_ref()?;
    let grip = handset.map_or(Grip::Sticks, Handset::grip);
    let wanted = surfaces.channels.iter().map(|surface| {
        let sticks: Vec<Stick> = surface.functions.iter().filter_map(|name| Stick::find(&name.value)).collect();
        (surface.channel.value, sticks, surface.functions.as_slice())
    });
    let motors = surfaces.motors.iter().map(|motor| (motor.channel.value, vec![Stick::Throttle], &[][..]));
    wanted.chain(motors).find_map(|(channel, wanted, functions)| {
        let moved = sticks(strange, handset, channel);
        let differs =
            moved.iter().any(|stick| !wanted.contains(stick)) || wanted.iter().any(|stick| !moved.contains(stick));
        // What the aircraft's own model does as well, the pilot wants.
        let usual = || {
            let usual = sticks(own, own_handset, channel);
            moved.len() == usual.len() && moved.iter().all(|stick| usual.contains(stick))
        };
        (differs && !wanted.is_empty() && !usual()).then(|| Wrong::Follows {
            channel,
            functions: functions.iter().map(|name| name.value.clone()).collect(),
            sticks: moved.iter().map(|&stick| (grip, stick)).collect(),
        })
    })
}

/// How many models are asked whether they connect to one aircraft.
const MOST_ASKED: usize = 256;

/// The models of a fleet that may reach a receiver they were not made for: those without a match, and all on a link that does
/// not look at numbers. Elsewhere a model with match on reaches only receivers of its own number.
#[derive(Debug)]
pub struct Strangers<'f> {
    context: &'f Context<'f>,
    /// By what a receiver asks for, the models that may answer it, by their numbers in the fleet.
    answering: FxHashMap<Asked<'f>, Vec<usize>>,
    /// The models that list an aircraft, in the order of the files; none where no model may answer any receiver.
    own: FxHashMap<&'f str, Vec<&'f Model>>,
}

/// What a receiver asks for: a link, and a key and a number where they can't be others. `Some(None)` stands for models that do not
/// state theirs.
type Asked<'f> = (&'f str, Option<Option<&'f str>>, Option<Option<u16>>);

impl<'f> Strangers<'f> {
    /// Looks through a fleet.
    pub fn new(context: &'f Context<'f>) -> Self {
        let fleet = context.fleet;
        let mut answering: FxHashMap<Asked<'f>, Vec<usize>> = FxHashMap::default();
        let blind = fleet.links.iter().any(is_blind);
        for (index, model) in fleet.models.iter().enumerate() {
            let answers = blind || model.modules_on().any(|module| !is_matched(module));
            if model.simulator.is_some() || !answers {
                continue;
            }
            for bay in bays(fleet, model, handset_of(fleet, model)) {
                let open = !is_matched(bay.module);
                let Some(link) = bay.link.filter(|link| open || is_blind(link)) else { continue };
                let key = bay.module.key.as_ref().map(|key| key.value.as_str());
                let number = bay.module.receiver_number.map(|number| number.value);
                for asked in [None, Some(key)].into_iter().flat_map(|key| [(key, None), (key, Some(number))]) {
                    let list = answering.entry((&link.head.name.value, asked.0, asked.1)).or_default();
                    // Two bays of one link are one answer.
                    if list.last() != Some(&index) {
                        list.push(index);
                    }
                }
            }
        }
        let mut own: FxHashMap<&str, Vec<&Model>> = FxHashMap::default();
        for model in fleet.models.iter().filter(|_| !answering.is_empty()) {
            model.flies.iter().for_each(|name| own.entry(&name.value).or_default().push(model));
        }
        Self { context, answering, own }
    }

    /// The first model that lists an aircraft, where some model may answer a receiver.
    pub fn own(&self, craft: &Craft) -> Option<&'f Model> {
        self.own.get(craft.head.name.value.as_str())?.first().copied()
    }

    /// Models that do not list an aircraft and may connect to it, in the order of the files, and whether these are all.
    pub fn of(&self, craft: &Craft) -> (Vec<&'f Model>, bool) {
        let own = self.own.get(craft.head.name.value.as_str()).map(Vec::as_slice).unwrap_or_default();
        let own: FxHashSet<_> = own.iter().map(|model| model.head.place(model.head.header)).collect();
        let mut found = Vec::new();
        for list in craft.receivers.iter().flat_map(|receiver| self.asked(receiver)) {
            let models = list.iter().filter_map(|&index| Some((index, self.context.fleet.models.get(index)?)));
            let strange = models.filter(|(_, model)| !own.contains(&model.head.place(model.head.header)));
            found.extend(strange.take(MOST_ASKED + 1));
        }
        found.sort_by_key(|(index, _)| *index);
        found.dedup_by_key(|(index, _)| *index);
        let all = found.len() <= MOST_ASKED;
        (found.into_iter().take(MOST_ASKED).map(|(_, model)| model).collect(), all)
    }

    /// The lists of models that may answer a receiver.
    fn asked<'s>(&'s self, receiver: &'s Receiver) -> Vec<&'s [usize]> {
        let link = receiver.link.as_ref().and_then(|name| self.context.fleet.link(&name.value));
        let Some(link) = link else { return Vec::new() };
        let keys = match &receiver.key {
            Some(key) => vec![Some(Some(key.value.as_str())), Some(None)],
            None => vec![None],
        };
        // Where numbers count, a receiver that is locked hears no other than its own.
        let counts = link.number_check.is_some() && !is_blind(link);
        let numbers = match locked(receiver).filter(|_| counts) {
            Some(number) => vec![Some(Some(number.value)), Some(None)],
            None => vec![None],
        };
        let asked = keys.iter().flat_map(|key| numbers.iter().map(|number| (*key, *number)));
        let lists = asked.filter_map(|(key, number)| self.answering.get(&(link.head.name.value.as_str(), key, number)));
        lists.map(Vec::as_slice).collect()
    }
}

/// Whether a link does not look at numbers.
fn is_blind(link: &Link) -> bool {
    link.number_check.is_some_and(|check| check.value == NumberCheck::None)
}

/// Whether two models have match on, in a bay of one name, with the same number.
pub fn same_number(one: &Model, other: &Model) -> bool {
    let matched = |module: &&ModelModule| is_matched(module);
    one.modules_on().filter(matched).any(|module| {
        let number = module.receiver_number.map(|number| number.value);
        let same = |known: &ModelModule| known.receiver_number.map(|number| number.value) == number;
        number.is_some()
            && other.modules_on().filter(matched).any(|known| known.bay.value == module.bay.value && same(known))
    })
}
