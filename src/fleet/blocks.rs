//! The blocks at the top level of all files, by place.

use super::craft::Craft;
use super::equipment::{Handset, Head, Link, Site};
use super::model::Model;
use super::resolve::Fleet;
use crate::source::{FileId, Place};

/// A block at the top level of a file.
#[derive(Clone, Copy, Debug)]
pub enum TopBlock<'f> {
    /// A place.
    Site(&'f Site),
    /// A link.
    Link(&'f Link),
    /// A handset.
    Handset(&'f Handset),
    /// An aircraft.
    Craft(&'f Craft),
    /// A model.
    Model(&'f Model),
}

impl<'f> TopBlock<'f> {
    /// Its name, its place and what was lost in it.
    pub fn head(self) -> &'f Head {
        match self {
            Self::Site(site) => &site.head,
            Self::Link(link) => &link.head,
            Self::Handset(handset) => &handset.head,
            Self::Craft(craft) => &craft.head,
            Self::Model(model) => &model.head,
        }
    }
}

/// Finds the block around a place without looking at all of them.
#[derive(Debug)]
pub struct Blocks<'f> {
    /// In the order of their places. Blocks of one file do not overlap.
    list: Vec<(FileId, u32, TopBlock<'f>)>,
}

impl<'f> Blocks<'f> {
    /// Those of a fleet.
    pub fn of(fleet: &'f Fleet) -> Self {
        let blocks = fleet.sites.iter().map(TopBlock::Site).chain(fleet.links.iter().map(TopBlock::Link));
        let blocks = blocks.chain(fleet.handsets.iter().map(TopBlock::Handset));
        let blocks =
            blocks.chain(fleet.crafts.iter().map(TopBlock::Craft)).chain(fleet.models.iter().map(TopBlock::Model));
        let key = |block: TopBlock<'f>| (block.head().file, block.head().body.whole.start, block);
        let mut list: Vec<_> = blocks.map(key).collect();
        list.sort_by_key(|&(file, start, _)| (file, start));
        Self { list }
    }

    /// The block that a place lies in.
    pub fn around(&self, place: Place) -> Option<TopBlock<'f>> {
        let behind = self.list.partition_point(|&(file, start, _)| (file, start) <= (place.file, place.span.start));
        let &(file, _, block) = self.list.get(behind.checked_sub(1)?)?;
        (file == place.file && block.head().body.whole.holds(place.span)).then_some(block)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fleet::{read, table};
    use crate::source::Span;
    use crate::syntax::{Tables, parse};

    #[test]
    fn places_lie_in_the_block_around_them() {
        let text = "rig 1\ncraft a { kind car }\nplace b { region AU }\nmodel c { handset d }\n";
        let mut tables = Tables::default();
        parse(text.as_bytes(), table::vocabulary, &mut tables);
        let files = [FileId(3), FileId(7)].map(|file| read(file, text.as_bytes(), &tables));
        let (fleet, _) = Fleet::gather(files);
        let blocks = Blocks::of(&fleet);
        for file in [3, 7] {
            for (word, name) in [("craft", "a"), ("car", "a"), ("region", "b"), ("handset", "c")] {
                let at = text.find(word).unwrap() as u32;
                let place = Place::new(FileId(file), Span::new(at, at + 1));
                let head = blocks.around(place).unwrap().head();
                assert_eq!((head.name.value.as_str(), head.file), (name, FileId(file)), "{word}");
            }
        }
        for (file, start, end) in [(3, 0, 1), (5, 8, 9), (3, 8, 60), (9, 8, 9)] {
            assert!(blocks.around(Place::new(FileId(file), Span::new(start, end))).is_none());
        }
    }
}
