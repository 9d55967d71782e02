//! The file of a baseline: which findings an old season may keep.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use barm_report::{Baseline, Known, fingerprints};
use barm_rules::Report;

use crate::args::Colour;
use crate::failure::Failure;
use crate::workspace::Workspace;
use crate::{output, write};

/// The largest baseline that is read, in bytes.
const LARGEST: u64 = 64 << 20;

/// A baseline, and where it lies.
pub(crate) struct Kept {
    folder: PathBuf,
    baseline: Baseline,
}

impl Kept {
    /// Reads it.
    pub(crate) fn read(path: &Path) -> Result<Self, Failure> {
        let cannot = |why: String| Failure::said(format!("{} {why}", path.display()));
        let bytes = barm_workspace::open(path, None, LARGEST)
            .map_err(|error| cannot(format!("cannot be read: {}", barm_workspace::why(&error))))?;
        let text =
            String::from_utf8(bytes).map_err(|_| cannot("is no baseline: it is no UTF-8".to_owned()))?;
        let baseline = Baseline::read(&text).map_err(|(line, why)| {
            Failure::said(format!("{}:{line}: this is no line of a baseline: {why}", path.display()))
        })?;
        Ok(Self { folder: folder(path)?, baseline })
    }

    /// Takes out the findings that are known, and counts them.
    pub(crate) fn take_out(&self, workspace: &Workspace, report: &mut Report) {
        let known: Vec<bool> =
            knowns(&self.folder, workspace, report).map(|one| self.baseline.knows(&one)).collect();
        report.known += known.iter().filter(|known| **known).count();
        let mut known = known.into_iter();
        report.findings.retain(|_| known.next() == Some(false));
    }
}

/// Writes a baseline of all that was found.
pub(crate) fn write(path: &Path, checked: &[(Workspace, Report)]) -> Result<ExitCode, Failure> {
    // A name that was mistyped must not cost a log.
    if path.symlink_metadata().is_ok() {
        Kept::read(path)?;
    }
    let folder = folder(path)?;
    let baseline: Baseline =
        checked.iter().flat_map(|(workspace, report)| knowns(&folder, workspace, report)).collect();
    let mut text = Vec::new();
    baseline.write(&mut text)?;
    write::whole(path, &text)
        .map_err(|error| Failure::said(format!("{} was not written: {error}", path.display())))?;
    let shown = path.display().to_string();
    output::print(Colour::Never, ExitCode::SUCCESS, |out| {
        use std::io::Write as _;
        writeln!(out, "{} known from now on in {}", baseline.len(), barm_report::visible(&shown))
    })
}

/// The findings as a baseline in `folder` knows them, in their order.
fn knowns<'a>(
    folder: &Path,
    workspace: &'a Workspace,
    report: &'a Report,
) -> impl Iterator<Item = Known> + use<'a> {
    let folder = folder.to_owned();
    let prints = fingerprints(&workspace.season, &report.findings);
    report.findings.iter().zip(prints).map(move |(finding, fingerprint)| Known {
        file: workspace.path_from(&folder, finding.place.file),
        rule: finding.rule.to_owned(),
        fingerprint,
    })
}

/// The folder of a baseline, links resolved: the file itself need not be there.
fn folder(path: &Path) -> Result<PathBuf, Failure> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    fs::canonicalize(folder).map_err(|error| {
        Failure::said(format!("{} cannot be read: {}", folder.display(), barm_workspace::why(&error)))
    })
}
