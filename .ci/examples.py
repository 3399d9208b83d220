"""Checks that what a user of the Rust library calls has an example that runs.

python .ci/examples.py            fails where a function or a type has none
python .ci/examples.py --list     prints all that are looked at, with a mark where there is an example

Looked at are the public modules of `src/lib.rs` and what they name by `pub use`: every free function has an example of
its own, and every struct and trait with public functions one beside it or beside one of these. Enums, errors and
structs of plain fields are shown where they are used. `cargo test --doc` runs the examples.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).parents[1]
SOURCE = ROOT / "src"

# What has no example, with the reason.
WITHOUT_EXAMPLE: dict[str, str] = {}

ITEM = re.compile(r"pub (?:const )?(fn|struct|trait|enum|type) (\w+)")
METHOD = re.compile(r"    pub (?:const )?fn (\w+)")


@dataclass
class Item:
    """A function or a type of a file: whether it has an example, and the public functions of its own."""

    kind: str
    example: bool
    functions: list[str] = field(default_factory=list)
    own_example: bool = False


def runs(doc: list[str]) -> bool:
    """Whether a doc comment holds a block of code that the doctests run."""
    fences = [line.strip().removeprefix("///").strip() for line in doc if "```" in line]
    return any(fence in ("```", "```rust") for fence in fences[::2])


def doc_above(lines: list[str], at: int) -> list[str]:
    """The doc comment and the attributes above a line."""
    start, margin = at, len(lines[at]) - len(lines[at].lstrip())
    while start > 0 and re.match(rf"\s{{{margin}}}(//|#\[|\)\]|\s)", lines[start - 1]):
        start -= 1
    return [line for line in lines[start:at] if line.lstrip().startswith("///")]


def items_of(text: str) -> dict[str, Item]:
    """The public items of a file by name; a type that is only implemented there is of the kind ``."""
    lines = text.split("#[cfg(test)]\nmod tests")[0].split("\n")
    found: dict[str, Item] = {}
    inside = ""
    for at, line in enumerate(lines):
        if item := ITEM.match(line):
            kind, name = item.groups()
            held = found.setdefault(name, Item("", False))
            held.kind, held.example = kind, runs(doc_above(lines, at))
            inside = name if kind == "trait" else ""
        elif implemented := re.match(r"impl(?:<.*?>)? (\w+)(?:<.*>)? \{", line):
            inside = implemented.group(1)
        elif line.startswith("}"):
            inside = ""
        elif inside and (method := METHOD.match(line) or (re.match(r"    fn (\w+)", line))):
            held = found.setdefault(inside, Item("", False))
            if line.startswith("    pub") or held.kind == "trait":
                held.functions.append(method.group(1))
                held.own_example |= runs(doc_above(lines, at))
    return found


def file_of(parts: list[str]) -> Path | None:
    """The file of a module."""
    for path in (SOURCE.joinpath(*parts).with_suffix(".rs"), SOURCE.joinpath(*parts) / "mod.rs"):
        if parts and path.exists():
            return path
    return None


def named(text: str) -> Iterator[tuple[list[str], str]]:
    """Path and name of each item that a file hands on by `pub use`."""
    for use in re.findall(r"^pub use ([^;]+);", text, re.MULTILINE):
        head, _, group = use.partition("{")
        for name in (group or "").replace("}", "").split(",") if group else [use.rpartition("::")[2]]:
            path = head.rstrip(": ") if group else use.rpartition("::")[0]
            # Another crate has examples of its own.
            if path and name.strip():
                yield path.split("::"), name.strip().split(" as ")[0]


def room_of(path: Path) -> str:
    """The folder or file of `src` that a file lies in."""
    return path.relative_to(SOURCE).parts[0]


def public() -> Iterator[tuple[str, Item]]:
    """Every public item by its path, with all functions that the files of its room give it."""
    lib = (SOURCE / "lib.rs").read_text(encoding="utf-8")
    modules = [[name] for name in re.findall(r"^pub mod (\w+);", lib, re.MULTILINE)]
    modules += [[*path, name] for path, name in named(lib)]
    all_files = {path: items_of(path.read_text(encoding="utf-8")) for path in sorted(SOURCE.rglob("*.rs"))}
    for module in modules:
        path = file_of(module)
        if path is None:
            continue
        text = path.read_text(encoding="utf-8")
        wanted = [(path, name) for name, item in all_files[path].items() if item.kind]
        for parts, name in named(text):
            parts = parts[1:] if parts[0] == "crate" else [*module, *parts]
            inner = file_of(parts)
            while inner is not None and name not in all_files[inner]:
                # A folder hands on what its files define.
                further = [deeper for deeper, other in named(inner.read_text(encoding="utf-8")) if other == name]
                inner = file_of([*parts, *further[0]]) if further else None
            if inner is not None:
                wanted.append((inner, name))
        room = {
            p: items
            for p, items in all_files.items()
            if p.relative_to(SOURCE).parts[0] == path.relative_to(SOURCE).parts[0]
        }
        for where, name in wanted:
            item = all_files[where][name]
            beside = [items[name] for p, items in room.items() if p != where and name in items and not items[name].kind]
            functions = [f for other in (item, *beside) for f in other.functions]
            own = any(other.own_example for other in (item, *beside))
            yield "::".join([*module[-1:], name]), Item(item.kind, item.example, functions, own)


def needs_an_example(name: str, item: Item) -> bool:
    """Functions, and structs and traits with functions of their own."""
    return item.kind == "fn" or (item.kind in ("struct", "trait") and bool(item.functions))


def main() -> int:
    """Prints what lacks an example."""
    found = {name: item for name, item in public() if needs_an_example(name, item)}
    shown = {name for name, item in found.items() if item.example or item.own_example}
    if "--list" in sys.argv:
        for name, item in found.items():
            print("x" if name in shown else "-", item.kind, name, " ".join(item.functions))
    wrong = [f"{name} has no example" for name in found if name not in shown and name not in WITHOUT_EXAMPLE]
    wrong += [f"{name} needs no exception" for name in WITHOUT_EXAMPLE if name in shown or name not in found]
    print("\n".join(wrong) or f"{len(shown)} functions and types have an example, {len(WITHOUT_EXAMPLE)} none")
    return bool(wrong)


if __name__ == "__main__":
    sys.exit(main())
