//! The blocks at the top level of all files, by place.

use super::craft::Craft;
use super::equipment::{Handset, Head, Link, Site};
use super::files::Block;
use super::model::Model;
use super::resolve::Fleet;
use crate::source::Place;

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

impl Fleet {
    /// The block that a place lies in. The lists are in the order of files and places, so that none is gone through.
    pub fn around(&self, place: Place) -> Option<TopBlock<'_>> {
        fn last<T: Block>(list: &[T], place: Place) -> Option<&T> {
            let key = |head: &Head| (head.file, head.body.whole.start);
            let behind = list.partition_point(|block| key(block.head()) <= (place.file, place.span.start));
            let block = list.get(behind.checked_sub(1)?)?;
            (block.head().file == place.file && block.head().body.whole.holds(place.span)).then_some(block)
        }
        let shared =
            last(&self.sites, place).map(TopBlock::Site).or_else(|| last(&self.links, place).map(TopBlock::Link));
        shared
            .or_else(|| last(&self.handsets, place).map(TopBlock::Handset))
            .or_else(|| last(&self.crafts, place).map(TopBlock::Craft))
            .or_else(|| last(&self.models, place).map(TopBlock::Model))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fleet::{read, table};
    use crate::source::{FileId, Span};
    use crate::syntax::{Tables, parse};

    #[test]
    fn places_lie_in_the_block_around_them() {
        let text = "rig 1\ncraft a { kind car }\nplace b { region AU }\nmodel c { handset d }\n";
        let mut tables = Tables::default();
        parse(text.as_bytes(), table::vocabulary, &mut tables);
        let files = [FileId(3), FileId(7)].map(|file| (file, read(file, text.as_bytes(), &tables)));
        let (fleet, _) = Fleet::gather(files);
        for file in [3, 7] {
            for (word, name) in [("craft", "a"), ("car", "a"), ("region", "b"), ("handset", "c")] {
                let at = text.find(word).unwrap() as u32;
                let place = Place::new(FileId(file), Span::new(at, at + 1));
                let head = fleet.around(place).unwrap().head();
                assert_eq!((head.name.value.as_str(), head.file), (name, FileId(file)), "{word}");
            }
        }
        for (file, start, end) in [(3, 0, 1), (5, 8, 9), (3, 8, 60), (9, 8, 9)] {
            assert!(fleet.around(Place::new(FileId(file), Span::new(start, end))).is_none());
        }
    }
}
