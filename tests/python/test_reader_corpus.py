"""The reader on the corpus of invented files, whose writers share no code with it, and on edits of them."""

from __future__ import annotations

import sys
from collections import Counter
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "corpus"))

import held_out
import mutations
from judge import GOOD, judge, litdiode_reader
from make_files import files


@pytest.mark.parametrize("seed", [1, 2])
def test_every_file_of_the_corpus_is_read_or_refused_as_it_should(seed: int) -> None:
    read = litdiode_reader()
    wrong = [(case.name, verdict) for case in files(seed) if (verdict := judge(case, read)).word not in GOOD]
    assert not wrong


def test_files_of_another_writer_are_never_wrong_in_silence() -> None:
    read = litdiode_reader()
    words = Counter(judge(case, read).word for case in held_out.files(7))
    assert words["wrong_silently"] == 0 and words["crashed"] == 0
    # What the reader does not know is refused; at least as many are right as when docs/reading.md was written.
    assert sum(words[good] for good in GOOD) >= 258
    assert words["metadata_dropped"] <= 4


def test_edited_files_give_the_original_or_a_word() -> None:
    counts = mutations.run(litdiode_reader(), 600, seed=11)
    assert counts["crashed"] == 0
    assert counts["silent"] <= 2
    assert counts["the original's readings"] > 300
