//! The stream of events of one page (Server-sent events, as the HTML standard has them).

use std::convert::Infallible;
use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll};
use std::time::Duration;

use hyper::body::{Body, Bytes, Frame};
use tokio::sync::mpsc::{self, Receiver, Sender};

use crate::preview::answer::Desk;
use crate::preview::marks::Mark;
use crate::preview::state;
use crate::shop::watch::DeskId;

/// A word now and then, so that a page that is gone is noticed.
const STILL_HERE: Duration = Duration::from_secs(15);

/// Events that wait for a slow page, at most; the next ones are made from what holds then.
const WAITING: usize = 2;

/// The body of an answer that comes bit by bit.
pub struct Stream(Receiver<Bytes>);

impl Body for Stream {
    type Data = Bytes;
    type Error = Infallible;

    fn poll_frame(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
    ) -> Poll<Option<Result<Frame<Bytes>, Infallible>>> {
        self.0
            .poll_recv(context)
            .map(|bytes| bytes.map(|b| Ok(Frame::data(b))))
    }
}

/// Begins the stream of a page load.
pub fn begin(desk: &Arc<Desk>, token: String, id: DeskId) -> Stream {
    let (to, from) = mpsc::channel(WAITING);
    let desk = Arc::clone(desk);
    tokio::spawn(async move {
        tell(&desk, &token, id, &to).await;
        desk.sessions.end_stream(&token);
    });
    Stream(from)
}

/// Tells a page what happens until it or the server ends.
async fn tell(desk: &Desk, token: &str, id: DeskId, to: &Sender<Bytes>) {
    let mut bell = desk.bell.subscribe();
    let mut sent = Mark {
        // What changed before this page came isn't news to it.
        changed: desk.mark(id).changed,
        ..Mark::default()
    };
    let mut first = true;
    loop {
        bell.mark_unchanged();
        let mark = desk.mark(id);
        let mut events = String::new();
        if first || mark.shown != sent.shown {
            let text = state::state(
                desk.watch.script(),
                &desk.watch.shown(id),
                desk.editor.is_some(),
            );
            event(&mut events, "state", &text);
        }
        if mark.step != sent.step {
            let text = serde_json::json!({ "step": mark.step }).to_string();
            event(&mut events, "progress", &text);
        }
        if mark.changed != sent.changed
            && let Some(changed) = desk.watch.shown(id).change
        {
            event(&mut events, "change", &state::change(&changed));
        }
        (sent, first) = (mark, false);
        if !events.is_empty() && to.send(events.into()).await.is_err() {
            return;
        }
        tokio::select! {
            rung = bell.changed() => if rung.is_err() { return },
            () = to.closed() => return,
            () = tokio::time::sleep(STILL_HERE) => {
                if to.send(Bytes::from_static(b": here\n\n")).await.is_err() {
                    return;
                }
            }
        }
        if !desk.sessions.knows(token) {
            return;
        }
    }
}

/// One event; JSON in one line has no line feed in it.
fn event(out: &mut String, name: &str, json: &str) {
    out.push_str("event: ");
    out.push_str(name);
    out.push_str("\ndata: ");
    out.push_str(json);
    out.push_str("\n\n");
}
