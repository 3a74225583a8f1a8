//! What is defined around the place where something is typed, and what may stand in a slot of a shape there.

use super::shape::{Bit, Piece, needed, number, pieces};
use crate::editor::hover::{model_of, name_of};
use crate::editor::text::Text;
use crate::fleet::craft::Craft;
use crate::fleet::equipment::Handset;
use crate::fleet::model::Model;
use crate::fleet::occurs::kind_of;
use crate::fleet::table::{self, Block, Ready, lists};
use crate::fleet::{Fleet, quoted};
use crate::inspect::Workspace;
use compact_str::CompactString;
use gen_lsp_types::CompletionItemKind as Sign;

/// What is defined around a place.
pub(super) struct Context<'w> {
    /// The kind of block that the place is in.
    pub(super) block: Option<Block>,
    fleet: &'w Fleet,
    /// Kind and name of the block at the top level around it.
    owner: Option<(u8, CompactString)>,
    model: Option<&'w Model>,
    handset: Option<&'w Handset>,
    crafts: Vec<&'w Craft>,
    /// The statements that stand in the same block: word and items.
    beside: Vec<(String, Vec<String>)>,
    indent: String,
}

/// So many ways to write a statement are tried.
const WAYS: usize = 24;

fn names<'n>(names: impl IntoIterator<Item = &'n str>) -> Vec<String> {
    let mut all: Vec<String> = names.into_iter().map(quoted).collect();
    all.sort_unstable();
    all.dedup();
    all
}

impl<'w> Context<'w> {
    pub(super) fn at(workspace: &'w Workspace, text: &Text<'_>, byte: u32, indent: String) -> Self {
        let fleet = workspace.fleet();
        let (parent, block) = text.block_at(byte);
        let top = parent.or_else(|| text.statement_at(byte)).map(|index| text.top(index));
        let owner = top.and_then(|top| name_of(text, top));
        let model = top.and_then(|top| model_of(workspace, text, top));
        let craft = owner.as_ref().filter(|owner| owner.0 == Fleet::CRAFT).and_then(|owner| fleet.craft(&owner.1));
        let crafts: Vec<&Craft> = match (model, craft) {
            (Some(model), _) => model.flies.iter().filter_map(|name| fleet.craft(&name.value)).collect(),
            (None, craft) => craft.into_iter().collect(),
        };
        let handset = match &owner {
            Some((Fleet::HANDSET, name)) => fleet.handset(name),
            _ => model.and_then(|model| fleet.handset(&model.handset.as_ref()?.value)),
        };
        let beside = text.tables.body(parent).filter_map(|index| {
            let statement = text.statement(index)?;
            let items = text.tables.items(statement).iter().map(|item| text.str(item.span()).to_owned());
            Some((text.str(text.tables.word(statement).span()).to_owned(), items.collect()))
        });
        Self { block, fleet, owner, model, handset, crafts, beside: beside.collect(), indent }
    }

    /// Whether a statement with this word stands in the same block.
    pub(super) fn states(&self, word: &str) -> bool {
        self.beside.iter().any(|(known, _)| known == word)
    }

    /// Ways to write these pieces, the likeliest first. What is left to choose differs in its first choice.
    pub(super) fn written(&self, ready: &Ready, all: &[Piece]) -> Vec<Vec<Bit>> {
        let alternatives = |piece: &Piece| self.filling(ready, piece);
        let several = all.iter().position(|piece| alternatives(piece).len() > 1);
        let ways = several.and_then(|at| all.get(at)).map_or(1, |piece| alternatives(piece).len().min(WAYS));
        (0..ways).filter_map(|way| self.one_way(ready, all, several, way)).collect()
    }

    fn one_way(&self, ready: &Ready, all: &[Piece], several: Option<usize>, way: usize) -> Option<Vec<Bit>> {
        let mut bits: Vec<Bit> = Vec::new();
        for (at, piece) in all.iter().enumerate() {
            let filling = self.filling(ready, piece);
            let number = if Some(at) == several { way } else { 0 };
            let mut own = filling.into_iter().nth(number)?;
            // A comma touches what stands before it.
            if !bits.is_empty() && *piece != Piece::Word(",".to_owned()) {
                bits.push(Bit::text(" "));
            }
            bits.append(&mut own);
        }
        Some(bits)
    }

    /// What a piece may be filled with, the likeliest first.
    fn filling(&self, ready: &Ready, piece: &Piece) -> Vec<Vec<Bit>> {
        match piece {
            Piece::Word(word) => vec![vec![Bit::text(word.as_str())]],
            // The words of a statement that stands once are left to choose from; of one with a key some may be taken.
            Piece::OneOf(words) if ready.entry.key.is_none() && words.len() > 1 => {
                words.iter().map(|word| vec![Bit::Hole(word.clone(), words.clone())]).collect()
            }
            Piece::OneOf(words) => words.iter().map(|word| vec![Bit::text(word.as_str())]).collect(),
            Piece::Slot(slot, kind) => self.slot(ready, slot, kind),
            Piece::Optional(_) => vec![Vec::new()],
            Piece::Body => vec![self.body(ready)],
        }
    }

    /// A block with what it can't do without.
    fn body(&self, ready: &Ready) -> Vec<Bit> {
        let mut bits = vec![Bit::text("{\n")];
        let inner = ready.entry.opens.map_or(&[][..], table::block);
        let mut is_empty = true;
        for child in inner.iter().filter(|child| child.entry.required) {
            let Some(shape) = child.entry.shapes.first() else { continue };
            let Some(own) = self.written(child, &needed(&pieces(shape))).into_iter().next() else { continue };
            is_empty = false;
            bits.push(Bit::text(format!("{}  {} ", self.indent, child.entry.word)));
            bits.extend(own);
            bits.push(Bit::text("\n"));
        }
        if is_empty {
            bits.push(Bit::text(format!("{}  ", self.indent)));
            bits.push(Bit::Hole(String::new(), Vec::new()));
            bits.push(Bit::text("\n"));
        }
        bits.push(Bit::text(format!("{}}}", self.indent)));
        bits
    }

    /// What may stand in a slot.
    fn slot(&self, ready: &Ready, slot: &str, kind: &str) -> Vec<Vec<Bit>> {
        match kind.split(' ').next().unwrap_or_default() {
            "name" | "names" | "sum" | "position" => {
                let known = self.names(ready, slot);
                known.iter().map(|name| vec![Bit::Hole(name.clone(), known.clone())]).collect()
            }
            "condition" => self.conditions().into_iter().map(|text| vec![Bit::Hole(text, Vec::new())]).collect(),
            "value" => self.values().into_iter().map(|text| vec![Bit::Hole(text, Vec::new())]).collect(),
            "int" if slot == "channel" && ready.entry.key.is_some() => {
                let taken = |number: usize| {
                    let number = number.to_string();
                    self.beside.iter().any(|(word, items)| {
                        word == ready.entry.word && items.iter().take(2).any(|item| *item == number)
                    })
                };
                let free = (1..=64).find(|number| !taken(*number)).unwrap_or(1);
                vec![vec![Bit::Hole(free.to_string(), Vec::new())]]
            }
            _ => number(kind).into_iter().collect(),
        }
    }

    /// The names that may stand in a slot, as they are written.
    fn names(&self, ready: &Ready, slot: &str) -> Vec<String> {
        let fleet = self.fleet;
        let (block, word) = (ready.entry.block, ready.entry.word);
        let own = self.owner.as_ref().map_or("", |(_, name)| name.as_str());
        match (block, word, slot) {
            (Block::Top, word, "like") => kind_of(word)
                .map_or_else(Vec::new, |kind| names(self.all(kind).into_iter().filter(|name| *name != own))),
            (Block::HandsetModule | Block::Receiver, "link", _) => names(self.all(Fleet::LINK)),
            (Block::Craft, "flown-at", _) => names(self.all(Fleet::SITE)),
            (Block::Model, "handset", _) => names(self.all(Fleet::HANDSET)),
            (Block::Model, "flies", _) => names(self.all(Fleet::CRAFT)),
            (Block::Model, "trainer", "pupil") => names(self.all(Fleet::MODEL).into_iter().filter(|name| *name != own)),
            (Block::Model, "trainer", "functions") => names(self.sticks()),
            (Block::Model, "module", "bay") => {
                names(self.handset.iter().flat_map(|handset| &handset.modules).map(|module| module.bay.value.as_str()))
            }
            (Block::Model, "before-start" | "condition", "control") => self.controls(),
            (Block::Controller, "mode", "excludes") => names(self.modes()),
            (Block::Controller, "reads", "function") => names(lists::READ.iter().copied()),
            (Block::Surfaces, "channel", "functions") => names(lists::FUNCTIONS.iter().copied()),
            (_, "key", _) => self.keys(),
            (_, "domain", _) => vec!["any".to_owned()],
            (_, "firmware", _) => vec!["\"1.0\"".to_owned()],
            (Block::Place, "region", _) => {
                let known =
                    names(fleet.sites.iter().filter_map(|site| site.region.as_ref()).map(|code| code.value.as_str()));
                if known.is_empty() { vec!["AU".to_owned()] } else { known }
            }
            (Block::Handset, "switch", "rest") => positions_of_all(self.handset.into_iter()),
            (_, _, "position") => positions_of_all(self.handset.into_iter()),
            _ => vec![self.new_name(word)],
        }
    }

    /// A name that nothing beside it has.
    fn new_name(&self, word: &str) -> String {
        let is_taken = |name: &str| {
            self.beside.iter().any(|(_, items)| items.iter().any(|item| item == name))
                || kind_of(word).is_some_and(|kind| self.all(kind).contains(&name))
        };
        let all = std::iter::once(format!("new-{word}")).chain((2..).map(|number| format!("new-{word}-{number}")));
        all.into_iter().take(99).find(|name| !is_taken(name)).unwrap_or_default()
    }

    /// The names of all blocks of a kind.
    fn all(&self, kind: u8) -> Vec<&'w str> {
        self.fleet.heads(kind).map(|head| head.name.value.as_str()).collect()
    }

    fn sticks(&self) -> Vec<&'static str> {
        let grip = self.handset.map_or(crate::fleet::words::Grip::Sticks, Handset::grip);
        grip.sticks().iter().map(|(_, name)| *name).collect()
    }

    /// The controls of the handset, its sticks last.
    fn controls(&self) -> Vec<String> {
        let controls = self.handset.iter().flat_map(|handset| &handset.controls);
        let mut all: Vec<String> = controls.map(|control| quoted(&control.name.value)).collect();
        all.extend(self.sticks().into_iter().map(str::to_owned));
        all
    }

    fn modes(&self) -> Vec<&'w str> {
        let controllers = self.crafts.iter().filter_map(|craft| craft.controller.as_ref());
        controllers.flat_map(|controller| &controller.modes).map(|mode| mode.name.value.as_str()).collect()
    }

    fn keys(&self) -> Vec<String> {
        let receivers =
            self.fleet.crafts.iter().flat_map(|craft| &craft.receivers).filter_map(|receiver| receiver.key.as_ref());
        let modules =
            self.fleet.models.iter().flat_map(|model| &model.modules).filter_map(|module| module.key.as_ref());
        let known = names(receivers.chain(modules).map(|key| key.value.as_str()));
        if known.is_empty() { vec!["club".to_owned()] } else { known }
    }

    /// Conditions of one part each.
    fn conditions(&self) -> Vec<String> {
        let mut all = Vec::new();
        for control in self.handset.iter().flat_map(|handset| &handset.controls) {
            let name = quoted(&control.name.value);
            let positions = control.kind.position_names();
            all.extend(positions.iter().map(|position| format!("{name} {position}")));
            if positions.is_empty() {
                all.extend(["low", "centre", "high", "above 0 %", "below 0 %"].map(|place| format!("{name} {place}")));
            }
        }
        if let Some(model) = self.model {
            all.extend(model.conditions.iter().map(|condition| quoted(&condition.name.value)));
        }
        all.extend(self.modes().into_iter().map(|mode| format!("mode {}", quoted(mode))));
        for stick in self.sticks() {
            all.extend(["low", "centre", "high", "above 0 %", "below 0 %"].map(|place| format!("{stick} {place}")));
        }
        if let Some(model) = self.model {
            let numbers = model.channels.iter().map(|channel| channel.number.value);
            all.extend(numbers.map(|number| format!("channel {number} above 1500 us")));
        }
        all
    }

    /// Values of one part each.
    fn values(&self) -> Vec<String> {
        let mut all = self.sticks().into_iter().map(str::to_owned).collect::<Vec<_>>();
        let controls = self.handset.iter().flat_map(|handset| &handset.controls);
        all.extend(controls.map(|control| quoted(&control.name.value)));
        if let Some(model) = self.model {
            all.extend(model.mixes.iter().map(|mix| quoted(&mix.name.value)));
            let stick = self.sticks().first().copied().unwrap_or("roll");
            all.extend(model.curves.iter().map(|curve| format!("{}({stick})", quoted(&curve.name.value))));
            all.extend(model.channels.iter().map(|channel| format!("channel {}", channel.number.value)));
        }
        all.extend(["100 %", "-100 %", "0 %"].map(str::to_owned));
        all.extend(self.sticks().into_iter().map(|stick| format!("unshaped {stick}")));
        all
    }

    /// What a piece may be where it comes next, each with its sign.
    pub(super) fn first(&self, ready: &Ready, piece: &Piece) -> Vec<(Vec<Bit>, Sign)> {
        let with = |sign: Sign| move |text: String| (vec![Bit::text(text)], sign);
        match piece {
            Piece::Word(word) => vec![(vec![Bit::text(word.as_str())], Sign::Keyword)],
            Piece::OneOf(words) => words.iter().cloned().map(with(Sign::EnumMember)).collect(),
            Piece::Body => vec![(self.body(ready), Sign::Struct)],
            Piece::Optional(_) => Vec::new(),
            Piece::Slot(slot, kind) => match kind.split(' ').next().unwrap_or_default() {
                "condition" => self.in_condition(),
                "value" => self.in_value(),
                "name" | "names" | "sum" | "position" => {
                    let known = self.names(ready, slot);
                    let new = self.new_name(ready.entry.word);
                    known.into_iter().filter(|name| *name != new).map(with(Sign::Reference)).collect()
                }
                _ => self.slot(ready, slot, kind).into_iter().map(|bits| (bits, Sign::Value)).collect(),
            },
        }
    }

    /// What may come next in a condition, wherever in it.
    fn in_condition(&self) -> Vec<(Vec<Bit>, Sign)> {
        let whole = self.conditions();
        let first = whole.first().cloned();
        let mut all: Vec<(Vec<Bit>, Sign)> =
            whole.into_iter().map(|text| (vec![Bit::text(text)], Sign::Variable)).collect();
        all.extend(self.controls().into_iter().map(|name| (vec![Bit::text(name)], Sign::Variable)));
        for position in positions_of_all(self.handset.into_iter()) {
            all.push((vec![Bit::text(format!("becomes {position}"))], Sign::EnumMember));
            all.push((vec![Bit::text(position)], Sign::EnumMember));
        }
        for word in ["above", "below"] {
            let bits = |number: &str, unit: &str| {
                vec![
                    Bit::text(format!("{word} ")),
                    Bit::Hole(number.to_owned(), Vec::new()),
                    Bit::text(format!(" {unit}")),
                ]
            };
            all.push((bits("0", "%"), Sign::Keyword));
            all.push((bits("1500", "us"), Sign::Keyword));
            all.push((vec![Bit::text(word)], Sign::Keyword));
        }
        all.extend(self.modes().into_iter().map(|mode| (vec![Bit::text(quoted(mode))], Sign::EnumMember)));
        for word in ["and", "or", "not", "and not", "or not"] {
            let rest = first.iter().map(|first| Bit::Hole(first.clone(), Vec::new()));
            all.push((std::iter::once(Bit::text(format!("{word} "))).chain(rest).collect(), Sign::Keyword));
            all.push((vec![Bit::text(word)], Sign::Keyword));
        }
        all
    }

    /// What may come next in a value, wherever in it.
    fn in_value(&self) -> Vec<(Vec<Bit>, Sign)> {
        let mut all: Vec<(Vec<Bit>, Sign)> =
            self.values().into_iter().map(|text| (vec![Bit::text(text)], Sign::Variable)).collect();
        let curves = self.model.into_iter().flat_map(|model| &model.curves);
        all.extend(curves.map(|curve| (vec![Bit::text(quoted(&curve.name.value))], Sign::Function)));
        all
    }
}

/// The positions of all controls of a handset, and the places of a stick, each once.
fn positions_of_all<'h>(handset: impl Iterator<Item = &'h Handset>) -> Vec<String> {
    let controls = handset.flat_map(|handset| &handset.controls);
    let mut all: Vec<String> =
        controls.flat_map(|control| control.kind.position_names().into_owned()).map(|name| name.to_string()).collect();
    all.extend(["low", "centre", "high"].map(str::to_owned));
    let mut seen = rustc_hash::FxHashSet::default();
    all.retain(|name| seen.insert(name.clone()));
    all
}
