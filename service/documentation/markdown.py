"""Pages written in markdown (CommonMark, with tables), as HTML whose links lead to where they are served."""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass
from itertools import pairwise

from markdown_it import MarkdownIt
from markdown_it.token import Token
from markupsafe import Markup

_SEEN = MarkdownIt("commonmark", {"html": False}).enable("table")
_PAGE = re.compile(r"(?:.*/)?([\w-]+)\.md(#[\w-]*)?")
README = "readme"
"""The name under which README is served."""


@dataclass(frozen=True, slots=True)
class Page:
    """A page: its name in the address, its title, its first paragraph as text, and all of it as HTML."""

    name: str
    title: str
    about: str
    body: Markup


def page_of(name: str, text: str, served: Collection[str]) -> Page:
    """Return a page. Links to the files of pages that are ``served`` lead to them; others, and pictures, are words."""
    tokens = _SEEN.parse(text)
    for before, token in pairwise(tokens):
        if before.type == "heading_open":
            before.attrSet("id", anchor(token.content))
        if token.type == "inline":
            token.children = _led(token.children or [], served)
    told = [_words(token.children or []) for token in tokens if token.type == "inline"]
    return Page(name, told[0], told[1], Markup(_SEEN.renderer.render(tokens, _SEEN.options, {})))  # noqa: S704


def inline(text: str) -> Markup:
    """Return words of the contract, in which back quotes mark code, as HTML."""
    return Markup(_SEEN.renderInline(text))  # noqa: S704 - HTML in it is escaped by the renderer


def anchor(heading: str) -> str:
    """Return the name of a heading within its page, by the rule that forges of code have for it."""
    return re.sub(r"[^\w -]", "", heading.lower()).replace(" ", "-")


def _words(children: list[Token]) -> str:
    """Return what is written, without its links and emphases."""
    return "".join(" " if child.type == "softbreak" else child.content for child in children)


def _led(children: list[Token], served: Collection[str]) -> list[Token]:
    """Return words with their links led to the pages that are served; other links of the repository are words."""
    kept, dropped = [], False
    for token in children:
        if token.type == "link_open":
            address = _address(str(token.attrs["href"]), served)
            dropped = address is None
            if address:
                token.attrs["href"] = address
        if token.type == "image":
            kept.append(Token("text", "", 0, content=token.content))
        elif not (dropped and token.type in ("link_open", "link_close")):
            kept.append(token)
    return kept


def _address(href: str, served: Collection[str]) -> str | None:
    found = _PAGE.fullmatch(href)
    if not found:
        return href if href.startswith(("/", "#", "https://", "http://")) else None
    name = found[1].lower()
    return f"/docs/{name}{found[2] or ''}" if name in served else None
