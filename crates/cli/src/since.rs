//! What has changed since a revision: `--since`.
//!
//! The only place where barm runs a program. The repository is nobody's to trust either, so git is asked for nothing
//! but which commit a name means and what its files held: two plumbing commands that look at no work tree and so start
//! no monitor, hook, filter, pager or difference program that a repository's settings name. What has changed is then
//! found here.

use std::io::{self, BufRead as _, BufReader, Read as _, Write as _};
use std::path::Path;
use std::process::{ChildStdout, Command, Output, Stdio};

use barm_reckoning::{Place, Source};
use barm_rules::Report;
use barm_syntax::Span;
use barm_workspace::LARGEST;
use similar::{Algorithm, DiffOp, capture_diff_slices};

use crate::failure::Failure;
use crate::workspace::Workspace;

/// What holds for every run of git. Each takes something from a repository's settings by which it could run a program
/// of its choice: the monitor of files, hooks, and transports to fetch what is missing.
const SETTINGS: [&str; 6] =
    ["-c", "core.fsmonitor=false", "-c", "core.hooksPath=/dev/null", "-c", "protocol.allow=never"];

/// What git sets for a hook that it runs; the repository is the one that the logs lie in.
const OF_A_HOOK: [&str; 4] = ["GIT_DIR", "GIT_WORK_TREE", "GIT_INDEX_FILE", "GIT_PREFIX"];

/// Keeps the findings of which a place lies on a line, or in a log, that has changed since `rev`; counts the others.
pub(crate) fn keep_changed(rev: &str, workspace: &Workspace, report: &mut Report) -> Result<(), Failure> {
    let changed = changed(rev, workspace)?;
    let touched = |place: Place| {
        let lines = changed.get(place.file.0 as usize).map_or(&[][..], Vec::as_slice);
        // The first that does not end before the place.
        let at = lines.partition_point(|lines| lines.end < place.span.start);
        lines.get(at).is_some_and(|lines| lines.start <= place.span.end)
    };
    let before = report.findings.len();
    report
        .findings
        .retain(|finding| touched(finding.place) || finding.labels.iter().any(|label| touched(label.place)));
    report.unchanged += before - report.findings.len();
    Ok(())
}

/// The lines of each log that have changed, as bytes of it, in order.
fn changed(rev: &str, workspace: &Workspace) -> Result<Vec<Vec<Span>>, Failure> {
    if rev.is_empty() || rev.starts_with('-') {
        return Err(Failure::said(format!("`--since {rev}`: that is no name of a revision")));
    }
    let Some(root) = workspace.root() else {
        return Err(Failure::said("`--since` needs logs that lie in a git repository"));
    };
    let inside = run(root, &["rev-parse", "--git-dir"])?;
    if !inside.status.success() {
        // Git's own words: no repository, or one of somebody else's that it does not trust.
        let said = String::from_utf8_lossy(&inside.stderr);
        let said = said.lines().next().unwrap_or("nothing").trim_start_matches("fatal: ");
        return Err(Failure::said(format!(
            "`--since` needs logs that lie in a git repository; git says: {said}"
        )));
    }
    let commit = format!("{rev}^{{commit}}");
    let commit = run(root, &["rev-parse", "--quiet", "--verify", "--end-of-options", &commit])?;
    if !commit.status.success() {
        return Err(Failure::said(format!("git knows no revision `{rev}`")));
    }
    let commit = String::from_utf8_lossy(&commit.stdout).trim().to_owned();
    compare(root, &commit, &workspace.season.sources)
        .map_err(|error| Failure::said(format!("git could not say what the logs held: {error}")))
}

fn git(root: &Path) -> Command {
    let mut git = Command::new("git");
    git.args(SETTINGS).current_dir(root).stdin(Stdio::null()).stderr(Stdio::piped()).stdout(Stdio::piped());
    for name in OF_A_HOOK {
        git.env_remove(name);
    }
    git.env("GIT_NO_LAZY_FETCH", "1").env("GIT_OPTIONAL_LOCKS", "0").env("LC_ALL", "C");
    git
}

fn run(root: &Path, args: &[&str]) -> Result<Output, Failure> {
    git(root).args(args).output().map_err(|error| {
        Failure::said(match error.kind() {
            io::ErrorKind::NotFound => "`--since` needs git, and there is none on the PATH".to_owned(),
            _ => format!("git could not be run: {error}"),
        })
    })
}

/// Asks for each log as it was in a commit, one after the other, and compares.
fn compare(root: &Path, commit: &str, sources: &[Source]) -> io::Result<Vec<Vec<Span>>> {
    let mut child =
        git(root).args(["cat-file", "--batch"]).stdin(Stdio::piped()).stderr(Stdio::null()).spawn()?;
    let (Some(mut questions), Some(answers)) = (child.stdin.take(), child.stdout.take()) else {
        return Err(io::Error::other("its pipes are missing"));
    };
    let compared = std::thread::scope(|scope| {
        // Git answers while it is asked: a pipe that is full in both directions would never move again.
        scope.spawn(move || -> io::Result<()> {
            for source in sources.iter().filter(|source| can_be_asked(source)) {
                writeln!(questions, "{commit}:./{}", source.path)?;
            }
            Ok(())
        });
        let mut answers = BufReader::new(answers);
        sources
            .iter()
            .map(|source| {
                let old = if can_be_asked(source) { held(&mut answers)? } else { None };
                Ok(match old {
                    Some(old) => lines(&old, &source.text),
                    None => vec![Span::of(0..source.text.len())],
                })
            })
            .collect()
    });
    // Where reading ended early git would wait for ever.
    let _ = child.kill();
    child.wait()?;
    compared
}

/// Questions are lines; a log whose name holds the end of one is taken for a new log.
fn can_be_asked(source: &Source) -> bool {
    !source.path.contains('\n')
}

/// The next answer: what a file held, or that there was none.
fn held(answers: &mut BufReader<ChildStdout>) -> io::Result<Option<Vec<u8>>> {
    let mut head = Vec::new();
    answers.read_until(b'\n', &mut head)?;
    let Some(head) = head.strip_suffix(b"\n") else {
        return Err(io::ErrorKind::UnexpectedEof.into());
    };
    let head = String::from_utf8_lossy(head);
    // "<object> blob <size>"; else "<question> missing", and a name may hold blanks.
    let size = match head.split(' ').collect::<Vec<_>>().as_slice() {
        [_, "blob" | "tree" | "commit" | "tag", size] => size.parse::<u64>().ok(),
        _ => None,
    };
    let Some(size) = size else { return Ok(None) };
    let mut bytes = Vec::new();
    if size > LARGEST {
        io::copy(&mut answers.take(size + 1), &mut io::sink())?;
        return Ok(None);
    }
    answers.take(size + 1).read_to_end(&mut bytes)?;
    if bytes.pop() != Some(b'\n') || bytes.len() as u64 != size {
        return Err(io::ErrorKind::UnexpectedEof.into());
    }
    Ok(Some(bytes))
}

/// The lines of `new` that are not in `old`, and those beside which something was taken out; in order.
fn lines(old: &[u8], new: &str) -> Vec<Span> {
    let old = String::from_utf8_lossy(old);
    if old == new {
        return Vec::new();
    }
    // A checkout may have other ends of lines than the repository.
    let bare = |text: &str| text.trim_end_matches(['\n', '\r']).to_owned();
    let (mut texts, mut spans, mut at) = (Vec::new(), Vec::new(), 0);
    for line in new.split_inclusive('\n') {
        let text = bare(line);
        spans.push(Span::of(at..at + text.len()));
        texts.push(text);
        at += line.len();
    }
    let old: Vec<String> = old.split_inclusive('\n').map(bare).collect();
    let from_to = |first: usize, last: usize| {
        let last = spans.get(last).or(spans.last())?;
        Some(spans.get(first)?.to(*last))
    };
    capture_diff_slices(Algorithm::Myers, &old, &texts)
        .into_iter()
        .filter_map(|op| match op {
            DiffOp::Equal { .. } => None,
            DiffOp::Delete { new_index, .. } => from_to(new_index.saturating_sub(1), new_index),
            DiffOp::Insert { new_index, new_len, .. } | DiffOp::Replace { new_index, new_len, .. } => {
                from_to(new_index, (new_index + new_len).saturating_sub(1))
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn changed(old: &str, new: &str) -> Vec<String> {
        lines(old.as_bytes(), new).into_iter().map(|span| new.get(span.range()).unwrap().to_owned()).collect()
    }

    #[test]
    fn lines_that_changed() {
        assert!(changed("a\nb\n", "a\nb\n").is_empty());
        assert!(changed("a\nb\n", "a\r\nb").is_empty(), "ends of lines are no change");
        assert_eq!(changed("a\nb\nc\n", "a\nx\ny\nc\n"), ["x\ny"]);
        assert_eq!(changed("a\nc\n", "a\nb\nc\nd"), ["b", "d"]);
        assert_eq!(changed("", "a\n"), ["a"]);
    }

    #[test]
    fn where_lines_were_taken_out_their_neighbours_have_changed() {
        assert_eq!(changed("a\nb\nc\nd\n", "a\nc\nd\n"), ["a\nc"]);
        assert_eq!(changed("a\nb\n", "b\n"), ["b"]);
        assert_eq!(changed("a\nb\n", "a\n"), ["a"]);
        assert!(changed("a\n", "").is_empty());
    }
}
