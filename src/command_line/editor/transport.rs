//! Messages over standard input and output. Framing as the protocol has it; what is no message is passed over, so that it ends
//! nothing.

use lsp_server::{Connection, Message};
use std::io::{self, BufRead, Read, Write};
use std::thread::{self, JoinHandle};

/// No message is longer, in bytes: several times the largest file with all that is found in it.
const LONGEST: usize = 64 << 20;
/// No header of a message is longer, in bytes.
const LONGEST_HEADER: u64 = 4096;

/// The threads that read and write.
pub(super) struct Talk {
    writer: Option<JoinHandle<()>>,
}

impl Talk {
    /// Waits until everything is written. The one that reads waits for an editor that may never close the pipe, and ends with
    /// the program.
    pub(super) fn finish(self) {
        if let Some(writer) = self.writer {
            // What went wrong there can be told to nobody.
            let _ = writer.join();
        }
    }
}

/// Begins to read and write.
pub(super) fn open() -> (Connection, Talk) {
    let (inner, outer) = Connection::memory();
    let Connection { sender, receiver } = outer;
    let reader = thread::Builder::new().name("reader".to_owned()).spawn(move || {
        let mut input = io::stdin().lock();
        while let Ok(Some(message)) = read(&mut input) {
            let is_last = matches!(&message, Message::Notification(note) if note.method == "exit");
            if sender.send(message).is_err() || is_last {
                return;
            }
        }
    });
    let writer = thread::Builder::new().name("writer".to_owned()).spawn(move || {
        let mut output = io::stdout().lock();
        for message in receiver {
            if message.write(&mut output).is_err() {
                return;
            }
        }
        let _ = output.flush();
    });
    drop(reader);
    (inner, Talk { writer: writer.ok() })
}

/// The next message; `None` at the end. Content that is no message is passed over.
///
/// # Errors
/// When nothing more can be read, or when it is not known where the next message begins.
fn read(input: &mut dyn BufRead) -> io::Result<Option<Message>> {
    loop {
        let Some(length) = header(input)? else { return Ok(None) };
        if length > LONGEST as u64 {
            io::copy(&mut input.take(length), &mut io::sink())?;
            continue;
        }
        let mut content = Vec::new();
        if input.take(length).read_to_end(&mut content)? < length as usize {
            return Ok(None);
        }
        if let Ok(message) = serde_json::from_slice(&content) {
            return Ok(Some(message));
        }
    }
}

/// The length of the next content; `None` at the end.
fn header(input: &mut dyn BufRead) -> io::Result<Option<u64>> {
    let mut length = None;
    loop {
        let mut line = Vec::new();
        if input.take(LONGEST_HEADER).read_until(b'\n', &mut line)? == 0 {
            return Ok(None);
        }
        let line = String::from_utf8_lossy(&line);
        let line = line.trim();
        match (line.is_empty(), line.split_once(':')) {
            (true, _) if length.is_some() => return Ok(length),
            // Blank lines before a header.
            (true, _) => {}
            (false, Some((name, value))) if name.trim().eq_ignore_ascii_case("content-length") => {
                length = value.trim().parse().ok();
            }
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_message_is_passed_over() {
        let frame = |content: &str| format!("Content-Length: {}\r\n\r\n{content}", content.len());
        let good = frame(r#"{"jsonrpc":"2.0","method":"exit"}"#);
        let odd = format!("content-length:33 \nContent-Type: x\n\n{}", r#"{"jsonrpc":"2.0","method":"exit"}"#);
        let bad = [frame("{"), frame("[1]"), frame("\u{fffd}"), frame("{\"id\":{}}"), "rubbish\r\n\r\n".to_owned()];
        for before in bad {
            let text = format!("{before}{good}{odd}");
            let mut input = text.as_bytes();
            for _ in 0..2 {
                let read = read(&mut input).unwrap();
                assert!(matches!(read, Some(Message::Notification(note)) if note.method == "exit"), "{before}");
            }
            assert!(read(&mut input).unwrap().is_none());
        }
        let mut cut = "Content-Length: 50\r\n\r\n{".as_bytes();
        assert!(read(&mut cut).unwrap().is_none());
    }

    #[test]
    fn what_is_too_long_is_passed_over() {
        let good = "Content-Length: 33\r\n\r\n{\"jsonrpc\":\"2.0\",\"method\":\"exit\"}";
        let head = format!("Content-Length: {}\r\n\r\n", LONGEST + 1);
        let long = io::Cursor::new(head).chain(io::repeat(b' ').take(LONGEST as u64 + 1)).chain(good.as_bytes());
        assert!(read(&mut io::BufReader::new(long)).unwrap().is_some());
    }
}
