"""Documents made from the code: ``python -m tests.fresh_docs`` names stale ones, ``--write`` renews them."""

from __future__ import annotations

import sys
from functools import cache
from pathlib import Path

from optimizer.pipeline.compare import compare
from optimizer.pipeline.design import design
from optimizer.pipeline.options import DesignOptions
from optimizer.scenario import load_scenario
from tests.docs.commands_page import commands_page
from tests.docs.machines_page import machines_page
from tests.docs.pages import ROOT
from tests.docs.papers_page import drawings, papers_page
from tests.docs.readme_page import README_SCENARIO, readme_page
from tests.docs.recheck_page import recheck_page
from tests.docs.scenario_page import scenario_page

__all__ = ["made_pages", "stale"]


@cache
def made_pages() -> dict[Path, str]:
    """Return every document that is made, with what it must hold."""
    scenario = load_scenario(README_SCENARIO.read_text(encoding="utf-8"), README_SCENARIO.name)
    result = design(scenario, DesignOptions())
    return {
        ROOT / "docs/commands.md": commands_page(),
        ROOT / "docs/machines.md": machines_page(),
        ROOT / "docs/scenario.md": scenario_page(result),
        ROOT / "docs/papers.md": papers_page(result),
        ROOT / "docs/recheck.md": recheck_page(result),
        **{ROOT / "docs" / name: text for name, text in drawings(result).items()},
        ROOT / "README.md": readme_page(result, design(scenario, DesignOptions(prefer="grip")), compare(scenario)),
    }


def stale() -> list[Path]:
    """Return the documents that do not hold what they must."""
    return [
        path
        for path, text in made_pages().items()
        if not path.is_file() or path.read_text(encoding="utf-8").replace("\r\n", "\n") != text
    ]


def main(arguments: list[str]) -> int:
    """Name stale documents, or renew them; return whether any is left."""
    found = stale()
    for path in found:
        if arguments == ["--write"]:
            path.write_text(made_pages()[path], encoding="utf-8", newline="\n")
        print(f"{'written' if arguments else 'stale'}: {path.relative_to(ROOT)}")
    return 0 if arguments == ["--write"] else len(found)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
