"""Writes what follows from other places into docs/messages: the output of the examples, and the list of all texts.

python .ci/messages.py --write

`tests/python/test_messages.py` and `test_readme.py` say where it is out of date. Look at what changes: an example whose
output is no longer the message under whose heading it stands needs another example.
"""

from __future__ import annotations

import sys
import warnings
from pathlib import Path

ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT / "tests" / "python"))

from code_blocks import shown  # noqa: E402
from message_pages import PAGES, by_text  # noqa: E402


def with_output(page: str) -> str:
    """A page whose blocks of text hold what the block of code before each prints."""
    parts, end = [], 0
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        for block, printed in shown(page):
            parts += [page[end : block.start()], f"```text\n{printed.rstrip()}\n```"]
            end = block.end()
    return "".join([*parts, page[end:]])


def main() -> None:
    """Writes every page anew."""
    for page in [ROOT / "docs" / "messages.md", *PAGES]:
        page.write_text(with_output(page.read_text(encoding="utf-8")), encoding="utf-8")
    (ROOT / "docs" / "messages" / "by_text.md").write_text(by_text(), encoding="utf-8")


if __name__ == "__main__":
    if sys.argv[1:] != ["--write"]:
        sys.exit(__doc__)
    main()
