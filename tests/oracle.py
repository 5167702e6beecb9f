"""Take-off and price of a job worked out a second time, from its tables alone: nothing of basecalc is imported here.

It takes a job as a mapping (the tables of a job file) and the owner's records (as a price workbook is filled), and
from the program only what is judged from the ground: each area's base depth, its CBR, and whether geogrid is laid.
Rules are those of the README: numbers of published tables are typed again with their source.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from math import ceil, hypot, pi, sqrt
from typing import Any

IN, FT, LB = 0.0254, 0.3048, 0.45359237
YD3, FT2, TON = (3 * FT) ** 3, FT**2, 2000 * LB
SI = {
    "in": IN, "ft": FT, "ft2": FT2, "yd2": 9 * FT2, "yd3": YD3, "ft3": FT**3, "ton": TON, "lb": LB,
    "mm": 0.001, "m": 1.0, "m2": 1.0, "m3": 1.0, "t": 1000.0, "kg": 1.0, "load": 1.0, "roll": 1.0, "bag": 1.0,
}  # fmt: skip
# US Army FM 5-434, Table 1-1 [memory]: loose volume of one volume in place; gravel as coarse soil, loam as earth.
SWELL = {"sand": 1.11, "gravel": 1.11, "earth": 1.25, "loam": 1.25, "clay": 1.43}
# US Army TM 9-2320-366-10-1, Table 2-15 [read], lb/yd3 loose: moist packed earth 2,565, gravel 2,970; the rows that
# stand for a word are basecalc's own choice.
LOOSE_LB_YD3 = {"sand": 2970, "gravel": 2970, "earth": 2565, "loam": 2565, "clay": 2565}
# Common practice, no source: weight in place [lb/yd3] and bulking of what is broken out.
PAVEMENT = {"asphalt": (3915, 1.5), "concrete": (4050, 1.5), "pavers": (4050, 1.5), "gravel": (3700, 1.25)}
SCOPES = {
    "old-pavement": "remove", "old-pavement-haul": "remove", "dig": "dig", "spoil-haul": "dig", "spoil-tip": "dig",
    "geotextile": "reinforcement", "geogrid": "reinforcement", "base-stone": "base", "stone-haul": "base",
    "base-place": "base", "bedding-sand": "surface", "pavers": "surface", "paver-lay": "surface",
    "edge-restraint": "surface", "joint-sand": "surface", "foundation-fill": "foundation",
    "foundation-place": "foundation",
}  # fmt: skip
WORK = ("old-pavement", "dig", "base-place", "paver-lay", "foundation-place")
CLASSES = ("very soft", "soft", "medium", "stiff", "very stiff", "hard")


@dataclass(frozen=True)
class Ground:
    """What is judged from the ground: base depth [m], CBR [%], class, and whether geogrid is laid."""

    base_m: float
    cbr: float
    strength_class: str
    geogrid: bool


@dataclass(frozen=True)
class Money:
    """A priced option: its lines as (code, quantity, unit, unit price, amount, taxable), and the sums below them."""

    lines: list[tuple[str, Decimal, str, Decimal, Decimal, bool]]
    cost: Decimal
    total: Decimal
    scopes: dict[str, Decimal]


def whole(value: float) -> int:
    """Round up to a whole number, float noise apart."""
    return ceil(round(value, 9))


def half_up(value: Decimal | float, places: int) -> Decimal:
    """Round half up; a float counts as it would be printed."""
    exact = value if isinstance(value, Decimal) else Decimal(f"{value:.12g}")
    return exact.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)


def side_length(points: Sequence[Sequence[float]], place: int) -> float:
    """Return the length of the side from one corner to the next."""
    (ax, ay), (bx, by) = points[place % len(points)], points[(place + 1) % len(points)]
    return hypot(bx - ax, by - ay)


def turned_corners(points: Sequence[Sequence[float]], closed: Sequence[int] = ()) -> float:
    """Return what the mitred corners of an outline add, per square of the reach: tan of half of each turn.

    Only corners whose two sides are open count; `closed` are the sides (each from its first corner) along the building.
    """
    shut = {place % len(points) for place in closed}
    n, total = len(points), 0.0
    area2 = sum(points[i][0] * points[(i + 1) % n][1] - points[(i + 1) % n][0] * points[i][1] for i in range(n))
    for i in range(n):
        if {i, (i - 1) % n} & shut:
            continue
        (ax, ay), (bx, by), (cx, cy) = points[i - 1], points[i], points[(i + 1) % n]
        cross = (bx - ax) * (cy - by) - (by - ay) * (cx - bx)
        dot = (bx - ax) * (cx - bx) + (by - ay) * (cy - by)
        length = hypot(bx - ax, by - ay) * hypot(cx - bx, cy - by)
        total += (cross if area2 > 0 else -cross) / (length + dot)  # tan(half) = sin / (1 + cos)
    return total


def outline(area: Mapping[str, Any]) -> tuple[float, float, float, tuple[float, float], list[list[float]] | None]:
    """Return plan area, perimeter, corners, the box, and the corner points where it has straight sides."""
    match area["shape"]:
        case "rectangle":
            a, b = area["length"], area["width"]
            return a * b, 2 * (a + b), 4.0, (max(a, b), min(a, b)), [[0, 0], [a, 0], [a, b], [0, b]]
        case "polygon":
            points = area["points"]
            n = len(points)
            twice = sum(points[i][0] * points[(i + 1) % n][1] - points[(i + 1) % n][0] * points[i][1] for i in range(n))
            round_it = sum(hypot(points[i][0] - points[i - 1][0], points[i][1] - points[i - 1][1]) for i in range(n))
            xs, ys = [p[0] for p in points], [p[1] for p in points]
            box = (max(xs) - min(xs), max(ys) - min(ys))
            return abs(twice) / 2, round_it, turned_corners(points), (max(box), min(box)), points
        case "trapezoid":  # one leg upright where legs are not given: of all, the longest outline
            (a, b), h = area["parallel_sides"], area["height"]
            points = [[0, 0], [a, 0], [b, h], [0, h]]
            box = (max(a, b, h), min(max(a, b), h))
            return (a + b) / 2 * h, a + b + h + hypot(a - b, h), turned_corners(points), box, points
        case "circle":
            d = area["diameter"]
            return pi * d * d / 4, pi * d, pi, (d, d), None
        case "triangle":
            a, b, c = area["sides"]
            s = (a + b + c) / 2
            size = sqrt(s * (s - a) * (s - b) * (s - c))
            x = (a * a + c * c - b * b) / (2 * a)  # side a lies along the axis
            points = [[0, 0], [a, 0], [x, 2 * size / a]]
            longest = max(a, b, c)
            return size, a + b + c, turned_corners(points), (longest, 2 * size / longest), points
        case other:
            raise LookupError(other)


class Job:
    """A job in SI units, area by area, strips along a foundation as areas of their own."""

    def __init__(self, data: Mapping[str, Any], records: Mapping[str, Any]) -> None:
        self.metric = data["job"].get("units") == "metric"
        self.long, self.thick = (1.0, 0.001) if self.metric else (FT, IN)
        self.records, self.soil, self.extra = records, data["job"].get("soil", ""), data.get("line", [])
        self.hauled: dict[
            tuple[str, str], tuple[float, float]
        ] = {}  # mass [kg] and loose volume [m3] by code, material
        self.areas = [part for area in data["area"] for part in self._parts(area)]

    def _parts(self, area: Mapping[str, Any]) -> list[dict[str, Any]]:
        plan, perimeter, corners, box, points = outline(area)
        closed = area.get("foundation_edge", 0.0)
        open_edge = perimeter - closed
        if closed and points is not None:  # by tape: sides in a row that are so long within 2 %, the dearest of them
            corners = max(
                turned_corners(points, range(first, first + count))
                for first in range(len(points))
                for count in range(1, len(points))
                if abs(sum(side_length(points, first + k) for k in range(count)) - closed) <= 0.02 * closed
            )
        elif closed:
            corners *= open_edge / perimeter
        whole_area = {
            "name": area["name"], "plan": plan * self.long**2, "open": open_edge * self.long, "corners": corners,
            "box": tuple(side * self.long for side in box), "above": area.get("finish_above_ground", 0.0) * self.thick,
            "soil": area.get("soil") or self.soil, "old": area.get("old_pavement", 0.0) * self.thick,
            "old_kind": area.get("old_pavement_kind", ""), "textile": area.get("geotextile", False),
            "edge": area.get("edge_restraint", open_edge) * self.long,
            "along": closed * self.long, "fill_wide": area.get("foundation_fill_width", 0.0) * self.long,
            "fill_deep": area.get("foundation_fill_depth", 0.0) * self.thick,
            "sound_at": area.get("loose_fill_depth", 0.0) * self.thick if area.get("loose_fill") == "fill" else 0.0,
            "keep": area.get("keep_old_base", False), "state": area.get("old_pavement_state", ""),
            "holes": [(hole["base"] * self.thick, hole["state"]) for hole in area.get("test_holes", [])],
        }  # fmt: skip
        if not area.get("foundation_strip"):
            return [whole_area]
        # A rectangle with a strip along one whole side whose both ends are open.
        wide, along = whole_area["fill_wide"], whole_area["along"]
        strip = whole_area | {
            "name": f"{area['name']} at the foundation", "plan": along * wide, "open": 2 * wide, "corners": 0.0,
            "box": (max(along, wide), min(along, wide)), "keep": False, "fill_deep": 0.0,
            "edge": min(2 * wide, whole_area["edge"]),
        }  # fmt: skip
        other = plan / closed * self.long - wide
        rest = whole_area | {
            "plan": whole_area["plan"] - along * wide, "open": whole_area["open"] - 2 * wide,
            "box": (max(along, other), min(along, other)), "edge": whole_area["edge"] - strip["edge"],
            "along": 0.0, "fill_wide": 0.0, "fill_deep": 0.0, "sound_at": 0.0,
        }  # fmt: skip
        return [rest, strip]

    def setting(self, key: str, default: float) -> float:
        """Return one of the owner's settings, in the unit of the records."""
        return self.records["settings"].get(key, default)

    def material(self, table: str, **match: str) -> Mapping[str, Any] | None:
        """Return the first row of a table that matches."""
        return next((row for row in self.records[table] if all(row[k] == v for k, v in match.items())), None)

    def take_off(self, ground: Mapping[str, Ground]) -> dict[tuple[str, str], float]:
        """Return the amounts in SI by code and material; loads, rolls and bags whole."""
        out: dict[tuple[str, str], float] = {}

        self.hauled = {}

        def haul(code: str, mass: float, loose: float, variant: str = "") -> None:
            add(code, self.loads(mass, loose, truck), variant)
            self.hauled[code, variant] = (mass, loose)

        def add(code: str, amount: float, variant: str = "") -> None:
            if amount > 0:
                out[code, variant] = out.get((code, variant), 0.0) + amount

        stone, sand = self.material("stones", use="base"), self.material("stones", use="bedding")
        gravel = self.material("stones", use="fill")
        paver, truck = self.records["pavers"][0], self.records["trucks"][0]
        thick, bed = paver["thickness"] * IN, self.setting("design.bedding_m", 1.0) * IN
        swells = {row["soil"]: row["swell"] for row in self.records.get("soils", [])}
        spoil_m3 = spoil_kg = base_m3 = fill_m3 = paved = 0.0
        rubble: dict[str, float] = {}
        strips: dict[str, list[tuple[int, float, float]]] = {"geotextile": [], "geogrid": []}
        for area in self.areas:
            at = ground[area["name"]]
            base, plan, old = at.base_m, area["plan"], area["old"]
            reach = max(base, self.setting("edge_extension_m", 6.0) * IN) if area["open"] else 0.0
            wide = plan + area["open"] * reach + area["corners"] * reach**2
            dig = max(base + thick + bed - area["above"] - old, 0.0)
            beside, new, trimmed = dig + old, base, 0.0
            if self.may_stay(area, at):
                worth = 0.10 / 0.14  # AASHTO 1993 layer coefficients of an old and a new granular base [memory]
                top = thick + bed - area["above"] - old
                least = min(base_m for base_m, _ in area["holes"])
                first, stays = max(-top, 0.0), least - max(top, 0.0)
                lacking = max(base - first - worth * stays, 0.0) / (1 - worth)
                if stays - lacking >= 3 * IN - 1e-9:
                    new, trimmed = first + lacking, max(top, 0.0) + lacking
                    dig, beside = trimmed, max(base + thick + bed - area["above"], 0.0)
            fill = area["along"] * area["fill_wide"] * area["fill_deep"]
            if area["sound_at"]:
                fill = wide * max(area["sound_at"] - dig - old, 0.0)
            bank = plan * dig + (wide - plan) * beside + fill
            kept_gravel = plan * trimmed
            for volume, soil in ((bank - kept_gravel, area["soil"]), (kept_gravel, "gravel")):
                loose = volume * swells.get(soil, SWELL[soil])
                spoil_m3 += loose
                spoil_kg += loose * LOOSE_LB_YD3[soil] * LB / YD3
            base_m3 += plan * new + (wide - plan) * base
            fill_m3 += fill
            paved += plan
            add("dig", bank)
            add("base-stone", self.tons(plan * new + (wide - plan) * base, stone), stone["name"])
            add("base-place", plan * new + (wide - plan) * base)
            add("bedding-sand", self.tons(plan * bed, sand), sand["name"])
            add("pavers", plan * (1 + paver["cutting_waste"]), paver["name"])
            add("paver-lay", plan)
            add("edge-restraint", area["edge"])
            add("foundation-place", fill)
            if fill:
                add("foundation-fill", self.tons(fill, gravel), gravel["name"])
            if old:
                add("old-pavement", plan, area["old_kind"])
                rubble[area["old_kind"]] = rubble.get(area["old_kind"], 0.0) + plan * old
            for kind, is_laid in (("geogrid", at.geogrid), ("geotextile", area["textile"])):
                if is_laid:
                    strips[kind].append(self.strips(kind, at.cbr, [side + 2 * reach for side in area["box"]]))
        haul("spoil-haul", spoil_kg, spoil_m3)
        haul("spoil-tip", spoil_kg, spoil_m3)
        for kind, volume in rubble.items():
            weight, bulking = PAVEMENT[kind]
            haul("old-pavement-haul", volume * weight * LB / YD3, volume * bulking, kind)
        for row, volume in ((stone, base_m3), (sand, paved * bed), (gravel, fill_m3)):
            if volume > 0:
                loose = volume * row["compaction_factor"] * (1 + row["waste"])
                haul("stone-haul", self.tons(volume, row), loose, row["name"])
        cover = self.setting("joint_sand_kg_m2", 1.0) * LB / FT2
        add("joint-sand", whole(paved * cover / (50 * LB)))
        for kind, rows in strips.items():
            if rows:
                roll = self.material("rolls", kind=kind)
                add(kind, self.rolls(rows, roll["length"] * FT), roll["name"])
        return out

    @staticmethod
    def tons(volume: float, row: Mapping[str, Any]) -> float:
        """Return the mass of a stone [kg] for a volume in place."""
        return volume * row["compaction_factor"] * row["loose_density"] * TON / YD3 * (1 + row["waste"])

    @staticmethod
    def loads(mass: float, loose: float, truck: Mapping[str, Any]) -> int:
        """Return whole loads by payload and by box."""
        return whole(max(mass / (truck["payload"] * TON), loose / (truck["box"] * YD3)))

    def may_stay(self, area: Mapping[str, Any], at: Ground) -> bool:
        """Say whether an old base may stay: stiff or better, nothing laid, no settlement, clean test holes enough."""
        need = max(2, ceil(round(area["plan"] / FT2 / 1000, 9)))
        return (
            area["keep"]
            and not at.geogrid
            and not area["textile"]
            and not area["sound_at"]
            and CLASSES.index(at.strength_class) >= CLASSES.index("stiff")
            and len(area["holes"]) >= need
            and all(state == "clean" for _, state in area["holes"])
            and area["state"] in ("", "even")
        )

    def strips(self, kind: str, cbr: float, box: Sequence[float]) -> tuple[int, float, float]:
        """Return strips side by side, their length and the overlap of their ends."""
        row = self.material("rolls", kind=kind)
        if "overlap" in row:
            side = end = row["overlap"] * FT
        elif kind == "geotextile":  # AASHTO M 288 [memory], the greatest printed
            side, end = (1.5 if cbr > 3 else 3.3) * FT, 3.3 * FT
        else:  # common practice, no source
            side = end = (3.0 if cbr <= 1 else 2.0 if cbr <= 3 else 1.0) * FT
        length, across = max(box), min(box)
        count = 1 if across <= row["width"] * FT + 1e-9 else whole((across - side) / (row["width"] * FT - side))
        return count, length, end

    @staticmethod
    def rolls(rows: Sequence[tuple[int, float, float]], roll: float) -> int:
        """Cut strips from rolls one after the other; an offcut begins the next strip."""
        used, left = 0, 0.0
        for count, length, end in rows:
            for _ in range(count):
                need = length
                if not used:
                    used, left = 1, roll
                while need > left + 1e-9:
                    if left > end + 1e-9:
                        need += end - left
                    used, left = used + 1, roll
                left = max(left - need, 0.0)
        return used

    def price(self, amounts: Mapping[tuple[str, str], float]) -> Money:
        """Price the amounts: lines to the cent, markups, tax, and the client's lines."""
        prices = {row["code"]: row for row in self.records["prices"]}
        rates = {row["code"]: row for row in self.records.get("rates", [])}
        pooled: dict[tuple[str, str], float] = {}
        for (code, variant), amount in amounts.items():
            key = (code, "" if code in WORK else variant)
            pooled[key] = pooled.get(key, 0.0) + amount
        lines: list[tuple[str, Decimal, str, Decimal, Decimal, bool]] = []
        scoped: dict[str, list[tuple[Decimal, bool]]] = {}
        plain: dict[str, tuple[Decimal, bool]] = {}  # charged as they are, by the client's line
        for (code, variant), amount in pooled.items():
            own = self._own_code(code, variant)
            if own in prices:
                charged = [(own, self._by(code, variant, amount, prices[own]["unit"], rates))]
            else:
                rate = rates[code]
                done = amount / SI[rate["unit"]]
                charged = [
                    (time, done / rate[per])
                    for time, per in (("crew-time", "per_crew_hour"), ("machine-time", "per_machine_hour"))
                    if rate.get(per)
                ]
            for key, quantity in charged:
                row = prices[key]
                bought = half_up(quantity, 2)
                price = Decimal(str(row["unit_price"]))
                cost, taxed = half_up(bought * price, 2), row["taxable"] == "yes"
                lines.append((key, bought, row["unit"], price, cost, taxed))
                scoped.setdefault(SCOPES[code], []).append((cost, taxed))
        for code, row in prices.items():  # the least charge of a haul, over all its lines
            charged_so_far = sum((line[4] for line in lines if line[0] == code), Decimal(0))
            if charged_so_far and "minimum" in row and charged_so_far < (least := Decimal(str(row["minimum"]))):
                rest, taxed = least - charged_so_far, row["taxable"] == "yes"
                lines.append((code, Decimal(1), "job", rest, rest, taxed))
                scoped[SCOPES[code]].append((rest, taxed))
        extra = [
            (
                "own price", row.get("quantity", 1), row["unit"], str(row["unit_price"]), row.get("taxable", "no"),
                row.get("sense", "cost"),
            )
            for row in self.extra
        ]  # fmt: skip
        if self.setting("mobilization", 0):
            extra.append(("mobilization", 1, "lump", str(self.setting("mobilization", 0)), "no", "price"))
        for place, (code, quantity, unit, typed, taxed_word, sense) in enumerate(extra, 1):
            bought, taxed = half_up(float(quantity), 2), taxed_word == "yes"
            cost = half_up(bought * Decimal(typed), 2)
            lines.append((code, bought, unit, Decimal(typed), cost, taxed))
            if sense == "price":
                plain[f"extra-{place}"] = (cost, taxed)
            else:
                scoped[f"extra-{place}"] = [(cost, taxed)]
        return self._sums(lines, scoped, plain)

    def _by(self, code: str, variant: str, amount: float, unit: str, rates: Mapping[str, Mapping[str, Any]]) -> float:
        """Return an amount in the unit of its price: a haul by the load, by weight, by loose volume, or by the hour."""
        if code.endswith(("-haul", "-tip")) and unit != "load":
            mass, loose = self.hauled[code, variant]
            if unit == "h":
                return amount / rates[code]["per_machine_hour"]
            return (mass if unit in ("ton", "lb", "t", "kg") else loose) / SI[unit]
        return amount / SI[unit]

    def _own_code(self, code: str, variant: str) -> str:
        tables = {"base-stone": "stones", "bedding-sand": "stones", "foundation-fill": "stones", "pavers": "pavers",
                  "geogrid": "rolls", "geotextile": "rolls"}  # fmt: skip
        row = self.material(tables[code], name=variant) if code in tables else None
        return code if row is None else str(row["code"])

    def _sums(
        self,
        lines: list[tuple[str, Decimal, str, Decimal, Decimal, bool]],
        scoped: Mapping[str, list[tuple[Decimal, bool]]],
        plain: Mapping[str, tuple[Decimal, bool]],
    ) -> Money:
        share = {key: Decimal(str(self.setting(key, 0.0))) for key in ("contingency", "overhead", "profit", "tax_rate")}
        charged = sum((money for money, _ in plain.values()), Decimal(0))
        cost = sum((line[4] for line in lines), Decimal(0)) - charged
        contingency = half_up(cost * share["contingency"], 2)
        overhead = half_up((cost + contingency) * share["overhead"], 2)
        before = cost + contingency + overhead
        profit = half_up(before * share["profit"] / (1 - share["profit"]), 2)
        taxable = sum((line[4] for line in lines if line[5]), Decimal(0))
        asked = before + profit + charged
        discount = half_up(asked * Decimal(str(self.setting("discount", 0.0))), 2)
        asked = max(asked - discount, Decimal(str(self.setting("minimum_charge", 0))))
        total = asked + half_up(taxable * share["tax_rate"], 2)
        if (step := self.setting("round_price", "off")) != "off":
            total = half_up(Decimal(ceil(total / int(step)) * int(step)), 2)
        marked = Fraction((1 + share["contingency"]) * (1 + share["overhead"])) / Fraction(1 - share["profit"])
        weights = {
            scope: sum(
                Fraction(cost) * (marked + (Fraction(share["tax_rate"]) if taxed else 0)) for cost, taxed in rows
            )
            for scope in (*dict.fromkeys(SCOPES.values()), *(key for key in scoped if key.startswith("extra")))
            if (rows := scoped.get(scope))
        }
        own = {
            key: money + (half_up(money * share["tax_rate"], 2) if taxed else 0)
            for key, (money, taxed) in plain.items()
        }
        cents, of_all = int((total + discount - sum(own.values())) * 100), sum(weights.values())
        exact = {scope: cents * weight / of_all for scope, weight in weights.items()}
        given = {scope: int(value) for scope, value in exact.items()}
        for scope in sorted(exact, key=lambda scope: given[scope] - exact[scope])[: cents - sum(given.values())]:
            given[scope] += 1
        shown = own | {scope: Decimal(value) / 100 for scope, value in given.items()}
        return Money(lines, cost, total, shown | ({"discount": -discount} if discount else {}))
