"""What the sheet Areas works out for each area: one call, or one native step, a column.

A formula is written for the row it stands in: {key} is the cell of that column, {row} the cells that are filled in. A
call has a cell of its own. One call measures an area and one designs it; both stand in the last columns, as lines from
which native steps pick a number or the words of its refusal. A step behind it takes numbers only and shows #N/A where
one is refused.
"""

from typing import Final

from basecalc.estimating.column_step import LINES, OPTIONS, PART, Step, answer_of, guarded
from basecalc.estimating.edition import Edition
from basecalc.estimating.option_columns import option_steps
from basecalc.formulas.area import DESIGNED
from basecalc.formulas.plan import MEASURED


def steps(edition: Edition) -> tuple[Step, ...]:
    """Return every column that is worked out, in the order of the sheet."""
    return (
        *_answer(edition),
        *_measured(edition),
        *_ground(edition),
        *(s for o in OPTIONS for s in option_steps(edition, o)),
        *_lines(edition),
    )


_WINTER: Final = 'IF(JobFreezingIndex="","",IF(OR(JobFreezingIndex=0,JobFreezingIndex="0"),", no frost",", freezing"))'


def _designed(which: str) -> str:
    return answer_of("design", DESIGNED, which)


def _lines(edition: Edition) -> list[Step]:
    """Return the calls, of whose answers the other columns are picked."""
    part = f"INDEX(AreaParts,INT((ROW({{name}})-ROW(FirstArea))/{PART})+1)"
    told = "In one line, asked once: the columns to the left take their numbers from it."
    return [
        Step(
            "measures",
            "measures",
            "",
            f'AREA_MEASURES({{row}},UsualSoil,"{edition.units}")',
            told,
            "text",
            12,
            LINES,
            "never",
        ),
        Step(
            "design",
            "design",
            "",
            f"AREA_DESIGN({{name}},{{by_hand}},{{frost}}&{_WINTER},{part},TaskLine)",
            told,
            "text",
            12,
            LINES,
            "never",
        ),
    ]


def _answer(edition: Edition) -> list[Step]:
    deep = edition.depth
    thinner = guarded(("depth", "grid_depth"), "IF({grid_depth}<{depth}-0.000001,1,0)")
    return [
        Step(
            "state",
            "sound?",
            "",
            "",
            "ok, or REFUSED: the first column to the right that shows # says why.",
            "text",
            10,
            "answer",
            "never",
        ),
        Step(
            "depth",
            "base depth",
            deep,
            _designed("depth"),
            "Stone only: what this ground and traffic need.",
            "General",
            9,
            "answer",
        ),
        Step(
            "why",
            "why this depth",
            "",
            _designed("why"),
            "Which check governs, and by how much.",
            "text",
            66,
            "answer",
            "never",
        ),
        Step(
            "strength",
            "ground",
            "",
            _designed("strength"),
            "The class, or the measured CBR, that the area is designed for.",
            "0.0",
            11,
            "answer",
            "never",
        ),
        Step(
            "ground_why",
            "why this ground",
            "",
            _designed("ground_why"),
            "Which spot and reading decide; CONFLICT where readings disagree.",
            "text",
            66,
            "answer",
            "never",
        ),
        Step(
            "grid_depth",
            "designed with geogrid",
            deep,
            f'IF(GridName="none","none",{_designed("grid_depth")})',
            "By the geogrid's own numbers on the sheet Company.",
            "General",
            11,
            "answer",
            "never",
        ),
        Step(
            "laid",
            "geogrid laid?",
            "",
            f'IF(GridName="none",IF(ISNUMBER({{depth}}),0,NA()),{thinner})',
            "1 where geogrid makes the base thinner, else 0.",
            "0",
            9,
            "answer",
        ),
    ]


def _measured(edition: Edition) -> list[Step]:
    def measure(
        key: str, what: str, label: str, unit: str, help: str, format: str = "two", counts: str = "always"
    ) -> Step:
        return Step(
            key, label, unit, answer_of("measures", tuple(MEASURED), what), help, format, 9.5, "measured", counts
        )

    return [
        measure("plan", "area", "plan area", edition.area, "Of the finished paving."),
        measure(
            "open", "open edge", "open edge used", edition.length, "As filled in, else the outline less the building."
        ),
        measure("corner", "open corners", "corners used", "", "As filled in, else by the shape."),
        measure("longest", "longest", "length for rolls", edition.length, "Longer side of the box a roll must cover."),
        measure("widest", "widest", "width for rolls", edition.length, "Shorter side of that box."),
        measure("finish", "finish above ground", "finish above", edition.depth, "0 where nothing is filled in."),
        measure("old", "old pavement", "old paving used", edition.depth, "0 where there is none."),
        measure("old_kind", "kind of pavement", "its kind", "", "none where there is none.", "text", "word"),
        measure("fill", "fill", "fill", edition.volume, "Granular fill along the building, compacted."),
        measure("restraint", "edge restraint", "restraint used", edition.length, "As filled in, else the open edge."),
        measure("soil", "soil", "soil used", "", "As filled in, else as on Start.", "text", "word"),
        measure("frost", "frost ground", "frost group used", "", "Of the soil and its fines.", "text", "word"),
        measure("textile", "geotextile", "textile?", "", "yes or no.", "text", "word"),
    ]


def _of_soil(column: str) -> str:
    return f'IF(LEFT({{soil}},1)="#",{{soil}},INDEX({column},MATCH({{soil}},SoilWords,0)))'


def _ground(edition: Edition) -> list[Step]:
    long = edition.length

    def lap(key: str, kind: str, where: str, when: str, own: str) -> Step:
        label = f"{kind} {where} lap"
        chosen = f'IF(ISNUMBER({{cbr}}),IF({own}="none",{_designed(key)},{own}),{{cbr}})'
        return Step(
            key,
            label,
            long,
            f'IF({when},{chosen},"")',
            "By the ground, or the owner's own.",
            "two",
            9.5,
            "measured",
            when,
        )

    textile, grid = '{textile}="yes"', "{laid}=1"
    return [
        Step(
            "cbr",
            "CBR designed",
            "%",
            _designed("cbr"),
            "What the base is designed with.",
            "two",
            9.5,
            "measured",
        ),
        Step(
            "swell",
            "swell",
            "",
            _of_soil("SoilSwell"),
            "Loose volume of one volume in the ground.",
            "two",
            8,
            "measured",
        ),
        Step(
            "weight",
            "soil weight",
            edition.density,
            _of_soil("SoilWeight"),
            "Of dug soil, loose in the truck.",
            "three",
            10,
            "measured",
        ),
        lap("textile_side", "geotextile", "side", textile, "TextileOverlap"),
        lap("textile_end", "geotextile", "end", textile, "TextileOverlap"),
        lap("grid_side", "geogrid", "side", grid, "GridOverlap"),
        lap("grid_end", "geogrid", "end", grid, "GridOverlap"),
    ]
