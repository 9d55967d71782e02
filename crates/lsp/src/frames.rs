//! What the client sends, message by message.
//!
//! tower-lsp stops at the first message that it cannot read, and the server with it. So each is read here before it is
//! handed on, and in the place of one that cannot be read goes what is known of it: whom to answer, and of which document
//! an edit is lost.

use std::borrow::Cow;

use bytes::{Buf as _, BytesMut};
use memchr::memmem;
use serde::Deserialize;
use serde_json::{Value, json};
use tower_lsp::jsonrpc::{Error, ErrorCode, Id, Request, Response};

/// The method of the message that stands for one that cannot be read.
const UNREADABLE: &str = "barm/unreadable";
const LENGTH: &str = "Content-Length";
/// More headers than any client sends.
const HEADERS: usize = 16;

/// A message as tower-lsp reads it.
#[derive(Deserialize)]
#[serde(untagged)]
enum Message {
    Response(#[expect(dead_code, reason = "read to see that it can be")] Response),
    Request(#[expect(dead_code, reason = "read to see that it can be")] Request),
}

/// What is known of a message that cannot be read.
#[derive(Debug, Default, Deserialize, PartialEq)]
#[serde(default)]
pub(crate) struct Unreadable {
    /// Empty where that is not known either.
    pub(crate) method: String,
    /// The document that it is about.
    pub(crate) uri: Option<String>,
    pub(crate) why: String,
    /// It is no message at all, and not only none of this protocol.
    no_json: bool,
}

impl Unreadable {
    /// What a message stands for, if it stands for one that cannot be read.
    pub(crate) fn of(request: &Request) -> Option<Self> {
        let params = request.params().filter(|_| request.method() == UNREADABLE)?;
        Self::deserialize(params).ok()
    }

    /// What whoever asked is told.
    pub(crate) fn error(&self) -> Error {
        let code = if self.no_json { ErrorCode::ParseError } else { ErrorCode::InvalidRequest };
        Error {
            code,
            message: Cow::Owned(format!("not a message that can be read: {}", self.why)),
            data: None,
        }
    }

    /// The message in whose place `self` goes: answered where it may have asked something.
    fn into_message(self, id: Option<Id>) -> Vec<u8> {
        let Self { method, uri, why, no_json } = self;
        let params = json!({"method": method, "uri": uri, "why": why, "no_json": no_json});
        let message = Request::build(UNREADABLE).params(params);
        let message = id.into_iter().fold(message, tower_lsp::jsonrpc::RequestBuilder::id).finish();
        message.to_string().into_bytes()
    }
}

/// What came from the client and was not handed on.
#[derive(Debug, Default)]
pub(crate) struct Frames {
    bytes: BytesMut,
    /// How long the message is whose headers were read.
    length: Option<usize>,
    /// Bytes were passed over that belong to no message.
    astray: bool,
}

impl Frames {
    /// Takes in what came.
    pub(crate) fn take(&mut self, bytes: &[u8]) {
        self.bytes.extend_from_slice(bytes);
    }

    /// The next message that came whole, framed, as tower-lsp can read it.
    pub(crate) fn next(&mut self) -> Option<BytesMut> {
        let body = loop {
            match self.length {
                Some(length) if self.bytes.len() < length => return None,
                Some(length) => {
                    self.length = None;
                    break readable(self.bytes.split_to(length));
                }
                None => {
                    if let Some(message) = self.headers()? {
                        break message;
                    }
                }
            }
        };
        let mut framed = BytesMut::from(&*format!("{LENGTH}: {}\r\n\r\n", body.len()));
        framed.extend_from_slice(&body);
        Some(framed)
    }

    /// Reads the headers of the next message: `None` where more has to come first, and what is told where they are none.
    fn headers(&mut self) -> Option<Option<BytesMut>> {
        if !self.astray {
            match length(&self.bytes) {
                Ok((headers, length)) => {
                    self.bytes.advance(headers);
                    self.length = Some(length);
                    return Some(None);
                }
                Err(None) => return None,
                Err(Some(why)) => {
                    self.astray = true;
                    self.bytes.advance(1);
                    let unreadable = Unreadable { why, no_json: true, ..Unreadable::default() };
                    return Some(Some(BytesMut::from(&*unreadable.into_message(Some(Id::Null)))));
                }
            }
        }
        // Headers that cannot be read are told once, and passed over up to the next that may be some.
        let next = memmem::find(&self.bytes, LENGTH.as_bytes());
        let passed = next.unwrap_or(self.bytes.len().saturating_sub(LENGTH.len() - 1));
        self.bytes.advance(passed);
        self.astray = next.is_none();
        next.map(|_| None)
    }
}

/// How long the headers are that some bytes begin with, and the message after them; `Err(None)` where more has to come.
fn length(bytes: &[u8]) -> Result<(usize, usize), Option<String>> {
    let mut headers = [httparse::EMPTY_HEADER; HEADERS];
    let read = httparse::parse_headers(bytes, &mut headers);
    let httparse::Status::Complete((end, headers)) = read.map_err(|why| Some(why.to_string()))? else {
        return Err(None);
    };
    let header = headers.iter().find(|header| header.name.eq_ignore_ascii_case(LENGTH));
    let value = header.map(|header| String::from_utf8_lossy(header.value));
    let length = value.as_ref().and_then(|value| value.trim().parse().ok());
    let said = || value.map_or_else(|| format!("no {LENGTH}"), |value| format!("{LENGTH} is `{value}`"));
    Ok((end, length.ok_or_else(|| Some(said()))?))
}

/// A message as it is, if tower-lsp can read it; otherwise what is known of it.
fn readable(body: BytesMut) -> BytesMut {
    let Err(why) = read(&body) else { return body };
    if let Some(mended) = without_half_characters(&body).filter(|mended| read(mended).is_ok()) {
        return mended;
    }
    let text = String::from_utf8_lossy(&body);
    let Head { id, method } = serde_json::from_str(&text).unwrap_or_default();
    let About { params: Params { document: Document { uri } } } =
        serde_json::from_str(&text).unwrap_or_default();
    // Whoever asked waits. Nobody does for a notification, and what has a name but no method is an answer.
    let id = match (&method, id) {
        (Some(_), id) => id.map(|id| Id::deserialize(id).unwrap_or_default()),
        (None, Some(_)) => None,
        (None, None) => Some(Id::Null),
    };
    let method = method.unwrap_or_default();
    let unreadable = Unreadable { method, uri, why: why.to_string(), no_json: !why.is_data() };
    BytesMut::from(&*unreadable.into_message(id))
}

/// Whom to answer.
#[derive(Default, Deserialize)]
struct Head {
    id: Option<Value>,
    method: Option<String>,
}

/// Which document a message is about.
#[derive(Default, Deserialize)]
struct About {
    params: Params,
}

#[derive(Default, Deserialize)]
struct Params {
    #[serde(rename = "textDocument")]
    document: Document,
}

#[derive(Default, Deserialize)]
struct Document {
    uri: Option<String>,
}

/// A message whose half characters are U+FFFD, which counts as much in every encoding. Some editors send halves of what
/// UTF-16 writes as two, where an edit goes between them; no text in UTF-8 can hold one.
fn without_half_characters(body: &[u8]) -> Option<BytesMut> {
    let mut mended = BytesMut::from(body);
    let mut at = 0;
    while let Some(found) = memchr::memchr(b'\\', body.get(at..)?) {
        at += found;
        at += match (utf16(body, at), utf16(body, at + ESCAPE)) {
            (Some(0xD800..0xDC00), Some(0xDC00..0xE000)) => 2 * ESCAPE,
            (Some(0xD800..0xE000), _) => {
                mended.get_mut(at..at + ESCAPE)?.copy_from_slice(b"\\ufffd");
                ESCAPE
            }
            (Some(_), _) => ESCAPE,
            // Another escape, of a letter or a sign.
            (None, _) => 2,
        };
    }
    Some(mended)
}

/// How long `\u0000` is.
const ESCAPE: usize = 6;

/// The unit of UTF-16 that is written there.
fn utf16(body: &[u8], at: usize) -> Option<u16> {
    let digits = body.get(at..at + ESCAPE)?.strip_prefix(b"\\u")?;
    u16::from_str_radix(std::str::from_utf8(digits).ok()?, 16).ok()
}

/// Whether tower-lsp can read a message, or what hinders it.
fn read(body: &[u8]) -> Result<(), serde_json::Error> {
    match serde_json::from_slice::<Message>(body) {
        Ok(_) => Ok(()),
        // What is said of several shapes tells nothing of the one that was meant.
        Err(why) => Err(serde_json::from_slice::<Request>(body).err().unwrap_or(why)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What comes of bytes that come in pieces of some length.
    fn read_in(bytes: &[u8], pieces: usize) -> Vec<String> {
        let mut frames = Frames::default();
        let mut out = Vec::new();
        for piece in bytes.chunks(pieces) {
            frames.take(piece);
            out.extend(std::iter::from_fn(|| frames.next()));
        }
        let body = |framed: BytesMut| {
            let text = String::from_utf8(framed.to_vec()).unwrap();
            let (head, body) = text.split_once("\r\n\r\n").unwrap();
            assert_eq!(head, format!("Content-Length: {}", body.len()));
            body.to_owned()
        };
        out.into_iter().map(body).collect()
    }

    fn framed(body: impl AsRef<[u8]>) -> Vec<u8> {
        let body = body.as_ref();
        [format!("Content-Length: {}\r\n\r\n", body.len()).as_bytes(), body].concat()
    }

    /// What comes of a message that nobody can read: who is answered, and what is known.
    fn unreadable(body: impl AsRef<[u8]>) -> (Option<Id>, Unreadable) {
        let read = read_in(&framed(body), usize::MAX);
        let [message] = &*read else { panic!("{read:?}") };
        let request: Request = serde_json::from_str(message).unwrap();
        (request.id().cloned(), Unreadable::of(&request).unwrap())
    }

    const HOVER: &str =
        r#"{"jsonrpc":"2.0","id":1,"method":"textDocument/hover","params":{"textDocument":{"uri":"a"}}}"#;
    const ANSWER: &str = r#"{"jsonrpc":"2.0","id":"ours","result":[null,"🍺 \ud83c\udf7a \\ud83c"]}"#;

    #[test]
    fn what_can_be_read_is_handed_on_as_it_came_in_whatever_pieces() {
        let odd = format!(
            "content-length:{}\r\nContent-Type: application/x; charset=utf8\r\nX: y\r\n\r\n{HOVER}",
            HOVER.len()
        );
        let all = [framed(HOVER), framed(ANSWER), odd.into_bytes(), framed(HOVER)].concat();
        for pieces in [1, 2, 3, 7, 20, 64, all.len()] {
            assert_eq!(read_in(&all, pieces), [HOVER, ANSWER, HOVER, HOVER], "in pieces of {pieces}");
        }
    }

    #[test]
    fn what_cannot_be_read_is_told_and_what_comes_after_it_is_read() {
        let strays: [&[u8]; 6] = [
            b"Content-Length: many\r\n\r\n",
            b"Content-Length: -3\r\n\r\n",
            b"Length: 3\r\n\r\n{}\n",
            b"no message\r\n\r\nat all\r\n",
            b"\xff\xfe\r\n\r\n",
            b"Content-Length: 0\r\n\r\n",
        ];
        for stray in strays {
            let all = [&framed(HOVER), stray, &framed(HOVER)].concat();
            for pieces in [1, 5, all.len()] {
                let read = read_in(&all, pieces);
                assert_eq!(read.len(), 3, "{}, in pieces of {pieces}: {read:?}", stray.escape_ascii());
                assert_eq!([&*read[0], &*read[2]], [HOVER, HOVER]);
                let told: Request = serde_json::from_str(&read[1]).unwrap();
                assert_eq!(told.id(), Some(&Id::Null));
                assert!(Unreadable::of(&told).is_some());
            }
        }
    }

    #[test]
    fn of_a_message_that_cannot_be_read_is_known_what_can_be() {
        let known = |body: &[u8]| {
            let (id, Unreadable { method, uri, why, .. }) = unreadable(body);
            let id = id.map_or("nobody".to_owned(), |id| id.to_string());
            assert!(!why.is_empty());
            format!("{id}: {method} {}", uri.unwrap_or_default())
        };
        let deep = format!(
            r#"{{"jsonrpc":"2.0","id":7,"method":"m","params":{}1{}}}"#,
            "[".repeat(200),
            "]".repeat(200)
        );
        for (body, expected) in [
            (&b"{not json"[..], "null:  "),
            (b"[]", "null:  "),
            (br#"{"jsonrpc":"1.0","id":"x","method":"m"}"#, "\"x\": m "),
            (br#"{"jsonrpc":"2.0","id":1.5,"method":"m"}"#, "null: m "),
            (br#"{"jsonrpc":"2.0","method":"m","params":{"textDocument":{"uri":"a"},"x":1e999}}"#, "nobody: m a"),
            (br#"{"jsonrpc":"2.0","id":3,"method":"m","params":{"textDocument":5,"x":1e999}}"#, "3: m "),
            (b"{\"jsonrpc\":\"2.0\",\"id\":4,\"method\":\"m\",\"params\":{\"textDocument\":{\"uri\":\"a\"},\"x\":\"\xff\"}}", "4: m a"),
            (br#"{"jsonrpc":"3.0","id":4,"result":null}"#, "nobody:  "),
            (deep.as_bytes(), "7: m "),
        ] {
            assert_eq!(known(body), expected, "{}", body.escape_ascii());
        }
    }

    #[test]
    fn half_a_character_takes_the_place_it_had() {
        let with = |text: &str| format!(r#"{{"jsonrpc":"2.0","method":"m","params":["{text}"]}}"#);
        for (sent, read) in [
            (r"\ud83c", r"\ufffd"),
            (r"\udf7a\ud83c", r"\ufffd\ufffd"),
            (r"\uD83C\uDF7A\ud83c", r"\uD83C\uDF7A\ufffd"),
            (r"\\ud83c \ud83c\n", r"\\ud83c \ufffd\n"),
        ] {
            assert_eq!(read_in(&framed(with(sent)), usize::MAX), [with(read)]);
        }
    }
}
