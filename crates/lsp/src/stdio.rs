//! Standard input and output of the server.
//!
//! An editor gives pipes, and those are read and written as they are ready. Whatever else it may be is read and written
//! by threads of its own, and each message then waits until such a thread is awake: twice the time of a small answer.

use tokio::io::{AsyncRead, AsyncWrite, stdin, stdout};

/// What the client says.
pub(crate) fn input() -> Box<dyn AsyncRead + Unpin> {
    piped::input().unwrap_or_else(|| Box::new(stdin()))
}

/// Where the client listens.
pub(crate) fn output() -> Box<dyn AsyncWrite + Unpin> {
    piped::output().unwrap_or_else(|| Box::new(stdout()))
}

#[cfg(unix)]
mod piped {
    use std::os::fd::AsFd as _;

    use tokio::io::{AsyncRead, AsyncWrite};
    use tokio::net::unix::pipe::{Receiver, Sender};

    pub(super) fn input() -> Option<Box<dyn AsyncRead + Unpin>> {
        let end = std::io::stdin().as_fd().try_clone_to_owned().ok()?;
        Some(Box::new(Receiver::from_owned_fd(end).ok()?))
    }

    pub(super) fn output() -> Option<Box<dyn AsyncWrite + Unpin>> {
        let end = std::io::stdout().as_fd().try_clone_to_owned().ok()?;
        Some(Box::new(Sender::from_owned_fd(end).ok()?))
    }
}

#[cfg(not(unix))]
mod piped {
    use tokio::io::{AsyncRead, AsyncWrite};

    pub(super) const fn input() -> Option<Box<dyn AsyncRead + Unpin>> {
        None
    }

    pub(super) const fn output() -> Option<Box<dyn AsyncWrite + Unpin>> {
        None
    }
}
