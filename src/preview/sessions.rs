//! Page loads: each has a token, which every request for data must carry. Their number is bounded.

use std::collections::BTreeMap;
use std::fmt::Write;
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use crate::shop::watch::DeskId;

/// The most page loads that are known at a time.
pub const MOST_SESSIONS: usize = 16;

/// The most event streams of one page load.
const MOST_STREAMS: usize = 4;

/// A page load without an event stream is forgotten after this time.
const FORGOTTEN: Duration = Duration::from_secs(30 * 60);

/// Random bytes of a token.
const TOKEN_BYTES: usize = 16;

struct Session {
    desk: DeskId,
    streams: usize,
    seen: Instant,
}

#[derive(Default)]
struct Known {
    by_token: BTreeMap<String, Session>,
    last: DeskId,
}

/// See the module.
#[derive(Default)]
pub struct Sessions {
    known: Mutex<Known>,
}

/// A page load that was let go.
pub type Gone = Vec<DeskId>;

impl Sessions {
    fn lock(&self) -> MutexGuard<'_, Known> {
        self.known.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// A new page load: its token, and those that had to go for it. None where the system gives no random bytes.
    pub fn open(&self) -> Option<(String, Gone)> {
        let mut random = [0u8; TOKEN_BYTES];
        getrandom::fill(&mut random).ok()?;
        let mut token = String::new();
        for byte in random {
            // Writing to a String never fails.
            let _ = write!(token, "{byte:02x}");
        }
        let mut gone = self.sweep();
        let mut known = self.lock();
        while known.by_token.len() >= MOST_SESSIONS {
            // One that nobody listens to goes before one that is looked at; then the one not seen for longest.
            let oldest = known
                .by_token
                .iter()
                .min_by_key(|(_, s)| (s.streams > 0, s.seen));
            let Some(oldest) = oldest.map(|(token, _)| token.clone()) else {
                break;
            };
            gone.extend(known.by_token.remove(&oldest).map(|s| s.desk));
        }
        known.last += 1;
        let session = Session {
            desk: known.last,
            streams: 0,
            seen: Instant::now(),
        };
        known.by_token.insert(token.clone(), session);
        Some((token, gone))
    }

    /// The page load that a token belongs to.
    pub fn find(&self, token: &str) -> Option<DeskId> {
        let mut known = self.lock();
        let session = known.by_token.get_mut(token)?;
        session.seen = Instant::now();
        Some(session.desk)
    }

    /// Whether a page load is still known.
    pub fn knows(&self, token: &str) -> bool {
        self.lock().by_token.contains_key(token)
    }

    /// An event stream begins; not where there are too many.
    pub fn begin_stream(&self, token: &str) -> bool {
        match self.lock().by_token.get_mut(token) {
            Some(session) if session.streams < MOST_STREAMS => {
                session.streams += 1;
                true
            }
            _ => false,
        }
    }

    /// An event stream has ended.
    pub fn end_stream(&self, token: &str) {
        if let Some(session) = self.lock().by_token.get_mut(token) {
            session.streams = session.streams.saturating_sub(1);
            session.seen = Instant::now();
        }
    }

    /// Lets those go that nobody has listened to for long.
    pub fn sweep(&self) -> Gone {
        let mut gone = Vec::new();
        self.lock().by_token.retain(|_, s| {
            let kept = s.streams > 0 || s.seen.elapsed() < FORGOTTEN;
            if !kept {
                gone.push(s.desk);
            }
            kept
        });
        gone
    }
}
