"""The numbers of the library with their names and texts, parsed from the Rust sources."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parents[2]
_STRING = r'"((?:[^"\\]|\\[\s\S])*)"'
# Literal characters that make a text its own.
_ENOUGH = 8
# Texts that stand in a branch without a name, and are looked for in the file of their enum.
_UNNAMED = {
    336: "the data do not support a second diode: ",
    541: "none: no method gave a figure",
    544: "its assumptions hold on these data",
    771: "none: the guided curve gives no maximum with an uncertainty",
    772: "no model is needed, and its bias is below a quarter of its uncertainty",
}


@dataclass(frozen=True)
class Code:
    """A number, and what it stands for."""

    number: int
    enum: str
    variant: str
    # The part of the library where the enum is named: "sweep", "fit", …
    room: str

    @property
    def name(self) -> str:
        """As a page names it."""
        return f"{self.enum}::{self.variant}" if self.variant else self.enum


@cache
def _read(path: Path) -> str:
    """A source without its unit tests and comments."""
    text = path.read_text(encoding="utf-8").split("#[cfg(test)]\nmod tests")[0]
    return re.sub(r"^\s*//.*\n", "", text, flags=re.MULTILINE)


@cache
def _sources() -> tuple[Path, ...]:
    return (*sorted((ROOT / "src").rglob("*.rs")), ROOT / "capi/src/misuse.rs")


@cache
def codes() -> dict[int, Code]:
    """Every number, once; that of stopped work is `Cancelled`."""
    text = _read(ROOT / "src/code.rs")
    found = {1: Code(1, "Cancelled", "", "cancel")}
    for enum, number in re.findall(r"impl Coded for (\w+) \{\s*fn code\(&self\) -> u16 \{\s*(\d+)\s*\}", text):
        if int(number) != 1:
            found[int(number)] = Code(int(number), enum, "", "quantity")
    blocks = re.findall(r"codes!\(([\w:]+) \{(.*?)\}\);", text, re.DOTALL)
    blocks += re.findall(r"impl Coded for ([\w:]+) \{(.*?)\n\}", text, re.DOTALL)
    for path, body in blocks:
        room = path.split("::")[1] if "::" in path else "maximum_power" if path == "NoMaximum" else "quantity"
        for variant, number in re.findall(r"(\w+)(?: \{ \.\. \})? =>? ?(\d+),", body):
            if int(number) != 1:
                found[int(number)] = Code(int(number), path.split("::")[-1], variant, room)
    misuse = _read(ROOT / "capi/src/misuse.rs")
    constants = dict(re.findall(r"(LITDIODE_\w+) = (\d+),", misuse))
    for variant, constant in re.findall(r"Self::(\w+) \{ \.\. \} => (LITDIODE_\w+) as u16", misuse):
        number = int(constants[constant])
        found[number] = Code(number, "Misuse", variant, "capi")
    return dict(sorted(found.items()))


def words_of_kinds() -> dict[int, str]:
    """The word of the public surface of a kind of finding, and of a reason why a live sweep stops."""
    words = {}
    for file, enum in (("sweep/findings.rs", "Kind"), ("live/stop.rs", "StopReason")):
        named = dict(re.findall(r'(?:Kind|Self)::(\w+)(?: \{ \.\. \})? => "(\w+)"', _read(ROOT / "src" / file)))
        for code in codes().values():
            if code.enum == enum:
                words[code.number] = named[code.variant]
    return words


@cache
def _file(enum: str, room: str) -> Path:
    """Where a type is defined."""
    defined = re.compile(rf"pub (?:enum|struct) {enum}\b")
    files = [path for path in _sources() if defined.search(_read(path))]
    own = [path for path in files if room in (path.parent.name, path.stem)]
    return (own or files)[0]


def _unescaped(literal: str) -> str:
    literal = re.sub(r"\\\n\s*", "", literal)
    return literal.replace('\\"', '"').replace("\\\\", "\\")


def _pattern(literal: str) -> str:
    """What a format makes, as a regular expression."""
    parts = re.split(r"(\{\{|\}\}|\{[^{}]*\})", literal)
    made = {"{{": r"\{", "}}": r"\}"}
    return "".join(made.get(part, ".*?" if part.startswith("{") else re.escape(part)) for part in parts)


def _size(literal: str) -> int:
    return len(re.sub(r"\{[^{}]*\}", "", literal))


def _strings(code: str) -> list[str]:
    return [_unescaped(one) for one in re.findall(_STRING, code, re.DOTALL)]


def _body(text: str, opening: str) -> str:
    """From a line that opens a block to the line that closes it."""
    at = re.search(rf"^( *)(?:pub(?:\([^)]*\))? )?(?:const )?{opening}", text, re.MULTILINE)
    if at is None:
        return ""
    end = re.compile(rf"^{at[1]}\}}", re.MULTILINE).search(text, at.end())
    return text[at.start() : end.start() if end else len(text)]


def _helpers(text: str, code: str) -> list[str]:
    """The strings of the functions of the file that `code` calls."""
    called = re.findall(r"(?<![.\w])(?<!self\.)([a-z]\w+)\(", code)
    return [string for name in called for string in _strings(_body(text, f"fn {name}\\b"))]


@dataclass(frozen=True)
class Texts:
    """What a message of a number looks like: the whole of it, or a part, each a format of Rust."""

    whole: tuple[str, ...]
    parts: tuple[str, ...]
    # Whether they are those of other messages, which this one holds.
    held: bool = False

    def likeness(self, line: str) -> int:
        """Characters that a line has in common with such a message behind a place; 0 where it is none."""
        alike = (one for one in self.whole if re.fullmatch(rf"(?:.*?[:;(] ?)?(?:{_pattern(one)})(?:; .*)?\)?.*", line))
        return max(map(_size, alike), default=0)

    def match(self, line: str) -> bool:
        """Whether a line is such a message, behind a place or the name of a figure, or held by another one."""
        stored = r"(?: at line \d+ column \d+)?\); pass what to_json wrote"
        whole = (_pattern(one) for one in self.whole)
        held = (rf"(?:.*?[:;] )?(?:{one})(?:; .*)?|.*?\({one}{stored}" for one in whole)
        if any(re.fullmatch(one, line) for one in held):
            return True
        return any(re.search(_pattern(one), line) for one in self.parts)


@cache
def texts(number: int) -> Texts:
    """The texts of a number."""
    code = codes()[number]
    if number in _UNNAMED:
        assert any(_UNNAMED[number] in string for string in _strings(_read(_file(code.enum, code.room)))), code
        return Texts((), (_UNNAMED[number],))
    return _texts_of(code.enum, code.variant, code.room)


@cache
def _texts_of(enum: str, variant: str, room: str) -> Texts:
    path = _file(enum, room)
    text = _read(path)
    if not variant:
        error = re.search(rf"#\[error\({_STRING}\)\](?:\s*#\[[^\n]*\])*\s*pub struct {enum}\b", text)
        if error:
            return Texts((_unescaped(error[1]),), ())
        return Texts((), tuple(_strings(_body(text, f"impl fmt::Display for {enum}"))))
    attribute = re.search(
        rf"#\[error\(\s*(?:(transparent)|{_STRING})((?:(?!#\[error)[\s\S])*?)\)\]\s*{variant}\b([^\n]*)",
        _body(text, f"enum {enum}\\b"),
    )
    if attribute is None:
        return _of_display(text, enum, variant)
    if attribute[1]:
        held = re.findall(r"(\w+)\)", attribute[4])[-1]
        return _all_of(held)
    literal = _unescaped(attribute[2])
    if _size(literal) >= _ENOUGH or (enum, variant) == ("Reason", "Remark"):
        return Texts((literal,), ())
    helpers = tuple(one for one in _helpers(text, attribute[3]) if _size(one) >= _ENOUGH)
    return Texts((), helpers) if helpers else Texts((literal,), ())


def _all_of(enum: str) -> Texts:
    """The texts of every variant of a type, or of a type without any."""
    own = [code for code in codes().values() if code.enum == enum]
    every = [texts(code.number) for code in own if code.name != "Reason::Remark"]
    return Texts(tuple(t for e in every for t in e.whole), tuple(t for e in every for t in e.parts), held=True)


def _of_display(text: str, enum: str, variant: str) -> Texts:
    """The strings of the branches of `Display` that name a variant."""
    end = r"(?=\n\s+(?:\| )?Self::|\n\s+_ =>|\n {4}\}\n)"
    branches = re.findall(rf"Self::{variant}\b[^\n]*?=>([\s\S]*?){end}", text)
    code = "\n".join(branch for branch in branches if not re.match(r"\s*\d+,", branch))
    if re.search(r"note\.fmt|sentences\(notes\)", code):
        own = tuple(string for string in _strings(code) if _size(string) >= _ENOUGH)
        return Texts((), own) if own else Texts((), _all_of("Note").parts, held=True)
    found = [string for string in _strings(code) + _helpers(text, code) if _size(string) >= _ENOUGH]
    return Texts((), tuple(found))
