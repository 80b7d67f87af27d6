//! Files written whole or not at all.

use std::fs::Permissions;
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
/// Without permissions given, it is readable as other new files are, not private as temporary
/// ones.
pub(super) fn stage(
    folder: &Path,
    prefix: &str,
    content: &[u8],
    permissions: Option<Permissions>,
) -> io::Result<NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(prefix).suffix(".tmp");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // The system takes away what the user's mask forbids.
        builder.permissions(Permissions::from_mode(0o666));
    }
    let mut file = builder.tempfile_in(folder)?;
    if let Some(permissions) = permissions {
        file.as_file().set_permissions(permissions)?;
    }
    file.write_all(content)?;
    file.as_file().sync_all()?;
    Ok(file)
}

/// Asks the system to put moved names on the disk too; not every system can.
pub(super) fn sync_folder(folder: &Path) {
    #[cfg(unix)]
    let _ = std::fs::File::open(folder).and_then(|folder| folder.sync_all());
    #[cfg(not(unix))]
    let _ = folder;
}
