"""`python -m litdiode [files | study.toml]`: tables, verdicts, pictures and a report; of the demo without files.

A file that cannot be read or analysed gets one line on stderr; the others are analysed all the same. The exit
code is 1 if anything failed.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from pathlib import Path

from ._core import LitdiodeError
from .command import outputs, reading
from .command.options import parser


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command; the exit code comes back."""
    for stream in (sys.stdout, sys.stderr):
        # A terminal without ± or Ω shows a question mark rather than a traceback.
        getattr(stream, "reconfigure", lambda **_: None)(errors="replace")
    try:
        code = _run(arguments)
        sys.stdout.flush()
        return code
    except BrokenPipeError:
        # Whoever read the output has gone; what is left of it goes nowhere.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 1


def _run(arguments: Sequence[str] | None) -> int:
    options = parser()
    asked = options.parse_args(arguments)
    if (asked.csv, asked.json) == ("-", "-"):
        options.error("--csv and --json cannot both go to the standard output: name a file for one")
    quiet = "-" in (asked.csv, asked.json)
    if not asked.files:
        text = "No files named: here is the bundled demo. Its data are invented.\n"
        print(text, file=sys.stderr if quiet else sys.stdout)
    try:
        study, read = reading.study(asked)
    except LitdiodeError as problem:
        print(f"error: {problem}", file=sys.stderr)
        return 1
    if study is None:
        return 1
    whole = not quiet and (not asked.files or asked.files[0].lower().endswith(".toml"))
    drawn = True
    if not quiet:
        outputs.show(study)
        drawn = outputs.pictures(study, Path(asked.out))
    written = outputs.files(study, asked, whole=whole and drawn)
    return 0 if read and drawn and written else 1


if __name__ == "__main__":
    sys.exit(main())
