use barm_reckoning::Season;

use crate::Report;
use crate::registry::rule;

rule! {
    /// A file that could not be read. Found where files are read, outside of this crate, which does no input.
    UnreadFile, "unread-file", Error, "unread_file.md", |_: &Season, _: &mut Report| {}
}
