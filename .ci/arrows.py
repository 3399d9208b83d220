"""Checks who uses whom: rooms of the core use only rooms above them, and files form no circles.

python .ci/arrows.py
"""

from __future__ import annotations

import re
import sys
from collections import defaultdict
from pathlib import Path

ROOT = Path(__file__).parents[1]

# Each room uses only those before it; `code` numbers the errors of all, `setters` is a macro.
ROOMS = [
    "setters",
    "numerics",
    "quantity",
    "instrument_check",
    "sweep",
    "diode",
    "fit",
    "interpolant",
    "curve",
    "hysteresis",
    "step_response",
    "detection",
    "reading",
    "remarks",
    "resistance",
    "translate",
    "maximum_power",
    "simulate",
    "plan",
    "live",
    "code",
]

# Modules that lib.rs gives a second name.
ELSEWHERE = {
    "cancel": "numerics",
    "threads": "numerics",
    "serde_float": "numerics",
    "estimate": "quantity",
    "key_points": "quantity",
    "reason": "quantity",
    "quantity_format": "quantity",
    "source": "quantity",
    "arithmetic": "quantity",
    "budget": "quantity",
}

# Circles that stand, files of each: a trait whose default methods are computed elsewhere.
BY_NATURE = [
    {"diode::curve_sampling", "diode::junction", "diode::maximum"},
]


def code_of(path: Path) -> str:
    """The text of a file without its unit tests and comments."""
    text = path.read_text(encoding="utf-8").split("#[cfg(test)]\nmod tests")[0]
    return "\n".join(line for line in text.split("\n") if not line.lstrip().startswith("//"))


def modules(folder: Path) -> dict[str, Path]:
    """Path of each module that is a file of its own; a mod.rs only gathers."""
    found = {}
    for path in sorted(folder.rglob("*.rs")):
        parts = path.relative_to(folder).with_suffix("").parts
        if parts[-1] not in ("mod", "lib"):
            found["::".join(parts)] = path
    return found


def uses(module: str, text: str, known: dict[str, Path]) -> set[str]:
    """The modules that a file names by `super::` or `crate::`."""
    named = []
    for supers, rest in re.findall(r"\b((?:super::)+)((?:\w+::)*\w+)", text):
        base = module.split("::")[: -supers.count("super")]
        named.append([*base, *rest.split("::")])
    named += [rest.split("::") for rest in re.findall(r"\bcrate::((?:\w+::)*\w+)", text)]
    found = set()
    for parts in named:
        for end in range(len(parts), 0, -1):
            if "::".join(parts[:end]) in known:
                found.add("::".join(parts[:end]))
                break
    # A type names its stored form in an attribute of serde.
    return {other for other in found if other != module and not other.endswith("serialization")}


def circles(edges: dict[str, set[str]]) -> list[set[str]]:
    """Strongly connected components of more than one module (Tarjan, SIAM J. Comput. 1 (1972) 146)."""
    index: dict[str, int] = {}
    low: dict[str, int] = {}
    stack: list[str] = []
    found: list[set[str]] = []

    def visit(v: str) -> None:
        index[v] = low[v] = len(index)
        stack.append(v)
        for w in edges[v]:
            if w not in index:
                visit(w)
                low[v] = min(low[v], low[w])
            elif w in stack:
                low[v] = min(low[v], index[w])
        if low[v] == index[v]:
            component = set()
            while v not in component:
                component.add(stack.pop())
            if len(component) > 1:
                found.append(component)

    for v in list(edges):
        if v not in index:
            visit(v)
    return found


def main() -> int:
    """Prints what points the wrong way."""
    wrong = []
    for path in sorted((ROOT / "src").rglob("*.rs")):
        room = path.relative_to(ROOT / "src").parts[0].removesuffix(".rs")
        if room == "lib":
            continue
        for named in set(re.findall(r"\bcrate::(\w+)", code_of(path))):
            other = ELSEWHERE.get(named, named)
            if other in ROOMS and ROOMS.index(other) > ROOMS.index(room):
                wrong.append(f"{path.relative_to(ROOT)} uses {other}, which is below {room}")
    for folder in (ROOT / "src", ROOT / "capi" / "src", ROOT / "python" / "src"):
        known = modules(folder)
        edges = defaultdict(set, {m: uses(m, code_of(p), known) for m, p in known.items()})
        for circle in circles(edges):
            if circle not in BY_NATURE:
                inside = sorted(f"{m} → {other}" for m in circle for other in edges[m] & circle)
                wrong.append(f"{folder.relative_to(ROOT)}: circle of " + ", ".join(inside))
    print("\n".join(wrong) or "no arrow points back")
    return bool(wrong)


if __name__ == "__main__":
    sys.exit(main())
