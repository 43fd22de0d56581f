//! Files are written whole or not at all, and never over another without `--force`.

use crate::finding::Finding;
use heatwright_core::{Severity, Subject};
use std::{io::Write, path::Path};

/// Writes `bytes` to `path` by way of a temporary file beside it.
pub fn write_whole(path: &Path, bytes: &[u8], force: bool) -> Result<(), Finding> {
    let fault = |what: &str, e: &std::io::Error, hint: &str| {
        Finding::new("F02", Severity::Error, Subject::Plant, format!("{} {what}: {e}", path.display())).hint(hint)
    };
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut file = tempfile::NamedTempFile::new_in(folder)
        .map_err(|e| fault("cannot be written", &e, "name a folder that exists and that you may write to"))?;
    file.write_all(bytes)
        .and_then(|()| file.as_file().sync_all())
        .map_err(|e| fault("cannot be written", &e, "nothing was changed; see that there is room on the disk"))?;
    let kept =
        if force { file.persist(path).map_err(|e| e.error) } else { file.persist_noclobber(path).map_err(|e| e.error) };
    match kept {
        Ok(_) => Ok(()),
        Err(e) if e.kind() == std::io::ErrorKind::AlreadyExists => {
            Err(fault("is there already", &e, "name another file, or add --force to write over it"))
        }
        Err(e) => Err(fault("cannot be written", &e, "nothing was changed")),
    }
}

/// Reads a whole file, with one clear finding when it cannot be read.
pub fn read(path: &Path) -> Result<Vec<u8>, Finding> {
    std::fs::read(path).map_err(|e| {
        Finding::new("F01", Severity::Error, Subject::Plant, format!("{} cannot be read: {e}", path.display()))
            .hint("see that the path is right; 'heatwright init PLANT.toml' makes a file to start from")
    })
}

#[cfg(test)]
mod tests {
    use super::*;

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
