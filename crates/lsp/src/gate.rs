//! The input of the server, which ends when the client says `exit`, whether it closes its end or not.

use std::future::Future as _;
use std::io;
use std::pin::Pin;
use std::task::{Context, Poll};

use tokio::io::{AsyncRead, ReadBuf};
use tokio::sync::oneshot;

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
