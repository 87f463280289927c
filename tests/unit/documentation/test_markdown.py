"""Pages of markdown as HTML."""

from __future__ import annotations

import pytest

from service.documentation.markdown import anchor, page_of

SERVED = ("running", "readme")


@pytest.mark.parametrize(("written", "shown"), [
    ("[how](running.md#on-many-machines)", '<a href="/docs/running#on-many-machines">how</a>'),
    ("[first](../../README.md#start-it)", '<a href="/docs/readme#start-it">first</a>'),
    ("[first](service/documentation/running.md)", '<a href="/docs/running">first</a>'),
    ("[`wall`](tests/data/wall.json) ends", "<code>wall</code> ends"),
    ("[other](DEVELOPERS.md)", "other"),
    ("[fields](/docs/fields#Stock)", '<a href="/docs/fields#Stock">fields</a>'),
    ("![six courses](lap-map.svg)", "six courses"),
    ("<script>x</script>", "&lt;script&gt;x&lt;/script&gt;"),
    ("[bad](javascript:x)", "[bad](javascript:x)"),
])  # fmt: skip
def test_links_lead_where_pages_are_served(written: str, shown: str) -> None:
    """What is not served is words, and so is HTML."""
    assert page_of("a", f"# A page\n\n{written}\n", SERVED).body == f'<h1 id="a-page">A page</h1>\n<p>{shown}</p>\n'


def test_a_page_says_what_it_is_about() -> None:
    """Its first paragraph, without links and over the ends of lines."""
    page = page_of("a", "# A `page`\n\nAbout [this](running.md),\nand that.\n", SERVED)
    assert (page.title, page.about) == ("A page", "About this, and that.")


def test_headings_are_named_as_elsewhere() -> None:
    """As forges of code name them, so that one link serves both."""
    assert anchor("A wall, and where its laps go") == "a-wall-and-where-its-laps-go"
