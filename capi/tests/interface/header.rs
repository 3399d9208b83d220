//! `include/litdiode.h` is what cbindgen makes of the crate, and the table of docs/embedding.md lists its functions.
//!
//! `capi/header` writes both anew.

use litdiode_capi::header::declarations;
use std::path::Path;

/// The header as it should be.
fn header() -> String {
    let source = std::env::temp_dir().join(format!("litdiode_header_{}.rs", std::process::id()));
    std::fs::write(&source, declarations()).unwrap();
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let config = cbindgen::Config::from_file(root.join("cbindgen.toml")).unwrap();
    let bindings = cbindgen::Builder::new().with_config(config).with_src(&source).generate().unwrap();
    std::fs::remove_file(&source).unwrap();
    let mut written = Vec::new();
    bindings.write(&mut written);
    String::from_utf8(written).unwrap()
}

/// The file as it is, written anew if that is asked for.
fn committed(path: &str, wanted: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(path);
    if std::env::var_os("LITDIODE_WRITE_HEADER").is_some() {
        std::fs::write(&path, wanted).unwrap();
    }
    std::fs::read_to_string(&path).unwrap_or_default()
}

#[test]
fn the_header_is_up_to_date() {
    let new = header();
    assert!(
        committed("include/litdiode.h", &new) == new,
        "include/litdiode.h is out of date: run capi/header"
    );
    for function in functions() {
        assert_eq!(new.matches(&format!("int32_t {}(", function.name)).count(), 1, "{}", function.name);
    }
}

struct Function {
    name: String,
    doc: String,
    inputs: Vec<String>,
    outputs: Vec<String>,
}

/// What the declarations declare.
fn functions() -> Vec<Function> {
    let declared = declarations();
    let blocks = declared.split("#[unsafe(no_mangle)]\n").skip(1);
    let function = |block: &str| {
        let doc: Vec<&str> = block.lines().filter_map(|line| line.strip_prefix("/// ")).collect();
        let (_, declaration) = block.split_once("extern \"C\" fn ").unwrap();
        let (name, after) = declaration.split_once('(').unwrap();
        let all: Vec<(&str, &str)> =
            after.split(')').next().unwrap().split(", ").filter_map(|a| a.split_once(": ")).collect();
        let own = &all[..all.len() - 3];
        let named = |wanted: bool| {
            let own =
                own.iter().filter(|(name, _)| !name.ends_with("_length") && !name.ends_with("_capacity"));
            own.filter(|(_, of)| of.starts_with("*mut") == wanted)
                .map(|(name, _)| (*name).to_owned())
                .collect()
        };
        Function { name: name.to_owned(), doc: doc.join(" "), inputs: named(false), outputs: named(true) }
    };
    blocks.map(function).collect()
}

/// One row a function: its arguments without lengths and capacities, what it gives, what it is for.
fn table() -> String {
    let row = |f: &Function| {
        // A bar would end the cell.
        let first = f.doc.split_inclusive(". ").next().unwrap().trim_end().replace('|', "\\|");
        let gives =
            if f.outputs.is_empty() { String::new() } else { format!(" → {}", f.outputs.join(", ")) };
        format!("| `{}` | {}{gives} | {first} |\n", f.name, f.inputs.join(", "))
    };
    let rows: String = functions().iter().map(row).collect();
    format!("| function | takes → gives | what it does |\n|---|---|---|\n{rows}")
}

#[test]
fn the_page_lists_every_function() {
    const PAGE: &str = "../docs/embedding.md";
    let page = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(PAGE)).unwrap();
    let start = page.find("| function | takes → gives |").expect("the page has the table");
    let end = start + page[start..].find("\n\n").expect("the table ends") + 1;
    let new = format!("{}{}{}", &page[..start], table(), &page[end..]);
    assert!(committed(PAGE, &new) == new, "the table of docs/embedding.md is out of date: run capi/header");
}
