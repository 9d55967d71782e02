//! The language server: protocol in, protocol out, edits in order.
//!
//! Everything that changes is in one place (`owner`), and one thread at a time has it; what a request asks is worked out from
//! a snapshot, on a pool where it may take long, and a panic there is an error reply; nothing waits for the client. Brewing is
//! `barm-ide`'s and below.

mod actions;
mod backend;
mod client;
mod diagnostics;
mod disk;
mod features;
mod frames;
mod front;
mod gate;
mod house;
mod outbox;
mod owner;
mod plain;
mod preferences;
mod stdio;
mod text;
mod tokens;
mod view;

#[cfg(test)]
mod tests;

use std::fs::OpenOptions;
use std::io;
use std::path::Path;
use std::process::ExitCode;
use std::time::Duration;

use tokio::io::{AsyncRead, AsyncWrite};
use tower_lsp::{LspService, Server};

use crate::backend::Backend;
use crate::disk::Disk;
use crate::front::Front;
use crate::gate::{Gate, Outlet, Unasked};
use crate::owner::{Event, Owner, Queue};

/// Requests that are worked on side by side; edits must never wait for a place among them.
const SIDE_BY_SIDE: usize = 1024;
/// After `exit`, replies that are ready are written; no client waits longer for the end than this, nor where it is gone.
const LAST_WORDS: Duration = Duration::from_millis(400);

/// Serves one client on standard input and output until it says `exit` or closes the input. What there is to tell the
/// people who look after the server goes to standard error, or to the end of a file.
///
/// # Errors
/// Where the file cannot be opened or no thread be started.
pub fn run(log: Option<&Path>) -> io::Result<ExitCode> {
    let journal: Box<dyn io::Write + Send> = match log {
        Some(path) => Box::new(OpenOptions::new().create(true).append(true).open(path)?),
        None => Box::new(io::stderr()),
    };
    // Nothing waits in it but for the client: work is done elsewhere.
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
    let code = runtime.block_on(async { serve(stdio::input(), stdio::output(), journal).await });
    // A read of standard input may be under way for ever.
    runtime.shutdown_background();
    Ok(code)
}

/// Serves one client until it says `exit` or its messages end: 0 after `shutdown`, 1 without.
pub async fn serve<I, O>(input: I, output: O, journal: Box<dyn io::Write + Send>) -> ExitCode
where
    I: AsyncRead + Unpin,
    O: AsyncWrite + Unpin,
{
    serve_from(Disk::OURS, input, output, journal).await
}

/// Serves one client with what a disk has.
async fn serve_from<I, O>(disk: Disk, input: I, output: O, journal: Box<dyn io::Write + Send>) -> ExitCode
where
    I: AsyncRead + Unpin,
    O: AsyncWrite + Unpin,
{
    let (gate, close) = Gate::new(input);
    let outlet = Outlet::new(output, close.clone());
    let queue = Queue::default();
    let mut made = None;
    let service = LspService::build(|client| {
        made = Some(client);
        Backend::new(queue.clone())
    });
    let (service, socket) = service.custom_method("barm/text", Backend::text).finish();
    let Some(client) = made else { return ExitCode::FAILURE };
    let owner = Owner::start(client, &queue, journal, disk);
    let (unasked, under_way) = Unasked::new(socket, owner.shut_down());
    let front = Front::new(service, queue.clone(), close.clone(), under_way);
    let serving = Server::new(gate, outlet, unasked).concurrency_level(SIDE_BY_SIDE).serve(front);
    tokio::select! {
        () = serving => {}
        () = async { close.closed().await; tokio::time::sleep(LAST_WORDS).await } => {}
    }
    // Whoever still has a hand on the queue finds nobody behind it.
    queue.send(Event::Exit);
    if owner.was_shut_down() { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}
