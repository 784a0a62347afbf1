"""Locales: the same bytes in every one, and no character that cannot be shown is a bug."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.faults.calls import call, shop, snapshot
from tests.machines import GRINDER

LOCALES = {
    "plain C": {"LC_ALL": "C"},
    "ASCII alone": {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0", "PYTHONIOENCODING": "ascii"},
    "latin-1": {"LC_ALL": "de_DE.ISO-8859-1", "PYTHONUTF8": "0", "PYTHONIOENCODING": "latin-1"},
    "Turkish": {"LC_ALL": "tr_TR.UTF-8", "LANG": "tr_TR.UTF-8", "LANGUAGE": "tr"},
}


@pytest.mark.parametrize("locale", LOCALES)
def test_files_are_the_same_in_every_locale(tmp_path: Path, locale: str) -> None:
    """The folder has the bytes it has in a UTF-8 locale, also with a title of letters that the locale lacks."""
    text = GRINDER.replace("Wet grinder", "Schleifbock ı İ φ 木")
    results = []
    for name, extra in (("utf-8", {"PYTHONUTF8": "1"}), ("other", LOCALES[locale])):
        folder = shop(tmp_path / name)
        (folder / "grinder.toml").write_text(text, encoding="utf-8")
        ended = call(folder, "design", "grinder.toml", **extra)
        assert ended.code == 0, ended.err
        results.append(snapshot(folder))
    assert results[0] == results[1]


@pytest.mark.parametrize("locale", LOCALES)
def test_printed_document_stays_json_in_every_locale(tmp_path: Path, locale: str) -> None:
    """Letters that the screen lacks are printed as JSON writes their numbers, so that the document reads back."""
    text = GRINDER.replace("Wet grinder", "Schleifbock ı İ φ 木 🜨")
    folder = shop(tmp_path)
    (folder / "grinder.toml").write_text(text, encoding="utf-8")
    ended = call(folder, "design", "grinder.toml", "--json", **LOCALES[locale])
    assert ended.code == 0, ended.err
    out = ended.out.encode("utf-8", "surrogateescape").decode("latin-1" if locale == "latin-1" else "utf-8")
    assert json.loads(out)["scenario"]["title"] == "Schleifbock ı İ φ 木 🜨"
