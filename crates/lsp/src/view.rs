//! What a request sees: everything as it stood when the request came.

use std::path::PathBuf;
use std::sync::Arc;

use barm_ide::{File, Part, World};
use barm_syntax::Span;
use imbl::HashMap;
use tower_lsp::jsonrpc;
use tower_lsp::lsp_types::{Location, Position, Range, Url};

use crate::client::Abilities;
use crate::preferences::Preferences;
use crate::text::Text;
use crate::tokens::Told;

/// A document that the client has open.
#[derive(Debug, Clone)]
pub(crate) struct Open {
    pub(crate) uri: Url,
    pub(crate) version: i32,
    pub(crate) text: Text,
    /// An edit was lost: what stands here is not what the client sees, until it sends the whole text.
    pub(crate) lost: bool,
}

/// Everything as it stood when a request came.
#[derive(Clone)]
pub(crate) struct View {
    pub(crate) client: Abilities,
    pub(crate) preferences: Preferences,
    /// Which workspace this is, among all that there have been.
    pub(crate) house: usize,
    /// The tokens that were told last.
    pub(crate) told: Told,
    pub(crate) world: World,
    pub(crate) root: Option<PathBuf>,
    /// Open documents of this workspace, by path.
    pub(crate) open: HashMap<Arc<str>, Arc<Open>>,
    /// The document asked about, by its path.
    pub(crate) path: Arc<str>,
}

/// What a request comes to.
pub(crate) type Answer<T> = jsonrpc::Result<T>;

impl View {
    /// The document asked about.
    pub(crate) fn file(&self) -> Option<&Arc<File>> {
        self.world.file(&self.path)
    }

    /// Its part of the workspace, reckoned.
    pub(crate) fn part(&self) -> Option<Arc<Part>> {
        self.world.part(&self.path)
    }

    /// The text of a file, for positions in it.
    pub(crate) fn text(&self, path: &str) -> Option<Text> {
        match self.open.get(path) {
            Some(open) => Some(open.text.clone()),
            None => Some(Text::new(&self.world.file(path)?.text, self.client.encoding)),
        }
    }

    /// The name by which the client knows a file.
    pub(crate) fn url(&self, path: &str) -> Option<Url> {
        match self.open.get(path) {
            Some(open) => Some(open.uri.clone()),
            None => Url::from_file_path(self.root.as_ref()?.join(path)).ok(),
        }
    }

    /// The version of a file that the client has open.
    pub(crate) fn version(&self, path: &str) -> Option<i32> {
        self.open.get(path).map(|open| open.version)
    }

    /// The byte that a position in the document names.
    pub(crate) fn offset(&self, position: Position) -> Option<u32> {
        let text = self.text(&self.path)?;
        u32::try_from(text.offset(position)).ok()
    }

    pub(crate) fn range(&self, span: Span) -> Option<Range> {
        Some(self.text(&self.path)?.lines(span))
    }

    pub(crate) fn location(&self, path: &str, span: Span) -> Option<Location> {
        Some(Location { uri: self.url(path)?, range: self.text(path)?.lines(span) })
    }
}
