//! Files that are written whole or not at all: whoever looks sees the old text or the new, never a part, and whenever
//! barm is ended, no part lies about.

use std::fs::{self, File, Permissions};
use std::io::{self, BufWriter, Write as _};
use std::path::Path;

use tempfile::{Builder, NamedTempFile};

/// A text that is complete and on the disk, under a passing name beside its place.
pub(crate) struct Whole(NamedTempFile<()>);

impl Whole {
    /// Writes beside `path`; `None` for the permissions of any new file.
    pub(crate) fn beside(
        path: &Path,
        permissions: Option<Permissions>,
        write: impl Fn(&mut dyn io::Write) -> io::Result<()>,
    ) -> io::Result<Self> {
        let folder = match path.parent() {
            Some(folder) if !folder.as_os_str().is_empty() => folder,
            _ => Path::new("."),
        };
        // Asked first: of a folder that is not there tempfile would tell a name that nobody gave.
        fs::metadata(folder)?;
        let fill = |file: &File| {
            let mut out = BufWriter::new(file);
            write(&mut out)?;
            out.flush()?;
            if let Some(permissions) = &permissions {
                file.set_permissions(permissions.clone())?;
            }
            file.sync_all()
        };
        // Where it can be, the file has no name until it is complete: then nothing half written is left behind even by
        // a power cut.
        #[cfg(target_os = "linux")]
        if let Ok(file) = unnamed::create(folder) {
            fill(&file)?;
            if let Ok(named) = passing().make_in(folder, |path| unnamed::name(&file, path)) {
                return Ok(Self(NamedTempFile::from_parts((), named.into_temp_path())));
            }
        }
        let new = passing().tempfile_in(folder)?;
        fill(new.as_file())?;
        Ok(Self(NamedTempFile::from_parts((), new.into_temp_path())))
    }

    /// Puts it in a file's place, or where there is none.
    pub(crate) fn replace(self, path: &Path) -> io::Result<()> {
        Ok(self.0.persist(path).map(drop)?)
    }

    /// Puts it where nothing is yet.
    pub(crate) fn begin(self, path: &Path) -> io::Result<()> {
        Ok(self.0.persist_noclobber(path).map(drop)?)
    }
}

/// How a passing name is made.
fn passing() -> Builder<'static, 'static> {
    let mut builder = Builder::new();
    builder.prefix(".barm-");
    // A temporary file is its maker's alone; this one becomes a file like any other, less what the umask keeps.
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    builder
}

/// Files without a name.
#[cfg(target_os = "linux")]
mod unnamed {
    use std::fs::File;
    use std::io;
    use std::os::fd::AsRawFd as _;
    use std::path::Path;

    use rustix::fs::{AtFlags, CWD, Mode, OFlags, linkat, openat};

    /// Not every file system can.
    pub(super) fn create(folder: &Path) -> io::Result<File> {
        let flags = OFlags::TMPFILE | OFlags::WRONLY | OFlags::CLOEXEC;
        Ok(File::from(openat(CWD, folder, flags, Mode::from_raw_mode(0o666))?))
    }

    /// Gives it one.
    pub(super) fn name(file: &File, path: &Path) -> io::Result<()> {
        let itself = format!("/proc/self/fd/{}", file.as_raw_fd());
        Ok(linkat(CWD, itself, CWD, path, AtFlags::SYMLINK_FOLLOW)?)
    }
}
