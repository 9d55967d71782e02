//! The input of the server, which ends when the client says `exit`, whether it closes its end or not, and not before; its
//! output, which does not fail; and what the server says unasked, which ends at `shutdown`.

use std::collections::HashSet;
use std::future::{self, Future as _, Pending, pending};
use std::io;
use std::pin::Pin;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::task::{Context, Poll, ready};

use bytes::{Buf as _, BytesMut};
use futures_util::future::{AbortHandle, Abortable};
use futures_util::stream::{Stream, StreamExt as _};
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::sync::{Notify, watch};
use tower_lsp::jsonrpc::Request;
use tower_lsp::lsp_types::notification::{Notification as _, Progress};
use tower_lsp::{ClientSocket, Loopback};

use crate::frames::Frames;

/// Ends the server, from whichever side.
#[derive(Clone, Debug)]
pub(crate) struct Close {
    input: AbortHandle,
    closed: Arc<Notify>,
}

impl Close {
    /// Nothing is read any more.
    pub(crate) fn close(&self) {
        self.input.abort();
        self.closed.notify_one();
    }

    /// Once it was.
    pub(crate) async fn closed(&self) {
        self.closed.notified().await;
    }
}

/// An input that can be ended from within, and that ends for nothing that stands in it.
pub(crate) struct Gate<I> {
    input: I,
    frames: Frames,
    /// What is left of the message that is handed on.
    message: BytesMut,
    open: Abortable<Pending<()>>,
    ended: bool,
}

impl<I> Gate<I> {
    /// The input, and what ends it.
    pub(crate) fn new(input: I) -> (Self, Close) {
        let (abort, registration) = AbortHandle::new_pair();
        let open = Abortable::new(pending(), registration);
        let gate = Self { input, frames: Frames::default(), message: BytesMut::new(), open, ended: false };
        (gate, Close { input: abort, closed: Arc::default() })
    }
}

impl<I: AsyncRead + Unpin> AsyncRead for Gate<I> {
    fn poll_read(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        buf: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        let this = &mut *self;
        this.ended = this.ended || Pin::new(&mut this.open).poll(cx).is_ready();
        let before = buf.filled().len();
        while !this.ended {
            if this.message.has_remaining() {
                let part = this.message.split_to(this.message.len().min(buf.remaining()));
                buf.put_slice(&part);
                break;
            }
            if let Some(message) = this.frames.next() {
                this.message = message;
                continue;
            }
            ready!(Pin::new(&mut this.input).poll_read(cx, buf))?;
            let read = buf.filled().get(before..).unwrap_or_default();
            this.ended = read.is_empty();
            this.frames.take(read);
            buf.set_filled(before);
        }
        Poll::Ready(Ok(()))
    }
}

/// An output to a client that may be gone: then all is said to nobody, and the input ends. tower-lsp panics where what it
/// has to say finds no way out.
pub(crate) struct Outlet<O> {
    output: O,
    close: Close,
    gone: bool,
}

impl<O> Outlet<O> {
    pub(crate) const fn new(output: O, close: Close) -> Self {
        Self { output, close, gone: false }
    }

    /// What writing came to; `unsaid` where nobody listens.
    fn said<T>(&mut self, written: Poll<io::Result<T>>, unsaid: T) -> Poll<io::Result<T>> {
        match written {
            Poll::Ready(Err(_)) => {
                self.gone = true;
                self.close.close();
                Poll::Ready(Ok(unsaid))
            }
            written => written,
        }
    }
}

impl<O: AsyncWrite + Unpin> AsyncWrite for Outlet<O> {
    fn poll_write(mut self: Pin<&mut Self>, cx: &mut Context<'_>, bytes: &[u8]) -> Poll<io::Result<usize>> {
        if self.gone {
            return Poll::Ready(Ok(bytes.len()));
        }
        let written = Pin::new(&mut self.output).poll_write(cx, bytes);
        self.said(written, bytes.len())
    }

    fn poll_flush(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        if self.gone {
            return Poll::Ready(Ok(()));
        }
        let flushed = Pin::new(&mut self.output).poll_flush(cx);
        self.said(flushed, ())
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        if self.gone {
            return Poll::Ready(Ok(()));
        }
        let closed = Pin::new(&mut self.output).poll_shutdown(cx);
        self.said(closed, ())
    }
}

/// What goes to the client unasked and how it answers, until the client has said `shutdown`. What was on its way by then
/// is looked at last of all when it is about to be written, and the flag is up before the answer to `shutdown` is there to
/// be written: nothing comes after it. Only a progress that was begun is still ended, and the answer waits for that.
pub(crate) struct Unasked {
    socket: ClientSocket,
    shut_down: Arc<AtomicBool>,
    under_way: watch::Sender<usize>,
}

/// How many progresses were begun and not ended.
pub(crate) type UnderWay = watch::Receiver<usize>;

impl Unasked {
    pub(crate) fn new(socket: ClientSocket, shut_down: Arc<AtomicBool>) -> (Self, UnderWay) {
        let (under_way, seen) = watch::channel(0);
        (Self { socket, shut_down, under_way }, seen)
    }
}

/// The token and the kind of a progress that is told.
fn progress(request: &Request) -> Option<(String, &str)> {
    let params = request.params().filter(|_| request.method() == Progress::METHOD)?;
    Some((params.get("token")?.to_string(), params.pointer("/value/kind")?.as_str()?))
}

impl Loopback for Unasked {
    type RequestStream = Pin<Box<dyn Stream<Item = Request> + Send>>;
    type ResponseSink = <ClientSocket as Loopback>::ResponseSink;

    fn split(self) -> (Self::RequestStream, Self::ResponseSink) {
        let Self { socket, shut_down, under_way } = self;
        let (requests, responses) = socket.split();
        let mut begun = HashSet::new();
        let may_be_said = move |request: &Request| {
            let mut may = !shut_down.load(Ordering::SeqCst);
            match progress(request) {
                Some((token, "begin")) if may => {
                    begun.insert(token);
                }
                Some((token, "end")) => may = begun.remove(&token),
                _ => {}
            }
            under_way.send_replace(begun.len());
            future::ready(may)
        };
        (requests.filter(may_be_said).boxed(), responses)
    }
}
