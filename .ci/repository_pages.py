"""Links from the handbook to files outside docs/: a hook of mkdocs, named in mkdocs.yml.

A page links to a file of the repository by its relative path, so that the link works where the repository is read. In
the built site the file becomes a page under `repository/` (text as it stands, Markdown as a page, a notebook as a file
to load), and the link leads there. A link to a file that is not there is a warning, and so an error in strict mode.
"""

from __future__ import annotations

import logging
import posixpath
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from mkdocs.structure.files import File, Files

ROOT = Path(__file__).resolve().parents[1]
AT = "repository"
LANGUAGES = {".rs": "rust", ".py": "python", ".toml": "toml", ".csv": "text", ".h": "c", ".c": "c", ".json": "json"}
# Pages that stand in the navigation.
ALWAYS = ("CHANGELOG.md", "DEVELOPERS.md")
NOTEBOOKS = ROOT / "python" / "notebooks"

# A block of code, a piece of code in a line, or the target of a link.
PIECE = re.compile(r"^( *)(`{3,}|~{3,}).*?^\1\2`* *$|`[^`\n]+`|\]\((?P<link>[^)\s]+)\)", re.DOTALL | re.MULTILINE)
log = logging.getLogger("mkdocs.hooks.repository_pages")


def source(src_uri: str) -> str:
    """The path in the repository of what a page of the site is made of."""
    return src_uri.removeprefix(f"{AT}/") if src_uri.startswith(f"{AT}/") else f"docs/{src_uri}"


def place(path: str) -> str:
    """Where a file of the repository stands among the sources of the site."""
    if path.startswith("docs/"):
        return path.removeprefix("docs/")
    return f"{AT}/{path}" if path.endswith((".md", ".ipynb")) else f"{AT}/{path}.md"


def target(page: str, link: str) -> str | None:
    """The path in the repository that a link of a page leads to; None for anchors and other hosts."""
    path = link.partition("#")[0]
    if not path or re.match(r"[a-z]+:", path):
        return None
    return posixpath.normpath(posixpath.join(posixpath.dirname(page), path))


def links(text: str) -> Iterator[str]:
    """The targets of the links of a page, those in code left out."""
    return (found["link"] for found in PIECE.finditer(text) if found["link"])


def with_links(text: str, renamed: Callable[[str], str]) -> str:
    """The page with every link renamed."""

    def one(found: re.Match[str]) -> str:
        return f"]({renamed(found['link'])})" if found["link"] else found[0]

    return PIECE.sub(one, text)


def notebooks() -> list[str]:
    """The notebooks, as paths in the repository."""
    return [path.relative_to(ROOT).as_posix() for path in sorted(NOTEBOOKS.glob("*.ipynb"))]


def generated(config: Any, path: str) -> File:
    """The file of the site that a file of the repository becomes."""
    if path.endswith((".md", ".ipynb")):
        return File.generated(config, place(path), abs_src_path=str(ROOT / path))
    text = (ROOT / path).read_text(encoding="utf-8").rstrip()
    fence = "`" * (3 + max((len(run) for run in re.findall(r"`+", text)), default=0))
    language = LANGUAGES.get(Path(path).suffix, "text")
    head = f"---\nsearch:\n  exclude: true\ntitle: {Path(path).name}\n---\n\n# `{path}`\n\n"
    return File.generated(config, place(path), content=f"{head}{fence}{language}\n{text}\n{fence}\n")


def on_files(files: Files, config: Any) -> Files:
    """Adds every file outside docs/ that a page links to, and what these link to."""
    seen = {source(file.src_uri) for file in files}
    left = [*ALWAYS, *notebooks()]
    for file in files.documentation_pages():
        left += [path for link in links(file.content_string) if (path := target(source(file.src_uri), link))]
    while left:
        path = left.pop()
        if path in seen or path.startswith(("docs/", "../")) or not (ROOT / path).is_file():
            continue
        seen.add(path)
        files.append(generated(config, path))
        if path.endswith(".md"):
            text = (ROOT / path).read_text(encoding="utf-8")
            left += [further for link in links(text) if (further := target(path, link))]
    return files


def on_page_markdown(markdown: str, page: Any, config: Any, files: Files) -> str:
    """Leads the links of a page to where their files stand in the site."""
    src_uri = page.file.src_uri
    here = source(src_uri)

    def renamed(link: str) -> str:
        path = target(here, link)
        if path is None:
            return link
        if path.startswith("docs/") == here.startswith("docs/") and path.startswith("docs/"):
            return link
        if not files.get_file_from_path(place(path)):
            log.warning("%s links to %s, which is no file of the repository", here, path)
        anchor = link.partition("#")[1:]
        return posixpath.relpath(place(path), posixpath.dirname(src_uri)) + "".join(anchor)

    if here == "docs/notebooks.md" and (found := notebooks()):
        lines = "\n".join(f"- [{Path(path).name}](../{path})" for path in found)
        markdown = f"{markdown.rstrip()}\n\n## Files\n\n{lines}\n"
    return with_links(markdown, renamed)
