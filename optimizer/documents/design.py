"""A design, and what a known machine gives: on the terminal, as Markdown, as the files of a folder."""

from __future__ import annotations

from optimizer.documents.around import around_sections
from optimizer.documents.basis import answer_lead, basis_sections, cautions_of
from optimizer.documents.blocks import TERMINAL, Document, Rank, Rows, Section, Text
from optimizer.documents.carrying import carrying_sections, pull_table
from optimizer.documents.changes import change_sections, ratio_sections
from optimizer.documents.checks import check_answer
from optimizer.documents.cut_list import cuts_csv
from optimizer.documents.data import design_json
from optimizer.documents.figures import rpm
from optimizer.documents.hanging import hanging_sections
from optimizer.documents.markdown import markdown
from optimizer.documents.proof import proof_answer, proof_sections
from optimizer.documents.recheck_form import MEASURED_CSV, MEASURED_TOML, measured_csv, measured_toml
from optimizer.documents.shafts import shafts_sections
from optimizer.documents.speeds import speed_sections, terminal_speeds
from optimizer.documents.stages import stage_sections
from optimizer.documents.terminal import screen
from optimizer.documents.tolerance import tolerance_section
from optimizer.documents.work_size import work_section
from optimizer.pipeline.job import job_of
from optimizer.records.design import Design
from optimizer.records.known import KnownMachine

__all__ = ["design_files", "design_paper", "design_screen", "load_topics", "speeds_screen"]


def design_screen(design: Design) -> str:
    """Return the design as text of at most 80 columns: positions, speeds by band, proof, checks."""
    units, loads = design.scenario.units, load_topics(design)
    sections = [
        *stage_sections(design.machine, design.gears, units),
        *speed_sections(design),
        *loads["carrying"],
        proof_answer(design),
        *loads["tolerance"],
        *loads["hanging"],
        *loads["shafts"],
        *loads["around"],
        check_answer(design.checks, design.machine, units),
        *ratio_sections(design.other_ratios),
        *(change_sections(design.changes, units) if design.changes else ()),
    ]
    return screen(Document(design.scenario.title, tuple(answer_lead(design)), sections))


def design_paper(design: Design) -> str:
    """Return the whole design as Markdown, in the maker's units."""
    loads = load_topics(design)
    sections = [
        cautions_of(design.cautions),
        *stage_sections(design.machine, design.gears, design.scenario.units),
        *speed_sections(design),
        *(
            section
            for topic in ("work", "carrying", "hanging", "tolerance", "shafts", "around")
            for section in loads[topic]
        ),
        *proof_sections(design),
        *basis_sections(design, design.cautions),
    ]
    return markdown(Document(design.scenario.title, tuple(answer_lead(design)), sections))


def load_topics(of: Design | KnownMachine) -> dict[str, tuple[Section, ...]]:
    """Return the sections of what is turned, carried, hung and in the way, by topic, as far as anything is known."""
    machine, units = of.machine, of.scenario.units
    tolerance = of.tolerance if isinstance(of, Design) else None
    return {
        "work": (work_section(of.work_size, machine, units),) if of.work_size else (),
        "carrying": tuple(carrying_sections(of.carrying, machine, units)) if of.carrying else (),
        "hanging": tuple(hanging_sections(of.hanging, machine, units)) if of.hanging else (),
        "tolerance": (tolerance_section(tolerance, machine, units),) if tolerance else (),
        "shafts": tuple(shafts_sections(of.shafts, machine, units)),
        "around": tuple(around_sections(of.around, units)) if of.around else (),
    }


def speeds_screen(known: KnownMachine) -> str:
    """Return what a known machine gives as text of at most 80 columns."""
    machine, carrying, units, loads = known.machine, known.carrying, known.scenario.units, load_topics(known)
    turns = f"{machine.spindle} turns {machine.turns}, seen from the motor's pulley end"
    sections = [
        *stage_sections(machine, known.gears, units),
        terminal_speeds(machine, known.work_size, units),
        *loads["carrying"],
    ]
    if carrying and any(load.pretension_n is not None for load in carrying.belts):
        pulls = Rows(pull_table(carrying, machine, units), rank=Rank.ANSWER)
        sections.append(Section("Pulls, where each belt has least to spare", [pulls], only=TERMINAL))
    sections += [*loads["hanging"], *loads["shafts"], *loads["around"]]
    sections.append(check_answer(known.checks, machine, units))
    lead = [Text(f"Motor {rpm(machine.motor_rpm)} rpm; {turns}", rank=Rank.ANSWER)]
    return screen(Document(known.scenario.title, lead, sections))


def design_files(design: Design) -> dict[str, bytes]:
    """Return the name and content of every file of the result."""
    texts = {
        "cuts.csv": cuts_csv(job_of(design)),
        "design.json": design_json(design),
        "design.md": design_paper(design),
        MEASURED_CSV: measured_csv(design),
        MEASURED_TOML: measured_toml(design),
    }
    return {name: text.encode("utf-8") for name, text in texts.items()}
