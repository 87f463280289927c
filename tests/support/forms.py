"""The fields of a page's form as a browser without JavaScript would send them."""

from __future__ import annotations

from html.parser import HTMLParser


class _Fields(HTMLParser):
    """Collects the fields of the form with one id, by the rules of HTML's form submission."""

    def __init__(self, form: str) -> None:
        super().__init__()
        self.form, self.inside = form, False
        self.found: dict[str, str] = {}
        self.select = self.area = ""
        self.chosen: str | None = None

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Take a field, or remember the one that is open."""
        given = {name: value or "" for name, value in attrs}
        self.inside = self.inside or (tag == "form" and given.get("id") == self.form)
        if not self.inside:
            return
        if tag == "input" and (given.get("type") not in ("radio", "checkbox") or "checked" in given):
            self.found[given["name"]] = given.get("value", "on")
        elif tag == "select":
            self.select, self.chosen = given["name"], None
        elif tag == "option" and (self.chosen is None or "selected" in given):
            self.chosen = given["value"]
        elif tag == "textarea":
            self.area = given["name"]
            self.found[self.area] = ""

    def handle_endtag(self, tag: str) -> None:
        """Close what is open."""
        if tag == "form":
            self.inside = False
        elif tag == "select" and self.inside:
            self.found[self.select] = self.chosen or ""
        elif tag == "textarea":
            self.area = ""

    def handle_data(self, data: str) -> None:
        """Take the text of a text area."""
        if self.area:
            self.found[self.area] += data


def fields_of(page: str, form: str = "counter") -> dict[str, str]:
    """Return the fields of a form by their names; of a text area, a first line end is not part of its text."""
    reader = _Fields(form)
    reader.feed(page)
    return {name: value.removeprefix("\n") for name, value in reader.found.items()}
