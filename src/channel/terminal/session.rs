//! One sitting at the terminal: come back or begin, then reply and answer in turn.

use super::input::{Input, PROMPT, Pick, Said};
use super::offer::{Awaits, Offer};
use super::render::{Page, join, offered, render, render_again, render_lines};
use super::{Setting, TerminalError, address, words};
use crate::conversation::event::Incoming;
use crate::desk::{Answer, Desk, Dialogue, Message, Standing, asks_consent};
use crate::reply::{Phase, Reply};
use crate::store::Outgoing;
use crate::store::name::Status;
use std::io::Write;
use tokio::runtime::{self, Runtime};

/// The id of the choice to go on with an unfinished conversation.
const GO_ON: &str = "go-on";
/// The id of the choice to leave it and begin another.
const ANEW: &str = "anew";
/// What also means to go on.
const GO_ON_WORDS: [&str; 5] = ["yes", "y", "ok", "go on", "continue"];
/// What also means to begin another.
const ANEW_WORDS: [&str; 3] = ["new", "anew", "start over"];
/// What could be meant for the choice or for the question on the table.
const UNCLEAR_WORDS: [&str; 2] = ["no", "n"];

/// Asks how the page is set, each time, since a window can be resized.
type Pages<'a> = Box<dyn Fn() -> Page + 'a>;

/// A rider at a terminal.
pub struct Session<'a, D, I, W> {
    desk: &'a Desk<D>,
    setting: &'a Setting,
    input: I,
    out: W,
    page: Pages<'a>,
    runtime: Runtime,
}

impl<'a, D: Dialogue, I: Input, W: Write> Session<'a, D, I, W> {
    /// A sitting that has not begun.
    pub fn new(
        desk: &'a Desk<D>,
        setting: &'a Setting,
        input: I,
        out: W,
        page: Pages<'a>,
    ) -> Result<Self, TerminalError> {
        let runtime = runtime::Builder::new_current_thread().build()?;
        Ok(Self {
            desk,
            setting,
            input,
            out,
            page,
            runtime,
        })
    }

    /// Holds the conversation until it ends or the rider leaves.
    pub fn hold(mut self) -> Result<(), TerminalError> {
        self.catch_up()?;
        let standing = self.runtime.block_on(self.desk.standing(&address()))?;
        let reply = match standing {
            Some(standing) if matches!(standing.status, Status::Unfinished | Status::Resting) => {
                self.come_back(standing)?
            }
            _ => Some(self.begin()?),
        };
        match reply {
            Some(reply) => self.converse(reply),
            None => self.leave(),
        }
    }

    /// Shows answers that were kept but never shown. What an unfinished conversation was about to
    /// say is shown by coming back to it, so only last words are repeated.
    fn catch_up(&mut self) -> Result<(), TerminalError> {
        let unsent = self.runtime.block_on(self.desk.unsent())?;
        for outgoing in unsent.iter().filter(|unsent| unsent.address == address()) {
            if Status::of(outgoing.reply.phase) == Status::Unfinished {
                self.runtime.block_on(self.desk.sent(outgoing))?;
            } else {
                let text = (self.page)().hang("", words::CUT_OFF);
                self.print(&format!("{text}\n"))?;
                self.show(outgoing)?;
            }
        }
        Ok(())
    }

    fn begin(&mut self) -> Result<Reply, TerminalError> {
        let address = address();
        let opening = self.desk.open(&address, None, &self.setting.terms);
        let outgoing = self.runtime.block_on(opening)?;
        self.show(&outgoing)?;
        Ok(outgoing.reply)
    }

    /// Offers to go on; an answer to the question on the table goes on as well. None if the rider
    /// leaves. From an open danger there is no way around to a new conversation.
    fn come_back(&mut self, standing: Standing) -> Result<Option<Reply>, TerminalError> {
        if standing.reply.phase == Phase::Halted {
            let text = (self.page)().hang("", words::LAST_TIME);
            self.print(&format!("{text}\n"))?;
            return self.go_on(standing).map(Some);
        }
        if standing.turn == 0 {
            // Nothing was said but the greeting.
            return self.go_on(standing).map(Some);
        }
        let offer = Offer::marked(
            vec![vec![(GO_ON, words::GO_ON), (ANEW, words::ANEW)]],
            Awaits::Words,
        );
        self.show_last(&standing, &offer)?;
        loop {
            let Some(incoming) = self.hear(&offer)? else {
                return Ok(None);
            };
            match decide(incoming) {
                Decision::GoOn => {
                    let text = render_again(&standing.reply, (self.page)());
                    self.print(&text)?;
                    return Ok(Some(standing.reply));
                }
                Decision::Unclear => {
                    let text = (self.page)().hang("", words::WHICH);
                    self.print(&format!("{text}\n"))?;
                }
                Decision::Anew => return self.begin().map(Some),
                Decision::Answer(text) => {
                    let incoming = Offer::of(&standing.reply).read(&text);
                    return self.turn(incoming).map(Some);
                }
            }
        }
    }

    fn go_on(&mut self, standing: Standing) -> Result<Reply, TerminalError> {
        let text = render(&standing.reply, (self.page)());
        self.print(&text)?;
        Ok(standing.reply)
    }

    fn show_last(&mut self, standing: &Standing, offer: &Offer) -> Result<(), TerminalError> {
        let page = (self.page)();
        let mut blocks = vec![page.hang("", words::LAST_TIME)];
        blocks.push(render_lines(&standing.reply, page).trim_end().to_owned());
        blocks.extend(offered(offer, page));
        blocks.push(page.hang("", &format!("({})", words::GO_ON_HINT)));
        self.print(&join(&blocks))
    }

    fn converse(mut self, mut reply: Reply) -> Result<(), TerminalError> {
        while reply.phase != Phase::Closed || asks_consent(&reply) {
            match self.hear(&Offer::of(&reply))? {
                Some(incoming) => reply = self.turn(incoming)?,
                None => return self.leave(),
            }
        }
        self.finish()
    }

    /// The next thing the rider says that is not empty; none if they leave.
    fn hear(&mut self, offer: &Offer) -> Result<Option<Incoming>, TerminalError> {
        loop {
            if self.input.attended() {
                writeln!(self.out)?;
                self.out.flush()?;
            }
            let incoming = match self.input.next()? {
                Said::Leaving => return Ok(None),
                Said::Line(line) if line.trim().is_empty() => continue,
                Said::Line(line) => {
                    self.echo(line.trim())?;
                    offer.read(&line)
                }
                Said::Pick(pick) => self.pick(offer, &pick)?,
            };
            return Ok(Some(incoming));
        }
    }

    fn pick(&mut self, offer: &Offer, pick: &Pick) -> Result<Incoming, TerminalError> {
        let (found, typed) = match pick {
            Pick::Nth(n) => (offer.items().nth(n.wrapping_sub(1)), format!("#{n}")),
            Pick::Id(id) => (offer.items().find(|item| item.id == *id), format!("!{id}")),
        };
        let Some(item) = found else {
            let ids: Vec<&str> = offer.items().map(|item| item.id.as_str()).collect();
            let what = format!("{typed} is not on offer; on offer are: {}", ids.join(", "));
            return Err(self.complaint(what));
        };
        let incoming = Incoming::Choose(item.id.clone());
        self.echo(&typed)?;
        Ok(incoming)
    }

    fn complaint(&self, what: String) -> TerminalError {
        let place = self.input.place();
        TerminalError::Script { place, what }
    }

    fn turn(&mut self, incoming: Incoming) -> Result<Reply, TerminalError> {
        let message = Message {
            address: address(),
            rider: None,
            id: None,
            incoming,
        };
        let taking = self.desk.take(message, &self.setting.terms);
        let outgoing = match self.runtime.block_on(taking)? {
            Answer::New(outgoing) => outgoing,
            Answer::Repeat(outgoing) => vec![*outgoing],
        };
        for outgoing in &outgoing {
            self.show(outgoing)?;
        }
        let last = outgoing.into_iter().next_back();
        Ok(last.expect("a message has an answer").reply)
    }

    /// Prints a reply, then takes it out of the outbox.
    fn show(&mut self, outgoing: &Outgoing) -> Result<(), TerminalError> {
        let text = render(&outgoing.reply, (self.page)());
        self.print(&text)?;
        self.runtime.block_on(self.desk.sent(outgoing))?;
        Ok(())
    }

    fn echo(&mut self, typed: &str) -> Result<(), TerminalError> {
        if self.input.echoed() {
            self.print(&format!("{PROMPT}{typed}\n"))?;
        }
        Ok(())
    }

    fn print(&mut self, text: &str) -> Result<(), TerminalError> {
        write!(self.out, "\n{text}")?;
        self.out.flush()?;
        Ok(())
    }

    fn leave(mut self) -> Result<(), TerminalError> {
        if self.input.attended() {
            let text = match &self.setting.folder {
                Some(folder) => words::kept(folder),
                None => words::NOT_KEPT.to_owned(),
            };
            let text = (self.page)().hang("", &text);
            self.print(&format!("{text}\n"))?;
        }
        Ok(())
    }

    /// The conversation is over; a script that goes on after that is wrong.
    fn finish(mut self) -> Result<(), TerminalError> {
        if self.input.echoed() && self.input.next()? != Said::Leaving {
            return Err(self.complaint("the conversation is over before this line".to_owned()));
        }
        Ok(())
    }
}

/// What the rider wants to do about an unfinished conversation.
enum Decision {
    GoOn,
    Anew,
    Unclear,
    Answer(String),
}

fn decide(incoming: Incoming) -> Decision {
    match incoming {
        Incoming::Choose(id) if id == ANEW => Decision::Anew,
        Incoming::Choose(_) => Decision::GoOn,
        Incoming::Text(text) => {
            let said = text.to_lowercase();
            match said.as_str() {
                said if GO_ON_WORDS.contains(&said) => Decision::GoOn,
                said if ANEW_WORDS.contains(&said) => Decision::Anew,
                said if UNCLEAR_WORDS.contains(&said) => Decision::Unclear,
                _ => Decision::Answer(text),
            }
        }
    }
}
