//! Rate limits: buckets with their headers, the limit over all routes, and whether a 429 is obeyed.

use std::collections::{BTreeMap, VecDeque};
use std::time::{Duration, Instant};

use regex::Regex;

use super::call::Call;
use super::reply::Reply;
use super::time;
use super::world::World;

/// A limit that a test switched on for some routes.
struct Rule {
    method: String,
    path: Regex,
    limit: usize,
    window: Duration,
}

/// A route that is closed after a 429.
#[derive(Clone, Copy)]
struct Closed {
    since: Instant,
    until: Instant,
}

/// What the fake keeps to judge the pace of requests.
#[derive(Default)]
pub struct Pace {
    rules: Vec<Rule>,
    buckets: BTreeMap<String, (Instant, usize)>,
    arrivals: VecDeque<Instant>,
    closed: BTreeMap<String, Closed>,
    invalid: usize,
    busiest: usize,
}

/// Key under which a 429 over all routes is kept.
const EVERYWHERE: &str = "*";

impl Pace {
    /// Switches a limit on; every channel, guild or webhook has its own count.
    pub fn limit(&mut self, method: &str, path: Regex, limit: usize, window: Duration) {
        self.rules.push(Rule {
            method: method.to_owned(),
            path,
            limit,
            window,
        });
    }

    /// Invalid requests so far (401, 403, 429 that were not shared).
    pub fn invalid(&self) -> usize {
        self.invalid
    }

    /// Most requests ever seen within one second.
    pub fn busiest(&self) -> usize {
        self.busiest
    }

    fn rule(&self, call: &Call) -> Option<(usize, usize, Duration)> {
        let fits = |rule: &Rule| {
            (rule.method == "*" || rule.method == call.method) && rule.path.is_match(&call.path)
        };
        let at = self.rules.iter().position(fits)?;
        Some((at, self.rules[at].limit, self.rules[at].window))
    }

    /// Counts a request in its bucket; `Err` holds the time until the bucket opens again.
    fn count(&mut self, call: &Call) -> Result<(), f64> {
        let Some((at, limit, window)) = self.rule(call) else {
            return Ok(());
        };
        let bucket = self
            .buckets
            .entry(format!("{at}/{}", major(&call.path)))
            .or_insert((call.at, 0));
        if call.at.duration_since(bucket.0) >= window {
            *bucket = (call.at, 0);
        }
        if bucket.1 >= limit {
            return Err(window
                .saturating_sub(call.at.duration_since(bucket.0))
                .as_secs_f64());
        }
        bucket.1 += 1;
        Ok(())
    }

    /// The headers that tell a client its bucket (Discord developer documentation, Rate Limits).
    pub fn headers(&self, call: &Call) -> Vec<(String, String)> {
        let (limit, left, wait) = self.standing(call);
        let reset = Duration::from_millis(time::now_millis()).as_secs_f64() + wait;
        let name = route(call)
            .bytes()
            .fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| {
                (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
            });
        vec![
            ("x-ratelimit-bucket".into(), format!("{name:016x}")),
            ("x-ratelimit-limit".into(), limit.to_string()),
            ("x-ratelimit-remaining".into(), left.to_string()),
            ("x-ratelimit-reset".into(), format!("{reset:.3}")),
            ("x-ratelimit-reset-after".into(), format!("{wait:.3}")),
        ]
    }

    /// Limit, rest and seconds until reset; a route without a rule has plenty.
    fn standing(&self, call: &Call) -> (usize, usize, f64) {
        let Some((at, limit, window)) = self.rule(call) else {
            return (1000, 999, 1.0);
        };
        let (opened, used) = self
            .buckets
            .get(&format!("{at}/{}", major(&call.path)))
            .copied()
            .unwrap_or((call.at, 0));
        let wait = window.saturating_sub(opened.elapsed()).as_secs_f64();
        (limit, limit.saturating_sub(used), wait)
    }
}

impl World {
    /// Judges the pace of a request; the answer is there if it is turned away.
    pub fn admit(&mut self, call: &Call) -> Option<Reply> {
        let part = call.path.split('/').nth(1);
        // "Interaction endpoints are not bound to the bot's Global Rate Limit" (Rate Limits, Global Rate Limit).
        let bound = !matches!(part, Some("interactions" | "webhooks"));
        let mut refusal = self.judge_obedience(call, &route(call), "user");
        if bound && refusal.is_none() {
            refusal = self.judge_obedience(call, EVERYWHERE, "global");
        }
        if bound && refusal.is_none() {
            refusal = self.judge_rush(call);
        }
        refusal.or_else(|| {
            let wait = self.pace.count(call).err()?;
            Some(Reply::too_many(wait, "user"))
        })
    }

    /// A request while its route is closed is turned away, and a breach unless it was under way already.
    fn judge_obedience(&mut self, call: &Call, key: &str, scope: &str) -> Option<Reply> {
        let closed = *self.pace.closed.get(key)?;
        if call.at >= closed.until {
            self.pace.closed.remove(key);
            return None;
        }
        let early = closed.until.saturating_duration_since(call.at);
        if call.at >= closed.since + self.settings.limits.grace {
            let title = call.title();
            self.breach(format!(
                "{title}: sent {early:?} before the Retry-After of {key} had passed"
            ));
        }
        Some(Reply::too_many(early.as_secs_f64(), scope))
    }

    /// The limit over all routes (Discord developer documentation, Rate Limits, Global Rate Limit).
    fn judge_rush(&mut self, call: &Call) -> Option<Reply> {
        let ceiling = self.settings.limits.requests_per_second;
        let second = Duration::from_secs(1);
        let arrivals = &mut self.pace.arrivals;
        arrivals.push_back(call.at);
        while arrivals
            .front()
            .is_some_and(|first| call.at.saturating_duration_since(*first) >= second)
        {
            arrivals.pop_front();
        }
        let count = arrivals.len();
        self.pace.busiest = self.pace.busiest.max(count);
        if count <= ceiling {
            return None;
        }
        self.breach(format!(
            "{}: request {count} within one second, {ceiling} allowed",
            call.title()
        ));
        Some(Reply::too_many(1.0, "global"))
    }

    /// Keeps what an answer means for the requests after it.
    pub fn note_answer(&mut self, call: &Call, reply: &Reply) {
        let shared = reply
            .headers
            .iter()
            .any(|(name, value)| name == "x-ratelimit-scope" && value == "shared");
        if matches!(reply.status, 401 | 403) || reply.status == 429 && !shared {
            self.pace.invalid += 1;
            let (count, ceiling) = (self.pace.invalid, self.settings.limits.invalid_requests);
            if count > ceiling {
                self.breach(format!(
                    "{}: invalid request {count}, {ceiling} allowed",
                    call.title()
                ));
            }
        }
        if reply.status == 429 {
            self.close_route(call, reply);
        }
    }

    fn close_route(&mut self, call: &Call, reply: &Reply) {
        let told = reply
            .headers
            .iter()
            .filter(|(name, _)| name == "retry-after");
        let Some(seconds) = told
            .filter_map(|(_, value)| value.parse().ok())
            .reduce(f64::max)
        else {
            return;
        };
        let global = reply
            .headers
            .iter()
            .any(|(name, _)| name == "x-ratelimit-global");
        let key = if global {
            EVERYWHERE.to_owned()
        } else {
            route(call)
        };
        let since = Instant::now();
        let until = since + Duration::from_secs_f64(seconds);
        let closed = Closed { since, until };
        self.pace.closed.entry(key).or_insert(closed);
    }
}

/// A path with every id but the major one taken out, after the method.
fn route(call: &Call) -> String {
    let plain = |(at, part): (usize, &str)| {
        let secret = at == 3
            && matches!(
                call.path.split('/').nth(1),
                Some("webhooks" | "interactions")
            );
        let id = at > 2 && part.parse::<u64>().is_ok();
        if id || secret {
            "{}".to_owned()
        } else {
            part.to_owned()
        }
    };
    let parts: Vec<_> = call.path.split('/').enumerate().map(plain).collect();
    format!("{} {}", call.method, parts.join("/"))
}

/// The channel, guild or webhook a path is about.
fn major(path: &str) -> &str {
    path.split('/').nth(2).unwrap_or_default()
}
