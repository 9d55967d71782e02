//! The input of the server, which ends when the client says `exit`, whether it closes its end or not; and what the server
//! says unasked, which ends at `shutdown`.

use std::future::Future as _;
use std::io;
use std::pin::Pin;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::task::{Context, Poll};

use futures_util::stream::{Stream, StreamExt as _};
use tokio::io::{AsyncRead, ReadBuf};
use tokio::sync::oneshot;
use tower_lsp::jsonrpc::Request;
use tower_lsp::{ClientSocket, Loopback};

/// An input that can be ended from within.
pub(crate) struct Gate<I> {
    input: I,
    closed: oneshot::Receiver<()>,
    ended: bool,
}

impl<I> Gate<I> {
    /// The input, and what ends it when it is sent or dropped.
    pub(crate) fn new(input: I) -> (Self, oneshot::Sender<()>) {
        let (close, closed) = oneshot::channel();
        (Self { input, closed, ended: false }, close)
    }
}

impl<I: AsyncRead + Unpin> AsyncRead for Gate<I> {
    fn poll_read(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        buf: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        let this = &mut *self;
        this.ended = this.ended || Pin::new(&mut this.closed).poll(cx).is_ready();
        if this.ended {
            return Poll::Ready(Ok(()));
        }
        Pin::new(&mut this.input).poll_read(cx, buf)
    }
}

/// What goes to the client unasked and how it answers, until the client has said `shutdown`. What was on its way by then
/// is looked at last of all when it is about to be written, and the flag is up before the answer to `shutdown` is there to
/// be written: nothing comes after it.
pub(crate) struct Unasked {
    socket: ClientSocket,
    shut_down: Arc<AtomicBool>,
}

impl Unasked {
    pub(crate) const fn new(socket: ClientSocket, shut_down: Arc<AtomicBool>) -> Self {
        Self { socket, shut_down }
    }
}

impl Loopback for Unasked {
    type RequestStream = Pin<Box<dyn Stream<Item = Request> + Send>>;
    type ResponseSink = <ClientSocket as Loopback>::ResponseSink;

    fn split(self) -> (Self::RequestStream, Self::ResponseSink) {
        let Self { socket, shut_down } = self;
        let (requests, responses) = socket.split();
        let may_be_said = move |_: &Request| std::future::ready(!shut_down.load(Ordering::SeqCst));
        (requests.filter(may_be_said).boxed(), responses)
    }
}
