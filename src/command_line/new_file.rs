//! Files that were not there before: written beside their place, then moved there, so that nobody ever meets half a file.

use std::io::{self, Write};
use std::path::Path;

/// Writes a new file. One that is there already stays, and is an error, unless it is to be written over.
///
/// # Errors
/// Of kind `AlreadyExists` where the file is there, and else what the system says.
pub(super) fn save(
    path: &Path,
    overwrite: bool,
    write: impl FnOnce(&mut dyn Write) -> io::Result<()>,
) -> io::Result<()> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut builder = tempfile::Builder::new();
    builder.prefix(".walkaround-");
    // A temporary file is its owner's alone; this one becomes an ordinary one.
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(std::fs::Permissions::from_mode(0o666));
    }
    let mut file = builder.tempfile_in(folder)?;
    write(&mut file)?;
    file.flush()?;
    if overwrite {
        file.persist(path)?
    } else {
        file.persist_noclobber(path)?
    };
    Ok(())
}
