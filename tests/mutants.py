"""Mutation testing of one room of the core by the room's own tests.

    python tests/mutants.py ROOM [--count 40] [--seed 1] [--only TEXT…] [--timeout 180]

Draws mutants of src/ROOM from the list of cargo-mutants (`cargo install cargo-mutants --locked`), builds all of them
into one copy of the tree under target/mutants, in which the environment variable LITDIODE_MUTANT chooses one, and runs
the unit tests of the room and the tests of tests/ROOM on each. One build serves all: every function that has mutants
holds its own body and theirs, in branches. A mutant that does not compile is left out and counted, and so is one of a
function that returns `impl Trait`, whose branches would be of two types. `--only` takes the mutants
whose description contains one of some texts.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import re
import shutil
import signal
import subprocess
import sys
import time
from collections import defaultdict
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).parents[1]
TREE = ROOT / "target" / "mutants"

SWITCH = """
#[doc(hidden)]
#[allow(missing_docs)]
pub mod mutant_switch {
    use std::sync::LazyLock;
    static CHOSEN: LazyLock<u32> =
        LazyLock::new(|| std::env::var("LITDIODE_MUTANT").ok().and_then(|n| n.parse().ok()).unwrap_or(0));
    #[inline(always)]
    pub fn on(n: u32) -> bool {
        *CHOSEN == n
    }
}
"""


@dataclass
class Mutant:
    """One change of the text of a file between two offsets."""

    number: int
    name: str
    file: str
    function: tuple[int, int]
    span: tuple[int, int]
    replacement: str
    verdict: str = ""
    seconds: float = 0.0


@dataclass
class Switched:
    """A file with its mutants in branches, and the lines that each takes."""

    text: str
    lines: dict[int, tuple[int, int]] = field(default_factory=dict)


def offset(text: str, place: dict[str, int]) -> int:
    """Offset of a line and column, both counted from 1."""
    lines = text.split("\n")
    return sum(len(line) + 1 for line in lines[: place["line"] - 1]) + place["column"] - 1


def listed(room: str) -> list[Mutant]:
    """All mutants of a room, in the order of the list."""
    command = ["cargo", "mutants", "--list", "--json", "--file", f"src/{room}/**/*.rs"]
    found = json.loads(subprocess.run(command, cwd=ROOT, check=True, capture_output=True, text=True).stdout)
    mutants: list[Mutant] = []
    for entry in found:
        if entry["function"] is None:
            continue
        text = (ROOT / entry["file"]).read_text(encoding="utf-8")
        spans = (entry["function"]["span"], entry["span"])
        function, span = ((offset(text, s["start"]), offset(text, s["end"])) for s in spans)
        mutant = Mutant(len(mutants) + 1, entry["name"], entry["file"], function, span, entry["replacement"])
        if "-> impl " in text[function[0] : body_of(text, *function)]:
            mutant.verdict = "unviable"
        mutants.append(mutant)
    return mutants


def body_of(text: str, start: int, end: int) -> int:
    """Offset of the brace that opens the body of a function: the one whose partner ends the function."""
    close, depth = text.rindex("}", start, end), 0
    # Braces in strings and comments pair up in this code, or the build says so.
    for at in range(close, start, -1):
        depth += {"}": 1, "{": -1}.get(text[at], 0)
        if depth == 0:
            return at
    raise ValueError(f"no body in {text[start:end]!r}")


def outermost(mutants: list[Mutant]) -> dict[tuple[int, int], list[Mutant]]:
    """The mutants of a file by function; those of a function inside another belong to the outer one."""
    groups: dict[tuple[int, int], list[Mutant]] = defaultdict(list)
    spans = {m.function for m in mutants}
    for mutant in mutants:
        low, high = mutant.function
        groups[min(s for s in spans if s[0] <= low and high <= s[1])].append(mutant)
    return groups


def switched(text: str, mutants: list[Mutant]) -> Switched:
    """A file in which every function with mutants chooses among its own body and theirs."""
    found, done, pieces, line = Switched(""), 0, [], 1

    def add(piece: str) -> None:
        nonlocal line
        pieces.append(piece)
        line += piece.count("\n")

    for (start, end), own in sorted(outermost(mutants).items()):
        open_at = body_of(text, start, end)
        close_at = text.rindex("}", start, end)
        add(not_constant(text[done : open_at + 1]))
        for mutant in own:
            low, high = mutant.span
            add(f" if crate::mutant_switch::on({mutant.number}) {{\n")
            first = line
            add(text[open_at + 1 : low] + mutant.replacement + text[high:close_at])
            found.lines[mutant.number] = (first, line)
            add("\n} else")
        add(" {" + text[open_at + 1 : close_at] + "}\n")
        done = close_at
    add(text[done:])
    found.text = "".join(pieces)
    return found


def not_constant(head: str) -> str:
    """The head of a function without its `const`: a constant function cannot look at the environment."""
    at = head.rfind("const fn ")
    return head[:at] + head[at + len("const ") :] if at >= 0 and "fn " not in head[at + len("const fn ") :] else head


def copy_tree() -> None:
    """The files of the work tree, changed where they differ, so that what is built stays built."""
    command = ["git", "ls-files", "-co", "--exclude-standard"]
    listing = subprocess.run(command, cwd=ROOT, check=True, capture_output=True, text=True)
    wanted = {name for name in listing.stdout.split("\n") if name and (ROOT / name).is_file()}
    for path in [p for p in TREE.rglob("*") if p.is_file()]:
        if str(path.relative_to(TREE)) not in wanted:
            path.unlink()
    for name in wanted:
        write(TREE / name, (ROOT / name).read_bytes())


def write(path: Path, content: bytes) -> None:
    """Leaves the time of a file alone that holds the content already."""
    if not path.exists() or path.read_bytes() != content:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
        shutil.copymode(ROOT / path.relative_to(TREE), path)


def cargo(*arguments: str) -> list[dict]:
    """The messages of a cargo command in the copy."""
    command = ["cargo", *arguments, "--message-format", "json"]
    environment = {**os.environ, "CARGO_TARGET_DIR": str(ROOT / "target"), "CARGO_INCREMENTAL": "1"}
    run = subprocess.run(command, cwd=TREE, capture_output=True, text=True, env=environment, check=False)
    return [json.loads(text) for text in run.stdout.split("\n") if text.startswith("{")]


def with_callers(span: dict) -> list[dict]:
    """A span, and where it lies in a macro that of its call, and so on."""
    expansion = span.get("expansion")
    outer = with_callers({**expansion["span"], "is_primary": span["is_primary"]}) if expansion else []
    return [span, *outer]


def build(mutants: list[Mutant]) -> None:
    """Writes the switched files until they compile; what stands in the way is `unviable`."""
    while True:
        copy_tree()
        files = {}
        for name in {m.file for m in mutants}:
            own = [m for m in mutants if m.file == name and not m.verdict]
            files[name] = switched((ROOT / name).read_text(encoding="utf-8"), own)
            write(TREE / name, files[name].text.encode())
        write(TREE / "src/lib.rs", ((ROOT / "src/lib.rs").read_text(encoding="utf-8") + SWITCH).encode())
        compiled = [m["message"] for m in cargo("check", "--lib") if m.get("reason") == "compiler-message"]
        errors = [m for m in compiled if m["level"] == "error"]
        if not errors:
            return
        before = sum(not m.verdict for m in mutants)
        for span in (s for e in errors for given in e["spans"] for s in with_callers(given)):
            place = files.get(span["file_name"])
            for number, (low, high) in place.lines.items() if place else ():
                if span["is_primary"] and low <= span["line_start"] <= high:
                    next(m for m in mutants if m.number == number).verdict = "unviable"
        if sum(not m.verdict for m in mutants) == before:
            sys.exit("\n".join(e["rendered"] for e in errors))


def executables(room: str) -> list[tuple[Path, list[str]]]:
    """The test programs of a room, each with its filter."""
    target = ["--test", room] if (ROOT / "tests" / room).is_dir() else []
    messages = cargo("test", "--no-run", "--lib", *target)
    paths = [(m["target"]["kind"], m["executable"]) for m in messages if m.get("executable")]
    if len(paths) != 1 + len(target) // 2:
        sys.exit("the tests do not build:\n" + "\n".join(m["message"]["rendered"] for m in messages if "message" in m))
    return [(Path(path), [f"{room}::"] if kind == ["lib"] else []) for kind, path in paths]


def caught(program: tuple[Path, list[str]], number: int, limit: float) -> str:
    """`""` where all tests of a program pass, else what failed."""
    environment = {**os.environ, "LITDIODE_MUTANT": str(number)}
    path, filters = program
    run = subprocess.Popen(
        [path, *filters],
        cwd=TREE,
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        start_new_session=True,
    )
    signal.signal(signal.SIGALRM, lambda *_: os.killpg(run.pid, signal.SIGKILL))
    signal.alarm(max(1, round(limit)))
    failed = ""
    assert run.stdout is not None
    for line in run.stdout:
        if match := re.match(r"test (\S+)(?: - should panic)? \.\.\. FAILED", line):
            failed = match[1]
            os.killpg(run.pid, signal.SIGKILL)
            break
    code = run.wait()
    signal.alarm(0)
    return failed or ("" if code == 0 else f"ended with {code}")


def main() -> int:
    """Prints a line a mutant, then the counts and the survivors."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("room")
    parser.add_argument("--count", type=int, default=40)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", nargs="+", default=[""])
    parser.add_argument("--timeout", type=float, default=180.0)
    options = parser.parse_args()
    mutants = [m for m in listed(options.room) if any(text in m.name for text in options.only)]
    all_of_them = len(mutants)
    # A sample of some more: what does not compile is replaced by what was drawn after it.
    random.Random(options.seed).shuffle(mutants)
    mutants = mutants[: options.count + options.count // 2]
    build(mutants)
    programs = executables(options.room)
    start = time.monotonic()
    for program in programs:
        if failed := caught(program, 0, 10 * options.timeout):
            sys.exit(f"without a mutant: {failed}")
    print(f"{all_of_them} mutants of {options.room}; its tests take {time.monotonic() - start:.0f} s", flush=True)
    tried = [m for m in mutants if not m.verdict][: options.count]
    for mutant in tried:
        start = time.monotonic()
        failures = (caught(program, mutant.number, options.timeout) for program in programs)
        mutant.verdict = next((f for f in failures if f), "survived")
        print(f"{time.monotonic() - start:6.1f} s  {mutant.name}: {mutant.verdict}", flush=True)
    survivors = [m for m in tried if m.verdict == "survived"]
    unviable = sum(m.verdict == "unviable" for m in mutants)
    counts = f"{len(tried)} tried, {len(tried) - len(survivors)} caught, {len(survivors)} survived"
    print(f"{counts}; {unviable} do not compile")
    for mutant in survivors:
        print("survived:", mutant.name)
    return bool(survivors)


if __name__ == "__main__":
    sys.exit(main())
