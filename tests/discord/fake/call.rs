//! One request as it arrived: path, query, JSON body and files.

use std::time::Instant;

use percent_encoding::percent_decode_str;
use serde_json::Value;

/// A file sent along.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct File {
    /// `n` of `files[n]`.
    pub index: u64,
    /// Its name.
    pub name: String,
    /// Its media type, if told.
    pub media: Option<String>,
    /// What is in it.
    pub bytes: Vec<u8>,
}

impl File {
    /// Whether people would see it as a picture.
    pub fn is_image(&self) -> bool {
        let name = self.name.to_lowercase();
        let by_name = [".png", ".jpg", ".jpeg", ".gif", ".webp", ".svg"]
            .iter()
            .any(|end| name.ends_with(end));
        by_name
            || self
                .media
                .as_deref()
                .is_some_and(|media| media.starts_with("image/"))
    }
}

/// One request.
#[derive(Clone, Debug)]
pub struct Call {
    /// GET, POST, PATCH, PUT or DELETE.
    pub method: String,
    /// Path after `/api/v10`.
    pub path: String,
    /// Query, decoded, in the order sent.
    pub query: Vec<(String, String)>,
    /// JSON body (of `payload_json` if the body had parts); null if none.
    pub body: Value,
    /// Files of a body with parts.
    pub files: Vec<File>,
    /// Headers by lower-case name.
    pub headers: Vec<(String, String)>,
    /// When it arrived.
    pub at: Instant,
    /// Status of the answer; 0 while there is none, 1 when the connection was cut instead.
    pub status: u16,
    /// What made it unreadable, if it was.
    pub unreadable: Option<String>,
}

impl Call {
    /// Reads a request.
    pub fn read(method: &str, target: &str, headers: Vec<(String, String)>, body: &[u8]) -> Self {
        let (path, query) = target.split_once('?').unwrap_or((target, ""));
        let mut call = Self {
            method: method.to_owned(),
            path: path.strip_prefix("/api/v10").unwrap_or(path).to_owned(),
            query: query
                .split('&')
                .filter(|pair| !pair.is_empty())
                .map(pair)
                .collect(),
            body: Value::Null,
            files: Vec::new(),
            headers,
            at: Instant::now(),
            status: 0,
            unreadable: (!path.starts_with("/api/v10/"))
                .then(|| format!("{path} is not under /api/v10")),
        };
        call.read_body(body);
        call
    }

    /// A header by its lower-case name.
    pub fn header(&self, name: &str) -> Option<&str> {
        self.headers
            .iter()
            .find(|(key, _)| key == name)
            .map(|(_, value)| value.as_str())
    }

    /// A value of the query.
    pub fn asked(&self, name: &str) -> Option<&str> {
        self.query
            .iter()
            .find(|(key, _)| key == name)
            .map(|(_, value)| value.as_str())
    }

    /// Method and path, for messages.
    pub fn title(&self) -> String {
        format!("{} {}", self.method, self.path)
    }

    fn read_body(&mut self, body: &[u8]) {
        let media = self.header("content-type").unwrap_or_default().to_owned();
        if let Some(boundary) = media
            .split("boundary=")
            .nth(1)
            .filter(|_| media.starts_with("multipart/"))
        {
            self.read_parts(body, boundary.trim_matches('"'));
        } else if !body.is_empty() {
            self.read_json(body);
        }
    }

    fn read_json(&mut self, text: &[u8]) {
        match serde_json::from_slice(text) {
            Ok(value) => self.body = value,
            Err(error) => self.unreadable = Some(format!("body is not JSON: {error}")),
        }
    }

    fn read_parts(&mut self, body: &[u8], boundary: &str) {
        let mark = format!("--{boundary}");
        for part in split(body, mark.as_bytes()).into_iter().skip(1) {
            let Some(end) = find(part, b"\r\n\r\n") else {
                continue;
            };
            let head = String::from_utf8_lossy(&part[..end]).into_owned();
            let content = part[end + 4..]
                .strip_suffix(b"\r\n")
                .unwrap_or(&part[end + 4..]);
            self.read_part(&head, content);
        }
    }

    fn read_part(&mut self, head: &str, content: &[u8]) {
        let name = quoted(head, " name=\"").unwrap_or_default();
        if name == "payload_json" {
            return self.read_json(content);
        }
        let index = name
            .strip_prefix("files[")
            .and_then(|rest| rest.strip_suffix(']'))
            .and_then(|n| n.parse().ok());
        let Some(index) = index else {
            self.unreadable = Some(format!(
                "part named {name:?} is neither payload_json nor files[n]"
            ));
            return;
        };
        self.files.push(File {
            index,
            name: quoted(head, "filename=\"").unwrap_or_default(),
            media: head.lines().find_map(|line| {
                let (key, value) = line.split_once(':')?;
                key.eq_ignore_ascii_case("content-type")
                    .then(|| value.trim().to_owned())
            }),
            bytes: content.to_vec(),
        });
    }
}

fn pair(text: &str) -> (String, String) {
    let (key, value) = text.split_once('=').unwrap_or((text, ""));
    let decoded = |part: &str| percent_decode_str(part).decode_utf8_lossy().into_owned();
    (decoded(key), decoded(value))
}

fn quoted(head: &str, mark: &str) -> Option<String> {
    Some(head.split_once(mark)?.1.split_once('"')?.0.to_owned())
}

fn find(text: &[u8], wanted: &[u8]) -> Option<usize> {
    text.windows(wanted.len())
        .position(|window| window == wanted)
}

fn split<'a>(mut text: &'a [u8], mark: &[u8]) -> Vec<&'a [u8]> {
    let mut parts = Vec::new();
    while let Some(at) = find(text, mark) {
        parts.push(&text[..at]);
        text = &text[at + mark.len()..];
    }
    parts.push(text);
    parts
}
