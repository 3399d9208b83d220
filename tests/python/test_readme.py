"""The README shows what its code prints."""

from __future__ import annotations

import contextlib
import io
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


def test_the_readme_shows_what_its_code_prints(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    blocks = re.findall(r"```(python|text)\n(.*?)```", (ROOT / "README.md").read_text(encoding="utf-8"), re.DOTALL)
    names: dict[str, object] = {}
    shown = ""
    compared = 0
    for kind, block in blocks:
        if kind == "python":
            printed = io.StringIO()
            with contextlib.redirect_stdout(printed):
                exec(block, names)
            shown = printed.getvalue()
        else:
            # The last digits of an interval's end depend on the platform's exp.
            short = re.compile(r"(\d\.\d{6})\d+")
            assert short.sub(r"\1", block).rstrip() == short.sub(r"\1", shown).rstrip()
            compared += 1
    assert compared == 2
