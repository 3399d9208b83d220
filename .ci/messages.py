"""Writes what follows from other places into docs/messages: the output of the examples, and the list of all texts.

python .ci/messages.py --write

`tests/python/test_messages.py` and `test_readme.py` say where it is out of date. Look at what changes: an example whose
output is no longer the message under whose heading it stands needs another example.
"""

from __future__ import annotations

import contextlib
import io
import re
import sys
import warnings
from pathlib import Path

ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT / "tests" / "python"))

from message_pages import PAGES, by_text  # noqa: E402


def with_output(page: str) -> str:
    """A page whose blocks of text hold what the block of code before each prints."""
    names: dict[str, object] = {}
    shown: str | None = None
    parts = re.split(r"(```(?:python|text)\n.*?```)", page, flags=re.DOTALL)
    for k, part in enumerate(parts):
        if part.startswith("```python\n"):
            printed = io.StringIO()
            with contextlib.redirect_stdout(printed), warnings.catch_warnings():
                warnings.simplefilter("ignore")
                exec(part[len("```python\n") : -3], names)
            shown = printed.getvalue()
        elif part.startswith("```text\n") and shown is not None:
            parts[k] = f"```text\n{shown.rstrip()}\n```"
            shown = None
    return "".join(parts)


def main() -> None:
    """Writes every page anew."""
    for page in [ROOT / "docs" / "messages.md", *PAGES]:
        page.write_text(with_output(page.read_text(encoding="utf-8")), encoding="utf-8")
    (ROOT / "docs" / "messages" / "by_text.md").write_text(by_text(), encoding="utf-8")


if __name__ == "__main__":
    if sys.argv[1:] != ["--write"]:
        sys.exit(__doc__)
    main()
