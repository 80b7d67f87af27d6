//! Files written whole or not at all.

use std::fs::Metadata;
use std::io::{self, Write};
use std::path::Path;

use tempfile::NamedTempFile;

/// Writes a file beside its place and then moves it there, so that it is never half written.
///
/// # Errors
///
/// What the system says. `AlreadyExists` when there is such a file and `overwrite` is false; it is
/// left as it is.
pub fn write_whole(path: &Path, content: &[u8], overwrite: bool) -> io::Result<()> {
    let staged = stage(folder(path), ".proveout-", content, None)?;
    if overwrite {
        staged.persist(path)?;
    } else {
        staged.persist_noclobber(path)?;
    }
    sync_folder(folder(path));
    Ok(())
}

/// The folder that a path stands in.
pub(super) fn folder(path: &Path) -> &Path {
    path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// A file with this content, on the disk but not in its place yet; it goes away when dropped.
///
/// It belongs to whom the file `like` belongs to, with the same permissions; without one it is
/// readable as other new files are, not private as temporary ones.
pub(super) fn stage(
    folder: &Path,
    prefix: &str,
    content: &[u8],
    like: Option<&Metadata>,
) -> io::Result<NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(prefix).suffix(".tmp");
    if like.is_none() {
        as_new_file(&mut builder);
    }
    let mut file = builder.tempfile_in(folder)?;
    file.write_all(content)?;
    if let Some(like) = like {
        #[cfg(unix)]
        {
            use std::os::unix::fs::{MetadataExt, fchown};
            // Only the system's keeper may give files away; a group of one's own may be kept.
            let _ = fchown(file.as_file(), Some(like.uid()), Some(like.gid()));
        }
        file.as_file().set_permissions(like.permissions())?;
    }
    file.as_file().sync_all()?;
    Ok(file)
}

fn as_new_file(builder: &mut tempfile::Builder) {
    #[cfg(unix)]
    {
        use std::fs::Permissions;
        use std::os::unix::fs::PermissionsExt;
        // The system takes away what the user's mask forbids.
        builder.permissions(Permissions::from_mode(0o666));
    }
    #[cfg(not(unix))]
    let _ = builder;
}

/// Asks the system to put moved names on the disk too; not every system can.
pub(super) fn sync_folder(folder: &Path) {
    #[cfg(unix)]
    let _ = std::fs::File::open(folder).and_then(|folder| folder.sync_all());
    #[cfg(not(unix))]
    let _ = folder;
}
