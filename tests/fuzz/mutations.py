"""Changes to a scenario's tree and to a file's bytes, each one of a kind that a person, an editor or a rogue makes."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import islice
from random import Random
from typing import Any, TypeVar

from tests.fuzz.edges import a_name, an_edge, deep, near, scaled
from tests.fuzz.schema_keys import tables, value_for

__all__ = ["BYTE_CHANGES", "PLAIN_CHANGES", "TREE_CHANGES", "some_of"]

Tree = dict[str, Any]
Change = TypeVar("Change")
MANY = 10_000
MOST_WRITTEN = 2_000_000
"""Signs that many copies of a list may take: nobody's file is longer, and writing it would take minutes."""
LARGE = 5_000
"""Places in a file that has enough of them."""
SOMEWHERE = ("motor", "spindle", "countershaft", "frame", "gantry", "")


def some_of(changes: tuple[tuple[int, Change], ...], random: Random, number: int) -> list[Change]:
    """Return so many changes, each chosen as often as is stated beside it."""
    weights, those = zip(*changes, strict=True)
    return random.choices(those, weights, k=number)


def _spots(node: Any) -> Iterator[tuple[Any, Any]]:
    """Yield every container with every key or index of it."""
    for key, value in list(node.items() if isinstance(node, dict) else enumerate(node)):
        yield node, key
        if isinstance(value, dict | list):
            yield from _spots(value)


def _spot(tree: Tree, random: Random, of: type | tuple[type, ...] = object) -> tuple[Any, Any] | None:
    spots = [(node, key) for node, key in islice(_spots(tree), LARGE) if isinstance(node[key], of)]
    return random.choice(spots) if spots else None


def _changed(of: type | tuple[type, ...], change: Callable[[Any, Random], Any]) -> Callable[[Tree, Random], None]:
    """Return a mutation that puts another value in the place of one of a kind."""

    def mutate(tree: Tree, random: Random) -> None:
        # a list of many within a list of many would take more memory than there is
        spot = None if of is list and next(islice(_spots(tree), LARGE, None), None) else _spot(tree, random, of)
        if spot:
            node, key = spot
            node[key] = change(node[key], random)

    return mutate


def _remove(tree: Tree, random: Random) -> None:
    node, key = _spot(tree, random) or (tree, None)
    if key is not None:
        del node[key]


def _insert_known(tree: Tree, random: Random) -> None:
    """Put in a key that the schema knows and the file left out."""
    known = [table for table in tables(tree) if table.schema]
    if not known:
        return
    here, schema = random.choice(known)
    absent = [key for key in schema["properties"] if key not in here] if schema else []
    if schema and absent:
        key = random.choice(absent)
        here[key] = value_for(schema["properties"][key], random)


def _replace_known(tree: Tree, random: Random) -> None:
    """Put another value that the schema allows in the place of one."""
    known = [(here, schema["properties"]) for here, schema in tables(tree) if schema]
    spots = [(here, key, properties[key]) for here, properties in known for key in here if key in properties]
    if spots:
        here, key, schema = random.choice(spots)
        here[key] = value_for(schema, random)


def _insert_stranger(tree: Tree, random: Random) -> None:
    here = random.choice(tables(tree)).here
    here[a_name(random)] = an_edge(random)


def _rename(tree: Tree, random: Random) -> None:
    here = random.choice(tables(tree)).here
    if here:
        key = random.choice(list(here))
        here[random.choice((key.upper(), key + "s", key[:-1], a_name(random)))] = here.pop(key)


def _several(value: list[Any], random: Random) -> list[Any]:
    how = random.randrange(6)
    if how == 0:
        return value + value
    if how == 1:
        return value[::-1]
    if how == 2:
        return []
    if how == 3:
        return random.sample(value, len(value))
    if how == 4 and value:
        return [random.choice(value)] * len(value)
    return (value * (1 + 12 // max(1, len(value))))[:12]


def _many(value: list[Any], random: Random) -> list[Any]:
    """Return ten thousand entries: sizes that differ by little, or one entry over and over."""
    if value and not isinstance(value[0], dict) and random.random() < 0.7:
        return [round(20 + i * random.choice((0.01, 0.05, 0.1)), 3) for i in range(MANY)]
    longest = MOST_WRITTEN // max(1, len(repr(value)))
    return (value or [1]) * max(1, min(MANY // max(1, len(value)), longest))


def _bands(tree: Tree, random: Random) -> None:
    """Reverse a band, lay it over another, leave a gap, state it twice, ask for many speeds."""
    bands = (
        [band for band in tree.get("band", ()) if isinstance(band, dict)] if isinstance(tree.get("band"), list) else []
    )
    if not bands:
        return
    band, other = random.choice(bands), random.choice(bands)
    change = random.randrange(6)
    if change == 0:
        band["from"], band["to"] = band.get("to"), band.get("from")
        for key in ("from", "to"):
            if band[key] is None:
                del band[key]
    elif change == 1:
        band.update({key: other[key] for key in ("from", "to") if key in other})
    elif change == 2:
        tree["band"].append(dict(band))
    elif change == 3:
        band["want"] = random.choice((0, 1, 3, 12, 24, 10**6))
    elif change == 4:
        band["from"] = scaled(band.get("from", 100), random)
    else:
        band["to"] = scaled(band.get("to", 100), random)


def _swap_sides(tree: Tree, random: Random) -> None:
    stages = tree.get("stage")
    stages = [stage for stage in stages if isinstance(stage, dict)] if isinstance(stages, list) else []
    if stages:
        stage = random.choice(stages)
        a, b = random.choice((("driver", "driven"), ("from", "to")))
        if a in stage and b in stage:
            stage[a], stage[b] = stage[b], stage[a]


def _shafts(tree: Tree, random: Random) -> None:
    """Change how the shafts hang together: loops, shafts nobody stated, one for another."""
    spots = [
        (node, key)
        for node, key in islice(_spots(tree), LARGE)
        if key in ("from", "to", "on", "shaft", "name") and isinstance(node, dict)
    ]
    if spots:
        node, key = random.choice(spots)
        node[key] = random.choice(SOMEWHERE) if random.random() < 0.7 else a_name(random)


def _swap_values(tree: Tree, random: Random) -> None:
    """Put two values of the file in each other's place."""
    first, second = _spot(tree, random, (int, float, str, bool)), _spot(tree, random, (int, float, str, bool))
    if first and second:
        (a, i), (b, j) = first, second
        a[i], b[j] = b[j], a[i]


TREE_CHANGES: tuple[tuple[int, Callable[[Tree, Random], None]], ...] = (
    (14, _changed((int, float), scaled)),
    (10, _changed((int, float), lambda _, random: an_edge(random))),
    (6, _changed((int, float, str), near)),
    (4, _changed(str, lambda _, random: a_name(random))),
    (4, _changed(object, lambda _, random: an_edge(random))),
    (6, _changed(list, _several)),
    (1, _changed(list, _many)),
    (1, _changed(object, lambda _, random: deep(random))),
    (10, _remove),
    (14, _insert_known),
    (10, _replace_known),
    (3, _insert_stranger),
    (3, _rename),
    (10, _bands),
    (4, _swap_sides),
    (4, _shafts),
    (4, _swap_values),
)
"""Changes to the tree with how often each is chosen."""
PLAIN_CHANGES = tuple(one for one in TREE_CHANGES if one[1] not in (_insert_known, _replace_known, _bands, _swap_sides))
"""Those of them that any tree may have, whatever it states."""


def _cut(data: bytes, random: Random) -> bytes:
    return data[: random.randrange(len(data) + 1)]


def _splice(piece: bytes) -> Callable[[bytes, Random], bytes]:
    def mutate(data: bytes, random: Random) -> bytes:
        at = random.randrange(len(data) + 1)
        return data[:at] + piece + data[at:]

    return mutate


def _flip(data: bytes, random: Random) -> bytes:
    changed = bytearray(data)
    for _ in range(random.choice((1, 1, 2, 8))):
        if changed:
            changed[random.randrange(len(changed))] ^= 1 << random.randrange(8)
    return bytes(changed)


def _drop(data: bytes, random: Random) -> bytes:
    at = random.randrange(len(data) + 1)
    return data[:at] + data[at + random.choice((1, 1, 2, 20)) :]


def _repeat_lines(data: bytes, random: Random) -> bytes:
    lines = data.splitlines(keepends=True)
    at = random.randrange(len(lines) + 1)
    return b"".join(lines[:at] + lines[max(0, at - random.randrange(1, 6)) :])


BYTE_CHANGES: tuple[tuple[int, Callable[[bytes, Random], bytes]], ...] = (
    (3, lambda data, _: b"\xef\xbb\xbf" + data),
    (3, lambda data, _: data.replace(b"\n", b"\r\n")),
    (2, lambda data, _: data.replace(b"\n", b"\r")),
    (2, lambda data, _: data.decode("utf-8", "replace").encode("utf-16")),
    (2, lambda data, _: data.decode("utf-8", "replace").encode("latin-1", "replace")),
    (2, lambda data, _: data.replace(b"\n", b"\n\n\t ")),
    (5, _cut),
    (2, _splice(b"\x00")),
    (3, _splice(b"\xff\xfe")),
    (1, _splice(b"\xed\xa0\x80")),
    (1, _splice(b"\x1b[2J")),
    (2, _splice(b"[[")),
    (2, _splice(b'"""')),
    (1, _splice("\u202e\u2028".encode())),
    (1, _splice(b"a." * 5_000 + b"b = 1\n")),
    (1, _splice(b"[" * 100_000)),
    (8, _flip),
    (5, _drop),
    (4, _repeat_lines),
)
"""Changes to the bytes with how often each is chosen."""
