"""What a PDF document draws, read from its own instructions, in millimetres from each page's lower left corner."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from io import BytesIO
from math import hypot
from typing import Any

from pypdf import PageObject, PdfReader
from pypdf.generic import ContentStream

__all__ = ["PdfLetters", "PdfPage", "PdfPath", "read_pdf"]

MM_PER_POINT = 25.4 / 72
"""A point of a PDF is 1/72 in (ISO 32000-1, 8.3.2.3, from memory)."""
Point = tuple[float, float]
Matrix = tuple[float, float, float, float, float, float]
PAINTED = {"S": "stroke", "s": "stroke", "f": "fill", "F": "fill", "f*": "fill", "B": "both", "b": "both", "n": "none"}
"""Instructions that end a path, by what they do (ISO 32000-1, table 60, from memory)."""


@dataclass(frozen=True)
class PdfPath:
    """A path as it is painted."""

    pieces: tuple[tuple[str, tuple[Point, ...]], ...]
    """Instructions ``m``, ``l``, ``c``, ``h`` with their points on the page [mm]; a rectangle as lines."""
    painted: str
    """``stroke``, ``fill``, ``both`` or ``none``."""
    pen_mm: float
    lightness: float
    """Of the stroke, 0 to 1."""
    clips: int
    """How many paths clip it."""

    @property
    def points(self) -> tuple[Point, ...]:
        """The points it runs through, without those that only bend it."""
        return tuple(points[-1] for _, points in self.pieces if points)


@dataclass(frozen=True)
class PdfLetters:
    """Letters set in one go."""

    text: str
    start: Point
    """Where their base line begins [mm]."""
    end: Point
    size_mm: float
    clips: int


@dataclass(frozen=True)
class PdfPage:
    """All that is on a page, in the order it is drawn."""

    width_mm: float
    height_mm: float
    paths: tuple[PdfPath, ...]
    """What is painted."""
    clips: tuple[PdfPath, ...]
    """What clips."""
    letters: tuple[PdfLetters, ...]
    """Neighbours on one base line joined."""


@dataclass(frozen=True)
class _State:
    matrix: Matrix
    pen: float = 1.0
    lightness: float = 0.0
    clips: int = 0
    font: str = ""
    size: float = 0.0


@dataclass
class _Face:
    """What bytes stand for and how wide they are, in thousandths of the size."""

    signs: dict[int, str]
    widths: dict[int, float]


@dataclass
class _Pen:
    """Follows the instructions of one page."""

    faces: dict[str, _Face]
    state: _State
    stack: list[_State] = field(default_factory=list)
    pieces: list[tuple[str, tuple[Point, ...]]] = field(default_factory=list)
    clipping: bool = False
    line: Matrix = (1, 0, 0, 1, 0, 0)
    place: Matrix = (1, 0, 0, 1, 0, 0)
    leading: float = 0.0
    paths: list[PdfPath] = field(default_factory=list)
    clips: list[PdfPath] = field(default_factory=list)
    letters: list[PdfLetters] = field(default_factory=list)

    def follow(self, operands: Sequence[Any], word: str) -> None:
        """Take one instruction; those that only colour are passed over."""
        match word:
            case "q":
                self.stack.append(self.state)
            case "Q":
                self.state = self.stack.pop()
            case "cm":
                self.state = replace(self.state, matrix=_times(_matrix(operands), self.state.matrix))
            case "w":
                self.state = replace(self.state, pen=float(operands[0]))
            case "G":
                self.state = replace(self.state, lightness=float(operands[0]))
            case "m" | "l" | "c" | "h" | "re":
                self._draw(word, [float(value) for value in operands])
            case "W" | "W*":
                self.clipping = True
            case _ if word in PAINTED:
                self._paint(PAINTED[word])
            case _:
                self._set(operands, word)

    def _draw(self, word: str, values: list[float]) -> None:
        if word == "re":
            x, y, width, height = values
            corners = ((x, y), (x + width, y), (x + width, y + height), (x, y + height))
            self.pieces += [("l" if number else "m", (self._at(*at),)) for number, at in enumerate(corners)]
            self.pieces.append(("h", ()))
        else:
            points = tuple(self._at(x, y) for x, y in zip(values[::2], values[1::2], strict=True))
            self.pieces.append((word, points))

    def _paint(self, painted: str) -> None:
        pen = self.state.pen * hypot(*self.state.matrix[:2]) * MM_PER_POINT
        path = PdfPath(tuple(self.pieces), painted, pen, self.state.lightness, self.state.clips)
        if self.clipping:
            self.clips.append(path)
            self.state = replace(self.state, clips=self.state.clips + 1)
        if painted != "none":
            self.paths.append(path)
        self.pieces, self.clipping = [], False

    def _set(self, operands: Sequence[Any], word: str) -> None:
        match word:
            case "BT":
                self.line = self.place = (1, 0, 0, 1, 0, 0)
            case "Tf":
                self.state = replace(self.state, font=str(operands[0]), size=float(operands[1]))
            case "TL":
                self.leading = float(operands[0])
            case "Tm":
                self.line = self.place = _matrix(operands)
            case "Td" | "T*":
                x, y = map(float, operands) if word == "Td" else (0.0, -self.leading)
                self.line = self.place = _times((1, 0, 0, 1, x, y), self.line)
            case "Tj":
                self._letter(operands[0].original_bytes)

    def _letter(self, written: bytes) -> None:
        face = self.faces[self.state.font]
        text = "".join(face.signs.get(code, "\0") for code in written)
        width = sum(face.widths[code] for code in written) / 1000 * self.state.size
        start = self._at(*self.place[4:])
        self.place = _times((1, 0, 0, 1, width, 0), self.place)
        size = self.state.size * hypot(*_times(self.place, self.state.matrix)[:2]) * MM_PER_POINT
        new = PdfLetters(text, start, self._at(*self.place[4:]), size, self.state.clips)
        last = self.letters[-1] if self.letters else None
        if (
            last
            and last.text
            and hypot(last.end[0] - start[0], last.end[1] - start[1]) < 1e-4
            and self.place[4] > width
        ):
            new = replace(new, text=last.text + text, start=last.start)
            self.letters.pop()
        self.letters.append(new)

    def _at(self, x: float, y: float) -> Point:
        a, b, c, d, e, f = self.state.matrix
        return ((a * x + c * y + e) * MM_PER_POINT, (b * x + d * y + f) * MM_PER_POINT)


def read_pdf(document: bytes) -> list[PdfPage]:
    """Return the pages of a document; its matrices, paths, clips and letters are followed, no picture is made."""
    return [_page(page) for page in PdfReader(BytesIO(document)).pages]


def _page(page: PageObject) -> PdfPage:
    contents = page.get_contents()
    assert isinstance(contents, ContentStream)
    pen = _Pen(dict(_faces(page)), _State((1, 0, 0, 1, 0, 0)))
    for operands, word in contents.operations:
        pen.follow(operands, word.decode())
    left, bottom, right, top = (float(edge) for edge in page.mediabox)
    assert (left, bottom) == (0, 0)
    size = right * MM_PER_POINT, top * MM_PER_POINT
    return PdfPage(*size, tuple(pen.paths), tuple(pen.clips), tuple(pen.letters))


def _faces(page: PageObject) -> Iterator[tuple[str, _Face]]:
    resources: Any = page["/Resources"]
    fonts = resources.get("/Font", {})
    for name, reference in fonts.items():
        font = reference.get_object()
        codes = font["/ToUnicode"].get_object().get_data().decode("latin-1")
        (table,) = re.findall(r"beginbfchar(.*?)endbfchar", codes, re.DOTALL)
        signs = {
            int(code, 16): bytes.fromhex(sign).decode("utf-16-be")
            for code, sign in re.findall(r"<(\w+)> <(\w+)>", table)
        }
        widths = {int(font["/FirstChar"]) + place: float(width) for place, width in enumerate(font["/Widths"])}
        yield name, _Face(signs, widths)


def _matrix(operands: Sequence[Any]) -> Matrix:
    a, b, c, d, e, f = map(float, operands)
    return a, b, c, d, e, f


def _times(first: Matrix, then: Matrix) -> Matrix:
    """Return the matrix that does one thing, then another."""
    a, b, c, d, e, f = first
    p, q, r, s, t, u = then
    return a * p + b * r, a * q + b * s, c * p + d * r, c * q + d * s, e * p + f * r + t, e * q + f * s + u
