"""The corpus of invented measurement files for the reader of files: `files(seed)` yields each with its right answer.

All devices, names, numbers and remarks are invented. The corpus shares no code and no list of words with the reader.
Written out with `python tests/corpus/make_files.py FOLDER [SEED]`.
"""

import sys
from collections.abc import Iterator
from pathlib import Path

from delimiters import delimiters
from encodings_and_ends import encodings
from extra_columns import extra_columns
from headings import headings
from logs import logs
from metadata import metadata
from mixtures import mixtures
from number_forms import number_forms
from overflow_marks import overflow_marks
from parts import CorpusFile, Expected
from refusals import refusals
from several_sweeps import several_sweeps

__all__ = ["CorpusFile", "Expected", "files"]

LARGEST = 10_000

GROUPS = (
    delimiters,
    encodings,
    headings,
    extra_columns,
    metadata,
    several_sweeps,
    overflow_marks,
    number_forms,
    logs,
    refusals,
    mixtures,
)


def files(seed: int = 1) -> Iterator[CorpusFile]:
    """All files; equal seeds give equal files."""
    for group in GROUPS:
        for made in group(seed):
            if len(made.data) > LARGEST:
                raise AssertionError(f"{made.name} has {len(made.data)} bytes")
            yield made


def main() -> None:
    """Write every file into a folder."""
    folder = Path(sys.argv[1])
    folder.mkdir(parents=True, exist_ok=True)
    for made in files(int(sys.argv[2]) if len(sys.argv) > 2 else 1):
        (folder / made.name).write_bytes(made.data)


if __name__ == "__main__":
    main()
