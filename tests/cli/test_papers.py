"""The command that writes papers, from a scenario or a design, and what it refuses."""

from __future__ import annotations

import hashlib
import json
import re
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from cli.results import DESIGN_FILES
from optimizer.documents.kinds import Kind, is_paper
from tests.cli.conftest import Run
from tests.pdfs import read_pdf


def _change(path: Path, change: Any) -> None:
    document = json.loads(path.read_text())
    change(document)
    path.write_text(json.dumps(document))


def test_papers_of_a_scenario_design_it_and_say_so(run: Run, tmp_path: Path) -> None:
    """Without a design the machine is designed, which is said; every file is named on stdout and is there."""
    ran = run("papers", "grinder.toml")
    assert ran.code == 0
    assert "There is no grinder-design/design.json, so the machine was designed for these papers." in ran.err
    files = ran.out.split()
    assert files == sorted(f"grinder-papers/{path.name}" for path in (tmp_path / "grinder-papers").iterdir())
    assert all(is_paper(Path(name).name) for name in files)
    assert {"design-sheet.html", "cuts.csv", "buying.json", "speed-plate.dxf"} <= {Path(name).name for name in files}


def test_papers_of_a_design_are_those_of_its_scenario(designed: Run, tmp_path: Path) -> None:
    """From design.json, from the scenario with its design beside it, from `design --papers`: the same bytes."""
    assert designed("papers", "grinder-design/design.json", "--out", "one").code == 0
    ran = designed("papers", "grinder.toml", "--out", "two")
    assert "Papers of grinder-design/design.json." in ran.err
    assert designed("design", "grinder.toml", "--papers", "--quiet", "--out", "three").code == 0
    one, two, three = ({p.name: p.read_bytes() for p in (tmp_path / n).iterdir()} for n in ("one", "two", "three"))
    assert one == two
    assert {name: three[name] for name in one} == one
    assert set(three) - set(one) == DESIGN_FILES - {"cuts.csv"}


def test_papers_that_there_are_none_of_are_said(designed: Run, tmp_path: Path) -> None:
    """A machine glued from no layers has no sawing plan: asked for alone that is the call's fault, else a remark."""
    why = "--only sawing: there are none: nothing is glued from layers of a stated thickness (making.layer)\n"
    ran = designed("papers", "grinder.toml", "--only", "sawing")
    assert (ran.code, ran.out, ran.err) == (2, "", why)
    assert not (tmp_path / "grinder-papers").exists()
    ran = designed("papers", "grinder.toml", "--only", "sawing", "--only", "plate")
    assert ran.code == 0
    assert why in ran.err


@pytest.mark.parametrize("kind", [kind for kind in Kind if kind != Kind.SAWING])
def test_only_some_papers(designed: Run, tmp_path: Path, kind: Kind) -> None:
    """`--only` writes the papers of that kind and no other; together the kinds are all papers."""
    assert designed("papers", "grinder-design/design.json", "--only", kind.value, "--out", "some").code == 0
    some = {path.name for path in (tmp_path / "some").iterdir()}
    assert some
    words = {
        Kind.SHEET: "design-sheet",
        Kind.CUTS: "cuts",
        Kind.BUYING: "buying",
        Kind.SAWING: "sawing-plan",
        Kind.SECTIONS: "section",
        Kind.GAUGES: "gauge",
        Kind.DISCS: "disc",
        Kind.LAYOUT: "belt-layout",
        Kind.PLATE: "speed-plate",
        Kind.CARD: "inspection-card",
    }
    assert all(words[kind] in name for name in some)


@pytest.mark.parametrize("kind", ["cuts", "buying"])
def test_lists_follow_their_schema(designed: Run, tmp_path: Path, kind: str) -> None:
    """The JSON of a list is what `conewright schema` says of it."""
    assert designed("papers", "grinder.toml", "--only", kind).code == 0
    document = json.loads((tmp_path / f"grinder-papers/{kind}.json").read_text())
    jsonschema.validate(document, json.loads(designed("schema", kind).out))


def test_a_changed_scenario_makes_its_design_stale(designed: Run, tmp_path: Path) -> None:
    """Papers are refused by scenario and by design once the scenario's text is another, with what to do; exit 2."""
    (tmp_path / "grinder.toml").write_text((tmp_path / "grinder.toml").read_text() + "\n# one more line\n")
    ran = designed("papers", "grinder-design/design.json")
    assert (ran.code, ran.out) == (2, "")
    assert ran.err == (
        "grinder-design/design.json: it was made from another text of grinder.toml than grinder.toml holds now; "
        "try: design it anew: conewright design grinder.toml --force\n"
    )
    ran = designed("papers", "grinder.toml")
    assert (ran.code, ran.out) == (2, "")
    assert ran.err == (
        "grinder-design/design.json: it was made from another text of grinder.toml; try: design it anew: conewright "
        "design grinder.toml --force\n"
    )
    assert not (tmp_path / "grinder-papers").exists()


def test_a_design_that_was_moved_away_is_compared_with_what_it_carries(designed: Run, tmp_path: Path) -> None:
    """Where no scenario of its name lies near, the papers are made, and that is said."""
    (tmp_path / "grinder.toml").unlink()
    ran = designed("papers", "grinder-design/design.json", "--only", "plate")
    assert ran.code == 0
    assert "was compared with the scenario it carries; no grinder.toml lies beside it." in ran.err


def test_the_digest_is_that_of_the_document(designed: Run, tmp_path: Path) -> None:
    """It is what docs/papers.md says, worked out here from the bytes: whoever has the file can tell whether it is."""
    document = json.loads((tmp_path / "grinder-design/design.json").read_text())
    digest = document.pop("digest")
    plain = json.dumps(document, sort_keys=True, separators=(",", ":"))
    assert digest == hashlib.sha256(plain.encode()).hexdigest()[:12]


def _of_extreme(document: Any) -> None:
    document["extremes"][0]["stages"][0]["driven_outside_mm"][0] += 1.0


CHANGES = [
    lambda d: d["carrying"]["belts"][0].update(wrap_deg=179.0),
    lambda d: d["carrying"]["belts"][0].update(shaft_n=1.0),
    lambda d: d["checks"][0].update(value=1.0),
    lambda d: d["checks"][0].update(passed=not d["checks"][0]["passed"]),
    lambda d: d["scenario"].update(title="Another"),
    lambda d: d.update(digest="0123456789ab"),
    lambda d: d.pop("digest"),
    _of_extreme,
]


@pytest.mark.parametrize("change", CHANGES)
def test_a_changed_design_is_refused(designed: Run, change: Any, tmp_path: Path) -> None:
    """Whatever was changed in it, the call ends with 2 and says what, where, what to try; nothing is written."""
    _change(tmp_path / "grinder-design/design.json", change)
    for file in ("grinder-design/design.json", "grinder.toml"):
        ran = designed("papers", file)
        assert (ran.code, ran.out) == (2, "")
        assert ran.err.startswith("grinder-design/design.json: it was changed after it was written: it carries ")
        assert ran.err.endswith(
            "; try: design it anew: conewright design grinder.toml --force; or take it with --as-changed, which every "
            "page then says\n"
        )
    assert not (tmp_path / "grinder-papers").exists()


def test_a_design_is_no_less_itself_for_its_blanks(designed: Run, tmp_path: Path) -> None:
    """Keys in another order, other blanks: the same design, which needs no --as-changed and says nothing of it."""
    file = tmp_path / "grinder-design/design.json"
    file.write_text(json.dumps(json.loads(file.read_text()), sort_keys=True))
    ran = designed("papers", "grinder-design/design.json", "--as-changed", "--only", "cuts")
    assert ran.code == 0
    assert "changed by hand" not in ran.err + (tmp_path / "grinder-papers/cuts.html").read_text()


def test_every_page_of_a_changed_design_says_so(designed: Run, tmp_path: Path) -> None:
    """Screen, lists, drawings in every format, design sheet; a table of figures alone has no place for it."""
    _change(tmp_path / "grinder-design/design.json", CHANGES[1])
    ran = designed("papers", "grinder-design/design.json", "--as-changed")
    assert ran.code == 0
    assert "This design was changed by hand after conewright made it, and its checks" in ran.err
    for path in sorted((tmp_path / "grinder-papers").iterdir()):
        if path.suffix == ".pdf":
            pages = ["".join(letters.text for letters in page.letters) for page in read_pdf(path.read_bytes())]
            assert pages and all("CHANGED BY HAND" in page for page in pages), path.name
        elif path.suffix != ".csv":
            assert re.search("CHANGED BY HAND|changed by hand", path.read_text(encoding="utf-8")), path.name


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (
            lambda d: d["machine"]["stages"][0]["positions"][0]["driver"].update(outside_mm=77.0),
            "machine.stages[0].other_line_change is not what its outside diameters and belts give",
        ),
        (lambda d: d["machine"]["speeds"][0].update(rpm=1.0), "machine.speeds[0].rpm is not what its outside"),
        (lambda d: d.pop("layout"), "it is not a design as this version writes it (layout: Field required)"),
        (lambda d: d.update(format="conewright design 0"), "it is not a design as this version writes it (format:"),
    ],
)
def test_a_machine_that_cannot_be_is_refused_as_changed_too(
    designed: Run, change: Any, said: str, tmp_path: Path
) -> None:
    """A machine whose figures contradict its diameters, or that is not whole, is refused in any case with the place."""
    _change(tmp_path / "grinder-design/design.json", change)
    for file in ("grinder-design/design.json", "grinder.toml"):
        ran = designed("papers", file, "--as-changed")
        assert (ran.code, ran.out) == (2, "")
        assert f"grinder-design/design.json: {said}" in ran.err
    assert not (tmp_path / "grinder-papers").exists()


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (None, "x.json: the file is not there"),
        ("[]", "x.json: it is not a design as this version writes it"),
        ("{", "x.json: it is not a design as this version writes it"),
        ('{"format": "drawing 7"}', "try: name a design.json; this is 'drawing 7'"),
    ],
)
def test_what_is_no_design_is_refused(run: Run, tmp_path: Path, content: str | None, said: str) -> None:
    """A file that is missing, broken, or something else is refused with what to try."""
    if content is not None:
        (tmp_path / "x.json").write_text(content)
    ran = run("papers", "x.json")
    assert (ran.code, ran.out) == (2, "")
    assert said in ran.err


def test_where_there_is_no_design_the_least_changes_are_told(run: Run, tmp_path: Path) -> None:
    """As `design` does: code 3, what would give one; nothing is written."""
    text = (tmp_path / "grinder.toml").read_text()
    (tmp_path / "cramped.toml").write_text(text.replace("largest_blank = 240", "largest_blank = 120"))
    told, ran = run("design", "cramped.toml"), run("papers", "cramped.toml")
    assert (ran.code, ran.out, ran.err) == (3, told.out, told.err)
    assert "a design exists, all else as it is, with" in ran.err
    assert not (tmp_path / "cramped-papers").exists()


def test_a_speed_that_is_not_there_is_refused(designed: Run) -> None:
    """The speeds of the machine are said."""
    ran = designed("papers", "grinder.toml", "--speed", "99")
    assert ran.code == 2
    assert ran.err.startswith("--speed: the machine has no such speed; got 99; allowed: 1 to ")


def test_the_chosen_speed_is_drawn(designed: Run, tmp_path: Path) -> None:
    """The layout of another speed is another drawing."""
    for speed in ("1", "2"):
        assert designed("papers", "grinder.toml", "--only", "layout", "--speed", speed, "--out", f"at{speed}").code == 0
    assert (tmp_path / "at1/belt-layout.svg").read_bytes() != (tmp_path / "at2/belt-layout.svg").read_bytes()


def test_earlier_papers_are_kept_without_force(designed: Run, tmp_path: Path) -> None:
    """A folder that is there is refused; with force only papers are replaced, never a stranger's file."""
    assert designed("papers", "grinder.toml", "--only", "plate").code == 0
    ran = designed("papers", "grinder.toml", "--only", "card")
    assert ran.code == 5
    assert "it is there already; replace it with --force" in ran.err
    assert designed("papers", "grinder.toml", "--only", "card", "--force").code == 0
    assert {path.stem for path in (tmp_path / "grinder-papers").iterdir()} == {"inspection-card"}
    (tmp_path / "grinder-papers/notes.txt").write_text("mine")
    assert designed("papers", "grinder.toml", "--force").code == 5
    assert (tmp_path / "grinder-papers/notes.txt").read_text() == "mine"


def test_a_design_with_papers_is_replaced_by_one_without(designed: Run, tmp_path: Path) -> None:
    """`design --force` over a folder with papers leaves no paper of the earlier design in it."""
    assert designed("design", "grinder.toml", "--papers", "--force", "--quiet").code == 0
    assert (tmp_path / "grinder-design/speed-plate.pdf").is_file()
    assert designed("design", "grinder.toml", "--force", "--quiet").code == 0
    assert {p.name for p in (tmp_path / "grinder-design").iterdir()} == DESIGN_FILES


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda d: d["tolerance"]["sizes"][0].update(key="stage[1].driver"), "tolerance.sizes[0].key: its machine has"),
        (lambda d: d["tolerance"]["sizes"][0].update(key="driver"), "tolerance.sizes[0].key: its machine has no such"),
        (lambda d: d["tolerance"]["sizes"][1].update(position=9), "tolerance.sizes[1].position: its machine has no"),
        (lambda d: d["tolerance"].update(careful=[99]), "tolerance.careful: there are not so many sizes"),
        (lambda d: d["carrying"]["belts"][2].update(position=9), "carrying.belts[2].position: its machine has no such"),
        (
            lambda d: d["tolerance"]["sizes"][0].update(key="stage[0]"),
            "tolerance.sizes: a size belongs to no side of a",
        ),
        (lambda d: d["shafts"].update(cones=[]), "shafts.cones: stage[0].driven is not among them"),
        (lambda d: d["carrying"].update(speeds=[]), "carrying: belts are told of at a speed that has no row"),
        (lambda d: d["bands"][0].update(from_rpm=0.0), "bands.0.from_rpm: Input should be greater than 0"),
    ],
)
def test_a_design_of_what_its_machine_has_not_is_refused(designed: Run, change: Any, said: str, tmp_path: Path) -> None:
    """What is said of a stage, position or speed that is not there is refused with its place before any paper."""
    _change(tmp_path / "grinder-design/design.json", change)
    for flag in ((), ("--as-changed",)):
        ran = designed("papers", "grinder-design/design.json", *flag)
        assert (ran.code, ran.out) == (2, "")
        assert said in ran.err
