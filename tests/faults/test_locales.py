"""Locales: the same bytes in every one, and no character that cannot be shown is a bug."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.faults.calls import call, shop, snapshot
from tests.machines import GRINDER
from tests.sampled import named

Snapshot = dict[str, bytes | None]

LOCALES = {
    "plain C": {"LC_ALL": "C"},
    "ASCII alone": {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0", "PYTHONIOENCODING": "ascii"},
    "latin-1": {"LC_ALL": "de_DE.ISO-8859-1", "PYTHONUTF8": "0", "PYTHONIOENCODING": "latin-1"},
    "Turkish": {"LC_ALL": "tr_TR.UTF-8", "LANG": "tr_TR.UTF-8", "LANGUAGE": "tr"},
}


@pytest.fixture(scope="module")
def in_utf_8(tmp_path_factory: pytest.TempPathFactory) -> Snapshot:
    """The folder made in a UTF-8 locale."""
    return _made(tmp_path_factory.mktemp("utf-8"), {"PYTHONUTF8": "1"})


def _made(path: Path, extra: dict[str, str]) -> Snapshot:
    folder = shop(path)
    (folder / "grinder.toml").write_text(GRINDER.replace("Wet grinder", "Schleifbock ı İ φ 木"), encoding="utf-8")
    ended = call(folder, "design", "grinder.toml", **extra)
    assert ended.code == 0, ended.err
    return snapshot(folder)


@pytest.mark.parametrize("locale", named(("ASCII alone", "Turkish"), slow=("Turkish",)))
def test_files_are_the_same_in_every_locale(tmp_path: Path, in_utf_8: Snapshot, locale: str) -> None:
    """The folder has the bytes it has in a UTF-8 locale, also with a title of letters that the locale lacks."""
    assert _made(tmp_path, LOCALES[locale]) == in_utf_8


@pytest.mark.parametrize("locale", named(("plain C", "ASCII alone", "latin-1"), slow=("plain C",)))
def test_printed_document_stays_json_in_every_locale(tmp_path: Path, locale: str) -> None:
    """Letters that the screen lacks are printed as JSON writes their numbers, so that the document reads back."""
    text = GRINDER.replace("Wet grinder", "Schleifbock ı İ φ 木 🜨")
    folder = shop(tmp_path)
    (folder / "grinder.toml").write_text(text, encoding="utf-8")
    ended = call(folder, "design", "grinder.toml", "--json", **LOCALES[locale])
    assert ended.code == 0, ended.err
    out = ended.out.encode("utf-8", "surrogateescape").decode("latin-1" if locale == "latin-1" else "utf-8")
    assert json.loads(out)["scenario"]["title"] == "Schleifbock ı İ φ 木 🜨"
