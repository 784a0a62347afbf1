"""A page read by Python's own parser, with its elements checked for being closed in their order."""

from __future__ import annotations

from html.parser import HTMLParser

__all__ = ["Outline", "outline_of"]

VOID = frozenset({"br", "hr", "input", "meta"})
Attributes = list[tuple[str, str | None]]


class Outline(HTMLParser):
    """Every element in its order, with the text inside."""

    def __init__(self) -> None:
        """Begin with nothing."""
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.elements: list[tuple[str, dict[str, str]]] = []
        self.texts: dict[str, list[str]] = {}
        self.wrong: list[str] = []

    def handle_starttag(self, tag: str, attrs: Attributes) -> None:
        """Note an element; its texts are gathered under its name."""
        self.elements.append((tag, {name: value or "" for name, value in attrs}))
        self.texts.setdefault(tag, []).append("")
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: Attributes) -> None:
        """Note an element of a drawing that closes itself."""
        self.elements.append((tag, {name: value or "" for name, value in attrs}))

    def handle_endtag(self, tag: str) -> None:
        """Close the innermost element, which must be the one named."""
        if not self.open or self.open.pop() != tag:
            self.wrong.append(tag)

    def handle_data(self, data: str) -> None:
        """Add a text to all elements around it."""
        for tag in set(self.open):
            self.texts[tag][-1] += data

    def named(self, *tags: str) -> list[dict[str, str]]:
        """Return the attributes of all elements of some names."""
        return [attributes for tag, attributes in self.elements if tag in tags]


def outline_of(page: bytes) -> Outline:
    """Return a page's elements."""
    outline = Outline()
    outline.feed(page.decode())
    outline.close()
    return outline
