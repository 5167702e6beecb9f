"""What the sheet Areas works out for each option: how far, how deep, how much, one step a column."""

from basecalc.estimating.column_step import SHORT, Step, answer_of, guarded
from basecalc.estimating.edition import Edition
from basecalc.formulas.area import DESIGNED


def option_steps(edition: Edition, option: str) -> list[Step]:
    """Return the columns of one option, from the depth of its base to the lifts and rolls."""
    o, long, deep, per = option, edition.length, edition.depth, edition.depths_in_length
    volume = edition.cubes_in_volume
    used = {
        "stone": "IF(ISNUMBER({depth}),{depth},NA())",
        "geogrid": guarded(("laid", "depth"), "IF({laid}=1,{grid_depth},{depth})"),
        "habit": "IF(ISNUMBER(UsualDepth),UsualDepth,NA())",
    }[option]
    reach = f"{{{o}_reach}}/{per}"
    added = f"{{open}}*{reach}+{{corner}}*({reach})^2"
    dig = f"{{{o}_base}}+PaverThickness+Bedding-{{finish}}-{{old}}"
    lift = guarded((f"{o}_base", "ThickestLift"), f"ROUNDUP(ROUND({{{o}_base}}/ThickestLift,9),0)")

    def step(key: str, label: str, unit: str, formula: str, help: str, **more: str) -> Step:
        return Step(f"{o}_{key}", f"{label}: {SHORT[o]}", unit, formula, help, group=o, **more)  # type: ignore[arg-type]

    textile, grid = '{textile}="yes"', "{laid}=1"
    made = [
        step("base", "base", deep, used, "Compacted depth of the base.", format="General"),
        step(
            "reach",
            "beyond edge",
            deep,
            guarded((f"{o}_base", "open", "LeastReach"), f"IF({{open}}>0,MAX({{{o}_base}},LeastReach),0)"),
            "The base reaches past an open edge by its own depth or the least.",
            format="General",
        ),
        step(
            "area",
            "base area",
            edition.area,
            guarded(
                (f"{o}_reach", "plan", "open", "corner"), f"IF({added}<-0.000000001*{{plan}},NA(),{{plan}}+{added})"
            ),
            "Plan area with what lies beyond the edge.",
        ),
        step(
            "dig",
            "dig below ground",
            deep,
            guarded(
                (f"{o}_base", "finish", "old", "PaverThickness", "Bedding"), f"IF({dig}<-0.000001,NA(),MAX({dig},0))"
            ),
            "Pavers, bedding and base, less what stands above the ground. #N/A: fill would be missing below the base.",
        ),
        step(
            "bank",
            "dig, in the ground",
            edition.volume,
            guarded(
                (f"{o}_dig", f"{o}_area", "plan", "old", "fill"),
                f"({{plan}}*{{{o}_dig}}+({{{o}_area}}-{{plan}})*({{{o}_dig}}+{{old}}))/{per}/{volume}+{{fill}}",
            ),
            "Area times dig; beside an old pavement the ground is dug from its surface; with the fill at the building.",
        ),
        step(
            "loose",
            "dig, loose",
            edition.volume,
            guarded((f"{o}_bank", "swell"), f"{{{o}_bank}}*{{swell}}"),
            "In the truck.",
        ),
        step(
            "spoil",
            "spoil",
            edition.mass,
            guarded((f"{o}_loose", "weight"), f"{{{o}_loose}}*{{weight}}"),
            "Weight of the dug soil.",
        ),
        step(
            "stone",
            "base, compacted",
            edition.volume,
            guarded((f"{o}_area", f"{o}_base"), f"{{{o}_area}}*{{{o}_base}}/{per}/{volume}"),
            "Base area times base depth.",
        ),
        step("lifts", "lifts", "", lift, "Layers to compact.", format="0"),
        step(
            "textile_length",
            "textile strips are",
            long,
            f'IF({textile},{{longest}}+2*{reach},"")',
            "Length of each strip, with what lies beyond the edges.",
            counts=textile,
        ),
        step(
            "textile_strips",
            "textile strips",
            "",
            _strips(textile, f"{o}_textile_length", f"{{widest}}+2*{reach}", "TextileWidth", "textile_side"),
            "Side by side.",
            format="0",
            counts=textile,
        ),
    ]
    if option == "geogrid":
        told = f'IF(GridName="none","no geogrid on the sheet Company",{answer_of("design", DESIGNED, "grid_why")})'
        made += [
            Step(
                "grid_why",
                "why with geogrid",
                "",
                told,
                "Which check governs with geogrid.",
                "text",
                66,
                "geogrid",
                "never",
            ),
            step(
                "grid_length",
                "grid strips are",
                long,
                f'IF({grid},{{longest}}+2*{reach},"")',
                "Length of each strip, with what lies beyond the edges.",
                counts=grid,
            ),
            step(
                "grid_strips",
                "grid strips",
                "",
                _strips(grid, f"{o}_grid_length", f"{{widest}}+2*{reach}", "GridWidth", "grid_side"),
                "Side by side.",
                format="0",
                counts=grid,
            ),
        ]
    return made


def _strips(when: str, length: str, wide: str, roll: str, lap: str) -> str:
    """Return the step for the strips side by side: as many as cover the width, each but the first less its overlap."""
    more = f"IF({{{lap}}}<{roll},ROUNDUP(ROUND(({wide}-{{{lap}}})/({roll}-{{{lap}}}),9),0),NA())"
    count = guarded((length, "widest", roll, lap), f"IF({wide}<={roll},1,{more})")
    return f'IF({when},{count},"")'
