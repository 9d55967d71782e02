//! `barm fmt`

use std::process::ExitCode;

use crate::args::{Fmt, Input};
use crate::failure::Failure;
use crate::workspace::{self, Alone};
use crate::write::{self, How, Rewrite};

/// Sets logs anew. One that cannot be read is named, and the others are set all the same.
pub(crate) fn run(args: Fmt) -> Result<ExitCode, Failure> {
    let how = match (args.diff, args.check) {
        (true, _) => How::Diff,
        (false, true) => How::Name,
        (false, false) => How::Write,
    };
    let input = Input { paths: args.paths, config: None, stdin_name: args.stdin_name };
    let mut unread = Vec::new();
    let mut rewrites = Vec::new();
    for Alone { shown, target, text } in workspace::alone(&input)? {
        match text {
            Ok(text) => {
                let (before, after) = (text.to_string(), barm_syntax::format(&text));
                rewrites.push(Rewrite { shown, target, before, after });
            }
            Err(why) => unread.push(why),
        }
    }
    let code = write::all(&rewrites, how, "set")?;
    match unread.as_slice() {
        [] => Ok(code),
        unread => Err(Failure::said(unread.join("; "))),
    }
}
