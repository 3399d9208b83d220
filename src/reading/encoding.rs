//! Bytes of a file to text: compression, byte-order marks, UTF-16 and UTF-32, and the one-byte tables of old programs.
//!
//! Bytes that are no UTF-8 are read by the table under which they look most like a laboratory's text: a micro sign before a
//! unit, a degree sign before C, a raised 2 behind cm, letters among letters.

use super::error::{Problem, ReadError};
use super::lines::Lines;
use encoding_rs::{Encoding, MACINTOSH, UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1252};
use flate2::read::MultiGzDecoder;
use std::borrow::Cow;
use std::io::Read;
use std::iter::Peekable;
use std::str::Chars;

/// Bytes of the largest file, unpacked.
const MOST_BYTES: u64 = 2 << 30;

/// The text, and sentences on what was assumed to read it.
pub(super) fn decode<'a>(
    data: &'a [u8],
    named: Option<&str>,
) -> Result<(Cow<'a, str>, Vec<String>), ReadError> {
    let mut notes = Vec::new();
    let data = unpacked(data, &mut notes)?;
    let text = match named {
        Some(name) => by_name(&data, name)?,
        None => guessed(&data, &mut notes)?,
    };
    let text = match (data, text) {
        // The text borrows from what was unpacked here.
        (Cow::Owned(bytes), None) => {
            Cow::Owned(String::from_utf8(bytes).map_err(|_| whole(Problem::Binary))?)
        }
        (Cow::Borrowed(bytes), None) => {
            Cow::Borrowed(std::str::from_utf8(bytes).map_err(|_| whole(Problem::Binary))?)
        }
        (_, Some(text)) => Cow::Owned(text),
    };
    Ok((cleaned(text, &mut notes)?, notes))
}

fn whole(problem: Problem) -> ReadError {
    ReadError::of_file(problem)
}

fn unpacked<'a>(data: &'a [u8], notes: &mut Vec<String>) -> Result<Cow<'a, [u8]>, ReadError> {
    if data.starts_with(b"PK\x03\x04") || data.starts_with(&[0xd0, 0xcf, 0x11, 0xe0]) {
        return Err(whole(Problem::Spreadsheet));
    }
    if data.len() as u64 > MOST_BYTES {
        return Err(whole(Problem::TooLarge));
    }
    if !data.starts_with(&[0x1f, 0x8b]) {
        return Ok(Cow::Borrowed(data));
    }
    let mut out = Vec::new();
    let read = MultiGzDecoder::new(data).take(MOST_BYTES + 1).read_to_end(&mut out);
    match read {
        Ok(n) if n as u64 > MOST_BYTES => Err(whole(Problem::TooLarge)),
        Ok(_) => {
            notes.push("unpacked (gzip)".into());
            Ok(Cow::Owned(out))
        }
        Err(_) => Err(whole(Problem::Compressed)),
    }
}

/// `None` where the bytes are the text already.
fn by_name(data: &[u8], name: &str) -> Result<Option<String>, ReadError> {
    let wrong = || whole(Problem::Encoding { encoding: name.into() });
    let bare = name.trim().to_ascii_lowercase().replace('_', "-");
    let text = match bare.as_str() {
        "utf-32" | "utf-32-le" | "utf-32le" => utf32(without(data, &[0xff, 0xfe, 0, 0]), u32::from_le_bytes),
        "utf-32-be" | "utf-32be" => utf32(without(data, &[0, 0, 0xfe, 0xff]), u32::from_be_bytes),
        "cp850" | "ibm850" | "850" => Some(of_table(data, CP850)),
        "cp437" | "ibm437" | "437" => Some(of_table(data, CP437)),
        _ => {
            let encoding =
                known(&bare).ok_or_else(|| whole(Problem::UnknownEncoding { encoding: name.into() }))?;
            // The bytes of a mark overrule its name: `utf-16` alone does not say which byte comes first.
            let (text, _, bad) = encoding.decode(data);
            (!bad).then(|| text.into_owned())
        }
    };
    text.map(Some).ok_or_else(wrong)
}

fn known(name: &str) -> Option<&'static Encoding> {
    match name {
        "utf-8-sig" | "utf8-sig" => Some(UTF_8),
        "utf-16-le" => Some(UTF_16LE),
        "utf-16-be" => Some(UTF_16BE),
        "mac-roman" | "macroman" => Some(MACINTOSH),
        "cp1252" | "latin-1" | "iso8859-1" => Some(WINDOWS_1252),
        _ => Encoding::for_label(name.as_bytes()),
    }
}

fn without<'a>(data: &'a [u8], mark: &[u8]) -> &'a [u8] {
    data.strip_prefix(mark).unwrap_or(data)
}

fn utf32(data: &[u8], from: fn([u8; 4]) -> u32) -> Option<String> {
    let (words, rest) = data.as_chunks::<4>();
    if !rest.is_empty() {
        return None;
    }
    words.iter().map(|word| char::from_u32(from(*word))).collect()
}

fn guessed(data: &[u8], notes: &mut Vec<String>) -> Result<Option<String>, ReadError> {
    let binary = || whole(Problem::Binary);
    if data.starts_with(&[0xff, 0xfe, 0, 0]) {
        return utf32(&data[4..], u32::from_le_bytes).map(Some).ok_or_else(binary);
    }
    if data.starts_with(&[0, 0, 0xfe, 0xff]) {
        return utf32(&data[4..], u32::from_be_bytes).map(Some).ok_or_else(binary);
    }
    if let Some((encoding, _)) = Encoding::for_bom(data) {
        let (text, _, bad) = encoding.decode(data);
        return if bad { Err(binary()) } else { Ok(Some(text.into_owned())) };
    }
    if let Some(encoding) = wide_without_mark(data) {
        notes.push(format!("read as {}: every other byte is zero", encoding.name()));
        let even = &data[..data.len() & !1];
        return Ok(Some(encoding.decode_without_bom_handling(even).0.into_owned()));
    }
    if std::str::from_utf8(data).is_ok() {
        return Ok(None);
    }
    if looks_binary(data) {
        return Err(binary());
    }
    let (name, text) = most_likely(data);
    notes.push(format!("not UTF-8: read as {name}; encoding names another"));
    Ok(Some(text))
}

/// ASCII in two bytes a character leaves one half of the bytes zero and hardly any of the other.
fn wide_without_mark(data: &[u8]) -> Option<&'static Encoding> {
    let head = &data[..data.len().min(4096) & !1];
    let half = head.len() / 2;
    if half < 2 {
        return None;
    }
    let zeros = |first: usize| head[first..].iter().step_by(2).filter(|b| **b == 0).count();
    let (even, odd) = (zeros(0), zeros(1));
    if 10 * odd > 7 * half && 10 * even < half {
        Some(UTF_16LE)
    } else if 10 * even > 7 * half && 10 * odd < half {
        Some(UTF_16BE)
    } else {
        None
    }
}

fn looks_binary(data: &[u8]) -> bool {
    let head = &data[..data.len().min(8192)];
    let odd = head.iter().filter(|b| **b < 32 && !matches!(**b, 9 | 10 | 12 | 13 | 26 | 27)).count();
    // Padding with zeros at the end is common practice of small programs.
    let padded = head.iter().rev().take_while(|b| **b == 0).count();
    odd - padded.min(odd) > head.len() / 100
}

/// The one-byte table that makes the best text, and what it makes.
fn most_likely(data: &[u8]) -> (String, String) {
    let mut detector = chardetng::EncodingDetector::new(chardetng::Iso2022JpDetection::Deny);
    detector.feed(data, true);
    let guess = detector.guess(None, chardetng::Utf8Detection::Deny);
    let by = |encoding: &'static Encoding| {
        let (text, bad) = encoding.decode_without_bom_handling(data);
        (encoding.name().to_owned(), text.into_owned(), bad)
    };
    let candidates = [
        by(WINDOWS_1252),
        ("cp850".to_owned(), of_table(data, CP850), false),
        ("cp437".to_owned(), of_table(data, CP437), false),
        by(MACINTOSH),
        by(guess),
    ];
    let mut best: Option<(i64, String, String)> = None;
    for (name, text, bad) in candidates {
        let score = if bad { i64::MIN } else { likeness(&text) };
        if best.as_ref().is_none_or(|(most, ..)| score > *most) {
            best = Some((score, name, text));
        }
    }
    best.map_or_else(|| (String::new(), String::new()), |(_, name, text)| (name, text))
}

/// How much the characters beyond ASCII look like those of a laboratory's text.
fn likeness(text: &str) -> i64 {
    let chars: Vec<char> = text.chars().collect();
    let at = |k: usize| chars.get(k).copied().unwrap_or(' ');
    let mut score = 0;
    for k in (0..chars.len()).filter(|k| !chars[*k].is_ascii()) {
        let (before, after) = (if k > 0 { at(k - 1) } else { ' ' }, at(k + 1));
        score += match chars[k] {
            'µ' | 'μ' if matches!(after, 'A' | 'V' | 'W' | 's' | 'm' | 'Ω' | 'a') => 4,
            '°' | 'º' if matches!(after, 'C' | 'F' | 'K') => 4,
            '²' | '³' if before == 'm' => 4,
            '±' | '·' | '×' | '−' | '–' | '\u{a0}' | '§' | '©' | '®' => 1,
            'Ω' | 'Ω' if !after.is_alphabetic() => 3,
            c if is_western(c) && (before.is_alphabetic() || after.is_ascii_lowercase()) => {
                if c.is_lowercase() { 2 } else { i64::from(!before.is_lowercase()) }
            }
            c if c.is_alphabetic() && !is_western(c) => {
                i64::from(before.is_alphabetic() || after.is_alphabetic())
            }
            _ => -2,
        };
    }
    score
}

const fn is_western(c: char) -> bool {
    matches!(c, 'À'..='ÿ' | 'Œ' | 'œ') && !matches!(c, '×' | '÷')
}

fn of_table(data: &[u8], upper: &str) -> String {
    let upper: Vec<char> = upper.chars().collect();
    data.iter()
        .map(
            |b| {
                if *b < 128 {
                    char::from(*b)
                } else {
                    upper.get(usize::from(*b) - 128).copied().unwrap_or('?')
                }
            },
        )
        .collect()
}

/// Characters 128 to 255 of code page 437 (IBM PC), from memory.
const CP437: &str = "ÇüéâäàåçêëèïîìÄÅÉæÆôöòûùÿÖÜ¢£¥₧ƒáíóúñÑªº¿⌐¬½¼¡«»░▒▓│┤╡╢╖╕╣║╗╝╜╛┐└┴┬├─┼╞╟╚╔╩╦╠═╬╧╨╤╥╙╘╒╓╫╪┘┌█▄▌▐▀αßΓπΣσµτΦΘΩδ∞φε∩≡±≥≤⌠⌡÷≈°∙·√ⁿ²■\u{a0}";
/// Characters 128 to 255 of code page 850 (IBM PC, Western Europe), from memory.
const CP850: &str = "ÇüéâäàåçêëèïîìÄÅÉæÆôöòûùÿÖÜø£Ø×ƒáíóúñÑªº¿®¬½¼¡«»░▒▓│┤ÁÂÀ©╣║╗╝¢¥┐└┴┬├─┼ãÃ╚╔╩╦╠═╬¤ðÐÊËÈıÍÎÏ┘┌█▄¦Ì▀ÓßÔÒõÕµþÞÚÛÙýÝ¯´\u{ad}±‗¾¶§÷¸°¨·¹³²■\u{a0}";

/// Without a byte-order mark, zeros at the end and the colour codes of a terminal.
fn cleaned<'a>(text: Cow<'a, str>, notes: &mut Vec<String>) -> Result<Cow<'a, str>, ReadError> {
    let is_odd = |c: char| c < ' ' && !matches!(c, '\t' | '\n' | '\r' | '\u{c}');
    if !text.contains(is_odd) && !text.starts_with('\u{feff}') {
        return Ok(text);
    }
    let mut out = String::with_capacity(text.len());
    let (mut codes, mut zeros, mut others) = (0_usize, 0_usize, 0_usize);
    let mut chars = text.strip_prefix('\u{feff}').unwrap_or(&text).trim_end_matches('\0').chars().peekable();
    let padding = text.len() - text.trim_end_matches('\0').len();
    while let Some(c) = chars.next() {
        match c {
            '\u{1b}' => {
                codes += 1;
                skip_terminal_code(&mut chars).ok_or_else(|| {
                    // A blank: the line may begin here.
                    let before = format!("{out} ");
                    let lines = Lines::new(&before);
                    let line = lines.len() - 1;
                    ReadError::at(line, lines.get(line), Problem::TerminalCode)
                })?;
            }
            '\0' => zeros += 1,
            // The end of a file as old systems mark it.
            '\u{1a}' => {}
            c if is_odd(c) => others += 1,
            c => out.push(c),
        }
    }
    if others > 2 + out.len() / 200 || zeros > 64 + out.len() {
        return Err(whole(Problem::Binary));
    }
    zeros += padding;
    for (count, what) in
        [(codes, "colour codes of a terminal"), (zeros, "zero characters"), (others, "control characters")]
    {
        if count > 0 {
            notes.push(format!("{count} {what} left out"));
        }
    }
    Ok(Cow::Owned(out))
}

/// Skips what follows an escape character: `[`, parameters (0–?), intermediates (blank–/) and a final character (a letter,
/// @, ` or ~); a command between `]` and its end, ESC \ or a bell, which terminals take as well; or a set of characters
/// `(B`. `None` where none of these follows.
///
/// ECMA-48 (1991), 5.4 and 8.3; ECMA-35 (1994), 14.2.
fn skip_terminal_code(chars: &mut Peekable<Chars>) -> Option<()> {
    match chars.next()? {
        '[' => {
            while chars.next_if(|c| ('0'..='?').contains(c)).is_some() {}
            while chars.next_if(|c| (' '..='/').contains(c)).is_some() {}
            chars.next_if(|c| c.is_ascii_alphabetic() || matches!(c, '@' | '`' | '~')).map(|_| ())
        }
        ']' => {
            while chars.next_if(|c| !c.is_control()).is_some() {}
            let escape = chars.next_if_eq(&'\u{1b}').is_some();
            chars.next_if_eq(if escape { &'\\' } else { &'\u{7}' }).map(|_| ())
        }
        '(' | ')' => chars.next_if(char::is_ascii_alphanumeric).map(|_| ()),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tables_have_128_characters() {
        assert_eq!(CP437.chars().count(), 128);
        assert_eq!(CP850.chars().count(), 128);
    }

    #[test]
    fn codes_of_a_terminal_are_left_out_when_they_are_whole() {
        for (bytes, expected) in [
            ("\u{1b}[32m0.1\u{1b}[0m,2\n", "0.1,2\n"),
            ("\u{1b}[1;32m0.1\u{1b}[K,2\n", "0.1,2\n"),
            ("\u{1b}]0;monitor\u{7}0.1,2\n", "0.1,2\n"),
            ("\u{1b}]0;monitor\u{1b}\\0.1,2\n", "0.1,2\n"),
            ("\u{1b}(B0.1,2\n", "0.1,2\n"),
        ] {
            let (text, notes) = decode(bytes.as_bytes(), None).unwrap();
            assert_eq!(text, expected);
            assert!(notes.iter().any(|n| n.contains("colour codes")), "{notes:?}");
        }
        for bytes in [
            "0,1\n0.1\u{1b}0m,2\n",
            "0,1\n0.1,2\u{1b}",
            "0,1\n0.1\u{1b}[[0m,2\n",
            "0,1\r0.1\u{1b}[32\r",
            "0,1\r\n\u{1b}0",
        ] {
            let error = decode(bytes.as_bytes(), None).unwrap_err();
            assert_eq!((error.line, error.problem), (Some(2), Problem::TerminalCode), "{bytes:?}");
        }
    }

    #[test]
    fn one_byte_tables_are_told_by_the_signs_of_a_laboratory() {
        for (bytes, name, expected) in [
            (&b"U / V;I / \xb5A\n"[..], "windows-1252", "µA"),
            (&b"U / V;I / \xe6A, \xf8C, cm\xfd\n"[..], "cp850", "µA, °C, cm²"),
            (&b"Temp\x8erature (\xa1C), \xb5A\n"[..], "macintosh", "Température (°C), µA"),
            (&b"Fl\xe4che (cm\xb2), Gr\xf6\xdfe\n"[..], "windows-1252", "Fläche (cm²), Größe"),
        ] {
            let (text, notes) = decode(bytes, None).unwrap();
            assert!(text.contains(expected), "{text}");
            assert!(notes[0].contains(name), "{notes:?}");
        }
    }
}
