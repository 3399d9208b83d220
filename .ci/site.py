"""Checks the built handbook: nothing of it is loaded from elsewhere, and every link and anchor in it leads somewhere.

python .ci/site.py [site]
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urldefrag, urlsplit

# What a browser loads of itself: tag to attribute. Of `link` that is a style sheet, an icon, a font.
LOADED = {
    "script": "src",
    "link": "href",
    "img": "src",
    "iframe": "src",
    "source": "src",
    "video": "src",
    "object": "data",
}
# A page of a server alone, whose addresses begin at its root.
LEFT_OUT = ("404.html",)


class Page(HTMLParser):
    """Anchors of a page, its links, and what it loads."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.anchors: set[str] = set()
        self.links: list[str] = []
        self.loaded: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        self.anchors |= {given[name] for name in ("id", "name") if given.get(name)}
        if tag == "a" and "href" in given:
            self.links.append(given["href"])
        if tag in LOADED and given.get(LOADED[tag]):
            self.loaded.append(given[LOADED[tag]])
        self.loaded += re.findall(r"url\(['\"]?([^'\")]+)", given.get("style", ""))
        if "mermaid" in given.get("class", "").split():
            self.loaded.append("https: a diagram, whose program the theme takes from another host")


def elsewhere(address: str) -> bool:
    """Whether an address leads to another host."""
    return bool(re.match(r"(https?:)?//|https?:", address))


def problems(site: Path) -> Iterator[str]:
    """What is wrong with the site, a line each."""
    pages = {
        path.resolve(): Page(path.read_text(encoding="utf-8"))
        for path in sorted(site.rglob("*.html"))
        if path.name not in LEFT_OUT
    }
    for path, page in pages.items():
        name = path.relative_to(site.resolve())
        for address in page.loaded:
            if elsewhere(address):
                yield f"{name} loads {address}"
            elif not address.startswith("data:") and not (path.parent / unquote(urlsplit(address).path)).is_file():
                yield f"{name} loads {address}, which is not there"
        for link in page.links:
            file, anchor = urldefrag(link)
            if elsewhere(link) or re.match(r"[a-z]+:", link):
                continue
            target = (path.parent / unquote(file)).resolve() if file else path
            target = target / "index.html" if target.is_dir() else target
            if not target.is_file():
                yield f"{name} links to {link}, which is not there"
            elif anchor and target in pages and unquote(anchor) not in pages[target].anchors:
                yield f"{name} links to {link}, which has no such anchor"
    for sheet in sorted(site.rglob("*.css")):
        text = sheet.read_text(encoding="utf-8")
        for pair in re.findall(r"url\(\s*['\"]?([^'\")\s]+)|@import\s+['\"]([^'\"]+)", text):
            if elsewhere(address := "".join(pair)):
                yield f"{sheet.relative_to(site)} loads {address}"
    if not (site / "search" / "search_index.js").is_file():
        yield "search/search_index.js is not there: the handbook cannot be searched where it is read from files"


def main() -> int:
    site = Path(sys.argv[1] if len(sys.argv) > 1 else "site")
    found = list(problems(site))
    pages = len(list(site.rglob("*.html")))
    print("\n".join(found) or f"{pages} pages: all links lead somewhere, nothing is loaded from elsewhere")
    return 1 if found or not pages else 0


if __name__ == "__main__":
    raise SystemExit(main())
