"""What the sheet Areas works out for each area: one call, or one native step, a column.

A formula is written for the row it stands in: {key} is the cell of that column, {row} the cells that are filled in. A
call has a cell of its own; a step behind it takes numbers only and shows #N/A where one is refused.
"""

from basecalc.estimating.column_step import OPTIONS, Step, guarded
from basecalc.estimating.edition import Edition
from basecalc.estimating.option_columns import option_steps


def steps(edition: Edition) -> tuple[Step, ...]:
    """Return every column that is worked out, in the order of the sheet.

    Parameters
    ----------
    edition
        The units of the sheet.
    """
    return (
        *_answer(edition),
        *_measured(edition),
        *_ground(edition),
        *(s for o in OPTIONS for s in option_steps(edition, o)),
    )


def _answer(edition: Edition) -> list[Step]:
    deep = edition.depth
    design = f'{{strength}},TrafficLine,DesignLine,{{soil}},"{deep}"'
    grid = f"{design},GridStability,GridReduction,GridReductionSource"
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
            f"DESIGN_DEPTH({design})",
            "Stone only: what this ground and traffic need.",
            "General",
            9,
            "answer",
        ),
        Step(
            "why",
            "why this depth",
            "",
            f"DESIGN_REASON({design})",
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
            "AREA_STRENGTH({row},SiteLine,ClassEdge)",
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
            "AREA_STRENGTH_REASON({row},SiteLine,ClassEdge)",
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
            f'IF(GridName="none","none",DESIGN_DEPTH({grid}))',
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
        call = f'AREA_MEASURE({{row}},"{what}",UsualSoil,"{edition.units}")'
        return Step(key, label, unit, call, help, format, 9.5, "measured", counts)

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
        measure("textile", "geotextile", "textile?", "", "yes or no.", "text", "word"),
    ]


def _ground(edition: Edition) -> list[Step]:
    long = edition.length

    def lap(key: str, kind: str, where: str, when: str, own: str) -> Step:
        call = f'IF({when},ROLL_OVERLAP("{kind}",{{cbr}},"{where}",{own},"{long}"),"")'
        label = f"{kind} {where} lap"
        return Step(key, label, long, call, "By the ground, or the owner's own.", "two", 9.5, "measured", when)

    textile, grid = '{textile}="yes"', "{laid}=1"
    return [
        Step(
            "cbr",
            "CBR designed",
            "%",
            "DESIGN_CBR({strength},DesignLine)",
            "What the base is designed with.",
            "two",
            9.5,
            "measured",
        ),
        Step(
            "swell",
            "swell",
            "",
            'SPOIL_VALUE({soil},"swell",OwnerSoils)',
            "Loose volume of one volume in the ground.",
            "two",
            8,
            "measured",
        ),
        Step(
            "weight",
            "soil weight",
            edition.density,
            f'SPOIL_VALUE({{soil}},"loose weight",OwnerSoils,"{edition.density}")',
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
