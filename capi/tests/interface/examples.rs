//! The programs of `capi/examples`, compiled and run as a host would. Where a tool is missing it says LEFT OUT.

use std::path::{Path, PathBuf};
use std::process::Command;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Where cargo left the library of these tests.
fn built() -> PathBuf {
    std::env::current_exe().unwrap().parent().unwrap().to_owned()
}

fn library() -> PathBuf {
    let name = format!("{}litdiode_capi{}", std::env::consts::DLL_PREFIX, std::env::consts::DLL_SUFFIX);
    built().join(name)
}

/// What a command prints; none where it is not on this machine.
fn output(command: &mut Command, what: &str) -> Option<String> {
    let output = match command.output() {
        Ok(output) => output,
        Err(_) => {
            println!("LEFT OUT: {what}: {:?} is not on this machine", command.get_program());
            return None;
        }
    };
    let errors = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{what}: {errors}{}", String::from_utf8_lossy(&output.stdout));
    // A warning of the compiler would be one of the header.
    assert_eq!(errors, "", "{what}");
    Some(String::from_utf8(output.stdout).unwrap())
}

/// Compiles an example with a compiler and runs it.
fn compiled(example: &str, compiler: &str, language: &[&str]) -> Option<String> {
    let program = std::env::temp_dir().join(format!("litdiode_{example}_{compiler}_{}", std::process::id()));
    let mut command = Command::new(compiler);
    command
        .args(language)
        .args(["-Wall", "-Wextra", "-Wpedantic", "-Werror", "-I"])
        .arg(root().join("include"));
    command.arg(root().join(format!("examples/{example}.c"))).arg("-o").arg(&program);
    command.args(["-x", "none"]).arg(library()).arg("-lm").arg(format!("-Wl,-rpath,{}", built().display()));
    output(&mut command, &format!("{example} by {compiler}"))?;
    let found = output(&mut Command::new(&program), example);
    std::fs::remove_file(&program).unwrap();
    found
}

fn python(example: &str) -> Option<String> {
    let python = std::env::var("LITDIODE_PYTHON").unwrap_or_else(|_| "python3".into());
    let mut command = Command::new(python);
    command.arg(root().join(format!("examples/{example}.py"))).arg(library());
    output(command.env("PYTHONIOENCODING", "utf-8"), example)
}

/// What an example prints by a C and by a C++ compiler is the same.
fn by_both(example: &str, judge: impl Fn(&str)) {
    let c = compiled(example, "gcc", &["-std=c11", "-x", "c"]);
    let c = c.or_else(|| compiled(example, "cc", &["-std=c11", "-x", "c"]));
    let plus = compiled(example, "g++", &["-std=c++17", "-x", "c++"]);
    [&c, &plus].into_iter().flatten().for_each(|text| judge(text));
    if let (Some(c), Some(plus)) = (c, plus) {
        assert_eq!(c, plus);
    }
}

/// The invented device has Rs 0, Rsh 900 Ω and n·25.69 mV = 33.4 mV.
#[test]
fn readings_in_c() {
    by_both("readings", |text| {
        for line in
            ["litdiode 0.1.0, interface 1\n", "Voc  0.57", "Rsh  9", "status 105: current_a[3] = NaN "]
        {
            assert!(text.contains(line), "{line}\n{text}");
        }
        assert!(text.contains("status 1002 after a second free\n0 handles in use\n"), "{text}");
    });
}

#[test]
fn readings_in_python() {
    if let Some(text) = python("readings") {
        for line in ["litdiode 0.1.0, interface 1\n", "Voc 0.57", "status 105: current_a[3] = NaN "] {
            assert!(text.contains(line), "{line}\n{text}");
        }
        assert!(text.ends_with("0 handles in use\n"), "{text}");
    }
}

/// Each fifth reading is lost, and asked for again; the cell has Rs 0.8 Ω.
#[test]
fn tracer_in_c() {
    by_both("tracer", |text| {
        for line in
            ["refused (955): current_a = NaN", "source at 0 V and off\nstopped (961): FF is known to 0."]
        {
            assert!(text.contains(line), "{line}\n{text}");
        }
        let rs: f64 = text.split("\nRs ").nth(1).unwrap().split(' ').next().unwrap().parse().unwrap();
        assert!((rs - 0.8).abs() < 0.4, "{text}");
    });
}

#[test]
fn tracer_in_python() {
    if let Some(text) = python("tracer") {
        for line in [
            "refused: status 955: current_a = NaN",
            "source at 0 V and off\nstopped (961): FF is known to 0.",
        ] {
            assert!(text.contains(line), "{line}\n{text}");
        }
        assert!(text.ends_with("0 handles in use\n"), "{text}");
    }
}
