"""The README and the pages of docs/ show what their code prints."""

from __future__ import annotations

from pathlib import Path

import pytest
from code_blocks import shown, without_last_digits

ROOT = Path(__file__).parents[2]


PAGES = ["README.md", *sorted(page.relative_to(ROOT).as_posix() for page in (ROOT / "docs").rglob("*.md"))]
# Blocks of code whose output stands below, in each page that has any.
COMPARED = {
    "README.md": 3,
    "docs/ageing.md": 3,
    "docs/corrections.md": 1,
    "docs/course.md": 4,
    "docs/curves.md": 4,
    "docs/fitting.md": 10,
    "docs/getting_key_points.md": 5,
    "docs/keeping.md": 3,
    "docs/live.md": 1,
    "docs/many_sweeps.md": 3,
    "docs/measurement.md": 2,
    "docs/messages.md": 1,
    "docs/messages/findings.md": 22,
    "docs/messages/fits.md": 32,
    "docs/messages/general.md": 5,
    "docs/messages/interpolants.md": 10,
    "docs/messages/key_points.md": 68,
    "docs/messages/live.md": 15,
    "docs/messages/maximum_power.md": 9,
    "docs/messages/models.md": 6,
    "docs/messages/plans.md": 23,
    "docs/messages/reading.md": 41,
    "docs/messages/resistances.md": 25,
    "docs/messages/rig.md": 18,
    "docs/messages/sweep.md": 18,
    "docs/messages/translation.md": 17,
    "docs/models.md": 5,
    "docs/planning.md": 2,
    "docs/repeats.md": 1,
    "docs/report.md": 1,
    "docs/side_by_side.md": 2,
    "docs/start.md": 5,
    "docs/study.md": 4,
    "docs/translation.md": 4,
    "docs/uncertainty.md": 10,
}


# The files of the demo hold what is warned of.
@pytest.mark.filterwarnings("ignore::litdiode.LitdiodeWarning")
@pytest.mark.parametrize("page", PAGES)
def test_a_page_shows_what_its_code_prints(page: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    compared = 0
    for block, printed in shown((ROOT / page).read_text(encoding="utf-8")):
        assert without_last_digits(block[2]).rstrip() == without_last_digits(printed).rstrip()
        compared += 1
    assert compared == COMPARED.get(page, 0)
