"""Finds in a table what is compared with what: the readings of both sides, their uncertainties, times and the liquid.

A side is read off one column, or off two, a total at the start of each run and one at its stop. A table may hold two
comparisons, as found and as left.
"""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.errors import BadInput
from diagnose.place import visible
from diagnose.tables.column_kinds import ColumnKinds, dimension_of
from diagnose.tables.heading_words import HeadingWords
from diagnose.tables.headings import Side, Stage
from diagnose.tables.layout import Column, Layout, laid_out
from diagnose.tables.side_columns import OF_TIME, SIDES, Aid, ComparedLines, SideColumns, TableColumns
from diagnose.tables.side_finder import SideFinder
from diagnose.tables.table_options import HOW_TO_NAME, TableOptions
from diagnose.tables.table_text import TextTable
from diagnose.tables.unknown_units import refuse_unknown_units
from diagnose.units import unit_info


def find_columns(table: TextTable, options: TableOptions, warnings: list[str]) -> TableColumns:
    """Return what is compared in a table.

    Raises BadInput if columns cannot be told, SidesUnknown if only the reference cannot, ProblemsFound for lines.
    """
    words = options.words or HeadingWords()
    layout = laid_out(table, words, options.against_display, warnings)
    if not layout.has_heading and not any(_is_named(each) for each in layout.columns):
        return _without_heading(layout, options, warnings)
    kinds = ColumnKinds(layout, options, words)
    found = _compared(layout, kinds, SideFinder(table.file, kinds, options, warnings))
    used = {id(each) for item in found.comparisons for side in item.sides.values() for each in side.columns}
    used |= {id(found.aids[name]) for name in _needed(kinds, found) if name in found.aids}
    used |= {id(each) for each in kinds.labels}
    unused = [each.heading.text for each in layout.columns if id(each) not in used and each.heading.text]
    if unused:
        warnings.append(f"columns not used: {', '.join(unused)}")
    refuse_unknown_units(table, [item.sides[side].reading for item in found.comparisons for side in SIDES])
    return found


def _is_named(column: Column) -> bool:
    return bool(column.heading.text)


def _without_heading(layout: Layout, options: TableOptions, warnings: list[str]) -> TableColumns:
    width = len(layout.columns)
    if options.reference or options.indicated:
        places = [
            _by_number(name, width, role)
            for role, name in (("reference", options.reference or "1"), ("indicated", options.indicated or "2"))
        ]
    elif width == 2:
        warnings.append("no heading: the first column is taken as the reference, the second as the meter")
        places = [0, 1]
    elif width < 2:
        raise BadInput("a comparison needs two figures per line: the reading of the reference and that of the meter")
    else:
        raise BadInput(f"the {width} columns have no headings; {HOW_TO_NAME}")
    sides = {side: SideColumns(layout.columns[at]) for side, at in zip(SIDES, places, strict=True)}
    return TableColumns(_by_stage(layout.stages, sides), {}, is_named=False)


def _by_stage(stages: Sequence[Stage], sides: dict[Side, SideColumns]) -> list[ComparedLines]:
    """Return a comparison for each name that lines have."""
    names = list(dict.fromkeys(stages))
    return [ComparedLines(name, [at for at, each in enumerate(stages) if each == name], sides) for name in names]


def _by_number(name: str, width: int, role: str) -> int:
    if not name.isdigit() or not 1 <= int(name) <= width:
        raise BadInput(f"--{role} {visible(name)}: there is no heading; give the number of the column, 1 to {width}")
    return int(name) - 1


def _compared(layout: Layout, kinds: ColumnKinds, finder: SideFinder) -> TableColumns:
    """Return the comparisons of a table with headings."""
    stages = layout.stages
    if kinds.stages:
        stages = ["as found" if "as-found" in each else "as left" if "as-left" in each else "" for each in kinds.stages]
    named = list(dict.fromkeys(stage for each in kinds.readings if (stage := kinds.stage(each))))
    comparisons: list[ComparedLines] = []
    nameless: list[Stage] = [""]
    for name in named or nameless:
        sides = finder.sides([each for each in kinds.readings if kinds.stage(each) in ("", name)], name)
        comparisons += [ComparedLines(name, list(range(len(stages))), sides)] if named else _by_stage(stages, sides)
    for item in comparisons:
        if all(_runs_on(kinds, each) for each in item.sides.values()):
            item.run_on = frozenset(SIDES)
        item.moments = ["start" if "start" in each else "stop" for each in kinds.moments]
    return TableColumns(comparisons, kinds.aids)


def _runs_on(kinds: ColumnKinds, side: SideColumns) -> bool:
    return side.start is None and "total" in side.reading.heading.means and kinds.is_total(side.reading)


def _needed(kinds: ColumnKinds, found: TableColumns) -> set[Aid]:
    """Return which further columns turn the readings into flows."""
    sides = [side for item in found.comparisons for side in item.sides.values()]
    dimensions = {dimension_of(kinds.unit(each.reading)) for each in sides}
    masses = {unit_info("kg").dimension, unit_info("kg/s").dimension}
    needed: set[Aid] = {"temperature", "density"} if dimensions & masses else set()
    return needed | (set(OF_TIME) if dimensions & {unit_info("m3").dimension, unit_info("kg").dimension} else set())
