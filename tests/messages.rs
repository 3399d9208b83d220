//! Texts of the core speak no Python: a reader of Rust or C has the same names, but no `noise=` and no `None`.
//!
//! The test reads every string of the sources, without comments, attributes that are no text, and unit tests.

use std::fs;
use std::path::{Path, PathBuf};

/// A string of a source file.
#[derive(Debug, PartialEq)]
struct Text {
    line: usize,
    text: String,
}

/// Every string of Rust code outside comments, its escapes as they are written but for quotes and line ends.
fn strings(code: &str) -> Vec<Text> {
    let mut found = Vec::new();
    let mut rest = code.char_indices().peekable();
    let line_of = |at: usize| 1 + code[..at].matches('\n').count();
    let mut before = ' ';
    while let Some((at, c)) = rest.next() {
        let ahead = &code[at..];
        if ahead.starts_with("//") {
            rest.by_ref().find(|(_, c)| *c == '\n');
        } else if ahead.starts_with("'\"'") || ahead.starts_with("'\\\"'") {
            rest.by_ref().skip(1).find(|(_, c)| *c == '\'');
        } else if c == 'r'
            && !before.is_alphanumeric()
            && (ahead.starts_with("r\"") || ahead.starts_with("r#"))
        {
            let hashes: String = ahead[1..].chars().take_while(|c| *c == '#').collect();
            let Some(text) = ahead[1 + hashes.len()..].strip_prefix('"') else { continue };
            let end = text.find(&format!("\"{hashes}")).unwrap_or(text.len());
            let past = at + 2 + 2 * hashes.len() + end;
            found.push(Text { line: line_of(at), text: text[..end].into() });
            while rest.next_if(|(k, _)| *k <= past).is_some() {}
        } else if c == '"' {
            found.push(Text { line: line_of(at), text: quoted(&mut rest) });
        }
        before = c;
    }
    found
}

/// The text up to the closing quote.
fn quoted(rest: &mut std::iter::Peekable<std::str::CharIndices>) -> String {
    let mut text = String::new();
    while let Some((_, c)) = rest.next() {
        match c {
            '"' => break,
            '\\' => match rest.next() {
                Some((_, '\n')) => while rest.next_if(|(_, c)| c.is_whitespace()).is_some() {},
                Some((_, '"')) => text.push('"'),
                Some((_, other)) => text.extend(['\\', other]),
                None => break,
            },
            _ => text.push(c),
        }
    }
    text
}

/// What a text holds of Python: a keyword argument, `="`, a constant, a call of a method.
fn python(text: &str) -> Option<&'static str> {
    let chars: Vec<char> = text.chars().collect();
    let word = |c: Option<&char>| c.is_some_and(|c| c.is_alphanumeric() || *c == '_' || *c == '}');
    let keyword = |k: usize| {
        chars[k] == '=' && k > 0 && word(chars.get(k - 1)) && !matches!(chars.get(k + 1), Some('=' | '>'))
    };
    let call = |k: usize| {
        let name = chars[k + 1..].iter().take_while(|c| c.is_alphanumeric() || **c == '_').count();
        chars[k] == '.'
            && chars[k + 1..].first().is_some_and(|c| c.is_lowercase())
            && chars.get(k + 1 + name) == Some(&'(')
    };
    let words = || text.split(|c: char| !(c.is_alphanumeric() || c == '_'));
    let any = |f: &dyn Fn(usize) -> bool| (0..chars.len()).any(f);
    if any(&keyword) {
        Some("a keyword argument")
    } else if words().any(|w| ["True", "False", "None"].contains(&w)) {
        Some("a constant of Python")
    } else if any(&call) {
        Some("a call")
    } else {
        None
    }
}

fn sources(folder: &Path) -> Vec<PathBuf> {
    let entries =
        fs::read_dir(folder).expect("a folder of sources").map(|entry| entry.expect("an entry").path());
    let (folders, files): (Vec<PathBuf>, Vec<PathBuf>) = entries.partition(|path| path.is_dir());
    let rust = files.into_iter().filter(|path| path.extension().is_some_and(|e| e == "rs"));
    rust.chain(folders.iter().flat_map(|folder| sources(folder))).collect()
}

#[test]
fn no_text_of_the_core_speaks_python() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut wrong = Vec::new();
    let mut seen = 0;
    for path in sources(&root) {
        let name = path.strip_prefix(&root).expect("below src");
        let code = fs::read_to_string(&path).expect("a source");
        let code = code.split("#[cfg(test)]\nmod tests").next().unwrap_or_default();
        for Text { line, text } in strings(code) {
            seen += 1;
            if let Some(what) = python(&text) {
                wrong.push(format!("src/{}:{line}: {what} in {text:?}", name.display()));
            }
        }
    }
    assert!(seen > 500, "{seen} strings");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn python_is_told_from_words() {
    for text in [
        "pass noise=",
        "or fix= n",
        "sign=\"load\" was passed",
        "leads = \"{}\"; pass sign=\"{other}\"",
        "add {axis}_{unit}=, the scatter",
        "give True",
        "or None",
        "fit.interval(\"pmax\") says",
    ] {
        assert!(python(text).is_some(), "{text}");
    }
    for text in [
        "V = 0",
        "pass area_cm2",
        "Pmax/(Isc·Voc) = {ff:.3}",
        "set sign to load or auto",
        "(0.05 V)",
        "nonetheless",
        "n ≥ 1, x => y",
        "every voltage. (The first)",
    ] {
        assert_eq!(python(text), None, "{text}");
    }
}

#[test]
fn strings_are_found_and_comments_are_not() {
    let code = "let a = \"one\\\n   two\"; // \"three\"\nlet b = ('\"', r#\"fo\"ur\"#, \"fi\\\"ve\");";
    let found: Vec<(usize, String)> = strings(code).into_iter().map(|t| (t.line, t.text)).collect();
    let expected = [(1, "onetwo"), (3, "fo\"ur"), (3, "fi\"ve")].map(|(line, text)| (line, text.to_owned()));
    assert_eq!(found, expected);
}
