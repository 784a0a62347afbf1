"""Every default used, every limit changed is listed."""

from __future__ import annotations

from optimizer.scenario import ChangedLimit, DefaultUsed, load_scenario
from tests.unit.scenario.bases import ONE, TWO

G3 = "GOST 1284.3-96"


def defaults(text: str) -> dict[str, tuple[str, str]]:
    """Return every default used with its source, by its place."""
    listed = load_scenario(text, "machine.toml").defaults
    assert len({default.key for default in listed}) == len(listed)
    return {default.key: (default.value, default.source) for default in listed}


def test_every_default_has_a_source_or_says_that_it_has_none() -> None:
    """No default is listed without a word on where it comes from."""
    for text in (ONE, TWO):
        assert all(value and source for value, source in defaults(text).values())


def test_defaults_are_listed_with_their_values() -> None:
    """The figures of the contract stand in the list, with a source where a text backs them."""
    listed = defaults(ONE)
    practice = "common practice, no source"
    assert listed["stage[0].wrap"] == ("90 degrees", G3 + ", least arc of contact")
    assert listed["stage[0].belt_speed"] == ("30 m/s", G3)
    assert listed["making.rim_speed"] == ("20 m/s", practice)
    assert listed["making.truing"] == ("4 mm", practice)
    assert listed["making.wall"] == ("4 mm", practice)
    assert listed["stage[0].slip"] == ("1 %", f"belts creep about 1 %; {practice}")
    assert listed["stage[0].fit"] == ("0.2 mm", practice)
    assert listed["stage[0].clearance"] == ("10 mm", practice)
    assert listed["series.ends"] == ("3 %", practice)
    assert listed["series.distinct"] == ("4 %", practice)
    assert listed["stage[0].driver.measured"] == ("datum", "by section")


def test_what_is_stated_is_no_default() -> None:
    """A key leaves the list as soon as the file states it, even with the value it would have had."""
    assert "stage[0].wrap" in defaults(ONE)
    assert "stage[0].wrap" not in defaults(ONE.replace("travel = 60", "travel = 60\nwrap = 90"))
    assert "stage[0].positions" not in defaults(ONE)


def test_what_follows_from_other_keys_is_listed_as_it_came_out() -> None:
    """A default that depends on the section or on another key is shown with the value it took."""
    assert defaults(ONE.replace('"A"', '"4L"'))["stage[0].driven.measured"] == ("outside", "by section")
    assert defaults(TWO)["shaft[1].hub"] == ("20 mm", "the shaft's diameter")
    assert defaults(TWO.replace("positions = [3, 4]\n", ""))["stage[1].positions"][0] == "4"
    assert defaults(ONE.replace('"mm"', '"in"').replace("[250, 350]", "[10, 14]").replace("[75, 200]", "[3, 8]"))[
        "making.wall"
    ] == ("0.1575 in", "common practice, no source")


def test_a_changed_limit_is_listed_with_its_reason() -> None:
    """A limit that differs from its default shows both, with the reason or the lack of one."""
    text = ONE.replace(
        "travel = 60",
        'travel = 60\nwrap = { value = "80 deg", reason = "short machine" }\nclearance = 4\nbelt_speed = 30',
    ).replace("free = [75, 200]", 'free = [75, 200], smallest = { value = 70, reason = "cogged belt" }', 1)
    assert load_scenario(text, "machine.toml").changed_limits == (
        ChangedLimit("stage[0].wrap", "80 degrees", "90 degrees", "short machine"),
        ChangedLimit("stage[0].clearance", "4 mm", "10 mm", "no reason given"),
        ChangedLimit("stage[0].driver.smallest", "70 mm", "by section", "cogged belt"),
    )
    assert load_scenario(ONE, "machine.toml").changed_limits == ()


def test_the_gap_around_is_a_default_only_where_places_are_stated() -> None:
    """Without places nothing is listed of it; with them its 5 mm, or what it was changed from."""
    placed = ONE.replace('mount = "slide"', 'mount = "slide"\nat = [0, 0]')
    listed = [used for used in load_scenario(placed, "machine.toml").defaults if used.key.startswith("around")]
    source = "5 mm where places of shafts are stated; judgement"
    assert listed == [DefaultUsed("around.clearance", "5 mm", source)]
    assert not [used for used in load_scenario(ONE, "machine.toml").defaults if used.key.startswith("around")]
    changed = load_scenario(placed.replace("[[stage]]", "[around]\nclearance = 3\n\n[[stage]]"), "machine.toml")
    assert changed.changed_limits == (ChangedLimit("around.clearance", "3 mm", source, "no reason given"),)


def test_the_lists_are_the_same_every_time() -> None:
    """Two readings of one file list the same in the same order."""
    one, other = (load_scenario(TWO, "machine.toml") for _ in range(2))
    assert one.defaults == other.defaults
    assert isinstance(one.defaults[0], DefaultUsed)
