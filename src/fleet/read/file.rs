//! What one file holds.

use crate::fleet::craft::Craft;
use crate::fleet::equipment::{Handset, Head, Link, Lost, Site};
use crate::fleet::model::Model;
use crate::fleet::problem::Problem;
use crate::fleet::resolve::Fleet;

/// The typed blocks of one file, with what could not be understood in it.
#[derive(Debug, Default)]
pub struct FileFleet {
    /// Its places.
    pub sites: Vec<Site>,
    /// Its links.
    pub links: Vec<Link>,
    /// Its handsets.
    pub handsets: Vec<Handset>,
    /// Its aircraft.
    pub crafts: Vec<Craft>,
    /// Its models.
    pub models: Vec<Model>,
    /// What could not be understood.
    pub problems: Vec<Problem>,
    /// Nothing of it could be read: whatever is not found elsewhere may stand there.
    pub unread: bool,
}

impl FileFleet {
    /// The heads of its blocks, each with the number of its kind.
    pub fn heads(&self) -> impl Iterator<Item = (u8, &Head)> {
        let sites = self.sites.iter().map(|site| (Fleet::SITE, &site.head));
        let links = self.links.iter().map(|link| (Fleet::LINK, &link.head));
        let handsets = self.handsets.iter().map(|handset| (Fleet::HANDSET, &handset.head));
        let crafts = self.crafts.iter().map(|craft| (Fleet::CRAFT, &craft.head));
        let models = self.models.iter().map(|model| (Fleet::MODEL, &model.head));
        sites.chain(links).chain(handsets).chain(crafts).chain(models)
    }

    /// Tells each block which of its statements were lost.
    pub(super) fn attribute(&mut self, lost: Vec<Lost>) {
        if lost.is_empty() {
            return;
        }
        let heads = self.crafts.iter_mut().map(|craft| &mut craft.head);
        let heads = heads.chain(self.models.iter_mut().map(|model| &mut model.head));
        let heads = heads.chain(self.sites.iter_mut().map(|site| &mut site.head));
        let heads = heads.chain(self.links.iter_mut().map(|link| &mut link.head));
        let heads = heads.chain(self.handsets.iter_mut().map(|handset| &mut handset.head));
        // Blocks at the top level do not overlap.
        let mut heads: Vec<&mut Head> = heads.collect();
        heads.sort_by_key(|head| head.body.whole.start);
        for lost in lost {
            let behind = heads.partition_point(|head| head.body.whole.start <= lost.span.start);
            if let Some(head) = behind.checked_sub(1).and_then(|at| heads.get_mut(at))
                && head.body.whole.holds(lost.span)
            {
                head.lost.push(lost);
            }
        }
    }
}

/// Adds one to a list that mostly has no more than so many: the first takes memory for them alone.
pub(super) fn push_few<T>(list: &mut Vec<T>, usual: usize, item: T) {
    if list.capacity() == 0 {
        list.reserve_exact(usual);
    }
    list.push(item);
}
