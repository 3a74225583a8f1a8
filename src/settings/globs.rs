//! Which files belong to the fleet.

use globset::{GlobBuilder, GlobSet, GlobSetBuilder};

/// Globs over paths relative to the settings file, with `/` between folders. `*` stays inside one folder, `**` does
/// not; a glob that matches a folder stands for everything in it.
#[derive(Debug, Default)]
pub struct Globs {
    include: Option<GlobSet>,
    exclude: GlobSet,
}

impl Globs {
    /// Includes what one of `include` matches (everything where there are none) and none of `exclude` does.
    ///
    /// # Errors
    /// The index of the first glob that is none, counted through both lists, and the reason.
    pub fn new<'g>(
        include: Option<impl IntoIterator<Item = &'g str>>,
        exclude: impl IntoIterator<Item = &'g str>,
    ) -> Result<Self, (usize, String)> {
        let mut count = 0;
        let include = include.map(|globs| set_of(globs, &mut count)).transpose()?;
        Ok(Self { include, exclude: set_of(exclude, &mut count)? })
    }

    /// Whether a file belongs to the fleet.
    pub fn take(&self, path: &str) -> bool {
        self.include.as_ref().is_none_or(|set| set.is_match(path)) && !self.exclude.is_match(path)
    }

    /// Whether nothing below a folder can belong to the fleet.
    pub fn leave_out_folder(&self, path: &str) -> bool {
        self.exclude.is_match(path)
    }
}

fn set_of<'g>(globs: impl IntoIterator<Item = &'g str>, count: &mut usize) -> Result<GlobSet, (usize, String)> {
    let mut set = GlobSetBuilder::new();
    for glob in globs {
        let refused = |error: globset::Error| (*count, error.kind().to_string());
        let folder = glob.trim_start_matches("./").trim_end_matches('/');
        for glob in [folder.to_owned(), format!("{folder}/**")] {
            set.add(GlobBuilder::new(&glob).literal_separator(true).build().map_err(refused)?);
        }
        *count += 1;
    }
    set.build().map_err(|error| (count.saturating_sub(1), error.kind().to_string()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn which_files_are_taken() {
        let all = None::<Vec<&str>>;
        for (include, exclude, path, taken) in [
            (all.clone(), vec![], "a/b.rig", true),
            (Some(vec!["fleet"]), vec![], "fleet/b.rig", true),
            (Some(vec!["fleet/"]), vec![], "fleet/deep/b.rig", true),
            (Some(vec!["./fleet/*.rig"]), vec![], "fleet/b.rig", true),
            (Some(vec!["fleet/*.rig"]), vec![], "fleet/deep/b.rig", false),
            (Some(vec!["fleet/**/*.rig"]), vec![], "fleet/deep/b.rig", true),
            (Some(vec!["fleet"]), vec!["fleet/old"], "fleet/old/b.rig", false),
            (all.clone(), vec!["*.rig"], "deep/b.rig", true),
            (all.clone(), vec!["**/b.rig"], "deep/b.rig", false),
            (all.clone(), vec!["{a,b}.rig"], "b.rig", false),
            (Some(vec![]), vec![], "b.rig", false),
        ] {
            let globs = Globs::new(include.clone(), exclude.clone()).unwrap();
            assert_eq!(globs.take(path), taken, "{include:?} {exclude:?} {path}");
        }
        let bad = Globs::new(Some(vec!["a", "b"]), vec!["c", "["]).unwrap_err();
        assert_eq!(bad.0, 3);
    }

    #[test]
    fn folders_that_are_left_out_as_a_whole() {
        let globs = Globs::new(Some(vec!["fleet"]), vec!["fleet/old", "tmp/**"]).unwrap();
        for (folder, left_out) in [("fleet/old", true), ("fleet", false), ("tmp/x", true), ("other", false)] {
            assert_eq!(globs.leave_out_folder(folder), left_out, "{folder}");
        }
    }
}
