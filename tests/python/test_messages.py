"""docs/messages explains every number of the library once, by its name, with a text that is the library's own.

What the examples print is compared with the pages in test_readme.py.
"""

from __future__ import annotations

import re

import pytest
from code_blocks import printed_by, without_last_digits
from message_pages import FOLDER, PAGES, Entry, by_text, entries
from rust_texts import codes, texts, words_of_kinds

ENTRIES = entries()
DOCS = FOLDER.parent
# A number of an array differs from a single one by its index; two reasons stand in one note.
ALIKE = ({201, 202}, {847, 848})
# How many messages an example makes, and how many more a stored result is made to tell.
MADE, TOLD_FROM_STORAGE = 290, 17


def test_every_number_stands_in_one_page_under_its_name() -> None:
    assert len(codes()) > 330
    assert sorted(entry.number for entry in ENTRIES) == list(codes())
    words = words_of_kinds()
    for entry in ENTRIES:
        assert entry.anchor == entry.number
        assert entry.name == codes()[entry.number].name, entry.number
        assert entry.word == words.get(entry.number, ""), entry.number


def test_no_page_names_a_number_that_does_not_exist() -> None:
    for page in [DOCS / "messages.md", *PAGES, FOLDER / "by_text.md"]:
        text = page.read_text(encoding="utf-8")
        for number in re.findall(r"#c(\d+)\b", text):
            assert int(number) in codes(), f"{page.name}: {number}"
        for number in re.findall(r"\[(\d+)\]\(", text):
            assert int(number) in codes(), f"{page.name}: {number}"


@pytest.mark.parametrize("entry", ENTRIES, ids=lambda entry: str(entry.number))
def test_the_text_is_that_of_the_library(entry: Entry) -> None:
    shown = entry.printed if entry.code else entry.quoted
    own = [line for line in shown if entry.tells(line)]
    assert own, f"{entry.number} {entry.name}: none of {shown} is its text"
    # No other message of the same type has more of it.
    code = codes()[entry.number]
    others = [
        other
        for other in codes().values()
        if other.enum == code.enum and other != code and {other.number, code.number} not in ALIKE
    ]
    for line in map(entry.plain, own):
        likeness = max((texts(c.number).likeness(line) for c in others if not texts(c.number).held), default=0)
        assert likeness == 0 or likeness < texts(entry.number).likeness(line), f"{entry.number}: {line}"


@pytest.mark.parametrize("entry", ENTRIES, ids=lambda entry: str(entry.number))
def test_an_entry_says_cause_and_cure_and_is_short(entry: Entry) -> None:
    bold = re.findall(r"\*\*([A-Z][a-z ]+):\*\*", entry.prose)
    assert bold in (["Cause", "Cure"], ["Looks like", "Made by", "Cure"]), entry.number
    assert entry.code or ("*Raised by:*" in entry.prose and entry.quoted), (
        f"{entry.number} has neither example nor origin"
    )
    assert len([line for line in entry.prose.splitlines() if line]) <= 8, entry.number


# Simulated readings may be turned, which is told.
@pytest.mark.filterwarnings("ignore::litdiode.LitdiodeWarning")
@pytest.mark.parametrize("entry", [entry for entry in ENTRIES if entry.code], ids=lambda entry: str(entry.number))
def test_an_example_needs_the_top_of_its_page_alone(entry: Entry) -> None:
    names: dict[str, object] = {}
    printed_by(entry.top, names)
    printed = printed_by(entry.code, names)
    assert without_last_digits(printed).splitlines() == without_last_digits("\n".join(entry.printed)).splitlines()


def test_the_number_of_examples_does_not_fall() -> None:
    from_storage = [entry for entry in ENTRIES if re.search(r"\bstored\(", entry.code)]
    made = [entry for entry in ENTRIES if entry.code and entry not in from_storage]
    print(f"{len(made)} made by an example, {len(from_storage)} told from storage, of {len(ENTRIES)}")
    assert len(made) >= MADE
    assert len(made) + len(from_storage) >= MADE + TOLD_FROM_STORAGE


def test_each_finding_is_shown_by_a_sweep() -> None:
    kinds = [entry for entry in ENTRIES if codes()[entry.number].enum == "Kind"]
    assert len(kinds) == 22
    assert all(entry.code and "**Looks like:**" in entry.prose for entry in kinds)


def test_the_table_of_numbers_names_the_pages() -> None:
    table = (DOCS / "messages.md").read_text(encoding="utf-8")
    found: dict[str, set[int]] = {}
    for numbers, page in re.findall(r"^\| ([\d–, ]+) \| \[[\w ]+\]\(messages/(\w+)\.md\)", table, re.MULTILINE):
        for part in numbers.split(", "):
            low, _, high = part.partition("–")
            found.setdefault(page, set()).update(range(int(low), int(high or low) + 1))
    for page in PAGES:
        own = {entry.number for entry in ENTRIES if entry.page == page.stem}
        # A range may pass over a number that was never given, and over no other.
        assert own <= found[page.stem] and not (found[page.stem] - own) & set(codes()), page.stem
    assert set(found) == {page.stem for page in PAGES}


def test_links_lead_somewhere() -> None:
    checked = 0
    for page in [DOCS / "messages.md", *PAGES, FOLDER / "by_text.md"]:
        for target in re.findall(r"\]\(([^)\s]+)\)", page.read_text(encoding="utf-8")):
            name, _, anchor = target.partition("#")
            file = (page.parent / name).resolve() if name else page
            assert file.is_file(), f"{page.name}: {target}"
            text = file.read_text(encoding="utf-8")
            headings = {re.sub(r"[^\w -]", "", line).strip().lower().replace(" ", "-") for line in _headings(text)}
            assert not anchor or f'id="{anchor}"' in text or anchor in headings, f"{page.name}: {target}"
            checked += 1
    assert checked > 400


def _headings(text: str) -> list[str]:
    return re.findall(r"^#+ (.*)$", text, re.MULTILINE)


def test_the_list_of_texts_is_up_to_date() -> None:
    found = (FOLDER / "by_text.md").read_text(encoding="utf-8")
    assert found == by_text(), "run .ci/messages.py --write"


def test_the_texts_that_are_compared_with_come_from_the_sources() -> None:
    """The parser of the sources finds what a reader finds, in each way of writing a text."""
    assert texts(102).whole == (
        "voltage_v has {voltage} values and {name} has {given}; pass one {name} value for each voltage",
    )
    assert texts(306).match(
        "residual nearest needs an uncertainty of voltage or current; state it in the noise of the sweep, "
        "or leave residual to the automatic choice"
    )
    assert texts(326).parts == ("rsh is at its bound: no shunt is visible; the interval is one-sided",)
    assert not texts(325).match("rsh is at its bound: no shunt is visible; the interval is one-sided")
    assert texts(783).match("all current_a are 0; check the wiring, the range and the column: a curve needs a current")
    assert not texts(101).match(
        "all current_a are 0; check the wiring, the range and the column: a curve needs a current"
    )
