//! Files are written whole or not at all, never over another without `--force`, and never over what was read.
//!
//! A link is followed to the file that it names. What is no file (a terminal, a pipe, a device) is written through: there is
//! nothing in it to keep whole. A new file gets the permissions that the user's own settings give it, one that is written
//! over keeps its own.

use crate::finding::Finding;
use heatwright_core::{Severity, Subject};
use std::{
    io::{Read, Write as _},
    path::{Path, PathBuf},
    sync::Mutex,
};

/// Files that were read, by their real paths: no result is written over them.
static WAS_READ: Mutex<Vec<PathBuf>> = Mutex::new(Vec::new());

/// Where a result goes.
struct Target {
    /// The file itself, at the end of all links; as typed where nothing is there yet.
    path: PathBuf,
    /// Permissions of the file that is written over.
    keeps: Option<std::fs::Permissions>,
    /// A device or a pipe: written through.
    through: bool,
}

impl Target {
    /// Judges a path: no folder, nothing that was read, nothing that is there already unless `force` is given.
    fn of(path: &Path, force: bool) -> Result<Self, Finding> {
        if path.is_dir() {
            return Err(refused(path, "is a folder", "name a file inside it"));
        }
        // Where the path leads, if there is something already; a link that leads nowhere stands for itself.
        let real = std::fs::canonicalize(path).ok();
        let there = real.as_deref().and_then(|p| std::fs::metadata(p).ok());
        if there.as_ref().is_some_and(|m| !m.is_file()) {
            return Ok(Self { path: path.to_owned(), keeps: None, through: true });
        }
        if let Some(p) = &real
            && WAS_READ.lock().is_ok_and(|read| read.contains(p))
        {
            return Err(refused(path, "is what was read: it would be lost", "name another file"));
        }
        if real.is_some() && !force {
            return Err(refused(path, THERE.0, THERE.1));
        }
        let keeps = there.map(|m| m.permissions());
        Ok(Self { path: real.unwrap_or_else(|| path.to_owned()), keeps, through: false })
    }

    /// A temporary file in the folder of the target.
    fn draft(&self) -> Result<tempfile::NamedTempFile, Finding> {
        let folder = self.path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
        temporary(folder).map_err(|e| broken(&self.path, &e, "name a folder that exists and that you may write to"))
    }

    /// Puts a finished file in its place.
    fn keep(self, file: tempfile::NamedTempFile, force: bool) -> Result<(), Finding> {
        self.keeps
            .map_or(Ok(()), |p| file.as_file().set_permissions(p))
            .and_then(|()| file.as_file().sync_all())
            .map_err(|e| broken(&self.path, &e, ROOM))?;
        let kept = if force { file.persist(&self.path) } else { file.persist_noclobber(&self.path) };
        kept.map(drop).map_err(|e| match e.error.kind() {
            std::io::ErrorKind::AlreadyExists => refused(&self.path, THERE.0, THERE.1),
            _ => broken(&self.path, &e.error, "nothing was changed"),
        })
    }
}

/// What is said of a file that is there already.
const THERE: (&str, &str) = ("is there already", "name another file, or add --force to write over it");
/// What helps against a full disk.
const ROOM: &str = "nothing was changed; see that there is room on the disk";

/// A finding about a file that the system does not let us write.
fn broken(path: &Path, e: &std::io::Error, hint: &str) -> Finding {
    refused(path, &format!("cannot be written: {}", why(e)), hint)
}

/// Writes `bytes` to `path` by way of a temporary file beside it.
pub fn write_whole(path: &Path, bytes: &[u8], force: bool) -> Result<(), Finding> {
    write_from(path, &mut &*bytes, force)
}

/// Writes all that `from` gives to `path` by way of a temporary file beside it.
pub fn write_from(path: &Path, from: &mut dyn Read, force: bool) -> Result<(), Finding> {
    let target = Target::of(path, force)?;
    if target.through {
        let open = std::fs::OpenOptions::new().write(true).open(path);
        let written = open.and_then(|mut f| std::io::copy(from, &mut f).and_then(|_| f.flush()));
        return written.map_err(|e| broken(path, &e, "see that it can be written to"));
    }
    let mut file = target.draft()?;
    std::io::copy(from, &mut file).map_err(|e| broken(path, &e, ROOM))?;
    target.keep(file, force)
}

/// A temporary file with the permissions of any new file, where the system has such.
fn temporary(folder: &Path) -> std::io::Result<tempfile::NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    builder.tempfile_in(folder)
}

/// A finding about a file that cannot be written.
fn refused(path: &Path, what: &str, hint: &str) -> Finding {
    Finding::new("F02", Severity::Error, Subject::Plant, format!("{} {what}", path.display())).hint(hint)
}

/// Refuses early what would be refused at the end of a long computation.
pub fn may_write(path: &Path, force: bool) -> Result<(), Finding> {
    let target = Target::of(path, force)?;
    if target.through { Ok(()) } else { target.draft().map(drop) }
}

/// True for two names of one file, there already or not.
pub fn same_place(a: &Path, b: &Path) -> bool {
    let whole = |p: &Path| {
        let there = std::fs::canonicalize(p).ok();
        there.or_else(|| {
            let folder = p.parent().filter(|f| !f.as_os_str().is_empty()).unwrap_or(Path::new("."));
            Some(std::fs::canonicalize(folder).ok()?.join(p.file_name()?))
        })
    };
    whole(a).is_some_and(|a| whole(b) == Some(a))
}

/// A file in the making: a temporary one beside its place until it is kept; gone when it is not. For what is written bit by bit;
/// it goes to plain files only.
#[derive(Debug)]
pub struct Draft {
    path: PathBuf,
    file: tempfile::NamedTempFile,
}

impl Draft {
    /// Begins a file; whether one that is there may be written over is asked when it is kept.
    pub fn new(path: &Path) -> Result<Self, Finding> {
        let target = Target::of(path, true)?;
        if target.through {
            return Err(refused(path, "is no plain file", "a series grows bit by bit: name a file"));
        }
        Ok(Self { path: path.to_owned(), file: target.draft()? })
    }

    /// A second handle to write through.
    pub fn handle(&self) -> Result<std::fs::File, Finding> {
        self.said(self.file.reopen())
    }

    /// A failure to write, in words.
    pub fn said<T>(&self, result: std::io::Result<T>) -> Result<T, Finding> {
        result.map_err(|e| broken(&self.path, &e, ROOM))
    }

    /// Puts the file in its place.
    pub fn keep(self, force: bool) -> Result<(), Finding> {
        Target::of(&self.path, force)?.keep(self.file, force)
    }
}

/// Bytes that are read of any file; whoever reads it refuses far fewer. A device that never ends must not fill the memory.
const READ_MAX: u64 = 256 << 20;

/// Why the system refused, in our words.
pub fn why(e: &std::io::Error) -> String {
    use std::io::ErrorKind as K;
    match e.kind() {
        K::NotFound => "there is no such file or folder",
        K::PermissionDenied | K::ReadOnlyFilesystem => "you may not do that there",
        K::IsADirectory => "it is a folder",
        K::NotADirectory => "a part of its path is a file, not a folder",
        K::StorageFull | K::QuotaExceeded | K::FileTooLarge | K::WriteZero => "there is no room left",
        K::InvalidFilename | K::InvalidInput => "that is no name for a file here",
        K::Interrupted | K::TimedOut | K::ResourceBusy => "the disk or the network did not answer in time",
        // The system's own words, without its number.
        _ => return e.to_string().split(" (os error").next().unwrap_or_default().to_lowercase(),
    }
    .to_owned()
}

/// Reads a whole file, with one clear finding when it cannot be read.
pub fn read(path: &Path) -> Result<Vec<u8>, Finding> {
    let mut bytes = Vec::new();
    let end = std::fs::File::open(path).and_then(|f| f.take(READ_MAX).read_to_end(&mut bytes));
    if let (Ok(real), Ok(mut read)) = (std::fs::canonicalize(path), WAS_READ.lock()) {
        read.push(real);
    }
    end.map(|_| bytes).map_err(|e| {
        Finding::new("F01", Severity::Error, Subject::Plant, format!("{} cannot be read: {}", path.display(), why(&e)))
            .hint("see that the path is right")
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_the_system_refuses_is_said_in_our_words() {
        let dir = tempfile::Builder::new().prefix("words").tempdir().unwrap();
        let said = |r: Result<(), Finding>| {
            let f = r.unwrap_err();
            assert!(!f.sentence.contains("os error") && !f.sentence.contains(".tmp"), "{}", f.sentence);
            format!("{} {}", f.sentence, f.hints.join(" "))
        };
        let folder = said(write_whole(dir.path(), b"x", false));
        assert!(folder.contains("is a folder") && !folder.contains("--force"), "{folder}");
        assert!(said(write_whole(&dir.path().join("no/x"), b"x", false)).contains("no such file or folder"));
        assert!(said(read(dir.path()).map(|_| ())).contains("it is a folder"));
        assert!(said(read(&dir.path().join("no")).map(|_| ())).contains("no such file or folder"));
    }

    /// A file that grows obeys the rules of one that is written at once.
    #[cfg(unix)]
    #[test]
    fn a_draft_follows_links_and_keeps_permissions() {
        use std::os::unix::fs::PermissionsExt as _;
        let dir = tempfile::tempdir().unwrap();
        let (file, link) = (dir.path().join("a.csv"), dir.path().join("link.csv"));
        std::fs::write(&file, "old").unwrap();
        std::fs::set_permissions(&file, std::fs::Permissions::from_mode(0o640)).unwrap();
        std::os::unix::fs::symlink(&file, &link).unwrap();
        let draft = Draft::new(&link).unwrap();
        draft.handle().unwrap().write_all(b"new").unwrap();
        assert!(Draft::new(&link).unwrap().keep(false).is_err(), "it is there already");
        draft.keep(true).unwrap();
        assert!(link.is_symlink());
        assert_eq!(std::fs::read(&file).unwrap(), b"new");
        assert_eq!(std::fs::metadata(&file).unwrap().permissions().mode() & 0o777, 0o640);
        assert!(Draft::new(Path::new("/dev/null")).is_err());
        may_write(Path::new("/dev/null"), false).unwrap();
    }

    #[test]
    fn nothing_is_overwritten_without_force() {
        let dir = tempfile::tempdir().unwrap();
        let p = dir.path().join("a.txt");
        write_whole(&p, b"one", false).unwrap();
        assert!(write_whole(&p, b"two", false).is_err());
        assert_eq!(std::fs::read(&p).unwrap(), b"one");
        write_whole(&p, b"two", true).unwrap();
        assert_eq!(std::fs::read(&p).unwrap(), b"two");
        assert_eq!(std::fs::read_dir(dir.path()).unwrap().count(), 1, "no temporary file is left");
    }

    #[test]
    fn what_was_read_is_not_written_over_even_by_force() {
        let dir = tempfile::tempdir().unwrap();
        let p = dir.path().join("plant.toml");
        std::fs::write(&p, b"plant").unwrap();
        read(&p).unwrap();
        // By another name too.
        let other = dir.path().join(".").join("plant.toml");
        for path in [&p, &other] {
            let f = write_whole(path, b"report", true).unwrap_err();
            assert!(f.sentence.contains("would be lost"), "{}", f.sentence);
        }
        assert_eq!(std::fs::read(&p).unwrap(), b"plant");
    }

    #[cfg(unix)]
    #[test]
    fn links_are_followed_devices_written_through_and_permissions_kept() {
        use std::os::unix::fs::{FileTypeExt as _, PermissionsExt as _, symlink};
        let dir = tempfile::tempdir().unwrap();
        let (file, link, device) = (dir.path().join("a"), dir.path().join("link"), dir.path().join("device"));
        let mode = |p: &Path| std::fs::metadata(p).unwrap().permissions().mode() & 0o777;
        write_whole(&file, b"one", false).unwrap();
        let plain = dir.path().join("plain");
        std::fs::write(&plain, b"").unwrap();
        assert_eq!(mode(&file), mode(&plain), "as any new file of this user");
        std::fs::set_permissions(&file, std::fs::Permissions::from_mode(0o664)).unwrap();
        symlink(&file, &link).unwrap();
        assert!(write_whole(&link, b"two", false).is_err());
        write_whole(&link, b"two", true).unwrap();
        assert!(link.symlink_metadata().unwrap().is_symlink());
        assert_eq!((std::fs::read(&file).unwrap().as_slice(), mode(&file)), (b"two".as_slice(), 0o664));
        symlink("/dev/null", &device).unwrap();
        write_whole(&device, b"gone", true).unwrap();
        assert!(std::fs::metadata("/dev/null").unwrap().file_type().is_char_device());
        symlink("/dev/full", device.with_extension("full")).unwrap();
        let f = write_whole(&device.with_extension("full"), b"x", false).unwrap_err();
        assert!(f.sentence.contains("no room"), "{}", f.sentence);
    }
}
