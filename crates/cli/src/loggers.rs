//! Reads the loggers' files that logs name.

use std::path::Path;
use std::sync::Arc;

use barm_reckoning::{LoggerFile, Loggers, Source};

/// What stands in the files that the logs name; one that is known already is not read again. `path` says where a log lies.
pub(crate) fn read<'a>(
    sources: &[Source],
    mut known: Loggers,
    root: Option<&Path>,
    path: impl Fn(&str) -> Option<&'a Path>,
) -> Loggers {
    let mut out = Loggers::default();
    for file in sources.iter().flat_map(|source| LoggerFile::of_log(&source.path, &source.log)) {
        let logged = known.remove(&file).unwrap_or_else(|| {
            let log = path(&file.log).unwrap_or_else(|| Path::new(""));
            let opened =
                barm_workspace::beside(log, &file.name, root).map_err(|error| barm_workspace::why(&error))?;
            file.read(opened).map(Arc::new)
        });
        out.insert(file, logged);
    }
    out
}
