//! A connection that is patient only for so long: an answer that its reader doesn't take in time ends it.

use std::io::{Error, ErrorKind, IoSlice, Result};
use std::pin::Pin;
use std::task::{Context, Poll, ready};
use std::time::Duration;

use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::TcpStream;
use tokio::time::{Sleep, sleep};

/// See the module.
pub struct Patient {
    stream: TcpStream,
    patience: Duration,
    /// Runs from when the reader first took no more until everything is out.
    waits: Option<Pin<Box<Sleep>>>,
}

impl Patient {
    /// `patience` is for each run of bytes that goes out in one, not for a byte of it.
    pub fn new(stream: TcpStream, patience: Duration) -> Patient {
        Patient {
            stream,
            patience,
            waits: None,
        }
    }

    fn bounded(
        &mut self,
        context: &mut Context,
        written: Poll<Result<usize>>,
    ) -> Poll<Result<usize>> {
        if written.is_ready() {
            return written;
        }
        let patience = self.patience;
        let waits = self.waits.get_or_insert_with(|| Box::pin(sleep(patience)));
        ready!(waits.as_mut().poll(context));
        Poll::Ready(Err(Error::from(ErrorKind::TimedOut)))
    }
}

impl AsyncRead for Patient {
    fn poll_read(
        self: Pin<&mut Self>,
        context: &mut Context<'_>,
        into: &mut ReadBuf<'_>,
    ) -> Poll<Result<()>> {
        Pin::new(&mut self.get_mut().stream).poll_read(context, into)
    }
}

impl AsyncWrite for Patient {
    fn poll_write(
        self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[u8],
    ) -> Poll<Result<usize>> {
        let this = self.get_mut();
        let written = Pin::new(&mut this.stream).poll_write(context, bytes);
        this.bounded(context, written)
    }

    fn poll_write_vectored(
        self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[IoSlice<'_>],
    ) -> Poll<Result<usize>> {
        let this = self.get_mut();
        let written = Pin::new(&mut this.stream).poll_write_vectored(context, bytes);
        this.bounded(context, written)
    }

    fn is_write_vectored(&self) -> bool {
        self.stream.is_write_vectored()
    }

    /// Asked for once all that was to be written has been.
    fn poll_flush(self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<Result<()>> {
        let this = self.get_mut();
        this.waits = None;
        Pin::new(&mut this.stream).poll_flush(context)
    }

    fn poll_shutdown(self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<Result<()>> {
        Pin::new(&mut self.get_mut().stream).poll_shutdown(context)
    }
}
