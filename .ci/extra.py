"""The packages of an extra of pyproject.toml, a line each: `python .ci/extra.py docs`."""

from __future__ import annotations

import sys
from pathlib import Path

if sys.version_info >= (3, 11):
    import tomllib
else:
    import tomli as tomllib

with open(Path(__file__).parents[1] / "pyproject.toml", "rb") as file:
    print(*tomllib.load(file)["project"]["optional-dependencies"][sys.argv[1]], sep="\n")
