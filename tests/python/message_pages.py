"""The pages docs/messages: their entries, and the list of all texts that follows from them and from the sources."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from rust_texts import codes, texts, words_of_kinds

FOLDER = Path(__file__).parents[2] / "docs" / "messages"
PAGES = [page for page in sorted(FOLDER.glob("*.md")) if page.name != "by_text.md"]
_HEADING = re.compile(r'^### <a id="c(\d+)"></a>(\d+) `([\w:]+)`(?: · (\w+))?$', re.MULTILINE)


@dataclass(frozen=True)
class Entry:
    """What stands under the heading of a number."""

    page: str
    number: int
    anchor: int
    name: str
    word: str
    body: str
    # The code at the top of its page and of its section, which its example needs.
    top: str

    @property
    def code(self) -> str:
        """Its example."""
        return "\n".join(re.findall(r"```python\n(.*?)```", self.body, re.DOTALL))

    @property
    def printed(self) -> list[str]:
        """The lines that its example prints."""
        return [line for block in re.findall(r"```text\n(.*?)```", self.body, re.DOTALL) for line in block.splitlines()]

    @property
    def quoted(self) -> list[str]:
        """The texts that it quotes in place of an example."""
        return re.findall(r"^> (.*)$", self.body, re.MULTILINE)

    @property
    def prose(self) -> str:
        """What it says."""
        return re.sub(r"```.*?```", "", self.body, flags=re.DOTALL)

    def tells(self, line: str) -> bool:
        """Whether a line is the message of its number."""
        if self.number in words_of_kinds() and self.code:
            return re.match(rf"(?:\w+, )?{words_of_kinds()[self.number]}: ", line) is not None
        return texts(self.number).match(self.plain(line))

    def plain(self, line: str) -> str:
        """A line without the "=" that Python writes behind names of options of the reader."""
        return re.sub(r"(?<=[a-z0-9])=(?=[ ,;]|$)", "", line) if self.page == "reading" else line


def entries() -> list[Entry]:
    """Those of all pages."""
    found = []
    for page in PAGES:
        of_page = of_section = ""
        for part in re.split(r"^(?=##)", page.read_text(encoding="utf-8"), flags=re.MULTILINE):
            match = _HEADING.match(part)
            if match:
                number, name, word, top = int(match[2]), match[3], match[4] or "", of_page + of_section
                found.append(Entry(page.stem, number, int(match[1]), name, word, part[match.end() :], top))
            elif part.startswith("## "):
                of_section = _code_of(part)
            else:
                of_page += _code_of(part)
    return found


def _code_of(part: str) -> str:
    return "\n".join(re.findall(r"```python\n(.*?)```", part, re.DOTALL)) + "\n"


def _shown(entry: Entry) -> str:
    """The text of a number with dots for what differs from case to case."""
    own = next(line for line in (entry.printed if entry.code else entry.quoted) if entry.tells(line))
    if codes()[entry.number].enum == "Kind":
        own = own.split(": ", 1)[1]
        return re.sub(r"−?\d+(?:\.\d+)?(?: ± \d[\d.]*)?", "…", own)
    found = texts(entry.number)
    if found.held:
        return f"{own} (for instance; the text of what it holds)"
    literal = re.sub(r"\{[^{}]*\}", "…", max((*found.whole, *found.parts), key=len))
    return literal if len(re.findall(r"[a-z]{2,}", literal)) > 1 else f"{own} (for instance)"


def by_text() -> str:
    """The page that leads from a text to its number."""
    lines = []
    for entry in entries():
        shown = re.sub(r"…+", "…", _shown(entry)).strip(" ;:,")
        for mark in "|*<":
            shown = shown.replace(mark, f"\\{mark}")
        # By the first word that is the same in every case.
        key = re.sub(r"^[^A-Za-zηΩ]+", "", re.sub(r"…\S*", "", shown)).casefold()
        lines.append((key, f"| {shown} | [{entry.number}]({entry.page}.md#c{entry.number}) |"))
    head = (
        "# All texts\n\n"
        "[All messages](../messages.md) · dots stand for names and numbers; in the order of the first words that do\n"
        "not change. Search this page for a few words of the message. Made by `.ci/messages.py --write`.\n\n"
    )
    return head + "| text | number |\n|---|---|\n" + "\n".join(line for _, line in sorted(lines)) + "\n"
