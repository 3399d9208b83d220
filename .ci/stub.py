"""Checks the stub of the compiled core against it: docstrings, and defaults that the stub leaves open.

python .ci/stub.py          fails where a docstring or a default differs
python .ci/stub.py --write  writes the docstrings of the core into the stub

Names, kinds and types of arguments are checked by mypy.stubtest, which does not look at these.
"""

from __future__ import annotations

import ast
import inspect
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from litdiode import _core

STUB = Path(__file__).parents[1] / "python" / "litdiode" / "_core.pyi"
Node = ast.ClassDef | ast.FunctionDef


def entries(tree: ast.Module) -> Iterator[tuple[str, Node, Any]]:
    """Name, place in the stub and object of every class, function, method and property with a public name."""
    for node in tree.body:
        if isinstance(node, Node):
            thing = getattr(_core, node.name)
            yield node.name, node, thing
            for member in node.body if isinstance(node, ast.ClassDef) else []:
                if isinstance(member, ast.FunctionDef) and not member.name.startswith("_"):
                    yield f"{node.name}.{member.name}", member, inspect.getattr_static(thing, member.name)


def docstring(thing: Any) -> str:
    """The docstring of an object of the core."""
    thing = thing.__func__ if isinstance(thing, staticmethod) else thing
    return inspect.cleandoc(thing.__doc__ or "")


def open_defaults(name: str, node: Node, thing: Any) -> list[str]:
    """Arguments whose default the stub leaves open and the core does not."""
    if isinstance(node, ast.ClassDef):
        made = [m for m in node.body if isinstance(m, ast.FunctionDef) and m.name == "__new__"]
        return [text for m in made[:1] for text in open_defaults(name, m, thing)]
    if not callable(thing) or (isinstance(thing, type) and thing.__text_signature__ is None):
        return []
    known = inspect.signature(thing).parameters
    spec = node.args
    given = [*zip(reversed([*spec.posonlyargs, *spec.args]), reversed(spec.defaults), strict=False)]
    given += [(arg, default) for arg, default in zip(spec.kwonlyargs, spec.kw_defaults, strict=True) if default]
    left = [arg.arg for arg, default in given if isinstance(default, ast.Constant) and default.value is ...]
    return [f"{name}: {arg}={known[arg].default!r}" for arg in left if known[arg].default is not ...]


def written(text: str, indent: str) -> list[str]:
    """A docstring as lines of the stub."""
    mark = 'r"""' if "\\" in text else '"""'
    lines = f'{mark}{text}{chr(10) if chr(10) in text else ""}"""'.split("\n")
    return [f"{indent}{line}".rstrip() for line in lines]


def with_docstrings(source: str) -> str:
    """The stub with the docstrings of the core."""
    lines = source.split("\n")
    for _, node, thing in reversed(list(entries(ast.parse(source)))):
        text, first = docstring(thing), node.body[0]
        if not text or ast.get_docstring(node) == text:
            continue
        new = written(text, " " * (node.col_offset + 4))
        if ast.get_docstring(node) is not None:
            lines[first.lineno - 1 : first.end_lineno] = new
        elif isinstance(node, ast.FunctionDef):
            head = lines[first.lineno - 1][: first.col_offset].rstrip()
            lines[first.lineno - 1 : first.end_lineno] = [head, *new]
        elif isinstance(first, ast.Expr) and first.lineno == node.lineno:
            lines[first.lineno - 1 : first.end_lineno] = [lines[first.lineno - 1][: first.col_offset].rstrip(), *new]
        else:
            above = min([first.lineno, *(d.lineno for d in getattr(first, "decorator_list", []))])
            lines[above - 1 : above - 1] = new
    return "\n".join(lines)


def main() -> int:
    """Prints what differs, or writes it."""
    source = STUB.read_text(encoding="utf-8")
    if "--write" in sys.argv:
        STUB.write_text(with_docstrings(source), encoding="utf-8")
        return 0
    wrong = []
    for name, node, thing in entries(ast.parse(source)):
        if (ast.get_docstring(node) or "") != docstring(thing):
            wrong.append(f"{name}: the docstring in the stub is not that of the core; run .ci/stub.py --write")
        wrong += [f"{text} in the core is left open in the stub" for text in open_defaults(name, node, thing)]
    print("\n".join(wrong) or "the stub has the docstrings and the defaults of the core")
    return bool(wrong)


if __name__ == "__main__":
    sys.exit(main())
