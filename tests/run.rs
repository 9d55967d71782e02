//! Runs the program as a user would.

use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// What a run left behind.
#[derive(Debug)]
pub(crate) struct Ran {
    pub(crate) out: String,
    pub(crate) err: String,
    /// `None`: ended by a signal.
    pub(crate) code: Option<i32>,
}

/// The checkout.
pub(crate) fn project() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

/// The program, in `folder`, told nothing by the environment.
pub(crate) fn command(folder: &Path, args: &[&str]) -> Command {
    prepared(Command::new(env!("CARGO_BIN_EXE_barm")), folder, args)
}

/// The same, and Ctrl-C ends it: who runs the tests in the background may have told them to pass over that.
pub(crate) fn interruptible(folder: &Path, args: &[&str]) -> Command {
    let mut command = Command::new("env");
    command.args(["--default-signal=INT", env!("CARGO_BIN_EXE_barm")]);
    prepared(command, folder, args)
}

fn prepared(mut command: Command, folder: &Path, args: &[&str]) -> Command {
    command.args(args).current_dir(folder);
    for name in ["NO_COLOR", "CLICOLOR", "CLICOLOR_FORCE", "TERM", "COLUMNS"] {
        command.env_remove(name);
    }
    command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped());
    command
}

/// Runs `barm` in `folder`.
pub(crate) fn barm(folder: &Path, args: &[&str], stdin: Option<&[u8]>) -> Ran {
    let mut command = command(folder, args);
    if stdin.is_some() {
        command.stdin(Stdio::piped());
    }
    let mut child = command.spawn().unwrap();
    let feeder = stdin.map(|bytes| {
        let (mut pipe, bytes) = (child.stdin.take().unwrap(), bytes.to_vec());
        // A program that ends without reading everything closes the pipe: its own affair.
        std::thread::spawn(move || drop(pipe.write_all(&bytes)))
    });
    let output = child.wait_with_output().unwrap();
    if let Some(feeder) = feeder {
        feeder.join().unwrap();
    }
    let text = |bytes| String::from_utf8(bytes).expect("output is UTF-8");
    Ran { out: text(output.stdout), err: text(output.stderr), code: output.status.code() }
}

/// A folder of its own with these files in it; it is a workspace unless it says otherwise.
pub(crate) fn workspace(files: &[(&str, &[u8])]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("barm.toml"), "").unwrap();
    for (name, text) in files {
        let path = folder.path().join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, text).unwrap();
    }
    folder
}

/// Whether expected output is to be written anew rather than compared: `BARM_UPDATE=1`.
pub(crate) fn updating() -> bool {
    std::env::var_os("BARM_UPDATE").is_some_and(|value| value == "1")
}

/// Compares, or writes `actual` to `path` when updating.
pub(crate) fn compare(path: &Path, expected: &str, actual: &str) {
    if expected == actual {
        return;
    }
    if updating() {
        std::fs::write(path, actual).unwrap();
        return;
    }
    let line = expected.lines().zip(actual.lines()).take_while(|(a, b)| a == b).count() + 1;
    panic!(
        "{} differs from line {line} on; BARM_UPDATE=1 writes it anew. This is what the program says:\n\n{actual}",
        path.display()
    );
}
