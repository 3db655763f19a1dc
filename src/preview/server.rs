//! The server: listens, bounds what comes in, and ends when told.

use std::net::{Ipv4Addr, SocketAddr, TcpListener};
use std::sync::Arc;
use std::time::Duration;

use hyper::server::conn::http1;
use hyper::service::service_fn;
use hyper_util::rt::{TokioIo, TokioTimer};
use tokio::runtime::{Builder, Runtime};
use tokio::sync::{Semaphore, oneshot};

use crate::fault::Fault;
use crate::preview::answer::{Desk, answer};
use crate::preview::editor::{Editor, run};
use crate::preview::marks::Marks;
use crate::preview::patient::Patient;
use crate::preview::sessions::Sessions;
use crate::shop::watch::{Told, Watch, WatchWish};

/// The most connections at a time; more are closed at once.
const MOST_CONNECTIONS: usize = 64;

/// The longest that a request's head may take to come, and that a connection may wait for the next one.
const HEAD_TIME: Duration = Duration::from_secs(10);

/// The longest that an answer may take to be read.
const READ_TIME: Duration = Duration::from_secs(10);

/// The most bytes of a request's head.
const HEAD_BYTES: usize = 16 << 10;

/// How often forgotten page loads are looked for.
const SWEEP: Duration = Duration::from_secs(60);

/// What is asked of the preview.
#[derive(Debug, Clone)]
pub struct PreviewWish {
    /// What to watch.
    pub watch: WatchWish,
    /// The port; 0 lets the system pick one.
    pub port: u16,
    /// The editor, where one was given.
    pub editor: Option<Editor>,
}

/// A script under watch with its page being served; dropping it ends both.
pub struct Preview {
    desk: Arc<Desk>,
    stop: Option<oneshot::Sender<()>>,
    thread: Option<std::thread::JoinHandle<()>>,
}

impl Preview {
    /// Listens, and begins to build.
    ///
    /// # Errors
    /// The port is taken or not allowed; the system gives no thread.
    pub fn start(
        wish: PreviewWish,
        said: impl Fn(&Told) + Send + Sync + 'static,
    ) -> Result<Preview, Fault> {
        let refused = |e: std::io::Error| {
            Fault::new(format!("port {} can't be listened on: {e}", wish.port))
                .hint("leave --port out, and a free one is picked")
        };
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, wish.port)).map_err(refused)?;
        listener.set_nonblocking(true).map_err(refused)?;
        let port = listener.local_addr().map_err(refused)?.port();
        let (bell, _) = tokio::sync::watch::channel(());
        let marks = Arc::new(Marks::default());
        let (rings, notes) = (bell.clone(), Arc::clone(&marks));
        let watch = Watch::start(wish.watch, move |told| {
            notes.note(told);
            rings.send_replace(());
            said(told);
        })?;
        let desk = Arc::new(Desk {
            watch,
            sessions: Sessions::default(),
            marks,
            bell,
            editor: wish.editor,
            port,
        });
        let (stop, stopped) = oneshot::channel();
        let serving = Arc::clone(&desk);
        let no_thread = |e: std::io::Error| Fault::new(format!("the page can't be served: {e}"));
        let runtime = Builder::new_current_thread()
            .enable_all()
            .max_blocking_threads(4)
            .build()
            .map_err(no_thread)?;
        let thread = std::thread::Builder::new()
            .name("server".to_string())
            .spawn(move || serve(&runtime, listener, serving, stopped))
            .map_err(no_thread)?;
        Ok(Preview {
            desk,
            stop: Some(stop),
            thread: Some(thread),
        })
    }

    /// The port that is listened on.
    pub fn port(&self) -> u16 {
        self.desk.port
    }

    /// The page's address.
    pub fn url(&self) -> String {
        format!("http://127.0.0.1:{}/", self.port())
    }

    /// Shows the page in the person's browser.
    ///
    /// # Errors
    /// No program could be run that opens pages.
    pub fn open_page(&self) -> Result<(), Fault> {
        let (program, arguments): (&str, &[&str]) = if cfg!(target_os = "macos") {
            ("open", &[])
        } else if cfg!(target_os = "windows") {
            ("explorer", &[])
        } else {
            ("xdg-open", &[])
        };
        let mut arguments: Vec<String> = arguments.iter().map(|a| (*a).to_string()).collect();
        arguments.push(self.url());
        run(program, &arguments, || {}).map_err(|e| {
            Fault::new(format!("no browser could be opened: {program}: {e}"))
                .hint(format!("open {} yourself", self.url()))
        })
    }

    /// Waits until the person ends the program.
    ///
    /// # Errors
    /// The system doesn't tell of that.
    pub fn until_interrupted(&self) -> Result<(), Fault> {
        let wait = || -> std::io::Result<()> {
            let runtime = Builder::new_current_thread().enable_all().build()?;
            runtime.block_on(interrupted())
        };
        wait().map_err(|e| Fault::new(format!("Ctrl-C can't be waited for: {e}")))
    }
}

impl Drop for Preview {
    fn drop(&mut self) {
        self.desk.watch.stop();
        if let Some(stop) = self.stop.take() {
            let _ = stop.send(());
        }
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

#[cfg(unix)]
async fn interrupted() -> std::io::Result<()> {
    use tokio::signal::unix::{SignalKind, signal};
    let mut ends = [
        signal(SignalKind::interrupt())?,
        signal(SignalKind::terminate())?,
        signal(SignalKind::hangup())?,
    ];
    let [interrupt, terminate, hangup] = &mut ends;
    tokio::select! {
        _ = interrupt.recv() => {}
        _ = terminate.recv() => {}
        _ = hangup.recv() => {}
    }
    Ok(())
}

#[cfg(not(unix))]
async fn interrupted() -> std::io::Result<()> {
    tokio::signal::ctrl_c().await
}

fn serve(
    runtime: &Runtime,
    listener: TcpListener,
    desk: Arc<Desk>,
    stopped: oneshot::Receiver<()>,
) {
    runtime.block_on(async {
        let Ok(listener) = tokio::net::TcpListener::from_std(listener) else {
            return;
        };
        let sweeper = Arc::clone(&desk);
        tokio::spawn(async move {
            loop {
                tokio::time::sleep(SWEEP).await;
                sweeper.forget(sweeper.sessions.sweep());
            }
        });
        tokio::select! {
            () = accept(&listener, &desk) => {}
            _ = stopped => {}
        }
    });
}

async fn accept(listener: &tokio::net::TcpListener, desk: &Arc<Desk>) {
    let places = Arc::new(Semaphore::new(MOST_CONNECTIONS));
    loop {
        let (stream, from) = match listener.accept().await {
            Ok(accepted) => accepted,
            Err(_) => {
                // No file handle free, or the caller gone: the next one may fare better.
                tokio::time::sleep(Duration::from_millis(50)).await;
                continue;
            }
        };
        let Ok(place) = Arc::clone(&places).try_acquire_owned() else {
            continue;
        };
        if !is_near(from) {
            continue;
        }
        let _ = stream.set_nodelay(true);
        let desk = Arc::clone(desk);
        tokio::spawn(async move {
            let service = service_fn(|request| answer(Arc::clone(&desk), request));
            let connection = http1::Builder::new()
                .timer(TokioTimer::new())
                .header_read_timeout(HEAD_TIME)
                .max_buf_size(HEAD_BYTES)
                .serve_connection(TokioIo::new(Patient::new(stream, READ_TIME)), service);
            // A page that goes away in the middle is no trouble.
            let _ = connection.await;
            drop(place);
        });
    }
}

fn is_near(from: SocketAddr) -> bool {
    from.ip().is_loopback()
}
