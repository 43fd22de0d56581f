//! Files are written whole or not at all, and never over another without `--force`.

use crate::finding::Finding;
use heatwright_core::{Severity, Subject};
use std::{
    io::{Read as _, Write as _},
    path::Path,
};

/// Writes `bytes` to `path` by way of a temporary file beside it.
pub fn write_whole(path: &Path, bytes: &[u8], force: bool) -> Result<(), Finding> {
    let fault = |what: &str, hint: &str| {
        Finding::new("F02", Severity::Error, Subject::Plant, format!("{} {what}", path.display())).hint(hint)
    };
    let broken = |e: std::io::Error, hint: &str| fault(&format!("cannot be written: {}", why(&e)), hint);
    if path.is_dir() {
        return Err(fault("is a folder", "name a file inside it"));
    }
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut file = tempfile::NamedTempFile::new_in(folder)
        .map_err(|e| broken(e, "name a folder that exists and that you may write to"))?;
    file.write_all(bytes)
        .and_then(|()| file.as_file().sync_all())
        .map_err(|e| broken(e, "nothing was changed; see that there is room on the disk"))?;
    let kept =
        if force { file.persist(path).map_err(|e| e.error) } else { file.persist_noclobber(path).map_err(|e| e.error) };
    match kept {
        Ok(_) => Ok(()),
        Err(e) if e.kind() == std::io::ErrorKind::AlreadyExists => {
            Err(fault("is there already", "name another file, or add --force to write over it"))
        }
        Err(e) => Err(broken(e, "nothing was changed")),
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
    end.map(|_| bytes).map_err(|e| {
        Finding::new("F01", Severity::Error, Subject::Plant, format!("{} cannot be read: {}", path.display(), why(&e)))
            .hint("see that the path is right; 'heatwright init PLANT.toml' makes a file to start from")
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
}
