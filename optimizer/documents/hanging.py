"""What papers and screens say of mounts that weight, a spring or a screw draws."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.documents.blocks import MARKDOWN, TERMINAL, Block, Lines, Rank, Rows, Section, Table, Text, table_of
from optimizer.documents.figures import Units, amount, decimals, in_units, length, place_words, rpm, unit_of
from optimizer.records.hanging import HangingSheet, HungSheet, MountSheet, SpanSheet
from optimizer.records.sheet import MachineSheet

__all__ = ["hanging_sections", "mount_table", "mount_words"]


SIDES = {
    0.0: ("to the right", "to the left"),
    90.0: ("up", "down"),
    180.0: ("to the left", "to the right"),
    270.0: ("down", "up"),
    360.0: ("to the right", "to the left"),
}
"""What lies onward and back along the line of a hinge."""
NEARER = {
    "tight": "The tight strand lies nearer to the hinge, so that the load draws the belt tighter",
    "slack": "The slack strand lies nearer to the hinge, so that the load slackens the belt; with the hinge beyond the "
    "other strand, or the other sense of rotation, it would draw it tighter",
    "even": "Both strands lie as near to the hinge, so that the load leaves the sum of their pulls as it is",
}
LOCKED = (
    "Locked, the mount does not follow the belt: the pull at rest stays but for the belt's centrifugal pull, and goes "
    "as the belt stretches, so that it is to be loosened and set again"
)


def mount_words(mount: MountSheet, machine: MachineSheet, units: Units) -> str:
    """Return in a sentence how a mount draws its belt, with what would do where it does not."""
    head = f"The {mount.kind} of {mount.shaft} draws the belt of {place_words(mount.key, machine)}"
    if mount.unstated:
        return f"{head}: {mount.unstated}; {remedy_words(mount, units) or 'nothing is known of what it needs'}"
    rest = [row.rest_n for row in mount.rows if row.rest_n is not None]
    ends = dict.fromkeys((_force(min(rest), units), _force(max(rest), units))) if rest else ()
    pulls = f", {' to '.join(ends)} a strand at rest" if ends else ""
    if mount.does is None:
        return f"{head}{pulls}; whether that is enough is not known"
    if mount.does:
        return f"{head} enough and not too much{pulls}"
    told = remedy_words(mount, units)
    return f"{head} {_wrong(mount)}{pulls}{'; ' + told if told else ''}"


def _wrong(mount: MountSheet) -> str:
    span = mount.pull_n
    if span is None or not span.some:
        return "too little at one position and too hard at another"
    return "too little" if span.least > 0 else "too hard"


def remedy_words(mount: MountSheet, units: Units) -> str:
    """Return what would draw the belt enough and not too much, nothing where nothing is known."""
    ways = list(_ways(mount, units))
    if not ways:
        return "no one pull is enough and not too much everywhere" if mount.pull_n and not mount.pull_n.some else ""
    return f"enough and not too much would be {', or '.join(ways)}"


def _ways(mount: MountSheet, units: Units) -> Iterator[str]:
    whole = bool(mount.unstated)
    if mount.mass_kg and mount.mass_kg.some and mount.mass_kg.most > 0:
        least, most = max(mount.mass_kg.least, 0.0), mount.mass_kg.most
        much = f"{_mass(least, units)} to {_mass(most, units)}"
        yield f"{much} in all at its centre of mass" if whole else f"{much} more at the centre of mass"
    if mount.pull_n and mount.pull_n.some:
        yield _spring(mount, mount.pull_n, units)
    for span in mount.hinge_mm:
        yield f"the hinge {_along(span, mount.line_deg or 0.0, units)}"


def _spring(mount: MountSheet, span: SpanSheet, units: Units) -> str:
    where = f"at {mount.shaft}, square to its arm about the hinge" if mount.kind == "hinge" else "along the slide"
    if span.most <= 0:
        return f"a spring that holds back {_force(-span.most, units)} to {_force(-span.least, units)} {where}"
    more = "" if mount.unstated else " more"
    what = "a spring or screw" if mount.kind == "slide" else "a spring"
    return f"{what} that draws {_force(max(span.least, 0.0), units)} to {_force(span.most, units)}{more} {where}"


def _along(span: SpanSheet, line_deg: float, units: Units) -> str:
    """Return from where to where a hinge could stand, seen from where it is.

    Examples
    --------
    >>> _along(SpanSheet(least=-185.0, most=-10.0, some=True), 0.0, "mm")
    '10 to 185 mm to the left'
    >>> _along(SpanSheet(least=-25.0, most=50.0, some=True), 30.0, "in")
    'from 0.98 in back to 1.97 in onward along its line'
    """
    onward, back = SIDES.get(line_deg, ("onward along its line", "back along its line"))
    if span.least >= 0 or span.most <= 0:
        near, far = sorted((abs(span.least), abs(span.most)))
        side = onward if span.most > 0 else back
        return f"{_offset(near, units)} to {_offset(far, units)} {units} {side}"
    ends = f"from {_offset(-span.least, units)} {units} {back} to {_offset(span.most, units)} {units} {onward}"
    return ends.replace(" along its line to ", " to ")


def _offset(mm: float, units: Units) -> str:
    return f"{mm:.0f}" if units == "mm" else f"{in_units(mm, units):.2f}"


def mount_table(mount: MountSheet, units: Units) -> Table:
    """Return how a mount draws its belt at every position, new and worn, where it has least to spare."""
    force, power = unit_of("N", units), unit_of("kW", units)
    hinged = mount.kind == "hinge"
    lever = f"arm {{}} {units}" if hinged else "share {}"

    def arm(value: float | None) -> str:
        return length(value, units, "") if hinged else decimals(value, 3)

    return table_of(
        mount.rows,
        ("position", lambda row: str(row.position)),
        ("belt", lambda row: "worn" if row.worn else "new"),
        ("at rpm", lambda row: rpm(row.rpm)),
        (lever.format("tight"), lambda row: arm(row.tight_lever)),
        (lever.format("slack"), lambda row: arm(row.slack_lever)),
        (f"at rest {force}", lambda row: _amount(row.rest_n, "N", units)),
        (f"tight {force}", lambda row: _amount(row.tight_n, "N", units)),
        (f"slack {force}", lambda row: _amount(row.slack_n, "N", units)),
        (f"slack at least {force}", lambda row: _amount(row.needed_slack_n, "N", units)),
        (f"mean at most {force}", lambda row: _amount(row.most_n, "N", units)),
        (f"slips at {power}", lambda row: _slips(row, mount, units)),
        (f"must {power}", lambda row: _amount(row.must_kw, "kW", units)),
    )


def _slips(row: HungSheet, mount: MountSheet, units: Units) -> str:
    known = not mount.unstated and row.must_kw is not None and row.tight_n is not None
    return _amount(row.carries_kw, "kW", units) if row.carries_kw is not None else "never" if known else ""


def hanging_sections(hanging: HangingSheet, machine: MachineSheet, units: Units) -> Iterator[Section]:
    """Yield how the mounts draw their belts: on the terminal those whose weight or pull is stated."""
    stated = [f"{mount_words(mount, machine, units)}." for mount in hanging.mounts if not mount.unstated]
    if stated:
        yield Section("", [Lines((*stated, hanging.cautions[0]), rank=Rank.ANSWER)], only=TERMINAL)
    blocks: list[Block] = [
        Lines(hanging.cautions, look="cautions"),
        Text(
            "Each position with a new and with a worn belt, at the speed where it has least to spare. Arms are those "
            "of the strands about the hinge: a strand with an arm below 0 helps the weight. Tight and slack are pulls "
            "on the pulleys while the belt carries, its own centrifugal pull left out. The mean of both strands stays "
            "below the greatest, at rest and while it carries.",
            only=MARKDOWN,
        ),
    ]
    for number, mount in enumerate(hanging.mounts, 1):
        blocks.append(Text(f"{mount_words(mount, machine, units)}."))
        if mount.nearer is not None:
            blocks.append(Text(f"{LOCKED if mount.locked else NEARER[mount.nearer]}.", only=MARKDOWN))
        if mount.does and mount.hinge_mm:
            places = ", or ".join(_along(span, mount.line_deg or 0.0, units) for span in mount.hinge_mm)
            said = f"With the same weight all would do with the hinge {places} of where it stands."
            blocks.append(Text(said, only=MARKDOWN))
        blocks.append(Rows(mount_table(mount, units), f"Mount {number}, of {mount.shaft}: new and worn belt"))
        if mount.press_n is not None:
            low, high = (_force(force, units) for force in mount.press_n)
            said = (
                f"To feel it: at rest, {low} pressed square on the middle of a free strand bend it in by 1/64 of its "
                f"length where it is drawn just enough, {high} where it is drawn as hard as it may be (common "
                "practice, no source)."
            )
            blocks.append(Text(said, only=MARKDOWN))
    yield Section("What draws the belts taut", blocks)


def _force(newton: float, units: Units) -> str:
    return f"{_amount(newton, 'N', units)} {unit_of('N', units)}"


def _mass(kg: float, units: Units) -> str:
    return f"{_amount(kg, 'kg', units)} {unit_of('kg', units)}"


def _amount(value: float | None, unit: str, units: Units) -> str:
    """Return three digits, as a hinge and a scale are no finer; nothing pulls with 0."""
    return "0" if value == 0 else amount(value, unit, units)
