//! A board in an emulator: the image `link` of `core/firmware` in a process, questions on its standard input, answers on its
//! standard output. It gets this plant's configuration block in a folder of its own.

use super::{Linked, Refused, block};
use heatwright_core::Config;
use std::{
    fmt::Display,
    fs::File,
    io::{Read, Seek},
    path::Path,
    process::{Child, Command, Stdio},
};

/// The emulator.
const COMMAND: &str = "qemu-system-arm";
/// The board that the image is built for.
const MACHINE: &str = "mps2-an385";

/// Ends the emulator, and then takes its folder away.
struct Process {
    child: Child,
    _folder: tempfile::TempDir,
}

impl Drop for Process {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Starts the image on an emulated board with this configuration.
pub fn start(image: &Path, config: &Config) -> Result<Linked, Refused> {
    let cannot = |what: &dyn Display, e: std::io::Error| Refused::Unopened {
        what: what.to_string(),
        why: crate::files::why(&e),
    };
    let image = image.canonicalize().map_err(|e| cannot(&image.display(), e))?;
    let folder = tempfile::tempdir().map_err(|e| cannot(&"a folder for the board", e))?;
    std::fs::write(folder.path().join("plant.blob"), block(config))
        .map_err(|e| cannot(&"the board's configuration", e))?;
    let mut said = tempfile::tempfile().map_err(|e| cannot(&"a file for the emulator's words", e))?;
    let mut child = Command::new(COMMAND)
        .args(["-machine", MACHINE, "-display", "none", "-monitor", "none", "-serial", "null"])
        .args(["-semihosting-config", "enable=on,target=native", "-kernel"])
        .arg(&image)
        .current_dir(folder.path())
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(said.try_clone().map_err(|e| cannot(&"a file for the emulator's words", e))?)
        .spawn()
        .map_err(|e| cannot(&COMMAND, e))?;
    let streams = child.stdin.take().zip(child.stdout.take());
    let keep = Box::new(Process { child, _folder: folder });
    let (to, from) = streams.ok_or(heatwright_sim::control::LinkError::Closed)?;
    Linked::greet(to, from, config, Some(keep)).map_err(|e| match (e, last_line(&mut said)) {
        (Refused::Link(_), Some(why)) => Refused::Unopened { what: image.display().to_string(), why },
        (e, _) => e,
    })
}

/// What an emulator that did not answer said last.
fn last_line(said: &mut File) -> Option<String> {
    let mut text = Vec::new();
    said.rewind().and_then(|()| said.read_to_end(&mut text)).ok()?;
    let text = String::from_utf8_lossy(&text);
    text.lines().map(str::trim).rfind(|l| !l.is_empty()).map(str::to_owned)
}
