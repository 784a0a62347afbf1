"""Files that are no scenario, or one that an editor, a spreadsheet or a rogue has had."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.faults.calls import call, shop, snapshot
from tests.machines import GRINDER

SIZES = ", ".join(f"{60 + i / 100:.2f}" for i in range(10_000))


def _checked(folder: Path, content: bytes) -> tuple[int, str]:
    (folder / "machine.toml").write_bytes(content)
    ended = call(folder, "check", "machine.toml")
    assert ended.code in (0, 2, 3)
    return ended.code, ended.err or ended.out


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"#" * 50_000_000, "machine.toml: the file is larger than 1,000,000 bytes; try: name a scenario in TOML"),
        (b"x = " + b"[" * 200_000, "file: lists or tables are nested too deep to be read; try: check the brackets"),
        (b"a." * 20_000 + b"b = 1", "line 1: a key has more parts than can be read; allowed: at most 100 parts; "),
        (b"x = " + b"[" * 100 + b"]" * 100, "x[0][0]"),
        (b"\xff\xfe[\x00", "machine.toml: the file is not text in UTF-8 (byte 0); try: save it again as UTF-8"),
        (b"units = 'mm'\x00", "line 1, column 13: "),
        (b"title = '\xed\xa0\x80'", "machine.toml: the file is not text in UTF-8 (byte 9); "),
        (GRINDER.encode().replace(b"\n", b"\r"), "line 1, column 1: lines end with a carriage return alone; "),
        (
            GRINDER.encode().replace(b"[75, 200]", f"[{SIZES}]".encode()),
            "stage[0].driver.free: this list is too long; ",
        ),
        (b"", "title: this is missing; "),
    ],
    ids=["50 MB", "deep", "dots", "100 deep", "UTF-16", "NUL", "surrogate", "CR", "10,000 sizes", "empty"],
)
def test_file_that_is_no_scenario_is_refused_with_place_and_advice(tmp_path: Path, content: bytes, said: str) -> None:
    """What nobody means is refused at once, on one or a few lines that say where and what to try."""
    code, err = _checked(tmp_path, content)
    assert code == 2
    assert err.startswith(said) and "; try: " in err.splitlines()[0]
    assert len(err) < 10_000


@pytest.mark.parametrize("change", ["BOM", "CRLF", "both"])
def test_marks_and_line_ends_of_windows_are_read(tmp_path: Path, change: str) -> None:
    """A byte order mark and Windows' line ends make no difference."""
    content = GRINDER.encode()
    content = content.replace(b"\n", b"\r\n") if change != "BOM" else content
    content = b"\xef\xbb\xbf" + content if change != "CRLF" else content
    assert _checked(tmp_path, content) == (0, "machine.toml: nothing wrong\nlayouts to search: 1\n")


@pytest.mark.parametrize("name", ["a\x1b[31mb", "a\nb", "a\u202eb", "-", "a\udcffb", "木工 '$(id)"])
def test_file_of_any_name_is_designed_and_told_on_whole_lines(tmp_path: Path, name: str) -> None:
    """Whatever the file is called, its folder is named after it, and no control character reaches the screen."""
    shop(tmp_path)
    (tmp_path / "grinder.toml").rename(tmp_path / f"{name}.toml")
    papers = ["--papers"] if name == "a\nb" else []  # the drawings too, once
    ended = call(tmp_path, "design", f"./{name}.toml", *papers)
    assert ended.code == 0
    assert not {c for c in ended.out + ended.err if (c < " " and c != "\n") or c in "\u202e\udcff"}
    folders = [path.name for path in tmp_path.iterdir() if path.is_dir()]
    assert folders == [f"{name}-design"]
    if papers:
        refused = call(tmp_path, "design", f"./{name}.toml")
        assert refused.code == 5
        assert refused.err.count("\n") == 1


@pytest.mark.parametrize("name", ["../../escaped", "C:\\\\con", "<script>", "a" * 80])
def test_names_in_a_scenario_lead_nowhere(tmp_path: Path, name: str) -> None:
    """Path separators and the like in names never make a file outside the folder, nor a path inside it."""
    text = GRINDER.replace("Wet grinder", name).replace('"stropping"', f'"{name}"')
    text = text.replace('name = "motor"', 'name = "spindle"').replace('to = "spindle"', f'to = "{name}"')
    folder = tmp_path / "shop"
    folder.mkdir()
    (folder / "machine.toml").write_text(text, encoding="utf-8")
    ended = call(folder, "design", "machine.toml", "--papers", "--quiet")
    assert ended.code in (0, 2)
    assert all(
        entry in ("shop", "shop/machine.toml", "shop/machine-design") or entry.startswith("shop/machine-design/")
        for entry in snapshot(tmp_path)
    )
    assert all(entry.count("/") <= 2 for entry in snapshot(tmp_path))


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"[" * 1_000_000, "it is not a design as this version writes it ("),
        (b"{" + b'"a":{' * 100_000, "it is not a design as this version writes it ("),
        (b"\xff", "it is not a design as this version writes it ("),
        (b"{}", "it is not a design as this version writes it ("),
        (b'{"a": NaN}', "it is not a design as this version writes it ("),
        (b" " * 50_000_001, "the file is larger than 50,000,000 bytes"),
    ],
    ids=["deep list", "deep table", "no text", "empty", "nan", "50 MB"],
)
def test_document_that_is_no_design_is_refused(tmp_path: Path, content: bytes, said: str) -> None:
    """A design.json that is none is refused on one line with what to try."""
    (tmp_path / "design.json").write_bytes(content)
    ended = call(tmp_path, "papers", "design.json")
    assert ended.code == 2
    assert ended.err.startswith(f"design.json: {said}") and "; try: " in ended.err
    assert ended.err.count("\n") == 1
    assert len(ended.err) < 1_000


@pytest.mark.parametrize("path", ["/dev/zero", "/dev/full", "/dev/null", "/", "grinder.toml/x", "\x01"])
def test_path_that_is_no_file_is_refused(tmp_path: Path, path: str) -> None:
    """Devices without end, folders, files taken for folders: refused, and read no further than a scenario."""
    ended = call(shop(tmp_path), "check", path)
    assert ended.code == 2
    assert "Traceback" not in ended.err
